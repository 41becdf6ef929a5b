"""Trims with which a chain goes together and every leaf passes."""

from __future__ import annotations

from typing import Final

from ...sizes.tolerances import CONTACT
from ..prepared import Prepared
from .links import Chain
from .pressed import Pressed, pressed
from .stops import free_shifts, shifts, stops
from .trims import Trims, least_trims, shared_trims

MOST_PARTS: Final = 6
"""Nobody takes apart more of a table than this to spare one part a cut (common practice, no source)."""


def curing_trims(prepared: Prepared, chain: Chain) -> Trims:
    """The least wood to take off for the chain to go together with every part where the leaves pass it."""
    found = least_trims(chain, {})
    if _passes(prepared, chain, found):
        return found
    return _with_every_leaf(prepared, chain, prepared.assembly.limits.min_clearance)


def passes_somewhere(prepared: Prepared, chain: Chain, least: float) -> bool:
    """Whether a chain that goes together can do so with every leaf passing at a clearance of `least` mm.

    A part that is nearer to a leaf wherever it stands is no matter of the chain.
    """
    return _with_every_leaf(prepared, chain, least).total <= CONTACT


def filled(prepared: Prepared, chain: Chain) -> tuple[float, ...]:
    """What to put in at each link so that all joints close, mm, for a chain that goes together.

    Where nothing is too long, each joint is filled by what it is open as placed; else by what is open with every part
    where the leaves pass it.
    """
    if not any(link.excess > 0 for link in chain.links):
        return tuple(-link.excess for link in chain.links)
    found = _with_every_leaf(prepared, chain, prepared.assembly.limits.min_clearance)
    at = Pressed("evenly", found.positions) if found.total <= CONTACT else pressed(chain, "evenly")
    return tuple(at.gap(link) for link in chain.links)


def _with_every_leaf(prepared: Prepared, chain: Chain, least: float) -> Trims:
    farthest = sum(abs(link.excess) for link in chain.links)
    return least_trims(chain, free_shifts(prepared, chain, farthest, least))


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
