"""The filmstrip on a sheet of paper: a leaf at the moments of its way that matter, the tightest places enlarged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..check.prepared import Prepared
from ..check.row.leaf_rows import LeafRow, leaf_rows
from ..check.running import Running, TightPlace, running_clearances, tight_places
from ..check.slide.proof import Snag, prove_leaves, snag_of, stowed_to_pose
from ..designs.table.parameters import Table
from ..designs.words.answer import Lines
from ..designs.words.slide import snag_lines
from ..sizes.arrays import Floats
from ..sizes.errors import ExportError
from ..sizes.tolerances import CONTACT
from ..sizes.words import capital, listed
from ..wood.features import EdgeTreatment, Opening
from ..wood.part import Part, Placement, Shape
from .close_up import clearance_text, draw_running, draw_snag, seen, travel_text, view_of, walls
from .lines.chains import paths_of
from .lines.hidden import hidden_lines
from .sheet import Drawing, Pen
from .sheet.clip import Rectangle
from .sheet.dimensions import LETTERS, SMALL_LETTERS, THIN, fitted
from .sheet.lettering import shortened
from .sheet.palette import BY_HAND
from .sheet.sheet import A3, A4, BLOCK_HEIGHT, SCALES, Sheet, Titles, draw_title_block, scale_name
from .views import view_from

_SAME: Final = 2.0
"""Travels nearer to each other than this are one moment, mm."""

MOST: Final = 12
"""Tightest places of a leaf that are shown; many parts may be equally near to it."""


@dataclass(frozen=True, eq=False)
class Still:
    """One picture of the strip.

    Parameters
    ----------
    words : what it shows
    pose : where the leaf is, and how near to what
    place : of the leaf
    snag : where the leaf is instead, where it needs steering
    """

    words: str
    pose: Running
    place: Placement
    snag: Snag | None = None


def stills_of(prepared: Prepared, leaves: Sequence[str]) -> dict[str, list[Still]]:
    """For each leaf the start of its way, its nose at the slot, its tightest places, where it needs steering, its end.

    Leaves that come later in their order are not in their slots yet.
    """
    order = [path.leaf for path in prepared.assembly.stow_paths]
    tight = tight_places(prepared)
    chosen: dict[str, list[tuple[str, float]]] = {}
    for leaf in leaves:
        path = prepared.assembly.path_of(leaf)
        home = path.length - path.zero
        found = [("before its slot", -path.zero), ("nose at the slot", 0.0)]
        moments = _moments(tight[leaf])
        of = f", one of {len(moments)} places" if len(moments) > MOST else ""
        found += [
            (f"tightest at {listed(parts)}{of}", travel)
            for travel, parts in _spread(moments)
            if travel < home - _SAME
        ]
        last = "stowed, tightest" if any(one.travel >= home - _SAME for one in tight[leaf]) else "stowed"
        chosen[leaf] = [*found, (last, home)]
    poses = running_clearances(
        prepared,
        {leaf: [travel for _, travel in own] for leaf, own in chosen.items()},
        {leaf: order[order.index(leaf) + 1 :] for leaf in leaves},
    )
    snags = {proof.leaf: snag_of(proof) for proof in prove_leaves(prepared)}
    strips = {}
    for leaf, own in chosen.items():
        part, path = prepared.assembly.by_label[leaf], prepared.assembly.path_of(leaf)
        stills = [
            Still(words, pose, part.placement.moved(path.offset_at(pose.travel)))
            for (words, _), pose in zip(own, poses[leaf], strict=True)
        ]
        snag = snags.get(leaf)
        if snag is not None:
            stills.append(_snagging(prepared, snag))
        strips[leaf] = sorted(stills, key=lambda still: still.pose.travel)
    return strips


Moment = tuple[float, list[str]]
"""A travel of a leaf, mm, and the labels of the parts that it comes nearest to there."""


def _moments(places: Sequence[TightPlace]) -> list[Moment]:
    """A leaf's tightest places; parts that it meets at once, such as a kicker on either side, are one picture."""
    moments: list[Moment] = []
    for one in places:
        if moments and one.travel - moments[-1][0] < CONTACT:
            moments[-1][1].append(one.part)
        else:
            moments.append((one.travel, [one.part]))
    return moments


def _spread(moments: Sequence[Moment]) -> list[Moment]:
    """All moments, or as many as a sheet shows well, from the first to the last."""
    most = min(MOST, len(moments))
    return [moments[round(number * (len(moments) - 1) / max(1, most - 1))] for number in range(most)]


def _snagging(prepared: Prepared, snag: Snag) -> Still:
    part = prepared.assembly.by_label[snag.leaf]
    move = stowed_to_pose(snag.view, snag.pose)
    origin = move[:3, :3] @ part.placement.origin + move[:3, 3]
    place = Placement(origin, part.placement.axes @ move[:3, :3].T)
    (pose,) = running_clearances(prepared, {snag.leaf: [snag.pose.travel]})[snag.leaf]
    assert np.isfinite(origin).all()
    return Still(f"needs steering at {snag.opening}", pose, place, snag)


VIEW: Final = "336,44"
"""Where the pictures are seen from, as of `view_from`: into the open body, from the front and the left."""

OUTLINE: Final = Pen(0.25)
EDGE: Final = Pen(0.13)
LEAF: Final = Pen(0.4, BY_HAND)
HIDDEN: Final = Pen(0.2, BY_HAND, (1.2, 0.7))
"""Outlines and edges of what stands still; those of the leaf, and those of its edges that are hidden."""

_OUTSIDE: Final = 0.5
"""Share of the way outside that pictures take in."""
_PLAIN: Final = 58.0
"""Least width of a picture from which A4 will do, mm."""
_CAPTION: Final = 13.5
_INSET: Final = 0.42
"""Height of the captions, mm, and of the enlarged section as a share of what is left."""
_GAP: Final = 2.0
_GAP_SHARE: Final = 0.4
"""Largest share of an inset's height that the clearance takes."""


def filmstrip(
    table: Table, prepared: Prepared, *, date: str, leaves: Sequence[str] = (), sheet: Sheet | None = None,
    answer: Lines = (),
) -> Drawing:  # fmt: skip
    """Pictures of leaves at the moments of their way that matter, with the tightest places enlarged.

    Parameters
    ----------
    date : as it is to stand in the title block
    leaves : labels; by default all that are stowed, a row or more each
    sheet : A4 or A3 where it must be that one; by default A4 where pictures have room on it
    answer : the three lines for the title block; () where nobody asked

    Raises
    ------
    ExportError : for a leaf that is not stowed, and for a table without one
    PartError : where a part has no sound section
    """
    known = [path.leaf for path in prepared.assembly.stow_paths]
    for leaf in leaves:
        if leaf not in known:
            raise ExportError(f"{leaf} has no filmstrip: the leaves that are stowed are {', '.join(known)}.")
    if not known:
        raise ExportError(f"{table.name} has no filmstrip: none of its leaves is stowed.")
    return _page(table, prepared, stills_of(prepared, leaves or known), date, sheet, answer)


def _page(
    table: Table,
    prepared: Prepared,
    strips: dict[str, list[Still]],
    date: str,
    sheet: Sheet | None,
    answer: Lines,
) -> Drawing:
    """The strips of some leaves on a sheet."""
    counts = [len(own) for own in strips.values()]
    chosen = sheet or (A4 if _columns(A4, counts)[1] >= _PLAIN else A3)
    cells = _cells(chosen, counts)
    drawing = chosen.drawing(f"{table.name}: filmstrip of {', '.join(strips)}")
    stills = [(leaf, number, still) for leaf, own in strips.items() for number, still in enumerate(own, 1)]
    pictures = _Pictures(table, prepared, list(strips), _picture_of(cells[0]))
    for (leaf, number, still), cell in zip(stills, cells, strict=True):
        pictures.draw(drawing, cell, leaf, number, still)
    left, bottom = chosen.frame[:2]
    left_out = capital(listed([*prepared.assembly.hiding, "leaves that come later"]))
    drawing.text(f"{left_out} not shown", left + 2.0, bottom + 2.5, SMALL_LETTERS)
    scale = f"not to scale, details {scale_name(pictures.scale)}" if pictures.scale else "not to scale"
    subject = f"leaf {', '.join(strips)}" if len(strips) == 1 else f"leaves {', '.join(strips)}"
    titles = Titles(table.name, f"Filmstrip, {subject}", scale, date, answer=answer)
    draw_title_block(drawing, chosen, titles)
    return drawing


def _columns(sheet: Sheet, counts: Sequence[int]) -> tuple[int, float]:
    """How many pictures there are in a row, and how wide that makes them at most, mm, for their height."""
    left, bottom, right, top = sheet.frame
    best = (1, 0.0)
    for columns in range(1, max(counts) + 1):
        rows = sum(-(-count // columns) for count in counts)
        width, height = (right - left) / columns, (top - bottom - BLOCK_HEIGHT) / rows
        # A picture is about one and a half times as wide as high, and so is its inset below it.
        size = min(width, 1.5 * (height - _CAPTION) * (1 - _INSET))
        best = max(best, (columns, size), key=lambda one: one[1])
    return best


def _cells(sheet: Sheet, counts: Sequence[int]) -> list[Rectangle]:
    """Where each picture goes, each leaf from a new row on: left, bottom, right, top, mm."""
    columns, _ = _columns(sheet, counts)
    left, bottom, right, top = sheet.frame
    rows = sum(-(-count // columns) for count in counts)
    width, height = (right - left) / columns, (top - bottom - BLOCK_HEIGHT) / rows
    found, row = [], 0
    for count in counts:
        for place in range(count):
            x, y = left + width * (place % columns), top - height * (row + place // columns)
            found.append((x + _GAP, y - height + _GAP, x + width - _GAP, y - _GAP))
        row += -(-count // columns)
    return found


def _picture_of(cell: Rectangle) -> Rectangle:
    """The part of a cell that the picture has, below the captions."""
    left, bottom, right, top = cell
    return left, bottom + _INSET * (top - _CAPTION - bottom) + _GAP, right, top - _CAPTION


class _Pictures:
    """Draws the pictures of a strip, all at one scale."""

    def __init__(self, table: Table, prepared: Prepared, leaves: list[str], box: Rectangle) -> None:
        self.table, self.prepared = table, prepared
        self.axes = view_from(VIEW).axes
        self.rows = leaf_rows(prepared)
        self.order = [path.leaf for path in prepared.assembly.stow_paths]
        self.scale: float | None = None
        """Of the insets, once one is drawn."""
        points = np.concatenate([self._seen(leaf) for leaf in leaves])
        self.low, self.high = points.min(axis=0), points.max(axis=0)
        size = np.array([box[2] - box[0], box[3] - box[1]]) - 1.0
        self.small = float((size / (self.high - self.low)).min())
        least = EDGE.width / self.small
        self._plain = {part.label: _plain(part, least) for part in prepared.assembly.parts}

    def _seen(self, leaf: str) -> Floats:
        """(n, 2) float: corners of what pictures of a leaf take in, mm."""
        prepared = self.prepared
        pieces = [prepared.pieces[prepared.number[part.label]].vertices for part in self._parts(leaf)]
        outside = prepared.assembly.path_of(leaf).moves[0].start * _OUTSIDE
        pieces.append(prepared.pieces[prepared.number[leaf]].vertices + outside)
        return np.concatenate(pieces) @ self.axes[:2].T

    def _parts(self, leaf: str) -> list[Part]:
        """What is drawn with a leaf: the open body and the leaves that are stowed already."""
        there = self.order[: self.order.index(leaf) + 1]
        parts = self.prepared.assembly.parts
        return [one for one in parts if not (one.role.hides_inside or one.role.slides) or one.label in there]

    def draw(self, drawing: Drawing, cell: Rectangle, leaf: str, number: int, still: Still) -> None:
        """A picture with its caption above and the enlarged section below."""
        left, bottom, right, top = cell
        units = self.table.units
        said = clearance_text(still.pose, units)
        if still.snag is not None:
            _, said = snag_lines(still.snag, units)
        lines = [f"{leaf}.{number}  {still.words}", travel_text(still.pose.travel, units), said]
        for place, (line, weight) in enumerate(zip(lines, (0.15, 0.1, 0.1), strict=True)):
            size = fitted(line, LETTERS, right - left)
            words = shortened(line, size, right - left)
            drawing.text(words, left, top - 4.2 * place, size, vertical="top", weight=weight, name="caption")
        self._draw_table(drawing, _picture_of(cell), leaf, still)
        inset = (left, bottom, right, bottom + _INSET * (top - _CAPTION - bottom))
        if still.snag is not None:
            of = still.snag.view.of
            words = f"not to scale, {seen(of.view)}"
            draw_snag(drawing, inset, of, still.snag.pose, still.snag.corner, words, SMALL_LETTERS)
        elif still.words not in ("before its slot", "nose at the slot"):
            self._draw_inset(drawing, inset, [row for row in self.rows if row.leaf == leaf], still)
        drawing.line((left, bottom - _GAP), (right, bottom - _GAP), THIN)

    def _draw_table(self, drawing: Drawing, box: Rectangle, leaf: str, still: Still) -> None:
        parts = [self._plain[part.label] for part in self._parts(leaf)]
        lines = hidden_lines(parts, self.axes, {leaf: still.place})
        middle = np.array([box[0] + box[2], box[1] + box[3]]) / 2
        ends = (lines.ends[:, :, :2] - (self.low + self.high) / 2) * self.small + middle
        own = np.array([part.label == leaf for part in parts])[lines.part]
        with drawing.clipped(box):
            for which, pen, name in (
                (lines.visible & ~lines.outline & ~own, EDGE, "edges"),
                (lines.outline & ~own, OUTLINE, "outlines"),
                (~lines.visible & own, HIDDEN, "leaf, hidden"),
                (lines.visible & own, LEAF, "leaf"),
            ):
                drawing.strokes(paths_of(ends[which]), pen, name=name)

    def _draw_inset(self, drawing: Drawing, box: Rectangle, rows: list[LeafRow], still: Still) -> None:
        view = view_of(rows, still.pose)
        if self.scale is None:
            room = _GAP_SHARE * (box[3] - box[1] - 1.9 * SMALL_LETTERS)
            fits = [one for one in SCALES if abs(still.pose.clearance) * one <= room]
            self.scale = fits[-1] if fits else SCALES[0]
        title = f"{scale_name(self.scale)}, {seen(view.view)}"
        beyond = walls(self.prepared, view, still.pose)
        draw_running(
            drawing, box, view, still.pose, self.scale, title, self.table.units, beyond, SMALL_LETTERS
        )


def _plain(part: Part, least: float) -> Part:
    """The part without the chamfers and roundings that are smaller than `least` mm: too small to be seen."""
    features = tuple(
        _square(feature, least) if isinstance(feature, Opening) else feature
        for feature in part.shape.features
        if not isinstance(feature, EdgeTreatment) or feature.size >= least
    )
    return replace(part, shape=Shape(part.shape.outline, part.shape.thickness, features))


def _square(opening: Opening, least: float) -> Opening:
    radius, *chamfers = (
        size if size >= least else 0.0
        for size in (opening.corner_radius, opening.front_chamfer, opening.back_chamfer)
    )
    return replace(opening, corner_radius=radius, front_chamfer=chamfers[0], back_chamfer=chamfers[1])


def filmstrips(
    table: Table, prepared: Prepared, *, date: str, sheet: Sheet | None = None, answer: Lines = ()
) -> list[Drawing]:  # fmt: skip
    """A sheet for each leaf that is stowed. Raises PartError where a part has no sound section."""
    strips = stills_of(prepared, [path.leaf for path in prepared.assembly.stow_paths])
    return [_page(table, prepared, {leaf: stills}, date, sheet, answer) for leaf, stills in strips.items()]
