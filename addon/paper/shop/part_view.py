"""A part on its sheet: the face with the cuts, running dimensions from two edges, letters, and sections.

            a     b   A        letters of the cuts, in the order in which they stand; A is where a section is
     ┌──────┼─────┼───┼──┐
45.7─┤   ┌──┴──┐  │   ¦  │     places across it, from the lower edge
  22─┤   └─────┘  │   ¦  │
     o───┬────────┴──────┘
     │   192.5  740            places along it, from the start, where the circle is
     ├───────────────────┤
            1500
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from ...shop.part_sheets import PartSheet
from ...sizes.arrays import Floats
from ...wood.features import Face
from ...wood.meshes.mesh import mesh_of
from ...wood.part import Part
from ..lines.chains import paths_of
from ..lines.hidden import lines_of
from ..lines.seen import surface_of
from ..sheet import WHITE, Drawing, Pen
from ..sheet.clip import Rectangle
from ..sheet.dimensions import (
    ARROW,
    LARGE_LETTERS,
    LETTERS,
    OUTLINE,
    THIN,
    arrow_head,
    chain,
    spread,
    upright_dimension,
)
from ..sheet.lettering import text_width
from ..sheet.sheet import Sheet
from ..table_page import draw_lines
from ..views import OnSheet

ABOVE: Final = 12.0
"""Room above a view for its letters, mm."""

_PITCH: Final = 4.0
"""From a running dimension to the next one, at least, mm."""

_OFF: Final = 6.0
"""From the view to the lettering of running dimensions, mm."""

_ORIGIN: Final = 0.9
"""Radius of the circle at which running dimensions begin, mm."""


@dataclass(frozen=True, eq=False)
class View:
    """One face of a part, u to the right where it is the back face, to the left where it is the front face."""

    sheet: PartSheet
    face: Face

    @property
    def part(self) -> Part:
        """The part."""
        return self.sheet.part

    @property
    def way(self) -> float:
        """1 where the start is on the left, -1 where it is on the right."""
        return 1.0 if self.face == "back" else -1.0

    @property
    def below(self) -> float:
        """Room below for dimensions along the board, mm."""
        widths = [text_width(run.printed, LETTERS) for run in self.sheet.running if run.along == "u"]
        return (_OFF + max(widths) + 2.0 if widths else 1.0) + 7.5

    @property
    def left(self) -> float:
        """Room at the left for dimensions across the board, mm."""
        widths = [text_width(run.printed, LETTERS) for run in self.sheet.running if run.along == "v"]
        return _OFF + max(widths) + 2.0 if widths else 3.0

    @property
    def right(self) -> float:
        """Room at the right for the width, mm."""
        return 9.0 + text_width(self.sheet.outline["width"].printed, LETTERS)

    def drawn_at(self, paper: Sheet, scale: float, box: Rectangle) -> OnSheet:
        """Where it stands, its outline in the middle of a box, mm on the paper."""
        axes = self.axes
        blank = self.part.shape.blank
        corners = self.part.placement.to_table(np.array([(*blank.low, 0.0), (*blank.high, blank.thickness)]))
        flat = (corners @ axes.T)[:, :2]
        low, high = flat.min(axis=0), flat.max(axis=0)
        middle = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2])
        place = middle - (low + high) / 2 * scale
        x0, y0, x1, y1 = (float(one) for one in (*(low * scale + place), *(high * scale + place)))
        return OnSheet(paper, 1, scale, place, (x0, y0, x1, y1))

    @property
    def axes(self) -> Floats:
        """(3, 3) float: right, up and toward the eye, in the table's axes."""
        u, v, w = self.part.placement.axes
        return np.array([self.way * u, v, self.way * w])

    def x(self, on: OnSheet, u: float) -> float:
        """Of a place along the board, from its start, mm on the paper."""
        return on.box[0] + u * on.scale if self.way > 0 else on.box[2] - u * on.scale

    def draw(self, drawing: Drawing, on: OnSheet) -> None:
        """The view with its dimensions and letters."""
        draw_lines(drawing, lines_of(surface_of([self.part], self.axes)), on, hidden=True)
        low = self._draw_along(drawing, on)
        self._draw_across(drawing, on)
        length, width = self.sheet.outline["length"], self.sheet.outline["width"]
        level_dimension(drawing, on.box[0], on.box[2], on.box[1], low - 6.0, length.printed)
        _, bottom, right, top = on.box
        upright_dimension(drawing, right + 5.0, (right, bottom), (right, top), width.printed, 1)
        self._draw_letters(drawing, on)

    def _draw_along(self, drawing: Drawing, on: OnSheet) -> float:
        """Places along the board below it; returns how far down they reach, mm."""
        runs = [run for run in self.sheet.running if run.along == "u"]
        bottom = on.box[1]
        if not runs:
            return bottom
        wanted = np.array([self.x(on, run.at) for run in runs])
        origin = self.x(on, 0.0)
        stands = spread(
            np.append(wanted, origin), np.full(len(runs) + 1, _PITCH), on.box[0] - 9.0, on.box[2] + 9.0
        )[:-1]
        drawing.circle((origin, bottom - 1.8), _ORIGIN, WHITE, THIN)
        drawing.line((origin, bottom - 1.8 - _ORIGIN), (origin, bottom - _OFF), THIN)
        top = bottom - _OFF
        deepest = top
        for run, at, stand in zip(runs, wanted.tolist(), stands.tolist(), strict=True):
            drawing.polyline(
                [(at, bottom - 0.8), (at, bottom - 2.2), (stand, top + 1.2), (stand, top + 0.4)], THIN
            )
            drawing.text(run.printed, stand, top, LETTERS, "end", vertical="middle", angle=90.0)
            deepest = min(deepest, top - text_width(run.printed, LETTERS))
        return deepest

    def _draw_across(self, drawing: Drawing, on: OnSheet) -> None:
        """Places across the board at its left."""
        runs = [run for run in self.sheet.running if run.along == "v"]
        if not runs:
            return
        left, bottom, _, top = on.box
        wanted = np.array([bottom + run.at * on.scale for run in runs])
        stands = spread(np.append(wanted, bottom), np.full(len(runs) + 1, _PITCH), bottom - 6.0, top + 8.0)[
            :-1
        ]
        drawing.circle((left - 1.8, bottom), _ORIGIN, WHITE, THIN)
        for run, at, stand in zip(runs, wanted.tolist(), stands.tolist(), strict=True):
            drawing.polyline(
                [(left - 0.8, at), (left - 2.2, at), (left - _OFF + 1.2, stand), (left - _OFF + 0.4, stand)],
                THIN,
            )
            drawing.text(run.printed, left - _OFF, stand, LETTERS, "end", vertical="middle")

    def _draw_letters(self, drawing: Drawing, on: OnSheet) -> None:
        """Letters above the view with lines to the cuts that they stand for, and where the sections are."""
        told: list[tuple[str, list[tuple[float, float]]]] = []
        low = self.part.shape.blank.low
        for cut in self.sheet.cuts:
            places = [(self.x(on, u - low[0]), on.box[1] + (v - low[1]) * on.scale) for u, v in cut.places]
            told.append((cut.letter, places))
        sections = sections_of(self.sheet)
        for section in sections:
            told.append((section.letter, [(self.x(on, section.at - low[0]), on.box[3])]))
        if not told:
            return
        wanted = np.array([float(np.mean([x for x, _ in places])) for _, places in told])
        stands = spread(wanted, np.full(len(told), 5.0), on.box[0] - 8.0, on.box[2] + 8.0)
        row = on.box[3] + ABOVE - 4.5
        for (letter, places), stand in zip(told, stands.tolist(), strict=True):
            drawing.text(letter, stand, row, LARGE_LETTERS, "middle", weight=0.14)
            for x, y in places:
                if letter.isupper():
                    drawing.polyline([(stand, row - 0.8), (x, on.box[3] + 2.5), (x, on.box[3] + 0.5)], THIN)
                    drawing.line((x, on.box[3] + 0.5), (x, on.box[1] - 0.5), chain())
                else:
                    drawing.line((stand, row - 0.8), (x, y), Pen(0.18))
                    drawing.circle((x, y), 0.5, "#000000")


def best_face(part: Part) -> Face:
    """The face to look at: that with more cut into it alone; the back face, whose start is on the left, on a tie."""
    alone = [feature.faces[0] for feature in part.shape.features if len(feature.faces) == 1]
    deep = [one.face for one in part.shape.grooves]
    front = alone.count("front") + 3 * deep.count("front")
    back = alone.count("back") + 3 * deep.count("back")
    return "front" if front > back else "back"


def level_dimension(
    drawing: Drawing, left: float, right: float, start: float, y: float, text: str
) -> None:  # fmt: skip
    """The dimension of a length below what it is of, its figure above the line (ISO 129-1, from memory).

    Parameters
    ----------
    left, right : where it begins and ends, mm
    start : from where the extension lines come
    y : of the dimension line
    """
    for x in (left, right):
        drawing.line(
            (x, start - 0.8 if y < start else start + 0.8), (x, y - 1.5 if y < start else y + 1.5), THIN
        )
    room = right - left
    width = text_width(text, LETTERS)
    if room >= 3 * ARROW:
        drawing.line((left + 0.8 * ARROW, y), (right - 0.8 * ARROW, y), THIN)
        arrow_head(drawing, (left, y), (-1, 0))
        arrow_head(drawing, (right, y), (1, 0))
    else:
        drawing.line((left - 2 * ARROW, y), (right + 2 * ARROW, y), THIN)
        arrow_head(drawing, (left, y), (1, 0))
        arrow_head(drawing, (right, y), (-1, 0))
    if room >= width + 2.0:
        drawing.text(text, (left + right) / 2, y + 0.9, LETTERS, "middle")
    else:
        drawing.text(text, right + 2 * ARROW + 1.0, y, LETTERS, vertical="middle")


# -- sections
# ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Section:
    """A cut square to the board's length, at u mm."""

    letter: str
    at: float


def sections_of(sheet: PartSheet) -> tuple[Section, ...]:
    """As few sections as cut through every opening, groove and treated edge that runs along the board, up to three."""
    shape = sheet.part.shape
    blank = shape.blank
    spans = []
    for feature in (*shape.openings, *shape.grooves, *shape.edge_cuts):
        low, high = feature.bounds(blank)
        if high[0] - low[0] > 0.02 * (blank.high[0] - blank.low[0]):
            spans.append((max(low[0], blank.low[0]), min(high[0], blank.high[0])))
    left = set(range(len(spans)))
    found: list[float] = []
    while left and len(found) < 3:
        ats = sorted((a + b) / 2 for a, b in spans)
        at = max(ats, key=lambda one: (len({k for k in left if spans[k][0] < one < spans[k][1]}), -one))
        met = {k for k in left if spans[k][0] < at < spans[k][1]}
        if not met:
            break
        found.append(at)
        left -= met
    return tuple(Section("ABC"[number], at) for number, at in enumerate(sorted(found)))


def draw_section(
    drawing: Drawing, part: Part, section: Section, scale: float, left: float, bottom: float
) -> None:
    """The wood where a section cuts it, hatched; the front face on the left."""
    rings = [ring * scale + (left, bottom) for ring in _cut_at(part, section.at)]
    drawing.hatch(rings, Pen(0.13), 1.5)
    drawing.strokes(rings, OUTLINE, closed=True)


def _cut_at(part: Part, at: float) -> list[Floats]:
    """Rings, (n, 2) float mm, of a part's section at a place along it: through the thickness, and up."""
    mesh = mesh_of(part.shape)
    points = mesh.vertices
    off = points[:, 0] - (at + 1.234e-4)  # off every corner of the mesh
    triangles = mesh.triangles
    sides = off[triangles] > 0
    segments = []
    for triangle in triangles[sides.any(axis=1) & ~sides.all(axis=1)]:
        ends = []
        for a, b in ((0, 1), (1, 2), (2, 0)):
            p, q = triangle[a], triangle[b]
            if (off[p] > 0) != (off[q] > 0):
                share = off[p] / (off[p] - off[q])
                ends.append(points[p] + share * (points[q] - points[p]))
        segments.append([(ends[0][2], ends[0][1]), (ends[1][2], ends[1][1])])
    if not segments:
        return []
    flat = np.array(segments) - (0.0, part.shape.blank.low[1])
    flat = flat[np.hypot(*(flat[:, 1] - flat[:, 0]).T) > 1e-6]
    return [path[:-1] if np.allclose(path[0], path[-1], atol=1e-3) else path for path in paths_of(flat)]


def section_sizes(sheet: PartSheet, scale: float) -> Iterator[tuple[float, float]]:
    """Width and height of each section on the paper, mm."""
    _, width, thickness = sheet.part.shape.size
    for _ in sections_of(sheet):
        yield thickness * scale, width * scale
