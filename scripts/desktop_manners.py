"""A small window, German, a light theme: labels in one language, a comma in decimals, nothing left of another."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_common import settled
from desktop_hand import Wait
from desktop_job import framed
from desktop_model import Differs, expect, table
from desktop_stages import TAB, disable, install

bpy: Any = importlib.import_module("bpy")

WINDOW = (1366, 768)
LIGHT = "Blender_Light.xml"
#: English → German, by hand: what stands in the panel Table and in the corner of the view.
GERMAN = {"as drawn": "gezeichnet", "in the shop": "Werkstatt", "by hand": "von Hand"}


def small() -> Wait:
    """A table in a window of 1366 by 768: all of it in the view."""
    window = hand.window()
    if window.width > WINDOW[0] or window.height > WINDOW[1]:
        raise Differs("the window is %d by %d" % (window.width, window.height))
    yield from hand.open_sidebar(TAB)
    yield from hand.press("add_example(example='quilting')")
    yield from settled()
    parts = model.part("scene.access").part_objects(table())
    share = framed(list(parts.values()))
    return "window of %d by %d, table over %.0f %% of the view; %s" % (
        window.width,
        window.height,
        100 * share,
        model.compare(),
    )


def german() -> Wait:
    """The labels in German; a comma in decimals."""
    view = bpy.context.preferences.view
    view.language = "de_DE"
    view.use_translate_interface = view.use_translate_tooltips = True
    yield hand.LOOK
    shown = model.part("scene.translation").shown
    expect("the lines", {name: shown(name) for name in GERMAN}, GERMAN)
    corner = [words for grade, words in model.part("scene.overlay.corner").verdict_of(table()) if grade]
    for words, name in zip(corner, GERMAN.values()):
        expect("a line of the view's corner", words.split(":")[0].lower(), name.lower())
    x, y = yield from hand.find("stock[0].measured_text", 0.75)
    yield from hand.type_over(x, y, "17,6")
    yield from settled()
    sheet = model.part("scene.access").table_in(table()).stock[0]
    expect("the thickness of %s" % sheet.name, sheet.measured, 17.6)
    text = table().parameters.stock[0].measured_text
    expect("its field", text, "17,6 mm")
    return "corner: %s; 17,6 reads %s; %s" % (" | ".join(corner), text, model.compare())


def light() -> Wait:
    """Blender's own light theme."""
    found = list(Path(bpy.utils.system_resource("SCRIPTS")).rglob(LIGHT))
    if not found:
        raise Differs("this Blender has no theme %s" % LIGHT)
    space = bpy.context.preferences.themes[0].view_3d.space
    before = sum(space.gradients.high_gradient)
    bpy.ops.script.execute_preset(filepath=str(found[0]), menu_idname="USERPREF_MT_interface_theme_presets")
    yield hand.LOOK
    if sum(space.gradients.high_gradient) <= before:
        raise Differs("the view is no lighter with the theme of %s" % found[0].name)
    return "theme of %s" % found[0].name


def english() -> Wait:
    """The labels in English again."""
    bpy.context.preferences.view.language = "en_US"
    yield hand.LOOK
    corner = [words for grade, words in model.part("scene.overlay.corner").verdict_of(table()) if grade]
    for words, name in zip(corner, GERMAN):
        expect("a line of the view's corner", words.split(":")[0].lower(), name)
    text = table().parameters.stock[0].measured_text
    expect("the field", text, "17.6 mm")
    return "corner: %s" % " | ".join(corner)


STAGES = {
    "install": install,
    "small": small,
    "german": german,
    "light": light,
    "english": english,
    "switch off": disable,
}
