"""The table's own parts on their sheets: what is sawn from what, in which order, and what is left over.

Parts of one width are laid end to end in strips, so that strips are ripped first and nothing short meets the blade
alone; parts that have to match (the leaves of the cover, the sides) lie together on one sheet; both only where that
takes no sheet more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, Literal

from ..sawing import layout as sawing
from ..sizes.tolerances import CONTACT
from ..wood.part import Part
from ..wood.roles import LEAF, SIDE, Role
from ..wood.stock import Stock
from .figures import Figure
from .job import Job
from .pieces import (
    Box,
    Piece,
    SawnSheet,
    alike,
    in_order,
    is_on_floor,
    is_worth_keeping,
    numbered,
    ordered,
    parted,
)

ALLOWANCE: Final = {"mm": 20.0, "in": 19.05}
"""How much longer a part that is cut to fit is sawn first, mm (common practice, no source)."""

RIM: Final = "RIM"
"""How labels of the strips of rims begin."""

_STRIP: Final = 100.0
"""Parts that are no wider are laid end to end in strips, mm."""

_THIN: Final = 44.0
"""Strips that are narrower are sawn from a board that is at least as wide, mm."""

_MATCHING: Final[tuple[Role, ...]] = (LEAF, SIDE)
"""Parts of these roles that are equally large come from one sheet where they can."""


@dataclass(frozen=True, eq=False)
class Board:
    """A part as it is sawn from the sheet.

    Parameters
    ----------
    part : that it is, or whose rim it is of
    length, width : as printed
    to_fit : whether it is sawn longer than it will be, and cut to fit last
    label : the part's; of the strips of rims, which are sawn alone and glued on, ``RIM1`` and on
    """

    part: Part
    length: Figure
    width: Figure
    to_fit: bool = False
    label: str = ""

    @property
    def on_sheet(self) -> tuple[float, float]:
        """Width and height on a sheet that lies with its length to the right, its grain as that of the sheet, mm."""
        along = (self.part.grain == "u") == (self.part.stock.grain != "width")
        length, width = self.length.value, self.width.value
        return (length, width) if along else (width, length)


def board_of(job: Job, part: Part) -> Board:
    """A part as it is sawn: as printed, and longer where it is cut to fit last."""
    own = {one.name: job.rounded.figure(part, one) for one in part.shape.dimensions if one.number is None}
    length, width = own["length"], own["width"]
    if part.label not in job.rounded.gaps:
        return Board(part, length, width, label=part.label)
    rough = job.rule.figure("rough length", length.value + ALLOWANCE[job.units], "up")
    return Board(part, replace(rough, part=part.label), width, to_fit=True, label=part.label)


def rim_boards(job: Job) -> Iterator[Board]:
    """The strips of all rims, in the order of their parts."""
    number = 0
    for part in job.assembly.parts:
        for strip in part.strips:
            length, width = (
                replace(job.rule.figure(f"rim strip: {name}", mm, "down"), part=part.label)
                for name, mm in (("length", strip.length), ("width", strip.width))
            )
            for _ in range(strip.count):
                number += 1
                yield Board(part, length, width, label=f"{RIM}{number}")


@dataclass(frozen=True, eq=False)
class SawnStock:
    """All sheets of one stock.

    Parameters
    ----------
    boards : label → the part as it is sawn
    sheets : in order
    bound : with fewer sheets it is impossible
    too_large : labels of the parts that no sheet takes; they are on none
    trim, kerf : as the layout has them, mm: a whole number of the rule's divisions
    used : share of the sheets that becomes parts
    """

    stock: Stock
    boards: dict[str, Board]
    sheets: tuple[SawnSheet, ...]
    bound: int
    too_large: tuple[str, ...]
    trim: float
    kerf: float
    used: float


@lru_cache(maxsize=1)
def sawn_stocks(job: Job) -> tuple[SawnStock, ...]:
    """Every stock's sheets, in the order in which the table file names them."""
    boards = [*(board_of(job, part) for part in job.drawn.parts), *rim_boards(job)]
    found, kept = [], 0
    for stock in job.table.stock:
        own = {one.label: one for one in boards if one.part.stock.name == stock.name}
        if own:
            sawn = _sawn(job, stock, own)
            left = sorted(
                (one for sheet in sawn.sheets for one in sheet.whole.leaves if is_worth_keeping(one)),
                key=lambda one: -one.box[2] * one.box[3],
            )
            names = {id(one): f"LEFT{number}" for number, one in enumerate(left, kept + 1)}
            kept += len(left)
            found.append(replace(sawn, sheets=tuple(numbered(job, one, names) for one in sawn.sheets)))
    return tuple(found)


# -- what lies together


@dataclass(frozen=True, eq=False)
class _Bundle:
    """A part, or bundles side by side (``x``) or one above the other (``y``) with a kerf between them."""

    width: float
    height: float
    label: str = ""
    axis: Literal["x", "y"] = "x"
    members: tuple[_Bundle, ...] = ()
    strip: bool = False


def _beside(members: Sequence[_Bundle], axis: Literal["x", "y"], kerf: float, strip: bool = False) -> _Bundle:
    if len(members) == 1:
        return members[0]
    along = [one.width if axis == "x" else one.height for one in members]
    across = max(one.height if axis == "x" else one.width for one in members)
    length = sum(along) + kerf * (len(members) - 1)
    size = (length, across) if axis == "x" else (across, length)
    return _Bundle(*size, axis=axis, members=tuple(members), strip=strip)


def _single(board: Board) -> _Bundle:
    return _Bundle(*board.on_sheet, board.label)


def _matching(boards: Iterable[Board]) -> list[list[Board]]:
    """Parts that have to match, in groups of one size."""
    groups: dict[tuple[str, tuple[float, float]], list[Board]] = {}
    for one in boards:
        if one.part.role in _MATCHING and not one.label.startswith(RIM):
            groups.setdefault((one.part.role.word, one.on_sheet), []).append(one)
    return [group for group in groups.values() if len(group) > 1]


def _arranged(group: Sequence[_Bundle], columns: int, kerf: float) -> _Bundle:
    """Equal bundles in rows of so many."""
    rows = [_beside(group[at : at + columns], "x", kerf) for at in range(0, len(group), columns)]
    return _beside(rows, "y", kerf)


def _strips(boards: Iterable[Board], kerf: float, longest: float) -> list[_Bundle]:
    """Narrow parts end to end, the longest first, in strips no longer than asked for; narrow strips on one board."""
    widths: dict[float, list[Board]] = {}
    for one in boards:
        widths.setdefault(one.on_sheet[1], []).append(one)
    found = []
    for width, own in widths.items():
        strips: list[list[_Bundle]] = []
        for one in sorted(map(_single, own), key=lambda one: -one.width):
            for strip in strips:
                if sum(each.width + kerf for each in strip) + one.width <= longest + CONTACT:
                    strip.append(one)
                    break
            else:
                strips.append([one])
        chains = [_beside(strip, "x", kerf) for strip in strips]
        step = max(1, math.ceil((_THIN + kerf) / (width + kerf))) if width < _THIN else 1
        for at in range(0, len(chains), step):
            found.append(_beside(chains[at : at + step], "y", kerf, strip=True))
    return found


def _ways(
    job: Job, boards: Sequence[Board], size: tuple[float, float], kerf: float
) -> Iterator[list[_Bundle]]:
    """Bundles to lay out, what a maker would rather have first; the last are the parts one by one."""
    groups = _matching(boards)
    grouped = {one.label for group in groups for one in group}
    narrow = [one for one in boards if one.label not in grouped and one.on_sheet[1] <= _STRIP]
    rest = [one for one in boards if one.label not in grouped and one not in narrow]
    wide, high = size
    longest_part = max((one.on_sheet[0] for one in narrow), default=0.0)
    most = max((len(group) for group in groups), default=1)
    for longest in dict.fromkeys(
        (min(wide, max(job.tools.carried_length, longest_part)), longest_part, wide)
    ):
        strips = _strips(narrow, kerf, longest)
        for columns in range(1, most + 1):
            together = []
            for group in groups:
                own = [_single(one) for one in group]
                block = _arranged(own, min(columns, len(own)), kerf)
                together += [block] if block.width <= wide and block.height <= high else own
            yield [*together, *map(_single, rest), *strips]
        yield [*map(_single, (one for group in groups for one in group)), *map(_single, rest), *strips]
    yield [_single(one) for one in boards]


# -- laid out


def _sawn(job: Job, stock: Stock, boards: dict[str, Board]) -> SawnStock:
    kerf, trim = (job.rule.rounded(one, "up") for one in (job.tools.kerf, job.tools.trim))
    sheet = stock.sheet_length, stock.sheet_width
    wide, high = sheet[0] - 2 * trim, sheet[1] - 2 * trim
    turns = stock.grain == "none"
    fitting, too_large = [], []
    for one in boards.values():
        ways = [one.on_sheet, one.on_sheet[::-1]] if turns else [one.on_sheet]
        fits = any(width <= wide + CONTACT and height <= high + CONTACT for width, height in ways)
        (fitting if fits else too_large).append(one)
    area = sum(one.length.value * one.width.value for one in fitting)
    if not fitting:
        return SawnStock(stock, boards, (), 0, tuple(one.label for one in too_large), trim, kerf, 0.0)

    def laid(bundles: Sequence[_Bundle]) -> sawing.Layout:
        wanted = tuple(
            sawing.Wanted(str(at), one.width, one.height, 1, turns) for at, one in enumerate(bundles)
        )
        return sawing.lay_out(sawing.Job(sheet, kerf, trim, wanted))

    bound, best = 0, list[SawnSheet]()
    for bundles in _ways(job, fitting, (wide, high), kerf):
        if any(one.width > wide + CONTACT or one.height > high + CONTACT for one in bundles):
            continue
        found = laid(bundles)
        bound = found.bound  # the last are the parts one by one, and with them it is that of the parts
        if best and found.sheets > len(best):
            continue
        sheets = [
            SawnSheet(
                number,
                _pieces(found, number, bundles, (trim, trim, wide, high), kerf, job.tools.carried_length),
                (),
            )
            for number in range(1, found.sheets + 1)
        ]
        if not best or _worth(job, fitting, sheets) < _worth(job, fitting, best):
            best = sheets
    used = area / (len(best) * sheet[0] * sheet[1])
    return SawnStock(
        stock, boards, tuple(best), bound, tuple(one.label for one in too_large), trim, kerf, used
    )


def _worth(job: Job, boards: Sequence[Board], sheets: Sequence[SawnSheet]) -> tuple[float, ...]:
    """Fewer sheets before more, then what matches on one sheet, then less to saw on the floor, then what is left."""
    on = {label: sheet.number for sheet in sheets for label in sheet.labels}
    torn = sum(len({on[one.label] for one in group}) - 1 for group in _matching(boards))
    floor = sum(is_on_floor(job, piece) for sheet in sheets for piece, _ in in_order(sheet.whole))
    left = [
        one.box[2] * one.box[3] for sheet in sheets for one in sheet.whole.leaves if is_worth_keeping(one)
    ]
    return len(sheets), torn, floor, -max(left, default=0.0)


def _pieces(
    layout: sawing.Layout, number: int, bundles: Sequence[_Bundle], whole: Box, kerf: float, carried: float
) -> Piece:
    """A sheet as pieces, each with its cut; what is too small to keep comes off as late as it can."""
    cuts = [one for one in layout.cuts if one.sheet == number]
    placed = [one for one in layout.placements if one.sheet == number]

    def piece(box: Box) -> Piece:
        cut = next((one for one in cuts if alike(one.box, box)), None)
        if cut is not None:
            low, high = parted(box, cut.axis, cut.at, kerf)
            return Piece(box, "", cut.axis, cut.at, piece(low), None if high is None else piece(high))
        own = next((one for one in placed if alike((one.x, one.y, one.width, one.height), box)), None)
        return Piece(box) if own is None else _opened(bundles[int(own.name)], box, own.turned, kerf)

    return ordered(piece(whole), kerf, carried)


def _opened(bundle: _Bundle, box: Box, turned: bool, kerf: float) -> Piece:
    """A bundle in a box that is at least as large, as pieces: first what is over comes off, then its members."""
    width, height = (bundle.height, bundle.width) if turned else (bundle.width, bundle.height)
    x, y, wide, high = box
    sides: tuple[tuple[Literal["x", "y"], float, float], ...] = (("x", width, wide), ("y", height, high))
    for axis, own, room in sides:
        if room - own > CONTACT:
            at = (x if axis == "x" else y) + own
            low, rest = parted(box, axis, at, kerf)
            inner = _opened(bundle, low, turned, kerf)
            return Piece(box, "", axis, at, inner, None if rest is None else Piece(rest), bundle.strip)
    if not bundle.members:
        return Piece(box, bundle.label)
    axis = bundle.axis if not turned else ("y" if bundle.axis == "x" else "x")
    return _in_a_row(bundle.members, box, axis, turned, kerf, bundle.strip)


def _in_a_row(
    members: Sequence[_Bundle], box: Box, axis: Literal["x", "y"], turned: bool, kerf: float, strip: bool
) -> Piece:
    first = members[0]
    if len(members) == 1:
        return _opened(first, box, turned, kerf)
    along = first.width if (axis == "x") != turned else first.height
    at = box["xy".index(axis)] + along
    low, rest = parted(box, axis, at, kerf)
    assert rest is not None
    return Piece(
        box, "", axis, at, _opened(first, low, turned, kerf),
        _in_a_row(members[1:], rest, axis, turned, kerf, False), strip,
    )  # fmt: skip
