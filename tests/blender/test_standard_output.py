"""Standard output of a script that drives Blender: what the script prints, and nothing of Blender's own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent

SCRIPT = """
import os, sys
sys.path.insert(0, {scripts!r})
import environment, standard_output
environment.enter("blender")
standard_output.keep_pure()  # once more changes nothing
import bpy
print("first")
bpy.ops.wm.save_as_mainfile(filepath={blend!r})
os.write(1, b"as C code writes\\n")
print("last")
environment.leave(5)
"""


def test_only_what_the_script_prints(tmp_path: Path) -> None:
    blend = tmp_path / "saved.blend"
    script = tmp_path / "script.py"
    script.write_text(SCRIPT.format(scripts=str(ROOT / "scripts"), blend=str(blend)))
    result = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, check=False)
    assert result.returncode == 5, result.stderr
    assert result.stdout == "first\nlast\n"
    assert "saved.blend" in result.stderr  # Blender does report it, so that the check above means something
    assert "as C code writes" in result.stderr
    assert blend.exists()
