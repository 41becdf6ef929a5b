"""The button that saves the steps of assembly: which files, whole ones, and none where it is stopped."""

from __future__ import annotations

import io
from types import SimpleNamespace

import bpy
import pypdf
import pytest

from addon.check.apart.assembly_order import assembly_order
from addon.designs.table import build
from addon.scene import access, tables
from addon.ui import operator_kinds
from addon.ui.operator_kinds import SaveOperator
from addon.ui.outputs import DRY_ASSEMBLY_OT_save_step_pictures as SaveSteps

from .conftest import SEED_BENCH, first
from .test_slide_steps import ESC, TIMER, Window


class Button(SaveOperator):
    """The button without Blender's operator around it."""

    what = SaveSteps.what
    files = SaveSteps.files
    folder = SaveSteps.folder
    save = SaveSteps.save

    def __init__(self):
        self.reports = []

    def report(self, kind, text):
        self.reports.append((kind, text))


@pytest.fixture
def folder(scene, tmp_path):
    tables.create_table(scene, SEED_BENCH)
    bpy.context.scene.dry_assembly.pictures_folder = str(tmp_path)
    return tmp_path


def test_all_steps_go_into_one_file_with_a_page_for_each(folder):
    bpy.context.scene.dry_assembly.sheet.format = "pdf"
    assert bpy.ops.dry_assembly.save_step_pictures() == {"FINISHED"}
    (own,) = folder.iterdir()
    (path,) = own.iterdir()
    steps = assembly_order(build(access.table_in(first()))).steps
    # PDF read by pypdf: one page with all steps, then one each.
    assert len(pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages) == len(steps) + 1
    assert bpy.context.scene.dry_assembly.picture_saved == f"Saved {path}"


def test_esc_leaves_no_file(folder, monkeypatch):
    bpy.context.scene.dry_assembly.sheet.format = "svg"
    monkeypatch.setattr(
        operator_kinds, "bpy", SimpleNamespace(app=SimpleNamespace(background=False), types=bpy.types)
    )
    monkeypatch.setattr(operator_kinds, "SPELL", 0.0)
    window, button = Window(bpy.context.scene), Button()
    assert button.invoke(window, None) == {"RUNNING_MODAL"}
    for _ in range(4):
        assert button.modal(window, TIMER) == {"RUNNING_MODAL"}
    assert button.modal(window, ESC) == {"CANCELLED"}
    assert window.timers == []
    assert list(folder.iterdir()) == []
    assert button.reports == [({"WARNING"}, "Stopped: everything is as it was")]


def test_a_window_goes_on_until_all_files_are_there(folder, monkeypatch):
    bpy.context.scene.dry_assembly.sheet.format = "svg"
    monkeypatch.setattr(
        operator_kinds, "bpy", SimpleNamespace(app=SimpleNamespace(background=False), types=bpy.types)
    )
    window, button = Window(bpy.context.scene), Button()
    assert button.invoke(window, None) == {"RUNNING_MODAL"}
    turns = 0
    while button.modal(window, TIMER) == {"RUNNING_MODAL"}:
        assert not list(folder.iterdir())
        turns += 1
    steps = assembly_order(build(access.table_in(first()))).steps
    (own,) = folder.iterdir()
    wanted = {"steps.svg"} | {f"step-{number:02}.svg" for number in range(1, len(steps) + 1)}
    assert {path.name for path in own.iterdir()} == wanted
    assert turns > 1
