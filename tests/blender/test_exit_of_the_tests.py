"""A test run with Blender in the process ends, with pytest's status, whatever is left registered."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

CONFTEST = Path(__file__).resolve().parent.parent / "conftest.py"

#: Registers what makes Blender 4.2 crash and 4.5 hang at exit.
LEFT_REGISTERED = """
import bpy

class Settings(bpy.types.PropertyGroup):
    length: bpy.props.FloatProperty(update=lambda self, context: None)

class SCENE_OT_left(bpy.types.Operator):
    bl_idname = "scene.left_registered"
    bl_label = "Left Registered"

def test_leave_things_registered():
    bpy.utils.register_class(Settings)
    bpy.utils.register_class(SCENE_OT_left)
    bpy.types.Scene.left = bpy.props.PointerProperty(type=Settings)
    bpy.app.handlers.depsgraph_update_post.append(lambda scene: None)
    bpy.app.timers.register(lambda: 1.0)
    assert {}
"""


@pytest.mark.parametrize(("outcome", "status", "closing"), [(True, 0, "1 passed"), (False, 1, "1 failed")])
def test_the_status_is_that_of_the_tests(tmp_path: Path, outcome: bool, status: int, closing: str) -> None:
    shutil.copy(CONFTEST, tmp_path)
    (tmp_path / "test_inner.py").write_text(LEFT_REGISTERED.format(outcome))
    result = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--rootdir", str(tmp_path), "."],
        cwd=tmp_path,
        env=dict(os.environ),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert result.returncode == status, result.stdout + result.stderr
    assert closing in result.stdout
