"""Runs a script of this folder through an installed Blender, for machines without a usable Python.

``BLENDER=/path/to/blender python3 scripts/example.py`` ends up here twice: in the bare Python, which starts
Blender with this file, and in Blender, which starts the script. Blender's own messages go to standard error.
"""

from __future__ import annotations

import os
import runpy
import shutil
import sys

#: Names the file descriptor of the standard output that the script shall write to.
STDOUT = "DRY_ASSEMBLY_STDOUT"


def run_script(program: str, script: str, arguments: list[str]) -> None:
    """Go on as Blender in the background, running the script with its arguments."""
    from environment import fail, replace_process

    found = shutil.which(program)
    if found is None:
        fail("BLENDER is '%s', and no such program is there to run" % program)
        return
    command = [found, "--background", "--factory-startup", "--python-exit-code", "1"]
    command += ["--python", os.path.abspath(__file__), "--", script, *arguments]
    environ = dict(os.environ)
    if os.name != "nt":  # descriptors beyond the first three are not handed on there
        own = os.dup(1)
        os.set_inheritable(own, True)
        os.dup2(2, 1)
        environ[STDOUT] = str(own)
    replace_process(command, environ)


def _main() -> None:
    sys.argv = sys.argv[sys.argv.index("--") + 1 :]
    folder = os.path.dirname(os.path.abspath(__file__))
    sys.path[0:0] = [folder]
    own = os.environ.pop(STDOUT, None)
    if own is not None:
        from standard_output import PureOutput

        sys.stdout = PureOutput(int(own))
    try:
        runpy.run_path(sys.argv[0], run_name="__main__")
    finally:
        sys.stdout.flush()


if __name__ == "__main__":
    _main()
