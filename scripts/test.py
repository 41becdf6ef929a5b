"""Runs the tests: ``python3 scripts/test.py [--blender 4.2] [pytest arguments]``.

Without ``--blender`` it is Blender 4.5 on Python 3.11 and 5.2 on Python 3.13. Exits with pytest's status.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys

import environment

#: Imports Blender in a process of its own: it prints the versions, or the one sentence on what is missing.
REPORT = """
import environment; environment.enter("blender"); import bpy, numpy, sys
print("Blender %s, Python %s, numpy %s" % (bpy.app.version_string, sys.version.split()[0], numpy.__version__))
environment.leave(0)
"""


def main() -> None:
    """Set up, say what runs, and go on as pytest."""
    parser = argparse.ArgumentParser(description="Run the tests.", allow_abbrev=False)
    parser.add_argument("--blender", metavar="V", help="one of " + ", ".join(environment.BLENDERS))
    options, pytest_arguments = parser.parse_known_args()
    environment.enter("test", options.blender)
    os.chdir(environment.ROOT)
    scripts = os.path.join(environment.ROOT, "scripts")
    environ = {k: v for k, v in os.environ.items() if k != "BLENDER"}
    report = subprocess.run(
        [sys.executable, "-c", REPORT],
        cwd=scripts,
        env=environ,
        stdout=subprocess.PIPE,
        universal_newlines=True,
        check=False,
    )
    if report.returncode:
        sys.exit(report.returncode)
    command = [sys.executable, "-m", "pytest", *pytest_arguments]
    print(report.stdout.strip())
    print("pytest " + " ".join(pytest_arguments or ["tests"]))
    environment.replace_process(command)


if __name__ == "__main__":
    main()
