"""The pages of cautions: where the work can hurt, and what comes before any paper; and short ones for other pages.

They are common practice unless a source stands with them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from ...shop.job import Job
from ...sizes.units import Units
from ...wood.reserved import LOW_VOLTAGE
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LARGE_LETTERS, LETTERS, THIN
from ..sheet.lettering import wrapped
from .page import ShopPage, area_of

FIRST: Final = "Tool manuals, local rules and licensed trades come before anything on these papers."

_TEXTS: Final[tuple[tuple[str, tuple[str, ...]], ...]] = (
    (
        "Before any cut",
        (
            "Wear eye, ear and dust protection.",
            "No gloves, no loose sleeves, no rings at rotating tools; tie long hair back.",
            "Unplug the tool, or take its battery out, before you change a bit or a blade.",
            "Clear scraps with a stick or a brush when the tool stands still, never with the fingers.",
            "Measure, cut a test piece, then cut the part. Dry-fit before glue.",
        ),
    ),
    (
        "Table saw",
        (
            "Riving knife and guard stay on. The knife is thinner than the kerf; the guard is close above the "
            "wood.",
            "Use a push stick wherever a hand would come within {hand} of the blade. Stand beside its line.",
            "Grooves and rabbets, where the guard cannot stay: featherboards and a push block hold the wood, "
            "the blade is no higher than needed.",
            "Never fence and miter gauge together: the offcut jams and is thrown back.",
            "No freehand cuts. No shaving cuts on short pieces.",
            "Small parts: cut them off a long strip, with a sled or by hand. The stop block ends before the "
            "blade, so that nothing jams.",
        ),
    ),
    (
        "Router",
        (
            "Feed against the rotation: with the base on the work clockwise inside an opening, "
            "counterclockwise around a part; at the router table from right to left.",
            "Widening passes too: cut on the side where the wood pushes against your feed. With the rotation "
            "the bit grabs and runs away.",
            "Several shallow passes. Clamp down the work and the template.",
            "Loose waste in a slot jams and is thrown: saw it out first and leave {left} for the router.",
            "Thin wood bends into the bit: rout it while it is part of a wide board, or between fence and "
            "featherboard.",
            "Small parts: rout the edge on a long piece, then cut them off.",
            "A backer behind the edge where the bit leaves the wood.",
        ),
    ),
    (
        "Jig saw, drill, nailer",
        (
            "Drill a starter hole before the jig saw; never tip its blade into the wood.",
            "Clamp the work; look what is below it.",
            "Keep hands off the nailer's line: a brad turns aside in plywood and comes out of a face.",
        ),
    ),
    (
        "Dust, glue and finish",
        (
            "Wood dust harms lungs and nose; that of oak, beech and birch is held to cause cancer or "
            "suspected of it (ACGIH). Extract it at the tool, wear a mask (P2, FFP2 or better).",
            "Limits over 8 hours: OSHA 15 mg/m³ total and 5 mg/m³ respirable, NIOSH 1 mg/m³ (osha.gov, wood "
            "dust). Your local limit applies.",
            "Oily rags catch fire by themselves: spread them out flat outdoors, or keep them under water in a "
            "closed metal can.",
        ),
    ),
    (
        "Carrying and turning",
        (
            "Two people turn the table over.",
            "Lift it by the body: not by the legs, whose joints it strains, and never by a slot's lip, where the "
            "wood is thin.",
        ),
    ),
    (
        "In use",
        (
            "Keep fingers from under a leaf that drops into the well.",
            "Nobody sits or stands on a leaf.",
            "Never push a leaf home with a finger in its hole: it shears at the slot. Push with the palm at "
            "its end.",
        ),
    ),
)

_CABLES: Final = (
    "Unplug the supply before you drill, drive a screw or pull a cable; look where cables run before each later "
    "screw.",
    "No joint of mains voltage inside the table: the plug-in supply stays outside, where air gets at it.",
)
"""Beside what voltage is meant, where a table has cables."""

_HAND: Final[dict[Units, str]] = {"mm": "300 mm", "in": "12 in"}
"""HSE's guidance for circular saws (WIS 16), from memory."""
_LEFT: Final[dict[Units, str]] = {"mm": "2 mm", "in": "1/16 in"}

Place = Literal["saw", "tapers", "router", "grooves", "edges", "turning"]

SHORT: Final[dict[Place, str]] = {
    "saw": (
        "Guard and riving knife on. Push stick. Never fence and miter gauge together. No freehand or shaving "
        "cuts on short pieces. Eye, ear and dust protection, no gloves. Unplug before changing the blade."
    ),
    "tapers": (
        "Board held down on the jig, never by hand alone: hands stay behind the blade's guard. Riving knife on. Stand "
        "beside its line, push the jig past the blade, stop the saw before taking off what was cut. Eye, ear and dust "
        "protection, no gloves. Unplug before changing the blade."
    ),
    "router": (
        "Starter hole before the jig saw. No loose waste in a slot. Feed against the rotation, clockwise "
        "inside an opening. Shallow passes, all clamped. Eye, ear and dust protection, no gloves. Unplug "
        "before changing the bit."
    ),
    "grooves": (
        "Right to left at the router table, widening passes too. Featherboards and push block. Test piece "
        "first. Eye, ear and dust protection, no gloves. Unplug before changing the bit."
    ),
    "edges": (
        "Thin or small wood: rout the edge on a wide or long piece, then cut it off. Backer where the bit "
        "leaves the wood. Feed against the rotation. Eye, ear and dust protection. Unplug before changing the "
        "bit."
    ),
    "turning": (
        "Two people turn it over. Do not lift it by a slot's lip. Fingers from under a leaf that drops."
    ),
}
"""What is said again where the work is done."""

_SIZE: Final = 2.8
_PITCH: Final = 1.4 * _SIZE
_GAP: Final = 8.0
"""Between columns, mm."""


def texts(units: Units, cables: bool = False) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """All cautions in groups: heading, sentences. What comes first is about cables, where the table has some."""
    common = tuple(
        (heading, tuple(one.format(hand=_HAND[units], left=_LEFT[units]) for one in sentences))
        for heading, sentences in _TEXTS
    )
    return (("Cables", (LOW_VOLTAGE, *_CABLES)), *common) if cables else common


def pages(job: Job) -> Iterator[ShopPage]:
    """As many as they take."""
    left, bottom, right, top = area_of(job)
    width = (right - left - _GAP) / 2
    columns = _columns(_blocks(texts(job.units, _has_cables(job)), width), top - bottom - 8.0)
    sheets = [columns[at : at + 2] for at in range(0, len(columns), 2)]
    for number, sheet in enumerate(sheets, 1):

        def draw(drawing: Drawing, area: Rectangle, sheet: list[list[_Block]] = sheet) -> None:
            _draw(drawing, area, sheet)

        which = f" {number} of {len(sheets)}" if len(sheets) > 1 else ""
        yield ShopPage("cautions", f"Cautions{which}", draw, str(number) if len(sheets) > 1 else "")


@dataclass(frozen=True)
class _Block:
    """A heading, or one sentence in lines."""

    lines: tuple[str, ...]
    heading: bool

    @property
    def height(self) -> float:
        """mm"""
        return _PITCH * len(self.lines) + (2.6 if self.heading else 0.8)


def _has_cables(job: Job) -> bool:
    return any(entry.form == "cable" for entry in job.table.reserved)


def _blocks(groups: Sequence[tuple[str, Sequence[str]]], width: float) -> list[_Block]:
    found = []
    for heading, sentences in groups:
        found.append(_Block((heading,), True))
        found += [_Block(tuple(wrapped(one, _SIZE, width - 4.0)), False) for one in sentences]
    return found


def _columns(blocks: Sequence[_Block], height: float) -> list[list[_Block]]:
    """Blocks in columns; a heading stays with what comes first below it."""
    columns: list[list[_Block]] = [[]]
    used = 0.0
    for number, block in enumerate(blocks):
        after = blocks[number + 1].height if block.heading and number + 1 < len(blocks) else 0.0
        if columns[-1] and used + block.height + after > height:
            columns.append([])
            used = 0.0
        columns[-1].append(block)
        used += block.height
    return columns


def _draw(drawing: Drawing, area: Rectangle, columns: Sequence[Sequence[_Block]]) -> None:
    left, _, right, top = area
    drawing.text(FIRST, left, top - 0.5, LARGE_LETTERS, vertical="top", weight=0.14)
    width = (right - left - _GAP) / 2
    for number, column in enumerate(columns):
        x, at = left + number * (width + _GAP), top - 8.0
        for block in column:
            at -= 2.0 if block.heading else 0.4
            for line in block.lines:
                weight, indent = (0.15, 0.0) if block.heading else (0.1, 4.0)
                drawing.text(line, x + indent, at, _SIZE, vertical="top", weight=weight)
                at -= _PITCH
            if not block.heading:
                y = at + _PITCH * len(block.lines) - _SIZE / 2
                drawing.line((x + 0.8, y), (x + 2.4, y), THIN)
            at -= 0.6 if block.heading else 0.4


def short_height(place: Place, width: float) -> float:
    """What `draw_short` takes, mm."""
    return 3.7 * len(wrapped(SHORT[place], LETTERS, width - 4.0)) + 3.0


def draw_short(drawing: Drawing, place: Place, box: Rectangle) -> None:
    """The short cautions of a place in a frame at the bottom of a box."""
    left, bottom, right, _ = box
    lines = wrapped(SHORT[place], LETTERS, right - left - 4.0)
    drawing.rectangle((left, bottom, right, bottom + short_height(place, right - left)), None, THIN)
    for number, line in enumerate(reversed(lines)):
        drawing.text(line, left + 2.0, bottom + 1.9 + 3.7 * number, LETTERS, weight=0.14)
