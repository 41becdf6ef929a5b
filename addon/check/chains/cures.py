"""Trims with which a chain goes together and every leaf passes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...sizes.tolerances import CONTACT
from .pressed import Pressed
from .stops import free_shifts, shifts, stops
from .trims import least_trims, shared_trims

if TYPE_CHECKING:
    from ..prepared import Prepared
    from .links import Chain
    from .trims import Trims


MOST_PARTS: Final = 6
"""Nobody takes apart more of a table than this to spare one part a cut (common practice, no source)."""


def curing_trims(prepared: Prepared, chain: Chain) -> Trims:
    """The least wood to take off for the chain to go together with every part where the leaves pass it."""
    found = least_trims(chain, {})
    return found if _passes(prepared, chain, found) else _with_every_leaf(prepared, chain)


def passes_somewhere(prepared: Prepared, chain: Chain) -> bool:
    """Whether a chain that goes together can do so with every part where the leaves pass it."""
    return _with_every_leaf(prepared, chain).total <= CONTACT


def _with_every_leaf(prepared: Prepared, chain: Chain) -> Trims:
    farthest = sum(abs(link.excess) for link in chain.links)
    return least_trims(chain, free_shifts(prepared, chain, farthest))


def sharing_trims(prepared: Prepared, chain: Chain, least: Trims) -> Trims | None:
    """The same in all as much off each of more parts; None where that cannot be, or stops a leaf."""
    found = shared_trims(chain, {})
    if found is None or found.total > least.total + CONTACT:
        return None
    off = [amount for amount in found.amounts if amount > CONTACT]
    more = MOST_PARTS >= len(off) > sum(amount > CONTACT for amount in least.amounts)
    if not more or max(off) - min(off) > CONTACT or not _passes(prepared, chain, found):
        return None
    return found


def _passes(prepared: Prepared, chain: Chain, trims: Trims) -> bool:
    """Whether no leaf is stopped by a part where the trims leave it."""
    return not stops(prepared, shifts(chain, Pressed("evenly", trims.positions)))
