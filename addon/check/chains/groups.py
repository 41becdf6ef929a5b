"""A chain taken apart into what has nothing to do with each other."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import replace

from ...sizes.tolerances import CONTACT
from .links import Chain, Link
from .pressed import standing


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
