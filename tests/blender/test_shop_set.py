"""The button that saves the shop set: the pages that were chosen, whole sets, and none where it is stopped."""

from __future__ import annotations

import io
from types import SimpleNamespace
from typing import get_args

import bpy
import numpy as np
import pypdf
import pypdfium2
import pytest

from addon.paper.shop.shop_set import MAKERS, SET
from addon.scene import access, tables
from addon.scene.pictures import preview
from addon.scene.state.choices import SHOP_PAGE_ITEMS
from addon.scene.state.values import GIVEN
from addon.shop.figures import PageKind
from addon.ui import operator_kinds, panels
from addon.ui.operator_kinds import SaveOperator
from addon.ui.output_panel import OUTPUTS
from addon.ui.outputs import DRY_ASSEMBLY_OT_save_shop_set as SaveShopSet

from .conftest import SEED_BENCH, first
from .test_panels import drawn
from .test_slide_steps import ESC, TIMER, Window

CHOICES = ",".join(OUTPUTS["shop-set"].choices)


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


def test_pages_are_seen_before_any_is_saved_and_turned_and_forgotten_when_the_table_changes(folder):
    """The page that is shown is that of the PDF: both rasters, one by pdfium, are dark at the same places."""
    choose("shopping-list", "cautions")
    output = panels.PANELS[4]
    assert "dry_assembly.preview" in drawn(bpy.context.scene, output).buttons
    assert drawn(bpy.context.scene, output).icons == []
    assert bpy.ops.dry_assembly.preview(choices=CHOICES) == {"FINISHED"}
    assert list(folder.iterdir()) == []
    notes = drawn(bpy.context.scene, output)
    count = len(preview._kept.pages)
    # The sidebar is 291 pixels wide, of which tabs and margins take 64; an icon has 20.
    assert notes.icons == [pytest.approx((291 - 64) / 20)]
    assert f"Page 1 of {count}" in notes.words
    first_page = shown_dots()
    assert bpy.ops.dry_assembly.turn_page(by=-1) == {"FINISHED"}
    assert f"Page {count} of {count}" in drawn(bpy.context.scene, output).words
    assert shown_dots().shape == first_page.shape
    assert (shown_dots() != first_page).any()
    assert bpy.ops.dry_assembly.turn_page(by=1) == {"FINISHED"}
    assert (shown_dots() == first_page).all()

    assert bpy.ops.dry_assembly.save_shop_set() == {"FINISHED"}
    (own,) = folder.iterdir()
    preview.turn(0, 720)
    first_page = shown_dots()
    page = pypdfium2.PdfDocument((own / SET).read_bytes())[0]
    scale = first_page.shape[1] / page.get_width()
    other = page.render(scale=scale, grayscale=True).to_numpy().reshape(-1, first_page.shape[1])
    ink, printed = (block_ink(one, 24) for one in (first_page[::-1, :, 0] * 255, other))
    assert np.corrcoef(ink.ravel(), printed.ravel())[0, 1] > 0.98

    choose("cautions")
    assert drawn(bpy.context.scene, output).icons == []
    choose("shopping-list", "cautions")
    assert len(drawn(bpy.context.scene, output).icons) == 1
    first().parameters.table.length += 0.01
    assert drawn(bpy.context.scene, output).icons == []


def test_what_blender_renders_has_no_preview(folder):
    group = bpy.context.scene.dry_assembly
    group.output = "picture"
    group.sheet.style = "shaded"
    assert not bpy.ops.dry_assembly.preview.poll()
    assert "dry_assembly.preview" not in drawn(bpy.context.scene, panels.PANELS[4]).buttons
    group.sheet.style = "lines"
    assert bpy.ops.dry_assembly.preview(choices=",".join(OUTPUTS["picture"].choices)) == {"FINISHED"}
    notes = drawn(bpy.context.scene, panels.PANELS[4])
    assert len(notes.icons) == 1
    assert "dry_assembly.turn_page" not in notes.buttons  # it is the only one
    group.sheet.view = "top"
    assert drawn(bpy.context.scene, panels.PANELS[4]).icons == []


def shown_dots():
    """(rows, columns, 4) float, the lower left dot first, of the icon in the panel."""
    icon = preview._icons["page"]
    columns, rows = icon.image_size
    values = np.empty(columns * rows * 4, dtype=np.float32)
    icon.image_pixels_float.foreach_get(values)
    return values.reshape(rows, columns, 4)


def block_ink(gray, size):
    """How dark each square of some dots is, 0 to 255."""
    rows, columns = (length // size for length in gray.shape)
    cut = 255.0 - np.asarray(gray, dtype=float)[: rows * size, : columns * size]
    return cut.reshape(rows, size, columns, size).mean(axis=(1, 3))


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
