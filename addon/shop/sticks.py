"""Story sticks: for each row of repeated heights or lengths one stick with all positions from one end.

START ◁|----|=========|-----X|----...        A stick is held to every piece of its row alike, so that what is
      0    sill     head   rib               marked from it agrees, whatever a rule says.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from ..sizes.tolerances import CONTACT
from ..sizes.words import codes_in_row
from ..wood.features import Groove, Opening
from ..wood.part import Part
from ..wood.roles import LEDGER, LEG, RIB, SIDE
from .figures import Figure
from .job import Job

UP: Final = 2
"""The axis of heights."""

Side = Literal[-1, 0, 1]
"""Where the X of a part stands: before its line, beyond it, or, of an opening, nowhere."""


@dataclass(frozen=True)
class Position:
    """One line on a stick.

    Parameters
    ----------
    figure : from the stick's START, as printed
    what : what is there, and on which pieces: ``sill of the slot for L1 (S1)``
    short : the same as it stands beside the line
    sides : where the X of parts stand
    """

    figure: Figure
    what: str
    short: str
    sides: frozenset[Side]


@dataclass(frozen=True)
class Stick:
    """One stick.

    Parameters
    ----------
    letter : which it is
    name : of what
    start, end : its two ends, in words
    length : as printed
    pieces : what is cut or routed from it
    """

    letter: str
    name: str
    start: str
    end: str
    length: Figure
    pieces: tuple[str, ...]
    positions: tuple[Position, ...]


@dataclass(frozen=True)
class _Line:
    """One thing at one place of one piece.

    Parameters
    ----------
    at : from the START, mm
    word, short : what it is, in full and beside the line; ``{}`` stands for what it is of
    of : label of the leaf or part; "" where there is none
    """

    at: float
    word: str
    short: str
    side: Side
    piece: str
    of: str = ""


def sticks(job: Job) -> Iterator[Stick]:
    """Heights first, then lengths; only rows that have anything on them."""
    letter = ord("A")
    for axis, group in _rows(job):
        lines = list(_lines(job, group, axis))
        if not lines:
            continue
        yield _stick(job, chr(letter), axis, group, lines)
        letter += 1


def _rows(job: Job) -> Iterator[tuple[int, tuple[Part, ...]]]:
    """Parts that have one stick together, and the axis that it lies along: they begin and end alike."""
    boards = job.assembly.with_role(SIDE.word, RIB.word)
    for role in (SIDE, RIB):
        yield from ((UP, one) for one in _alike([part for part in boards if part.role == role], UP))
    for axis in (0, 1):
        for group in _alike([part for part in boards if _runs_along(part, axis)], axis):
            if len(group) > 1 or any(part.role == SIDE for part in group):
                yield axis, group


def _alike(parts: Sequence[Part], axis: int) -> list[tuple[Part, ...]]:
    groups: dict[tuple[float, float], list[Part]] = defaultdict(list)
    for part in parts:
        low, high = part.box
        groups[round(float(low[axis]), 2), round(float(high[axis]), 2)].append(part)
    return [tuple(one) for one in groups.values()]


def _runs_along(part: Part, axis: int) -> bool:
    return abs(float(part.placement.axes[0][axis])) > 0.5


def _stick(job: Job, letter: str, axis: int, group: Sequence[Part], lines: Sequence[_Line]) -> Stick:
    labels = [part.label for part in group]
    size = _size(group[0], axis)
    kind = "sides" if group[0].role == SIDE else "ribs"
    if axis == UP:
        name, start, end = f"heights of {kind} {codes_in_row(labels)}", "lower edge", "upper edge"
    else:
        name = f"lengths along {codes_in_row(labels)}"
        start, end = (_end_words(job, axis, low) for low in (True, False))
    rows: dict[Figure, list[_Line]] = defaultdict(list)
    for one in sorted(lines, key=lambda one: one.at):
        rows[job.rule.figure("from START", one.at)].append(one)
    positions = tuple(_position(figure, own) for figure, own in rows.items())
    return Stick(
        letter, name, start, end, job.rule.figure("length of the stick", size), tuple(labels), positions
    )


def _position(figure: Figure, lines: Sequence[_Line]) -> Position:
    """All that stands at one place."""
    words: dict[str, list[_Line]] = defaultdict(list)
    shorts: dict[str, list[str]] = defaultdict(list)
    for one in lines:
        words[one.word].append(one)
        shorts[one.short].append(one.of)
    what = "; ".join(
        f"{word.format(codes_in_row(one.of for one in own))} ({codes_in_row(one.piece for one in own)})"
        for word, own in words.items()
    )
    short = ", ".join(word.format(codes_in_row(own)) for word, own in shorts.items())
    return Position(figure, what, short, frozenset(one.side for one in lines))


def _end_words(job: Job, axis: int, low: bool) -> str:
    """An end by where it is as the table stands, and the side that is there: ``left end, at S3``."""
    words = (("left", "right"), ("front", "back"))[axis][not low]
    across = [part for part in job.assembly.with_role(SIDE.word) if _runs_along(part, 1 - axis)]
    if not across:
        return f"{words} end"
    place = (min if low else max)(across, key=lambda part: float(part.box[0][axis]))
    return f"{words} end, at {place.label}"


def _size(part: Part, axis: int) -> float:
    low, high = part.box
    return float(high[axis] - low[axis])


def _lines(job: Job, group: Sequence[Part], axis: int) -> Iterator[_Line]:
    """All that is marked on the pieces of a row."""
    for part in group:
        for one in (*_cuts(part, axis), *_neighbors(job, part, axis)):
            if CONTACT < one.at < _size(part, axis) - CONTACT:
                yield one


# -- what is cut into the pieces


def _cuts(part: Part, axis: int) -> Iterator[_Line]:
    for feature in part.shape.features:
        if isinstance(feature, Opening):
            of = f"the {feature.kind} for {{}}" if feature.leaf else f"the {feature.kind}"
            words = (f"sill of {of}", f"head of {of}") if axis == UP else (f"{of} begins", f"{of} ends")
            shorts = ("sill {}", "head {}") if axis == UP else ("{} from", "{} to")
            for word, short, at in zip(words, shorts, _span(part, feature, axis), strict=True):
                yield _Line(at, word, short, 0, part.label, feature.leaf)
        elif isinstance(feature, Groove) and feature.holds:
            yield from _groove(part, feature, axis)


def _groove(part: Part, groove: Groove, axis: int) -> Iterator[_Line]:
    """The lower edge of a level groove, whose height is the panel's own; where a stopped one begins and ends."""
    low, high = _span(part, groove, axis)
    if axis == UP:
        yield _Line(low, "groove for the panel, lower edge", "groove", 1, part.label)
    else:
        yield _Line(low, "groove begins", "groove from", 0, part.label)
        yield _Line(high, "groove ends", "groove to", 0, part.label)


def _span(part: Part, feature: Opening | Groove, axis: int) -> tuple[float, float]:
    """Where a cut begins and ends along an axis of the table, mm from the part's own beginning there."""
    corners = np.array([(feature.u0, feature.v0, 0.0), (feature.u1, feature.v1, 0.0)])
    found = part.placement.to_table(corners)[:, axis] - part.box[0][axis]
    return float(found.min()), float(found.max())


# -- what stands against them


def _neighbors(job: Job, part: Part, axis: int) -> Iterator[_Line]:
    """Near faces of ribs and sides, free ends of legs, and, of heights, ledgers and the upper ends of legs."""
    start = float(part.box[0][axis])
    roles = (LEDGER, LEG) if axis == UP else (RIB, SIDE, LEG)
    for other in job.assembly.with_role(*(role.word for role in roles)):
        if other is part or not _stands_against(part, other):
            continue
        low, high = (float(corner[axis]) - start for corner in other.box)
        own = part.label, other.label
        if other.role == LEG and axis == UP:
            yield _Line(high, "upper end of {}", "leg ends", -1, *own)
        elif other.role == LEG and low <= _size(part, axis) / 2:
            if _is_free(job, other, axis, high=True):
                yield _Line(high, "{} to here", "{} to", -1, *own)
        elif other.role == LEG:
            if _is_free(job, other, axis, high=False):
                yield _Line(low, "{} from here", "{} from", 1, *own)
        elif other.role == LEDGER:
            if _runs_alike(part, other):
                yield _Line(low, "lower edge of {}", "{}", 1, *own)
                yield _Line(high, "upper edge of {}", "{} top", -1, *own)
        elif not _runs_along(other, axis):
            yield _Line(low, "near face of {}", "{}", 1, *own)


def _is_free(job: Job, leg: Part, axis: int, *, high: bool) -> bool:
    """Whether nothing stands against an end of a leg board along an axis."""
    own = leg.box[high][axis]
    boards = job.assembly.with_role(RIB.word, LEG.word, SIDE.word)
    return not any(_meet(leg, one, axis) and abs(one.box[not high][axis] - own) <= _JOINT for one in boards)


def _runs_alike(part: Part, other: Part) -> bool:
    return all(_runs_along(part, axis) == _runs_along(other, axis) for axis in (0, 1))


def _stands_against(part: Part, other: Part) -> bool:
    """Whether another part touches one of the faces of a board."""
    across = 1 - int(np.abs(part.placement.axes[0][:2]).argmax())
    return _meet(part, other, across)


def _meet(one: Part, other: Part, axis: int) -> bool:
    """Whether two parts touch with faces square to an axis."""
    (low, high), (start, stop) = one.box, other.box
    for k in range(3):
        if k != axis and min(high[k], stop[k]) - max(low[k], start[k]) <= CONTACT:
            return False
    return bool(min(abs(high[axis] - start[axis]), abs(low[axis] - stop[axis])) <= _JOINT)


_JOINT: Final = 0.6
"""Parts nearer to each other than this, mm, stand against each other."""
