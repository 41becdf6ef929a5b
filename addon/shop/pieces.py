"""A sheet as pieces that come apart by through cuts, and those cuts in the order in which they are sawn.

What is too small to keep comes off as late as it can, cuts that go the same way are made one after the other, and
pieces that are longer than one person carries are broken down on the floor before anything goes to the bench.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from ..sizes.tolerances import CONTACT
from .figures import Figure
from .job import Job

WORTH_KEEPING: Final = 100.0
"""What is left over is labeled where both of its sides are as long, mm."""

_SHORT: Final = 300.0
"""What is shorter both ways is not ripped alone where it can be ripped as part of a longer piece, mm (common practice,
no source)."""

SAME: Final = 1e-3
"""Boxes whose sides differ by less are one, mm."""

Box = tuple[float, float, float, float]
"""x, y, width, height, mm, from the lower left corner of the sheet as the mill made it."""


@dataclass(frozen=True, eq=False)
class Piece:
    """A piece of a sheet, and the through cut by which it comes apart.

    Parameters
    ----------
    label : of the part that it is; of what is left over ``LEFT1`` or, where that is too small to keep, ""
    axis : across which it is cut: ``x`` is a cut that runs up the sheet as it is drawn, ``y`` one that runs along it
    at : where the kerf begins, mm
    low, high : what it comes apart into; None where nothing is left beyond the kerf
    strip : whether it is strips of one width that are sawn from one board
    """

    box: Box
    label: str = ""
    axis: Literal["x", "y"] | None = None
    at: float = 0.0
    low: Piece | None = None
    high: Piece | None = None
    strip: bool = False

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """What it comes apart into."""
        return tuple(one for one in (self.low, self.high) if one is not None)

    @property
    def leaves(self) -> Iterator[Piece]:
        """All that comes out of it in the end."""
        if self.axis is None:
            yield self
        for one in self.pieces:
            yield from one.leaves


Side = Literal["left end", "right end", "lower edge", "upper edge"]
"""Of a piece as it lies on the drawing of its sheet."""


@dataclass(frozen=True, eq=False)
class Cut:
    """One cut in the order of sawing.

    Parameters
    ----------
    number : from 1 on each sheet
    on_floor : whether the piece is too long to be carried
    set_at : on the floor running dimensions from one edge; at the bench the size of what comes off, as printed
    side : of the piece from which that counts
    """

    number: int
    on_floor: bool
    piece: Piece
    set_at: Figure
    side: Side

    @property
    def setting(self) -> tuple[object, ...]:
        """What is the same for cuts between which nothing has to be moved."""
        return self.on_floor, self.piece.axis, self.side, self.set_at.printed

    @property
    def off(self) -> Piece:
        """What comes off: the piece that is set."""
        low, high = self.piece.low, self.piece.high
        assert low is not None
        return low if high is None or self.side in ("left end", "lower edge") else high


@dataclass(frozen=True, eq=False)
class SawnSheet:
    """One sheet: the piece that is left of it when it is trimmed, and the cuts in order."""

    number: int
    whole: Piece
    cuts: tuple[Cut, ...]

    @property
    def labels(self) -> tuple[str, ...]:
        """Of its parts."""
        return tuple(one.label for one in self.whole.leaves if one.label and not is_left(one.label))


def is_left(label: str) -> bool:
    """Whether a label is that of what is left over."""
    return label.startswith("LEFT")


def is_worth_keeping(piece: Piece) -> bool:
    """Whether what is left over gets a label."""
    return not piece.label and min(piece.box[2:]) >= WORTH_KEEPING


def parted(box: Box, axis: str, at: float, kerf: float) -> tuple[Box, Box | None]:
    """What a cut leaves on both sides; None where that is not as much as the kerf takes."""
    x, y, width, height = box
    if axis == "x":
        rest = x + width - at - kerf
        return (x, y, at - x, height), (at + kerf, y, rest, height) if rest > CONTACT else None
    rest = y + height - at - kerf
    return (x, y, width, at - y), (x, at + kerf, width, rest) if rest > CONTACT else None


def alike(one: Box, other: Box) -> bool:
    return all(abs(a - b) < SAME for a, b in zip(one, other, strict=True))


def ordered(piece: Piece, kerf: float, carried: float) -> Piece:
    """The same parts of a sheet by cuts in the order in which a maker saws them."""
    return _straight(_waste_last(piece, kerf, carried), kerf, carried)


def _waste_last(piece: Piece, kerf: float, carried: float) -> Piece:
    """The same parts, where what is too small to keep is not sawn off the whole but off what it comes apart into.

    But off the whole it is where that makes a strip short enough to be carried to the bench.
    """
    core, waste = piece, list[Piece]()
    while core.low is not None and _is_waste(core.high):
        waste.append(core)
        core = core.low
    if core.axis is None or core.low is None or core.high is None:
        return piece
    short = (
        len(waste) == 1 and core.axis == waste[0].axis and max(core.box[2:]) <= carried < max(piece.box[2:])
    )
    ripped = any(one.axis != core.axis for one in waste) and any(
        max(each.box[2:]) < _SHORT for each in core.pieces
    )
    if waste and (short or core.strip or ripped):
        assert piece.low is not None
        return replace(piece, low=_waste_last(piece.low, kerf, carried))
    near, far = parted(piece.box, core.axis, core.at, kerf)
    assert far is not None
    low, high = core.low, core.high
    for one in reversed(waste):
        if one.axis != core.axis:
            low = _with_waste(low, one, kerf)
        high = _with_waste(high, one, kerf)
    low, high = replace(low, box=near), replace(high, box=far)
    return replace(
        core, box=piece.box, low=_waste_last(low, kerf, carried), high=_waste_last(high, kerf, carried)
    )


def _straight(piece: Piece, kerf: float, carried: float) -> Piece:
    """The same, where cuts that go the same way one after the other always leave the rest in one piece.

    On the floor the far end comes off first, so that all cuts of a row are measured from one edge; at the bench what
    lies at the fence.
    """
    if piece.axis is None:
        return piece
    row = _row(piece, piece.axis)
    segments = [_straight(one, kerf, carried) for one in row if one is not None]
    return _chain(segments, piece, kerf, carried, row[-1] is None)


def _row(piece: Piece, axis: str) -> list[Piece | None]:
    """What a piece comes apart into along one axis, from its low end; None where the last cut leaves nothing."""
    found: list[Piece | None] = []
    for one in (piece.low, piece.high):
        if one is not None and one.axis == axis and not one.strip:
            found += _row(one, axis)
        else:
            found.append(one)
    return found


def _chain(segments: Sequence[Piece], piece: Piece, kerf: float, carried: float, ended: bool) -> Piece:
    if len(segments) == 1 and not ended:
        return segments[0]
    along = "xy".index(piece.axis or "x")

    def until(one: Piece) -> float:
        return one.box[along] + one.box[along + 2]

    def box_to(start: float, stop: float) -> Box:
        x, y, width, height = piece.box
        return (start, y, stop - start, height) if along == 0 else (x, start, width, stop - start)

    if max(piece.box[2:]) > carried + CONTACT:
        if ended:
            at, last, rest = until(segments[-1]), None, segments
        else:
            at, last, rest = until(segments[-2]), segments[-1], segments[:-1]
        inner = replace(piece, box=box_to(piece.box[along], at), strip=False)
        return replace(piece, at=at, low=_chain(rest, inner, kerf, carried, False), high=last)
    at = until(segments[0])
    if len(segments) == 1:
        return replace(piece, at=at, low=segments[0], high=None)
    inner = replace(piece, box=box_to(at + kerf, piece.box[along] + piece.box[along + 2]), strip=False)
    return replace(piece, at=at, low=segments[0], high=_chain(segments[1:], inner, kerf, carried, ended))


def _is_waste(piece: Piece | None) -> bool:
    return piece is None or (piece.axis is None and not piece.label and min(piece.box[2:]) < WORTH_KEEPING)


def _with_waste(piece: Piece, around: Piece, kerf: float) -> Piece:
    """A piece that reaches as far along an axis as one around it, and what is over is sawn off it."""
    x, y, width, height = piece.box
    end = "xy".index(around.axis or "x")
    far = around.box[end] + around.box[end + 2]
    box = (x, y, far - x, height) if end == 0 else (x, y, width, far - y)
    if piece.axis is None and not piece.label:
        return Piece(box)
    axis, at = around.axis or "x", around.at
    if piece.axis == axis and piece.low is not None and _is_waste(piece.high):
        piece, at = piece.low, piece.at
    _, rest = parted(box, axis, at, kerf)
    return Piece(box, "", axis, at, piece, None if rest is None else Piece(rest))


def numbered(job: Job, sheet: SawnSheet, names: dict[int, str]) -> SawnSheet:
    """The sheet with names on what is left over and its cuts in order: those on the floor first."""
    whole = _named(sheet.whole, names)
    cuts = [(piece, start if is_on_floor(job, piece) else None) for piece, start in in_order(whole)]
    floor = [one for one in cuts if one[1] is not None]
    bench = [_cut(job, sheet.number, 0, piece, None) for piece, start in cuts if start is None]
    found = [_cut(job, sheet.number, number, *one) for number, one in enumerate(floor, 1)]
    for number, one in enumerate(_fewest_settings(bench), len(floor) + 1):
        found.append(_cut(job, sheet.number, number, one.piece, None))
    return SawnSheet(sheet.number, whole, tuple(found))


def _fewest_settings(cuts: Sequence[Cut]) -> Iterator[Cut]:
    """Cuts in an order in which each piece is there, those that are set alike together: the fence stays where it is."""
    left = list(cuts)
    waiting = {id(part) for one in left for part in one.piece.pieces}
    last: Cut | None = None
    while left:
        ready = [one for one in left if id(one.piece) not in waiting]
        last = next((one for one in ready if last is not None and one.setting == last.setting), ready[0])
        left.remove(last)
        waiting -= {id(part) for part in last.piece.pieces}
        yield last


def is_on_floor(job: Job, piece: Piece) -> bool:
    """Whether a piece is too long to be carried to the bench."""
    return max(piece.box[2:]) > job.tools.carried_length + CONTACT


def _cut(job: Job, sheet: int, number: int, piece: Piece, start: float | None) -> Cut:
    """A cut as it is set: from where its row starts on the floor, else by what comes off."""
    along = 0 if piece.axis == "x" else 1
    near, far = _SIDES[along]
    low, high = piece.low, piece.high
    assert low is not None
    name = f"sheet {sheet}, cut {number}"
    if start is not None:
        return Cut(number, True, piece, job.rule.figure(name, piece.at - start), near)
    of_high = high is not None and not _is_left_over(high) and low.axis == piece.axis != high.axis
    off = high if high is not None and of_high else low
    return Cut(number, False, piece, job.rule.figure(name, off.box[2 + along]), far if of_high else near)


_SIDES: Final[tuple[tuple[Side, Side], ...]] = (("left end", "right end"), ("lower edge", "upper edge"))


def _is_left_over(piece: Piece) -> bool:
    return piece.axis is None and (not piece.label or is_left(piece.label))


def _named(piece: Piece, names: dict[int, str]) -> Piece:
    if piece.axis is None:
        return replace(piece, label=names.get(id(piece), piece.label))
    low, high = (None if one is None else _named(one, names) for one in (piece.low, piece.high))
    return replace(piece, low=low, high=high)


def in_order(piece: Piece) -> Iterator[tuple[Piece, float]]:
    """Cuts that go the same way through a piece one after the other, then those of what came off, the first first.

    Each with where the piece began from which its row was sawn, along its axis, mm.
    """
    waiting = [piece]
    while waiting:
        one = waiting.pop(0)
        if one.axis is None:
            continue
        start = one.box["xy".index(one.axis)]
        row, others = [one], list[Piece]()
        while row:
            each = row.pop(0)
            yield each, start
            for part in each.pieces:
                if part.axis == one.axis and not part.strip:
                    row.append(part)
                elif part.axis is not None:
                    others.append(part)
        waiting = others + waiting
