"""The panel of what is saved: one menu says what, its few choices, what will be written, and one button."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final

from bpy.types import Context, Panel, UILayout

from ..paper.shop.shop_set import SET
from ..scene.pictures import on_paper, rendering
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import shown
from . import panel, preview
from .panel import CLOSED, TablePanel

_PAGE: Final = ("size", "format")


@dataclass(frozen=True)
class What:
    """One thing that can be saved.

    Parameters
    ----------
    operator : that saves it
    choices : what can be chosen for it, in order
    file : ending of the file's name after the table's; a folder where it has no dot
    settings : of the operator
    """

    operator: str
    choices: tuple[str, ...]
    file: Callable[[TableState, Any], str]
    settings: dict[str, Any] = field(default_factory=dict)


def _named(ending: str) -> Callable[[TableState, Any], str]:
    return lambda _state, _sheet: ending


OUTPUTS: Final[dict[str, What]] = {
    "picture": What(
        "save_picture",
        ("style", "engine", "view", "leaves", "labels", *_PAGE),
        lambda _state, sheet: on_paper.picture_ending(sheet),
    ),
    "exploded": What(
        "save_exploded_view",
        ("view", "labels", "explosion_once", *_PAGE),
        lambda state, sheet: on_paper.exploded_ending(sheet, state.explosion_once),
    ),
    "steps": What("save_step_pictures", _PAGE, _named("steps")),
    "filmstrips": What("save_filmstrips", _PAGE, _named("filmstrips")),
    "sliding-in": What("save_sliding_in_pictures", (), _named("sliding-in")),
    "tolerances": What("save_tolerance_pages", ("format",), _named("tolerances")),
    "variants": What(
        "save_variants_picture",
        ("view", "leaves", *_PAGE),
        lambda _state, sheet: f"variants-{sheet.view}.{sheet.format}",
    ),
    "shop-set": What(
        "save_shop_set", ("limits.rule_division", "shop.paper", "shop_pages"), _named("shop-set")
    ),
    "parts": What("save_parts", ("parts_order",), _named("parts.csv")),
    "covered": What("render_picture", (), _named(rendering.KINDS["assembled"].ending), {"kind": "assembled"}),
    "stowed": What("render_picture", (), _named(rendering.KINDS["stowed"].ending), {"kind": "stowed"}),
    "video": What("render_video", (), _named(rendering.KINDS["video"].ending)),
}
"""What can be saved, by the names of the menu."""


class DRY_ASSEMBLY_PT_output(TablePanel, Panel):
    """What is to be saved, and how."""

    bl_label = "Output"
    bl_options = CLOSED

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """What, its choices, what will be written, the button, what was saved last."""
        group = context.scene.dry_assembly
        panel.field(panel.split_column(layout), group, "output")
        what = OUTPUTS[group.output]
        _choices(panel.split_column(layout), group, state, what)
        panel.field(panel.split_column(layout), group, "pictures_folder")
        _named_file(layout, context, state, what)
        row = layout.row()
        row.scale_y = 1.4
        panel.button(row, f"dry_assembly.{what.operator}", "Save", "FILE_TICK", **what.settings)
        preview.draw(layout, context, state, what.choices)
        if group.output in ("covered", "video"):
            panel.button(layout, "dry_assembly.add_camera", "Add Camera and Lights", "CAMERA_DATA")
        if group.picture_saved:
            panel.sentence(layout, context, group.picture_saved, "CHECKMARK")
            folder = rendering.folder_of(state)
            if group.output == "shop-set":
                folder = rendering.path_of(state, what.file(state, group.sheet))
                panel.button(layout, "wm.path_open", "Open Pages", "FILE", filepath=str(folder / SET))
            panel.button(layout, "wm.path_open", "Open Folder", "FILEBROWSER", filepath=str(folder))


def _choices(column: UILayout, group: Any, state: TableState, what: What) -> None:
    sheet = group.sheet
    for name in what.choices:
        if "." in name:
            section, own = name.split(".")
            panel.parameter(column, state, section, own)
            continue
        owner = state if name == "explosion_once" else group if name == "parts_order" else sheet
        if name == "engine" and sheet.style != "rendered":
            continue
        panel.field(column, owner, name)
    pixels = sheet.format == "png" or ("style" in what.choices and sheet.style != "lines")
    if "format" in what.choices and pixels:
        panel.field(column, sheet, "dpi")


def _named_file(layout: UILayout, context: Context, state: TableState, what: What) -> None:
    """The name of the file or folder that will be written, and where."""
    ending = what.file(state, context.scene.dry_assembly.sheet)
    path = rendering.path_of(state, ending)
    panel.sentence(layout, context, path.name, "FILE_IMAGE" if "." in ending else "FILE_FOLDER")
    panel.sentence(layout, context, shown("in {name}", name=path.parent), "BLANK1")
