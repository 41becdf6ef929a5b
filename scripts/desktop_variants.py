"""Stages with a variant beside the table."""

from __future__ import annotations

import importlib
from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_common import drag_value, kept, settled, undo_to, unfold, unfold_section
from desktop_hand import Wait
from desktop_model import Differs, expect, table

bpy: Any = importlib.import_module("bpy")


def variant() -> Wait:
    """A variant with a deeper well, and the figures that differ."""
    kept["alone"] = model.snapshot()
    yield from unfold("Show")
    yield from unfold_section("explosion_factor", 2)
    yield from hand.press("add_variant(")
    yield from hand.key("RET")  # the name that the dialog proposes
    yield from settled()
    expect("the tables", [one.name for one in _tables()], [_tables()[0].name, "Variant B"])
    expect("the table that the panels show", table().name, "Variant B")
    seen = yield from drag_value(".well.depth", 24)
    compared = model.part("scene.families")
    variants = compared.variants_in(compared.family_of(table()))
    rows = model.part("reports.variants").differences(variants)
    shown = [(row[0].name, *(one.words for one in row)) for row in zip(*(one.figures for one in _tables()))]
    expect("the figures", shown, [(row.name, *row.values) for row in rows])
    if "well.depth" not in [row.key for row in rows]:
        raise Differs("the figures that differ lack the depth of the well: %r" % shown)
    yield from hand.find("keep_variant(", 0.3)
    with hand.override():
        bpy.ops.view3d.view_all()
    kept["both"] = model.snapshot()
    return "%d figures differ; %s" % (len(shown), seen)


def keep_one() -> Wait:
    """The variant kept; the other one back by undo, and the table as it was before."""
    first, depth = _tables()[0].name, table().parameters.well.depth
    yield from hand.press("keep_variant(", 0.3)
    yield from settled()
    expect("the tables", [one.name for one in _tables()], [first])
    expect("the depth of its well", table().parameters.well.depth, depth)
    seen = model.compare()
    yield from hand.key("Z", ctrl=True)
    yield from settled()
    expect("the tables", [one.name for one in _tables()], [first, "Variant B"])
    model.expect_same(kept["both"])
    yield from undo_to("alone")
    expect("the tables", [one.name for one in _tables()], [first])
    with hand.override():
        bpy.ops.view3d.view_all()
    return "kept: %s; both back by undo, then one alone" % seen


def _tables() -> Any:
    return model.tables()


STAGES = {"variant": variant, "keep one": keep_one}
