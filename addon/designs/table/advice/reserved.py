"""What is said of reserved spaces, and what helps: space or wall moves, a hole is drilled, a leaf turns round."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Final

from ....check.facts import Fact
from ....check.reserved import BeforeWall, Crossed, Moves, Taken, TightBend
from ....sizes.words import listed
from ....wood.reserved import LOW_ALONE, Reserved
from ...findings import Candidate, Change, Remedy, Sized
from ..reserved import holes_for, lacks_hole
from .case import Advice, Case

_WAYS: Final = ("to the left", "to the front", "down", "to the right", "to the back", "up")
"""In the order of `Moves`."""

_FARTHEST: Final = 400.0
"""A space that would have to move farther stands elsewhere, mm."""

_BEYOND: Final = 100.0
"""How much farther than need be a space is tried, mm."""

_MOST_WAYS: Final = 3
"""Ways to move a space that are tried, the shortest first."""

_ACROSS: Final = {"front": "back", "back": "front", "left": "right", "right": "left"}
_SIDES: Final = {"front": "front", "back": "back", "left": "left side", "right": "right side"}

_PLUG: Final = 8.0
"""How much wider than the cable a hole for it is at least, so that a small plug passes, mm (common practice, no
source)."""


def crossed(case: Case, group: Sequence[Fact]) -> Advice:
    """A leaf passes through a space, or lies in it."""
    causes = [one.cause for one in group if isinstance(one.cause, Crossed)]
    entry, fact = case.table.reserved[causes[0].number], group[0]
    what, amount = named(entry), case.words(fact.amount)
    leaves = listed(list(dict.fromkeys(one.leaf for one in causes if not one.covering)))
    lying = listed(list(dict.fromkeys(one.leaf for one in causes if one.covering)))
    said = []
    if leaves:
        runs = "runs across" if entry.form == "cable" else "is in"
        said.append(f"{what} {runs} the way of {leaves}, by {amount}: a leaf passes there on its way home.")
    if lying:
        said.append(f"{what} is where {lying} lies as cover{'' if leaves else f', by {amount}'}.")
    if entry.form == "cable":
        said.append(LOW_ALONE)
    return Advice(" ".join(said), *_moved(case, causes[0].number, entry, [one.moves for one in causes]))


def before_wall(case: Case, group: Sequence[Fact]) -> Advice:
    """A wall that does not let leaves out."""
    causes = [one.cause for one in group if isinstance(one.cause, BeforeWall)]
    worst = max(causes, key=lambda one: one.short)
    entry = case.table.reserved[worst.number]
    leaves = listed(list(dict.fromkeys(one.leaf for one in causes)))
    need = entry.distance + worst.short
    message = (
        f"{named(entry)} stands {case.place(entry.distance)} from the table's {_SIDES[entry.side or 'front']}:"
        f" to pull {leaves} out takes {case.place(need)}, {case.words(worst.short)} more."
    )
    key = f"reserved[{worst.number}].distance"

    def farther(mm: float) -> Remedy:
        return Remedy(f"Stand the table {case.given(mm)} from {_the(entry)}", (Change(key, mm),))

    return Advice(message, *_turned(case, causes), Sized(farther, need, need + _BEYOND))


def _turned(case: Case, causes: Sequence[BeforeWall]) -> Iterator[Candidate]:
    """Leaves that go in through the side across."""
    numbers = {path.leaf: path.position for path in case.assembly.stow_paths}
    changes = []
    for leaf in dict.fromkeys(one.leaf for one in causes):
        number = numbers[leaf]
        if number >= len(case.table.stow):
            return
        changes.append(Change(f"stow[{number}].side", _ACROSS[case.table.stow[number].side]))
    leaves = listed(list(dict.fromkeys(one.leaf for one in causes)))
    yield Remedy(f"Have {leaves} go in through the side across", tuple(changes))


def taken(case: Case, group: Sequence[Fact]) -> Advice:
    """Parts that stand in a space; of a cable, boards without a hole for it."""
    causes = [one.cause for one in group if isinstance(one.cause, Taken)]
    number = causes[0].number
    entry = case.table.reserved[number]
    labels = list(dict.fromkeys(one.part for one in causes))
    stand = "stands" if len(labels) == 1 else "stand"
    message = f"{listed(labels)} {stand} in the space of {_the(entry)}, by {case.words(group[0].amount)}."
    found: list[Candidate] = []
    if entry.form == "cable":
        space = case.assembly.reserved[number]
        square = [one for one in labels if one in case.assembly.by_label
                  and any(holes_for(case.assembly.by_label[one], space))]  # fmt: skip
        askew = [one for one in labels if one not in square]
        said = []
        if square:
            through = "needs a hole in" if len(square) == 1 else "needs a hole of its own in each of"
            said.append(f"{named(entry)} {through} {listed(square)}.")
        if askew:
            meets = "It" if said else named(entry)
            said.append(
                f"{meets} runs into {listed(askew)} askew or along the wood: lead it past, or square through."
            )
        message = " ".join([*said, LOW_ALONE])
        if lacks_hole(entry) and square:
            size = case.more(entry.diameter + _PLUG)
            words = f"Drill {case.given(size)} for it through {listed(square)}, wide enough for its plug"
            found.append(Remedy(words, (Change(f"reserved[{number}].hole", size),)))
    found += _moved(case, number, entry, [one.moves for one in causes])
    return Advice(message, *found)


def tight_bend(case: Case, group: Sequence[Fact]) -> Advice:
    """A cable with too little room for its bends."""
    causes = [one.cause for one in group if isinstance(one.cause, TightBend)]
    number, entry = causes[0].number, case.table.reserved[causes[0].number]
    message = (
        f"{named(entry)} bends too tight: with {case.place(entry.bend * entry.diameter)} inside its bends, its corners"
        f" are {case.words(max(one.short for one in causes))} too near to each other. Set them farther apart."
        f" {LOW_ALONE}"
    )
    key = f"reserved[{number}].diameter"

    def thinner(mm: float) -> Remedy:
        return Remedy(f"Take a cable of {case.given(mm)}, which bends so", (Change(key, mm),))

    run = case.assembly.reserved[number]
    need = max((one.short for one in run.bends), default=0.0)
    lengths = [_length(entry, at) for at in (one.at for one in run.bends)]
    share = min((one / (one + need) for one in lengths), default=1.0)
    return Advice(message, Sized(thinner, entry.diameter * share, 1.0))


def _length(entry: Reserved, at: tuple[float, float, float]) -> float:
    """Of the straight length with that middle, mm."""
    for one, two in pairwise(entry.points):
        if all(abs((a + b) / 2 - c) < 1e-6 for a, b, c in zip(one, two, at, strict=True)):
            return sum((b - a) ** 2 for a, b in zip(one, two, strict=True)) ** 0.5
    return 1.0


# -- words and moves


def named(entry: Reserved) -> str:
    """A space at the beginning of a sentence: ``The pin tray``."""
    name = _the(entry)
    return name[0].upper() + name[1:]


def _the(entry: Reserved) -> str:
    """A space by its name: ``the pin tray``."""
    return entry.name if entry.name.lower().startswith("the ") else f"the {entry.name}"


def _moved(case: Case, number: int, entry: Reserved, moves: Iterable[Moves]) -> Iterator[Candidate]:
    """A space moved as a whole, the shortest ways first; a box made smaller where that is less than half of it."""
    needs = [max(own) for own in zip(*moves, strict=True)]
    ways = sorted((need, way) for way, need in enumerate(needs) if 0 < need <= _FARTHEST)
    for need, way in ways[:_MOST_WAYS]:
        yield Sized(lambda mm, way=way: _move(case, number, entry, way, mm), need, need + _BEYOND)
    if entry.form == "box" and ways and ways[0][0] < _extent(entry, ways[0][1]) / 2:
        need, way = ways[0]
        yield Sized(lambda mm: _smaller(case, number, entry, way, mm), need, _extent(entry, way) / 2)


def _move(case: Case, number: int, entry: Reserved, way: int, mm: float) -> Remedy:
    axis, sign = "xyz"[way % 3], 1 if way >= 3 else -1
    moved = tuple(case.finely(one + sign * mm) for one in getattr(entry, axis) or ())
    words = f"Move {_the(entry)} {case.given(mm)} {_WAYS[way]}"
    return Remedy(words, (Change(f"reserved[{number}].{axis}", moved),))


def _smaller(case: Case, number: int, entry: Reserved, way: int, mm: float) -> Remedy:
    axis, down = "xyz"[way % 3], way < 3
    low, high = sorted(getattr(entry, axis) or ())
    kept = (low, high - mm) if down else (low + mm, high)
    words = f"Make {_the(entry)} {case.given(mm)} {('shorter', 'narrower', 'lower')[way % 3]}"
    return Remedy(words, (Change(f"reserved[{number}].{axis}", kept),))


def _extent(entry: Reserved, way: int) -> float:
    values = getattr(entry, "xyz"[way % 3]) or (0.0,)
    return max(values) - min(values)
