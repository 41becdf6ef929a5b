"""The button that saves the shop set: the pages that were chosen, whole sets, and none where it is stopped."""

from __future__ import annotations

import io
from types import SimpleNamespace
from typing import get_args

import bpy
import pypdf
import pytest

from addon.paper.shop.shop_set import MAKERS, SET
from addon.scene import access, tables
from addon.scene.state.choices import SHOP_PAGE_ITEMS
from addon.scene.state.values import GIVEN
from addon.shop.figures import PageKind
from addon.ui import operator_kinds, panels
from addon.ui.operator_kinds import SaveOperator
from addon.ui.outputs import DRY_ASSEMBLY_OT_save_shop_set as SaveShopSet

from .conftest import SEED_BENCH, first
from .test_panels import drawn
from .test_slide_steps import ESC, TIMER, Window


class Button(SaveOperator):
    """The button without Blender's operator around it."""

    what = SaveShopSet.what
    files = SaveShopSet.files
    folder = SaveShopSet.folder
    save = SaveShopSet.save
    lacks = SaveShopSet.lacks

    def __init__(self):
        self.reports = []

    def report(self, kind, text):
        self.reports.append((kind, text))


@pytest.fixture
def folder(scene, tmp_path):
    tables.create_table(scene, SEED_BENCH)
    group = bpy.context.scene.dry_assembly
    group.pictures_folder = str(tmp_path)
    group.output = "shop-set"
    return tmp_path


def choose(*kinds):
    bpy.context.scene.dry_assembly.sheet.shop_pages = set(kinds)


def test_every_kind_of_page_can_be_chosen_and_is_at_first(folder):
    kinds = {name for name, *_ in SHOP_PAGE_ITEMS}
    assert kinds == set(get_args(PageKind))
    assert bpy.context.scene.dry_assembly.sheet.shop_pages == kinds
    assert {kind for kind, _ in MAKERS} <= kinds


def test_pages_that_were_chosen_are_saved_and_replaced_as_a_whole(folder):
    choose("sheets", "cautions")
    assert bpy.ops.dry_assembly.save_shop_set() == {"FINISHED"}
    (own,) = folder.iterdir()
    assert own.name == "seed-sorting-bench-shop-set"
    names = {path.name for path in own.iterdir()}
    # PDF read by pypdf: as many pages as there are files beside the whole set.
    assert len(pypdf.PdfReader(io.BytesIO((own / SET).read_bytes())).pages) == len(names) - 1
    assert all(name == SET or "sheets" in name or "cautions" in name for name in names)
    assert bpy.context.scene.dry_assembly.picture_saved == f"Saved {len(names)} files in {own}"
    choose("cautions")
    assert bpy.ops.dry_assembly.save_shop_set() == {"FINISHED"}
    assert {path.name for path in own.iterdir()} == {SET, "01-cautions.pdf"}


def test_without_any_kind_there_is_no_set(folder):
    choose()
    assert not bpy.ops.dry_assembly.save_shop_set.poll()
    assert SaveShopSet.lacks(first()) == "Choose what pages the set is to have first"


def test_esc_leaves_no_file(folder, monkeypatch):
    choose("sheets")
    monkeypatch.setattr(
        operator_kinds, "bpy", SimpleNamespace(app=SimpleNamespace(background=False), types=bpy.types)
    )
    monkeypatch.setattr(operator_kinds, "SPELL", 0.0)
    window, button = Window(bpy.context.scene), Button()
    assert button.invoke(window, None) == {"RUNNING_MODAL"}
    for _ in range(3):
        assert button.modal(window, TIMER) == {"RUNNING_MODAL"}
    assert button.modal(window, ESC) == {"CANCELLED"}
    assert window.timers == []
    assert list(folder.iterdir()) == []
    assert button.reports == [({"WARNING"}, "Stopped: everything is as it was")]


def test_a_folder_with_other_files_is_left_alone(folder):
    choose("cautions")
    own = folder / "seed-sorting-bench-shop-set"
    own.mkdir()
    (own / "letter.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(RuntimeError):
        bpy.ops.dry_assembly.save_shop_set()
    assert [path.name for path in own.iterdir()] == ["letter.txt"]


def test_the_rule_and_the_paper_are_those_of_the_table(folder):
    choose("cautions")
    state = first()
    shop = state.parameters.shop
    shop.paper = "a4"
    setattr(shop, f"paper{GIVEN}", True)
    assert bpy.ops.dry_assembly.save_shop_set() == {"FINISHED"}
    (own,) = folder.iterdir()
    box = pypdf.PdfReader(io.BytesIO((own / SET).read_bytes())).pages[0].mediabox
    # ISO 216: A4 is 297 × 210 mm; a point is 1/72 in.
    assert (float(box.width), float(box.height)) == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72), abs=0.1)
    assert access.table_in(state).shop.paper == "a4"


def test_the_panel_has_one_button_and_opens_the_folder_after(folder):
    choose("cautions")
    notes = drawn(bpy.context.scene, panels.PANELS[4])
    assert "dry_assembly.save_shop_set" in notes.buttons
    assert "wm.path_open" not in notes.buttons
    assert bpy.ops.dry_assembly.save_shop_set() == {"FINISHED"}
    notes = drawn(bpy.context.scene, panels.PANELS[4])
    assert "wm.path_open" in notes.buttons
