"""The least wood to take off the ends of parts for a chain to go together, with every part where leaves pass it.

A linear program: with s the positions and t ≥ 0 what is taken off each end,

    minimize the sum of t   such that   s(high) - s(low) + t(link) ≥ excess(link)   and   low ≤ s ≤ high

whose dual sends flow from one end of the chain to the other along ways that are too long, at most 1 through each end
that can be cut: each unit gains as much as its way is too long. Successive longest ways find it exactly; there are no
more of them than rows side by side (Ahuja, Magnanti and Orlin, Network Flows, 1993, chapter 9, from memory). What is
taken off an end is what the link still lacks at the positions that the last of them leaves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

from ...sizes.tolerances import CONTACT, WELD
from .links import Chain

Bounds = tuple[float, float]
"""How far a part may stand from where it is drawn, down and up the axis, mm."""

_OWN: Final = 1_000_000
"""Wood taken off an end that is too long counts so much, off any other end one more: of two ways to take off the least,
the one at the ends that are to blame comes first. Whole numbers, so that flows are exact."""


@dataclass
class _Arc:
    """A way for flow: from one node to another, what it gains, mm, and how much more it takes."""

    tail: int
    head: int
    gain: float
    room: float
    back: int
    """Number of the arc that takes it back."""


@dataclass(frozen=True)
class Trims:
    """What to take off at each link of a chain, mm, and where the parts stand then."""

    amounts: tuple[float, ...]
    positions: tuple[float, ...]

    @property
    def total(self) -> float:
        """All that is taken off, mm."""
        return sum(self.amounts)


def least_trims(chain: Chain, bounds: Mapping[int, Bounds]) -> Trims:
    """The least total that makes the chain fit.

    Off the ends that are too long where that is as good, and with every part where it is drawn where that is.

    Parameters
    ----------
    bounds : number of a part → where it may stand
    """
    rooms = [_OWN if link.excess > 0 else _OWN + 1 for link in chain.links]
    net = _Net(chain, bounds, rooms)
    net.fill()
    least = _trims(chain, net.potentials())
    as_drawn = _trims(chain, [0.0] * len(chain.labels))
    allowed = all(low <= 0.0 <= high for low, high in bounds.values())
    return as_drawn if allowed and as_drawn.total <= least.total + CONTACT else least


def shared_trims(chain: Chain, bounds: Mapping[int, Bounds]) -> Trims | None:
    """The same total spread over as many parts as it can be, so that the most that is taken off one is least.

    Each part is cut at one end only: the one that is too long, else its upper one.

    Returns
    -------
    None where that does not do
    """
    cut = _one_end_each(chain)
    net = _Net(chain, bounds, [1.0 if at in cut else inf for at in range(len(chain.links))])
    if not net.fill():
        return None
    share = 0.0
    while (cycle := net.gaining_cycle(share)) is not None:
        gain, shares = cycle
        if not shares:
            return None
        share = max(gain / shares, share + WELD)
    return _trims(chain, net.potentials(share))


def _one_end_each(chain: Chain) -> set[int]:
    """Numbers of the links at which parts are cut if each is cut at one end."""
    best: dict[int, int] = {}
    for at, link in enumerate(chain.links):
        rank = (link.excess > 0, link.ends_low)
        kept = best.get(link.ending)
        if kept is None or rank > (chain.links[kept].excess > 0, chain.links[kept].ends_low):
            best[link.ending] = at
    return set(best.values())


def _trims(chain: Chain, positions: list[float]) -> Trims:
    lacking = (link.excess - (positions[link.high] - positions[link.low]) for link in chain.links)
    return Trims(tuple(one if one > WELD else 0.0 for one in lacking), tuple(positions))


class _Net:
    """The chain as a net of arcs. What is held is one node, the ground; flow leaves it and comes back to it."""

    def __init__(self, chain: Chain, bounds: Mapping[int, Bounds], rooms: Sequence[float]) -> None:
        self.ground, self.sink = len(chain.labels), len(chain.labels) + 1
        self.held = chain.held
        self.arcs: list[_Arc] = []
        self.links: list[int] = []
        for link, room in zip(chain.links, rooms, strict=True):
            tail = self.ground if link.low in chain.held else link.low
            head = self.sink if link.high in chain.held else link.high
            self.links.append(self._add(tail, head, link.excess, room))
        for number, (low, high) in bounds.items():
            if number not in chain.held:
                self._add(self.ground, number, low, inf)
                self._add(number, self.sink, -high, inf)

    def _add(self, tail: int, head: int, gain: float, room: float) -> int:
        number = len(self.arcs)
        self.arcs.append(_Arc(tail, head, gain, room, number + 1))
        self.arcs.append(_Arc(head, tail, -gain, 0.0, number))
        return number

    def fill(self) -> bool:
        """Send flow along the ways that gain until none does; False where there is no end to it."""
        while (way := self._longest_way()) is not None:
            room = min(arc.room for arc in way)
            if room == inf:
                return False
            for arc in way:
                arc.room -= room
                self.arcs[arc.back].room += room
        return True

    def _longest_way(self) -> list[_Arc] | None:
        """The way from the ground back to it that gains most; None where none gains."""
        far = [-inf] * (self.sink + 1)
        came: dict[int, _Arc] = {}
        far[self.ground] = 0.0
        for _ in range(len(far)):
            changed = False
            for arc in self.arcs:
                if arc.room > 0 and far[arc.tail] + arc.gain > far[arc.head] + WELD:
                    far[arc.head], came[arc.head], changed = far[arc.tail] + arc.gain, arc, True
            if not changed:
                break
        if far[self.sink] <= WELD:
            return None
        way = [came[self.sink]]
        while way[0].tail != self.ground:
            way.insert(0, came[way[0].tail])
        return way

    # -- when it is full
    # --------------------------------------------------------------------------------------------------------

    def _open(self, share: float | None) -> list[tuple[int, int, float, int]]:
        """(tail, head, gain, shares) of all that binds the positions; ground and sink are one.

        Parameters
        ----------
        share : most that is taken off at one end, mm; None for any amount
        """
        found = [(arc.tail, arc.head, arc.gain, 0) for arc in self.arcs if arc.room > 0]
        if share is not None:
            full = (self.arcs[number] for number in self.links)
            found += [(arc.tail, arc.head, arc.gain, 1) for arc in full if arc.room == 0]
        one = {self.sink: self.ground}
        return [
            (one.get(tail, tail), one.get(head, head), gain, shares) for tail, head, gain, shares in found
        ]

    def gaining_cycle(self, share: float) -> tuple[float, int] | None:
        """What a cycle gains, mm, before its shares are taken off, and the number of them; None where none gains."""
        binding = self._open(share)
        far = [0.0] * (self.sink + 1)
        came: dict[int, tuple[int, int, float, int]] = {}
        last = None
        for _ in range(len(far) + 1):
            last = None
            for one in binding:
                tail, head, gain, shares = one
                if far[tail] + gain - shares * share > far[head] + WELD:
                    far[head], came[head], last = far[tail] + gain - shares * share, one, head
            if last is None:
                return None
        assert last is not None
        for _ in far:
            last = came[last][0]
        gained, number, at = 0.0, 0, last
        while True:
            tail, _, gain, shares = came[at]
            gained, number, at = gained + gain, number + shares, tail
            if at == last:
                return gained, number

    def potentials(self, share: float | None = None) -> list[float]:
        """Positions at which what is lacking is least in all, mm; those that are held are at 0."""
        far = [0.0] * (self.sink + 1)
        binding = self._open(share)
        for _ in range(len(far)):
            changed = False
            for tail, head, gain, shares in binding:
                reached = far[tail] + gain - shares * (share or 0.0)
                if reached > far[head] + WELD:
                    far[head], changed = reached, True
            if not changed:
                break
        ground = far[self.ground]
        return [0.0 if number in self.held else far[number] - ground for number in range(self.ground)]
