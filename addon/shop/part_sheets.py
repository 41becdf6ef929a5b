"""What a part sheet says: one part of each kind, its dimensions with where they stand on the board, and its marks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

import numpy as np

from ..sizes.tolerances import CONTACT, WELD
from ..sizes.words import listed
from ..wood.features import AngledHole, Dimension, EdgeTreatment, Face, Feature, Groove, Hole, Opening, Taper
from ..wood.features.edge_cuts import EdgeTaper
from ..wood.part import Part, Shape
from ..wood.same import Alike
from .cut_list import name_of
from .fastening import Mark, marks_of, notes_of
from .figures import Figure
from .job import Job

_LETTERS: Final = "abcdefghijkmnpqrstuvwxyz"
"""Of features: those that nobody takes for a number."""

Kind = Literal["size", "running", "inside"]
"""A size between two edges, a place counted from the board's start or lower edge, or a size with air between."""


@dataclass(frozen=True)
class Span:
    """Where a dimension stands on the board.

    Parameters
    ----------
    axis : 0 along the board's u, 1 along v
    low, high : from where to where along that, mm
    beside : from where to where the feature reaches along the other axis, mm
    kind : how it is dimensioned
    """

    axis: int
    low: float
    high: float
    beside: tuple[float, float]
    kind: Kind = "size"


@dataclass(frozen=True)
class Entry:
    """One dimension on a sheet.

    Parameters
    ----------
    figure : as printed
    words : what it is, where it stands in the list of features
    letter : of its feature; "" for the board itself
    span : where it can be drawn; None where only the list has it
    """

    figure: Figure
    words: str
    letter: str = ""
    span: Span | None = None


@dataclass(frozen=True)
class Lettered:
    """A feature with its letter.

    Parameters
    ----------
    words : what it is
    at : a point on the board that is of it, (u, v) mm
    """

    letter: str
    words: str
    feature: Feature
    at: tuple[float, float]


@dataclass(frozen=True, eq=False)
class PartSheet:
    """One kind of part.

    Parameters
    ----------
    part : the first of them, as printed
    name : what they are called
    labels : of all of them
    turned : those that are turned against the first
    mirror : label of the part that they are mirror images of; "" for none
    face : the face that is drawn
    entries : all dimensions, each once
    features : each with its letter
    notes, marks : sentences for the maker, and heads of screws and brads in the faces of the first of them
    """

    part: Part
    name: str
    labels: tuple[str, ...]
    turned: tuple[str, ...]
    mirror: str
    face: Face
    entries: tuple[Entry, ...]
    features: tuple[Lettered, ...]
    notes: tuple[str, ...]
    marks: tuple[Mark, ...] = ()

    @property
    def shape(self) -> Shape:
        """Of the part."""
        return self.part.shape

    @property
    def plain(self) -> bool:
        """Whether nothing but edges is cut, and that along all of them."""
        return all(isinstance(one.feature, EdgeTreatment) for one in self.features) and not any(
            one.span is not None and one.span.kind == "running" for one in self.entries
        )

    @cached_property
    def outline(self) -> dict[str, Entry]:
        """Length, width and thickness by name."""
        return {one.figure.name: one for one in self.entries if not one.letter and one.figure.dimension}

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All that is printed."""
        return tuple(one.figure for one in self.entries)


def part_sheets(job: Job) -> tuple[PartSheet, ...]:
    """One for each kind of part, in the assembly's order."""
    return tuple(_sheet(job, kind) for kind in job.kinds)


def _sheet(job: Job, kind: Alike) -> PartSheet:
    labels = tuple(label for member in kind.members for label in member)
    part = job.assembly.by_label[labels[0]]
    drawn = job.drawn.by_label[labels[0]]
    turned = tuple(
        label
        for (label,), turn in zip(kind.members, kind.turns, strict=True)
        if not np.allclose(turn.rotation, np.eye(3), atol=1e-6)
    )
    face = face_shown(part.shape)
    lettered = tuple(_lettered(part.shape))
    entries = tuple(_entries(job, drawn, part, lettered))
    mirror = "" if kind.mirror is None else job.kinds[kind.mirror].first[0]
    notes = tuple(_notes(job, part, labels, turned, mirror, face))
    name = name_of([job.assembly.by_label[label] for label in labels])
    return PartSheet(part, name, labels, turned, mirror, face, entries, lettered, notes, marks_of(job, part))


def face_shown(shape: Shape) -> Face:
    """The face that is drawn: the one that more is cut into."""
    front = sum(feature.faces == ("front",) for feature in shape.features)
    back = sum(feature.faces == ("back",) for feature in shape.features)
    return "front" if front > back else "back"


# -- dimensions


def _lettered(shape: Shape) -> Iterator[Lettered]:
    """The features that have dimensions, in order."""
    of = {one.number: one.of for one in shape.dimensions if one.number is not None}
    for place, number in enumerate(sorted(of)):
        feature = shape.features[number]
        letter = _LETTERS[place % len(_LETTERS)] * (1 + place // len(_LETTERS))
        words = of[number] or feature.word
        if isinstance(feature, Groove):
            words += f" in the {feature.face} face"
        yield Lettered(letter, words, feature, _middle(shape, feature))


def _middle(shape: Shape, feature: Feature) -> tuple[float, float]:
    """The middle of what a feature takes of the board."""
    low, high = feature.bounds(shape.blank)
    first, last = shape.blank.low, shape.blank.high
    u, v = ((max(low[k], first[k]) + min(high[k], last[k])) / 2 for k in (0, 1))
    return u, v


def _entries(job: Job, drawn: Part, part: Part, lettered: tuple[Lettered, ...]) -> Iterator[Entry]:
    by_feature = {id(one.feature): one.letter for one in lettered}
    shape = part.shape
    for one, was in zip(shape.dimensions, drawn.shape.dimensions, strict=True):
        figure = job.rounded.figure(drawn, was)
        feature = None if one.number is None else shape.features[one.number]
        letter = "" if feature is None else by_feature[id(feature)]
        yield Entry(figure, _words(shape, one, feature), letter, _span(shape, one, feature))
    yield from _corner_entries(job, part)
    yield from _step_entries(job, part)


def _words(shape: Shape, one: Dimension, feature: Feature | None) -> str:
    """What a dimension is, and for a place from where it is measured."""
    if isinstance(feature, EdgeTreatment) and one.name.endswith(("_start", "_stop")):
        return f"{one.word}s, from the {shape.blank.edge_words((feature.edge - 1) % len(shape.outline))}"
    if isinstance(feature, AngledHole) and one.name == "angled_hole_position":
        du, dv = shape.blank.edge(feature.edge).along
        corner = (
            ("start" if du > 0 else "end") if abs(du) > abs(dv) else f"{'lower' if dv > 0 else 'upper'} edge"
        )
        return f"{one.word}, from the {corner}"
    if isinstance(feature, Opening) and feature.open_end and one.name.endswith("_width"):
        return f"{one.word}, from the {feature.open_end}"
    if isinstance(feature, Opening) and feature.open_above and one.name.endswith("_height"):
        return f"{one.word}, from the upper edge"
    if one.tolerance.endswith("place") and one.datum and "from" not in one.word:
        return f"{one.word}, from the {one.datum}"
    return one.word


def _span(shape: Shape, one: Dimension, feature: Feature | None) -> Span | None:
    """Where a dimension stands on the board; None for what only the list has."""
    low, high = shape.blank.low, shape.blank.high
    if feature is None:
        axis = {"length": 0, "width": 1}.get(one.name)
        return None if axis is None else Span(axis, low[axis], high[axis], (low[1 - axis], high[1 - axis]))
    if isinstance(feature, Opening):
        return _opening_span(shape, feature, one.name.removeprefix(f"{feature.kind}_"))
    if isinstance(feature, Groove):
        return _groove_span(shape, feature, one.name.rsplit("_", 1)[-1])
    if isinstance(feature, Hole):
        if one.name == "hole_offset":
            return Span(0, low[0], feature.u, (feature.v, feature.v), "running")
        if one.name == "hole_edge_distance":
            return Span(1, low[1], feature.v, (feature.u, feature.u), "running")
        return None
    if isinstance(feature, EdgeTreatment) and one.name.endswith(("_start", "_stop")):
        return _stop_span(shape, feature, one.value)
    if isinstance(feature, EdgeTaper | Taper) and one.name in ("taper_length", "taper_amount"):
        return _taper_span(shape, feature, one.value)
    return None


def _opening_span(shape: Shape, feature: Opening, name: str) -> Span | None:
    """Of a notch that is open at the end the width closes a chain, so that the list alone has it; so above."""
    low, high = shape.blank.low, shape.blank.high
    us = max(feature.u0, low[0]), min(feature.u1, high[0])
    vs = max(feature.v0, low[1]), min(feature.v1, high[1])
    if name == "width" and feature.open_end is None:
        return Span(0, *us, vs, "inside")
    if name == "height" and not feature.open_above:
        return Span(1, *vs, us, "inside")
    if name == "offset":
        return Span(0, low[0], us[1] if feature.open_end == "start" else us[0], vs, "running")
    if name == "sill":
        return Span(1, low[1], vs[0], us, "running")
    return None


def _groove_span(shape: Shape, feature: Groove, name: str) -> Span | None:
    blank = shape.blank
    along = 0 if feature.along == "u" else 1
    across = 1 - along
    spans = [
        (max(span[0], blank.low[axis]), min(span[1], blank.high[axis]))
        for axis, span in enumerate(feature.spans)
    ]
    if name == "width":
        return Span(across, *spans[across], spans[along])
    if name == "offset":
        return Span(across, blank.low[across], spans[across][0], spans[along], "running")
    if name == "start":
        return Span(along, blank.low[along], spans[along][0], spans[across], "running")
    if name == "stop":
        return Span(along, blank.low[along], spans[along][1], spans[across], "running")
    return None


def _stop_span(shape: Shape, feature: EdgeTreatment, value: float) -> Span | None:
    """From the low end of an edge along one of the axes; edges that run the other way have it in the list."""
    edge = shape.blank.edge(feature.edge)
    point = edge.at(value, 0.0)
    for axis in (0, 1):
        if edge.along[axis] > 1.0 - WELD and abs(edge.start[axis] - shape.blank.low[axis]) <= WELD:
            return Span(
                axis, shape.blank.low[axis], point[axis], (point[1 - axis], point[1 - axis]), "running"
            )
    return None


def _taper_span(shape: Shape, feature: EdgeTaper | Taper, value: float) -> Span | None:
    (u0, v0, _), (u1, v1, _) = feature.bounds(shape.blank)
    for axis, (low, high) in enumerate(((u0, u1), (v0, v1))):
        if abs(high - low - value) <= CONTACT and (isinstance(feature, EdgeTaper) or axis == 0):
            return Span(axis, low, high, ((v0, v1), (u0, u1))[axis])
    return None


def _corner_entries(job: Job, part: Part) -> Iterator[Entry]:
    """Corners of the outline that are cut off and are no feature of their own."""
    shape = part.shape
    tapered = {one.edge for one in shape.features if isinstance(one, EdgeTaper)}
    for number in range(len(shape.outline)):
        edge = shape.blank.edge(number)
        if number in tapered or _is_square(edge.along):
            continue
        middle = edge.at(edge.length / 2, 0.0)
        where = " and ".join(
            words[int(middle[axis] * 2 > shape.blank.low[axis] + shape.blank.high[axis])]
            for axis, words in ((0, ("start", "end")), (1, ("lower edge", "upper edge")))
        )
        for axis, word in ((0, "along"), (1, "across")):
            size = edge.length * abs(edge.along[axis])
            name = f"corner at {where} cut off, {word}"
            yield Entry(Figure(name, size, job.rule.exact(size), part.label), name)


def _step_entries(job: Job, part: Part) -> Iterator[Entry]:
    """Places of the outline's square steps, which are no feature of their own, from the start and the lower edge."""
    blank = part.shape.blank
    corners = [
        blank.outline[number]
        for number in range(len(blank.outline))
        if all(_is_square(blank.edge((number - back) % len(blank.outline)).along) for back in (0, 1))
    ]
    for axis, datum in ((0, "start"), (1, "lower edge")):
        found: dict[float, tuple[float, float]] = {}
        for corner in corners:
            if blank.low[axis] + WELD < corner[axis] < blank.high[axis] - WELD:
                beside = corner[1 - axis]
                low, high = found.get(round(corner[axis], 6), (beside, beside))
                found[round(corner[axis], 6)] = min(low, beside), max(high, beside)
        for at, beside in sorted(found.items()):
            size, name = at - blank.low[axis], f"step of the outline, from the {datum}"
            span = Span(axis, blank.low[axis], at, beside, "running")
            yield Entry(Figure(name, size, job.rule.exact(size), part.label), name, "", span)


def _is_square(along: tuple[float, float]) -> bool:
    """Whether an edge runs along one of the board's axes."""
    return min(abs(along[0]), abs(along[1])) <= WELD


# -- notes


def _notes(
    job: Job, part: Part, labels: tuple[str, ...], turned: tuple[str, ...], mirror: str, face: Face
) -> Iterator[str]:
    yield f"Seen on the {face} face{face_words(part, face)}."
    if joined := joined_words(job, part):
        yield joined
    if part.role.bounds_cover == "around":
        around = [one.label for one in job.drawn.parts if one.role.bounds_cover == "around"]
        yield f"Cabinetmaker's triangle: over the upper edges of {listed(around)}, laid side by side."
    gaps = {job.rounded.gaps[label]: None for label in labels if label in job.rounded.gaps}
    if gaps:
        between = "; ".join(f"between {one} and {other}" for one, other in gaps)
        yield f"Cut to fit, about as long as this: measure the gap {between}."
    if turned:
        yield f"{listed(turned)} {'is' if len(turned) == 1 else 'are'} the same board, turned."
    if mirror:
        yield f"Mirror image of {mirror}, which has a drawing of its own."
    yield from notes_of(job, labels)
    if part.strips:
        strip = "a rim of strips is" if sum(one.count for one in part.strips) > 1 else "a strip is"
        yield f"Drawn with what is glued onto it: {strip} in the cut list."


def face_words(part: Part, face: Face) -> str:
    """Which way the face that is drawn looks in the table: ``, which is the outside of the table``."""
    toward = part.placement.axes[2] * (1.0 if face == "back" else -1.0)
    if abs(toward[2]) > 0.5:
        return f", which is the {'upper' if toward[2] > 0 else 'lower'} one"
    if part.role.bounds_cover == "around":
        blank = part.shape.blank
        u, v = ((blank.low[k] + blank.high[k]) / 2 for k in (0, 1))
        middle = part.placement.to_table(np.array([[u, v, 0.0]])).ravel()
        return f", which is the {'outside' if float(toward @ middle) > 0 else 'inside'} of the table"
    return ""


def joined_words(job: Job, part: Part) -> str:
    """Which other parts its edges and ends go to, as far as those are few."""
    by_label = job.assembly.by_label
    found: dict[str, list[str]] = {}
    for joint in job.assembly.joints:
        if part.label not in (joint.a, joint.b) or joint.a not in by_label or joint.b not in by_label:
            continue
        faces = joint.faces_of(by_label[joint.a], by_label[joint.b])
        if faces is None:
            continue
        own, other = (faces[0], joint.b) if joint.a == part.label else (faces[1], joint.a)
        if other not in found.setdefault(own, []):
            found[own].append(other)
    words = [
        f"{own} to {listed(found[own])}"
        for own in ("start", "end", "lower edge", "upper edge", "front", "back")
        if own in found and len(found[own]) <= 3
    ]
    words = [one.replace("front to", "front face to").replace("back to", "back face to") for one in words]
    return f"{part.label}: {'; '.join(words)}." if words else ""
