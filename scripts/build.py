"""Builds the extension's zip and validates it: ``python3 scripts/build.py``; prints the path of the zip.

The builder is Blender's own, from the Blender that runs this script. The wheels that the extension carries
are fetched first where they are not there yet, and checked against their pinned hash.
"""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys

import environment

ADDON = os.path.join(environment.ROOT, "addon")
WHEELS = os.path.join(ADDON, "wheels")
DIST = os.path.join(environment.ROOT, "dist")


def main() -> None:
    """Fetch the wheels, build, validate, print the path."""
    environment.enter("blender")
    fetch_wheels()
    builder, tags = builder_files()
    manifest = read_manifest()
    archive = os.path.join(DIST, "%s-%s.zip" % (manifest["id"], manifest["version"]))
    os.makedirs(DIST, exist_ok=True)
    if os.path.exists(archive):
        os.remove(archive)
    run(builder, "build", "--source-dir", ADDON, "--output-dir", DIST)
    run(builder, "validate", "--valid-tags", tags, archive)
    print(os.path.relpath(archive))
    environment.leave(0)


def fetch_wheels() -> None:
    """Put the pinned wheels into ``addon/wheels``, and no others; one that is there stays."""
    requirements = os.path.join(environment.REQUIREMENTS, "wheels.txt")
    with open(requirements, encoding="utf-8") as file:
        missing = set(re.findall(r"--hash=sha256:(\w+)", file.read()))
    os.makedirs(WHEELS, exist_ok=True)
    for name in os.listdir(WHEELS):
        path = os.path.join(WHEELS, name)
        with open(path, "rb") as file:
            found = hashlib.sha256(file.read()).hexdigest()
        if found in missing:
            missing.remove(found)
        else:
            os.remove(path)
    if not missing:
        return
    environment.progress("Fetching the wheels that the extension carries")
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check"]
    command += ["--no-input", "--no-deps", "--only-binary=:all:", "--require-hashes", "--dest", WHEELS]
    command += ["--requirement", requirements]
    if subprocess.run(command, stdout=sys.stderr, check=False).returncode:
        environment.fail("fetching the wheels for %s failed" % WHEELS)


def read_manifest() -> dict:
    """The extension's manifest."""
    import tomllib

    with open(os.path.join(ADDON, "blender_manifest.toml"), "rb") as file:
        return tomllib.load(file)


def builder_files() -> tuple[str, str]:
    """Paths of Blender's extension builder and of its list of tags."""
    import bpy

    # Not beside bpy.__file__, which is somewhere else in an installed Blender.
    scripts = bpy.utils.system_resource("SCRIPTS")  # pyright: ignore[reportAttributeAccessIssue]  (not in the stubs)
    builder = os.path.join(scripts, "addons_core", "bl_pkg", "cli", "blender_ext.py")
    tags = os.path.join(scripts, "modules", "_bpy_internal", "extensions", "tags.py")
    for path in (builder, tags):
        if not os.path.exists(path):
            environment.fail("this Blender (%s) has no %s" % (bpy.app.version_string, path))
    return builder, tags


def run(builder: str, *arguments: str) -> None:
    """Run the builder; what it says goes to standard error."""
    command = [sys.executable, builder, *arguments]
    if subprocess.run(command, stdout=sys.stderr, check=False).returncode:
        environment.fail("Blender's extension builder failed at '%s'" % arguments[0])


if __name__ == "__main__":
    main()
