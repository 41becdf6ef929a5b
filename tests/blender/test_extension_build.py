"""The extension's zip, built and judged by Blender's own extension tool (``blender_ext.py``)."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

import environment

ROOT = Path(__file__).resolve().parent.parent.parent


#: Installs a zip into an empty Blender, registers twice, and tells what is there and what stays.
INSTALL = """
import glob, json, os, sys
import bpy
repository = "user_default"
bpy.ops.extensions.package_install_files(filepath=sys.argv[1], repo=repository, enable_on_install=True)
name = "bl_ext." + repository + ".dry_assembly"
module = sys.modules[name]
bpy.ops.preferences.addon_disable(module=name)
bpy.ops.preferences.addon_enable(module=name)
told = {
    "enabled": name in bpy.context.preferences.addons,
    "operators": dir(bpy.ops.dry_assembly),
    "add_on": module.__file__,
    "wheels": [
        sorted(glob.glob(bpy.utils.user_resource("EXTENSIONS") + "/.local/**/" + one + "/__init__.py", recursive=True))
        for one in sys.argv[3:]
    ],
}
bpy.ops.preferences.addon_disable(module=name)
told["left"] = [c for c in dir(bpy.types) if c.startswith("DRY_ASSEMBLY_")] + [
    p for p in dir(bpy.types.Scene) if "dry_assembly" in p
]
with open(sys.argv[2], "w") as file:
    json.dump(told, file)
sys.stdout.flush()
os._exit(0)
"""


@pytest.fixture(scope="module")
def archive() -> Path:
    """The zip that ``scripts/build.py`` makes; caches and stray files lie in the folder when it does."""
    cache = ROOT / "addon" / "__pycache__"
    cache.mkdir(exist_ok=True)
    (cache / "stray.cpython-311.pyc").write_bytes(b"")
    stale = ROOT / "addon" / "wheels" / "stale-0.0.1-py3-none-any.whl"
    stale.parent.mkdir(exist_ok=True)
    stale.write_bytes(b"")
    command = [sys.executable, str(ROOT / "scripts" / "build.py")]
    result = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    (cache / "stray.cpython-311.pyc").unlink()
    assert result.returncode == 0, result.stderr
    (line,) = result.stdout.splitlines()
    return ROOT / line


def test_the_zip_is_named_for_the_version(archive: Path) -> None:
    manifest = tomllib.loads((ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8"))
    assert archive == ROOT / "dist" / f"dry_assembly-{manifest['version']}.zip"
    assert manifest["permissions"].keys() == {"files"}


def test_the_zip_holds_the_add_on_and_nothing_else(archive: Path) -> None:
    tracked = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "addon"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    wanted = {path.removeprefix("addon/") for path in tracked if (ROOT / path).exists()}
    wheels = [wheel.removeprefix("./") for wheel in carried()]
    wanted.update(wheels)
    with zipfile.ZipFile(archive) as zipped:
        assert zipped.testzip() is None
        names = {name for name in zipped.namelist() if not name.endswith("/")}
        license_text = zipped.read("LICENSE").decode()
        hashes = [hashlib.sha256(zipped.read(wheel)).hexdigest() for wheel in wheels]
    assert names == wanted
    assert "GNU GENERAL PUBLIC LICENSE\n                       Version 3, 29 June 2007" in license_text
    pinned = (ROOT / "scripts" / "requirements" / "wheels.txt").read_text()
    assert all(one in pinned for one in hashes)


def carried() -> list[str]:
    """The wheels that the manifest names."""
    return tomllib.loads((ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8"))["wheels"]


def test_the_wheels_are_the_libraries_that_the_tests_use() -> None:
    pinned, used = environment.pins("wheels"), environment.pins("runtime", "blender-needs")
    assert {name: used.get(name) for name in pinned} == pinned
    files = [f"./wheels/{name}-{version}-py3-none-any.whl" for name, version in pinned.items()]
    assert sorted(carried()) == sorted(files)


def test_blender_refuses_a_broken_manifest(archive: Path, tmp_path: Path) -> None:
    """So that the validation in ``scripts/build.py`` is known to be able to fail."""
    import build

    builder, tags = build.builder_files()
    broken = tmp_path / "broken.zip"
    with zipfile.ZipFile(archive) as source, zipfile.ZipFile(broken, "w") as target:
        for name in source.namelist():
            data = source.read(name)
            if name.endswith("blender_manifest.toml"):
                data = data.replace(b"Add Mesh", b"No Such Tag")
            target.writestr(name, data)
    command = [sys.executable, builder, "validate", "--valid-tags", tags]
    assert subprocess.run([*command, str(archive)], check=False, capture_output=True).returncode == 0
    refused = subprocess.run([*command, str(broken)], check=False, capture_output=True, text=True)
    assert refused.returncode != 0
    assert "No Such Tag" in refused.stdout + refused.stderr


def test_the_zip_installs_registers_twice_and_leaves_nothing(archive: Path, tmp_path: Path) -> None:
    told = tmp_path / "told.json"
    environ = {**os.environ, "BLENDER_USER_RESOURCES": str(tmp_path / "blender")}
    names = list(environment.pins("wheels"))
    command = [sys.executable, "-c", INSTALL, str(archive), str(told), *names]
    result = subprocess.run(command, cwd=tmp_path, env=environ, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stdout + result.stderr
    found = json.loads(told.read_text())
    assert found["enabled"]
    assert found["operators"]
    assert found["left"] == []
    extensions = tmp_path / "blender" / "extensions"
    assert Path(found["add_on"]) == extensions / "user_default" / "dry_assembly" / "__init__.py"
    assert len(found["wheels"]) == len(names)
    for paths in found["wheels"]:
        (path,) = paths
        assert Path(path).is_relative_to(extensions / ".local")
    assert "Traceback" not in result.stderr
