"""Where the parts of a chain end up in the dry fit: pressed toward one end, toward the other, or forced in evenly.

Positions are how far each part stands from where it is drawn, along the axis. Pressed toward the low end, every part
seats on the neighbor below it that keeps it farthest up: the row with the most excess decides how far a through rib
is pushed, and the joints of the other rows open. What ends the chain on the far side is pushed out by what is left.

Forced in evenly, the joints give alike. The way from one end to the other on which each joint has to give most is
the one with the most excess for each of its joints, and every joint on it gives as much; then the same for what
stands between parts that have their position. No other positions press the most pressed joint less (and after that
the next one), or leave the most open one less open where there is room.

Parts that have nothing to do with each other are groups of their own.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from ...sizes.tolerances import CONTACT, WELD
from .links import Chain, Link

Way = Literal["low", "high", "evenly"]
"""Pressed toward the end with the smaller coordinate, toward the other one, or forced in evenly."""


@dataclass(frozen=True)
class Pressed:
    """Where the parts of a chain are, mm from where they are drawn."""

    way: Way
    positions: tuple[float, ...]

    def gap(self, link: Link) -> float:
        """How far a joint is open, mm; negative where it still has to give."""
        return self.positions[link.high] - self.positions[link.low] - link.excess


def pressed(chain: Chain, way: Way) -> Pressed:
    """The parts of a chain pressed together in one of the three ways."""
    if way == "evenly":
        return Pressed(way, _evenly(chain))
    away = _seated(chain, way)
    return Pressed(way, tuple(away) if way == "low" else tuple(-far for far in away))


def through(chain: Chain) -> list[float]:
    """For each link by how much the longest way from end to end that passes it is too long, mm; less than 0 for the
    most that the joint can be open."""
    low, high = pressed(chain, "low").positions, pressed(chain, "high").positions
    held = chain.held
    return [
        (0.0 if link.low in held else low[link.low])
        + link.excess
        - (0.0 if link.high in held else high[link.high])
        for link in chain.links
    ]


def standing(chain: Chain) -> frozenset[int]:
    """Numbers of the parts that stand where they are drawn, whichever way the chain is pressed."""
    low, high = pressed(chain, "low").positions, pressed(chain, "high").positions
    still = (n for n in range(len(low)) if abs(low[n]) <= CONTACT and abs(high[n]) <= CONTACT)
    return chain.held | frozenset(still)


def _seated(chain: Chain, way: Way) -> list[float]:
    """How far each part is from where it is drawn, away from the end that the chain is pressed toward, mm.

    Each seats on the neighbor that keeps it farthest away. What ends the chain is pushed out, and follows no gap.
    """
    count, up = len(chain.labels), way == "low"
    links = chain.below if up else chain.above
    away = [0.0] * count
    for number in range(count) if up else range(count - 1, -1, -1):
        if links[number]:
            far = max(away[link.low if up else link.high] + link.excess for link in links[number])
            away[number] = max(0.0, far) if number in chain.held else far
    return away


# -- evenly
# ------------------------------------------------------------------------------------------------------------


def _evenly(chain: Chain) -> tuple[float, ...]:
    places: dict[int, float] = dict.fromkeys(chain.held, 0.0)
    least = -1.0 - 3 * sum(abs(link.excess) for link in chain.links)
    waiting = _loose(chain, set(range(len(chain.labels))) - places.keys())
    while waiting:
        group = waiting.pop()
        route, give = _hardest_route(chain, group, places, least)
        at = places[route[0].low]
        for link in route[:-1]:
            at += link.excess - give
            places[link.high] = at
        waiting += _loose(chain, group - places.keys())
    return tuple(places[number] for number in range(len(chain.labels)))


def _loose(chain: Chain, numbers: set[int]) -> list[set[int]]:
    """The parts with these numbers in groups that butt on each other."""
    group = {number: {number} for number in numbers}
    for number in numbers:
        for link in chain.below[number]:
            if link.low in group and group[link.low] is not group[number]:
                joined = group[link.low] | group[number]
                group.update(dict.fromkeys(joined, joined))
    return list({id(one): one for one in group.values()}.values())


def _hardest_route(
    chain: Chain, group: set[int], places: dict[int, float], least: float
) -> tuple[list[Link], float]:
    """The route through a group, from a part that has its place to another, whose joints give most, and how much each
    of them gives, mm.

    By Newton's method on the longest route with so much taken off each link: each step takes the mean of that route,
    and it ends where no route asks for more (Dinkelbach, Management Science 13, 1967, from memory).

    Parameters
    ----------
    least : less than any joint gives, mm
    """
    order = sorted(group)
    ends = {link.high for number in group for link in chain.above[number]} - group
    best, give = _longest_route(chain, order, ends, places, least)[0], least
    while True:
        route, more = _longest_route(chain, order, ends, places, give)
        if more <= WELD:
            return best, give
        best, give = route, give + more / len(route)


def _longest_route(
    chain: Chain, order: list[int], ends: set[int], places: dict[int, float], give: float
) -> tuple[list[Link], float]:
    """The route that pushes most with `give` mm taken off each of its links, and how much it pushes, mm."""
    far: dict[int, float] = {}
    came: dict[int, Link] = {}

    def pushed(link: Link) -> float:
        before = far[link.low] if link.low in far else places[link.low]
        return before + link.excess - give

    for number in order:
        came[number] = max(chain.below[number], key=pushed)
        far[number] = pushed(came[number])
    arriving = [link for number in sorted(ends) for link in chain.below[number] if link.low in far]
    last = max(arriving, key=lambda link: pushed(link) - places[link.high])
    route = [last]
    while route[0].low in far:
        route.insert(0, came[route[0].low])
    return route, pushed(last) - places[last.high]


def groups(chain: Chain) -> list[Chain]:
    """The groups of links of a chain in which something is off.

    A part that stands where it is drawn whichever way the chain is pressed parts it: what is off on one side of it
    leaves the other alone. Where such a part is itself thicker than drawn, or stands farther out, all that butts on
    that face belongs together.
    """
    still = standing(chain)
    joined = _Joined()
    for at, link in enumerate(chain.links):
        for key in _keys(link, still):
            joined.join(("link", at), key)
    together: dict[Hashable, list[Link]] = {}
    for at, link in enumerate(chain.links):
        together.setdefault(joined.root(("link", at)), []).append(link)
    return [_of(chain, links, still) for links in together.values() if any(link.excess for link in links)]


def _keys(link: Link, still: frozenset[int]) -> Iterator[Hashable]:
    """What a link has in common with others of its group."""
    for number, off in ((link.low, link.by_low), (link.high, link.by_high)):
        if number not in still:
            yield "part", number
        elif abs(off) > CONTACT and number == link.neighbor:
            yield "face", number, number == link.low


class _Joined:
    """Things that belong together, each with one that stands for all."""

    def __init__(self) -> None:
        self._next: dict[Hashable, Hashable] = {}

    def root(self, key: Hashable) -> Hashable:
        while (onward := self._next.setdefault(key, key)) != key:
            self._next[key] = self._next[onward]
            key = onward
        return key

    def join(self, one: Hashable, other: Hashable) -> None:
        self._next[self.root(other)] = self.root(one)


def _of(chain: Chain, links: list[Link], still: frozenset[int]) -> Chain:
    """These links with their parts as a chain of its own."""
    numbers = sorted({number for link in links for number in (link.low, link.high)})
    new = {number: at for at, number in enumerate(numbers)}
    return Chain(
        chain.axis,
        tuple(chain.labels[number] for number in numbers),
        frozenset(new[number] for number in still & new.keys()),
        tuple(replace(link, low=new[link.low], high=new[link.high]) for link in links),
    )
