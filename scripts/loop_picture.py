"""The loop at the top of the README, by ``make_examples.py``: a leaf slides in and stops at a rib that is too long.

What it says is what the check finds.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from words_picture import opened

if TYPE_CHECKING:
    from PIL.Image import Image  # pyright: ignore[reportMissingImports]

    from addon.check.facts import Fact
    from addon.designs.table.parameters import Table
    from addon.wood.assembly import Assembly, StowPath

WIDTH, HEIGHT, SCALE = 222.0, 138.0, 0.155
BAND: Final = 19.0
"""Height of the words' band, mm on paper."""
LOOKED_AT: Final = (330.0, 60.0, 640.0)
"""What is in the middle of the picture, mm."""

WITHOUT: Final = {"B1", "L1", "L2"}
"""Not there, so that the leaf is seen among the ribs."""

BAD, MENDED = "#D699C9", "#99D8C7"
"""Tints of what the palette calls blocked and good."""
DOTS: Final = 110.0
PACE: Final = 30
"""Frames from the slot to home."""
SHORT, LONG = 70, 2600
"""How long a frame stays, ms."""


@dataclass(frozen=True)
class Scene:
    """One frame."""

    travel: float
    rib: str
    words: tuple[str, str]
    stays: int


def loop(sound: Table, faulty: Table, forced: Table, path: Path) -> None:
    """Writes the loop, as an animated WebP.

    Parameters
    ----------
    sound : the table
    faulty : the same with a rib that is too long
    forced : and with that rib forced in all the same
    """
    from addon.check.check import check
    from addon.designs.table import build

    assembly = build(sound)  # the rib that is too long looks the same at this scale
    stop = next(fact for fact in check(build(forced)).facts if fact.rule == "leaf-blocked")
    scenes = list(scenes_of(assembly.path_of(stop.leaf), stop, remedy_of(faulty)))
    frames = [picture(assembly, one, stop) for one in scenes]
    frames[0].save(
        path, save_all=True, append_images=frames[1:], duration=[one.stays for one in scenes], loop=0, lossless=True,
        quality=100, method=6,
    )  # fmt: skip


def remedy_of(faulty: Table) -> str:
    """What the check offers for the gravest finding, in words."""
    from addon.check.prepared import prepare
    from addon.check.progress import run_through
    from addon.designs.checking import answer_steps
    from addon.designs.table import build
    from addon.designs.table.design import TABLE
    from addon.designs.trying import remedied

    prepared = prepare(build(faulty))
    report = remedied(TABLE, faulty, prepared, run_through(answer_steps(TABLE, faulty, prepared)))
    remedy = report.findings[0].remedy
    assert remedy is not None
    return remedy.text


def scenes_of(path: StowPath, stop: Fact, remedy: str) -> Iterator[Scene]:
    """In, stopped, mended, home: the leaf that the rib stops first."""
    assert stop.travel is not None
    end = path.length - path.zero
    before = int(PACE * stop.travel / end)
    slides = "%s slides home" % path.leaf, "through its slot and the windows of the ribs"
    for travel in np.linspace(0.0, stop.travel, before):
        yield Scene(float(travel), "", slides, SHORT)
    stops = "%s stops after %.0f mm" % (path.leaf, stop.travel)
    yield Scene(
        stop.travel,
        BAD,
        (stops, "%s is too long, and its window %.0f mm in the way" % (stop.parts[0], stop.amount)),
        LONG,
    )
    yield Scene(stop.travel, MENDED, ("A remedy, tried before it is given", remedy), LONG)
    for travel in np.linspace(stop.travel, end, PACE - before + 1)[1:]:
        yield Scene(float(travel), "", slides, SHORT)
    yield Scene(end, "", ("%s is home" % path.leaf, "Found before a sheet was cut"), LONG)


def picture(assembly: Assembly, scene: Scene, stop: Fact) -> Image:
    """A frame."""
    from PIL import Image  # pyright: ignore[reportMissingImports]

    from addon.paper.sheet import Drawing, Pen
    from addon.paper.sheet.palette import BLOCKED
    from addon.paper.sheet.raster import png_of

    drawing = Drawing(WIDTH, HEIGHT, "A leaf slides home")
    offset = assembly.path_of(stop.leaf).offset_at(scene.travel)
    view = opened(assembly, {}, WITHOUT, {stop.leaf: offset})
    axes = view.surface.axes
    place = np.array([WIDTH, HEIGHT + BAND]) / 2 - (axes @ np.array(LOOKED_AT))[:2] * SCALE
    with drawing.clipped((0.0, BAND, WIDTH, HEIGHT)):
        view.drawn(drawing, SCALE, place, {stop.parts[0]: scene.rib} if scene.rib else {})
    if scene.rib == BAD:
        at = (axes @ np.array(stop.at))[:2] * SCALE + place
        drawing.circle((float(at[0]), float(at[1])), 6.0, None, Pen(0.9, BLOCKED))
    for line, (words, size) in enumerate(zip(scene.words, (6.0, 4.4), strict=True)):
        drawing.text(words, 6.0, BAND - 8.5 - 7.5 * line, size)
    return Image.open(io.BytesIO(png_of(drawing, DOTS))).convert("RGB")
