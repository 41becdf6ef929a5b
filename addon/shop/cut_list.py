"""The cut list: what is sawn from which stock, in the order of sawing, and what is cut to fit last.

Parts of one width are ripped together, the widest first; along a strip those of one length follow each other, so that a
stop block is set once. What fits a gap is sawn longer and cut to fit when the gap is there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from ..sizes.arrays import Bools, Floats
from ..sizes.tolerances import CONTACT
from ..wood.assembly import Assembly
from ..wood.meshes.mesh import mesh_of
from ..wood.part import Part
from ..wood.stock import Stock
from .boards import Board, board_of, rim_boards
from .figures import Figure
from .job import Job


@dataclass(frozen=True, eq=False)
class Line:
    """Parts that are alike, as they are sawn.

    Parameters
    ----------
    labels : of the parts
    name : what they are, in words
    length, width, thickness : of the finished board
    rough : the length that is sawn first, where it is cut to fit last
    edges : which of its edges show, in words
    mass : of one, kg
    area : of the faces of one, m²
    count : how many are sawn
    thin : whether it is made thinner than its sheet
    """

    labels: tuple[str, ...]
    name: str
    length: Figure
    width: Figure
    thickness: Figure
    rough: Figure | None
    edges: str
    mass: float
    area: float
    count: int
    thin: bool = False

    @property
    def sawn(self) -> Figure:
        """The length to which it is sawn first."""
        return self.rough or self.length

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All that is printed of it."""
        return (self.length, self.width, self.thickness, *([self.rough] if self.rough else []))


@dataclass(frozen=True, eq=False)
class Fit:
    """Parts that are cut to fit last, and the two parts between which each is measured."""

    labels: tuple[str, ...]
    between: tuple[str, ...]
    about: Figure


@dataclass(frozen=True, eq=False)
class StockList:
    """All that is sawn from one stock: strips of one width each, the widest first."""

    stock: Stock
    rips: tuple[tuple[Line, ...], ...]

    @cached_property
    def lines(self) -> tuple[Line, ...]:
        """Of all widths, in order."""
        return tuple(line for rip in self.rips for line in rip)

    @property
    def pieces(self) -> int:
        """How many."""
        return sum(line.count for line in self.lines)

    @property
    def area(self) -> float:
        """Net area, m²: of plywood, without offcuts."""
        return sum(line.count * line.area for line in self.lines)

    @property
    def mass(self) -> float:
        """Of the finished parts, kg."""
        return sum(line.count * line.mass for line in self.lines)


def cut_list(job: Job) -> tuple[StockList, ...]:
    """What is sawn, by stock; the stock with the most parts first."""
    shown = edges_that_show(job.assembly)
    lines: dict[str, list[Line]] = {}
    stocks: dict[str, Stock] = {}
    for kind in job.kinds:
        labels = [label for member in kind.members for label in member]
        stock = job.drawn.by_label[labels[0]].stock
        stocks[stock.name] = stock
        lines.setdefault(stock.name, []).extend(_lines_of(job, labels, shown))
    for name, line in _rim_lines(job):
        lines[name].append(line)
    order = sorted(stocks, key=lambda name: -sum(line.count for line in lines[name]))
    return tuple(StockList(stocks[name], _rips(lines[name])) for name in order)


def _rips(lines: Iterable[Line]) -> tuple[tuple[Line, ...], ...]:
    """Lines of one width together, wide to narrow; in each the longest first, those of one length together."""
    by_width: dict[float, list[Line]] = {}
    for line in lines:
        by_width.setdefault(line.width.value, []).append(line)
    return tuple(
        tuple(sorted(by_width[width], key=lambda line: -line.sawn.value))
        for width in sorted(by_width, reverse=True)
    )


def _lines_of(job: Job, labels: Sequence[str], shown: dict[str, str]) -> Iterator[Line]:
    """Parts of one kind; those that are sawn otherwise, or whose edges are seen otherwise, on a line of their own."""
    found: dict[tuple[str, ...], list[Part]] = {}
    for label in labels:
        part = job.drawn.by_label[label]
        sizes = tuple(one.printed for one in _board(job, part))
        fits = "to fit" if label in job.rounded.gaps else ""
        found.setdefault((*sizes, fits, shown[label]), []).append(part)
    for parts in found.values():
        yield _line(job, parts, shown[parts[0].label])


def _line(job: Job, parts: Sequence[Part], edges: str) -> Line:
    first = parts[0]
    length, width, thickness = _board(job, first)
    sawn = board_of(job, first)
    return Line(
        tuple(part.label for part in parts),
        name_of(parts),
        length,
        width,
        thickness,
        sawn.length if sawn.to_fit else None,
        edges,
        mesh_of(job.assembly.by_label[first.label].shape).volume * first.stock.density / 1e9,
        length.value * width.value / 1e6,
        len(parts),
        first.board[2] < first.stock.thickness - CONTACT,
    )


def exact(job: Job, name: str, mm: float, part: str = "") -> Figure:
    """A length that follows from others that are printed, or from a tool: to the last digit that shows all of it."""
    return Figure(name, mm, job.rule.exact(mm), part)


def name_of(parts: Sequence[Part]) -> str:
    """What parts are called that are alike: ``end stop of L3``, ``through rib``, ``side``."""
    for names in ({part.short_name for part in parts}, {part.kind for part in parts}):
        if len(names) == 1:
            return names.pop()
    return parts[0].role.one


def _board(job: Job, part: Part) -> tuple[Figure, Figure, Figure]:
    """Length, width and thickness of the board that is sawn, as printed."""
    own = {one.name: job.rounded.figure(part, one) for one in part.shape.dimensions if one.number is None}
    thickness = own["thickness"]
    if part.strips:
        thickness = exact(job, "thickness of the board", part.board[2], part.label)
    return own["length"], own["width"], thickness


def _rim_lines(job: Job) -> Iterator[tuple[str, Line]]:
    """Name of the stock, and strips of rims of one size, which are sawn alone; their weight counts with the leaf."""
    found: dict[tuple[str, str, str, float], list[Board]] = {}
    for one in rim_boards(job):
        height = max(strip.height for strip in one.part.strips)
        key = one.part.stock.name, one.length.printed, one.width.printed, height
        found.setdefault(key, []).append(one)
    for (name, _, _, height), boards in found.items():
        first = boards[0]
        yield (
            name,
            Line(
                tuple(one.label for one in boards),
                "rim strip",
                first.length,
                first.width,
                exact(job, "rim strip: thickness", height, first.part.label),
                None,
                "all",
                0.0,
                first.length.value * first.width.value / 1e6,
                len(boards),
                height < first.part.stock.thickness - CONTACT,
            ),
        )


# -- cut to fit last


def fits(job: Job) -> tuple[Fit, ...]:
    """What is cut to fit last, in the assembly's order; parts for one gap together."""
    found: dict[tuple[tuple[str, ...], str], list[Part]] = {}
    for part in job.drawn.parts:
        if part.label in job.rounded.gaps:
            about = _board(job, part)[0]
            found.setdefault((job.rounded.gaps[part.label], about.printed), []).append(part)
    return tuple(
        Fit(tuple(part.label for part in parts), between, _board(job, parts[0])[0])
        for (between, _), parts in found.items()
    )


# -- edges that show

SHOWN: Final = (
    "Edges that show: along a third of them or more nothing lies against them and nothing but legs stands before them, "
    "seen square or obliquely from above. Lower edges do not count; of a leaf, which is handled, all do."
)
"""What the column means."""

_LOOKS: Final = 12
"""Along either way of an edge from so many points it is looked out."""


def edges_that_show(assembly: Assembly) -> dict[str, str]:
    """Label → which of its edges show, in words: ``1 long edge, both ends``."""
    blockers = [part for part in assembly.parts if not part.role.slides]
    low = np.array([part.box[0] for part in blockers]).reshape(-1, 3)
    high = np.array([part.box[1] for part in blockers]).reshape(-1, 3)
    legs = np.array([part.role.stands_on_floor for part in blockers], dtype=bool)
    found = {}
    for part in assembly.parts:
        own = np.array([other.label == part.label for other in blockers], dtype=bool)
        if part.role.slides:
            found[part.label] = "all"
            continue
        shows = [_shows(part, number, low[~own], high[~own], legs[~own]) for number in range(4)]
        found[part.label] = _edge_words(shows[0] + shows[2], shows[1] + shows[3])
    return found


def _edge_words(long: int, ends: int) -> str:
    if long + ends == 4:
        return "all"
    words = [("", "1 long edge", "2 long edges")[long], ("", "1 end", "2 ends")[ends]]
    return ", ".join(word for word in words if word) or "none"


def _shows(part: Part, number: int, low: Floats, high: Floats, legs: Bools) -> bool:
    """Whether a third or more of an edge of a part's blank (0 lower, 1 end, 2 upper, 3 start) is seen."""
    points, out = _edge(part, number)
    if out[2] < -0.5:
        return False
    looks = [out]
    if abs(out[2]) < 0.5:
        looks.append(out + np.array([0.0, 0.0, 1.0]))
    touching = _hit(points, out, low, high, reach=1.0)
    seen = np.zeros(len(points), dtype=bool)
    for look in looks:
        seen |= ~_hit(points, look, low[~legs], high[~legs], reach=np.inf)
    return bool((seen & ~touching).mean() >= 1 / 3)


def _edge(part: Part, number: int) -> tuple[Floats, Floats]:
    """(n, 3) float, points of an edge of the blank in the table, mm, and the unit direction out of the wood."""
    blank = part.shape.blank
    share = (np.arange(_LOOKS) + 0.5) / _LOOKS
    spans = [(blank.low[0], blank.high[0]), (blank.low[1], blank.high[1]), (0.0, blank.thickness)]
    axis, at_high = (1, 0, 1, 0)[number], number in (1, 2)
    others = [k for k in range(3) if k != axis]
    grid = np.zeros((_LOOKS, _LOOKS, 3))
    for way, k in enumerate(others):
        along = spans[k][0] + share * (spans[k][1] - spans[k][0])
        grid[..., k] = along[:, None] if way == 0 else along[None, :]
    grid[..., axis] = spans[axis][int(at_high)]
    return part.placement.to_table(grid.reshape(-1, 3)), part.placement.axes[axis] * (1 if at_high else -1)


def _hit(points: Floats, way: Floats, low: Floats, high: Floats, reach: float) -> Bools:
    """(n,) bool: whether what goes from each point along a way meets a box, within `reach` mm."""
    if not len(low):
        return np.zeros(len(points), dtype=bool)
    near = np.full((len(points), len(low)), CONTACT)
    far = np.full((len(points), len(low)), reach)
    for axis in range(3):
        from_low = low[None, :, axis] - points[:, None, axis]
        from_high = high[None, :, axis] - points[:, None, axis]
        if abs(way[axis]) < 1e-9:
            far[(from_low > -CONTACT) | (from_high < CONTACT)] = -np.inf
            continue
        first, second = from_low / way[axis], from_high / way[axis]
        near = np.maximum(near, np.minimum(first, second))
        far = np.minimum(far, np.maximum(first, second))
    return np.asarray((far - near > CONTACT).any(axis=1))
