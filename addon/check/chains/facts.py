"""Chains that are too long or too short, as facts: one for each, with a place for every joint that is off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...sizes.tolerances import CONTACT
from ...wood.roles import RIB
from ..causes import ChainOff, Cut, Fitted, OffJoint
from ..facts import Fact, Place
from ..spans import point, span_of_overlap
from .cures import curing_trims, passes_somewhere, sharing_trims
from .groups import groups
from .links import chains_of
from .pressed import pressed, through
from .stops import shifts, stops
from .trims import least_trims

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from ..causes import Way
    from ..clearance.kernel import Overlap
    from ..facts import Rule, Severity
    from ..prepared import Prepared
    from .links import Chain, Link
    from .trims import Trims

Pair = frozenset[str]


def chain_facts(prepared: Prepared, overlaps: Sequence[Overlap]) -> tuple[list[Fact], set[Pair]]:
    """Facts about chains of parts cut otherwise than drawn, and the pairs of parts whose overlap these explain.

    A chain that is too long between its ends is an error, and so is one that goes together but stops a leaf whichever
    way it is pressed. A joint that stays open is a warning. Where too long and too short make up for each other, a
    note tells which parts then stand off their lines.
    """
    facts: list[Fact] = []
    explained: set[Pair] = set()
    found = {_pair(prepared, overlap): overlap for overlap in overlaps}
    for chain in chains_of(prepared.assembly):
        for group in groups(chain):
            facts += _of_group(prepared, group, found)
            explained |= {
                frozenset((group.labels[link.low], group.labels[link.high]))
                for link in group.links
                if link.excess > 0
            }
    return facts, explained


def _pair(prepared: Prepared, overlap: Overlap) -> Pair:
    bodies = prepared.assembly.bodies
    return frozenset((bodies[overlap.a].label, bodies[overlap.b].label))


def _of_group(prepared: Prepared, group: Chain, overlaps: Mapping[Pair, Overlap]) -> Iterator[Fact]:
    routes = through(group)
    too_long = max(routes)
    if too_long > CONTACT:
        trims = curing_trims(prepared, group)
        off, shared = _cuts(group, trims), _cuts(group, sharing_trims(prepared, group, trims))
        over = _joints(group, [link.excess > 0 and route > CONTACT for link, route in _with(group, routes)])
        ways = _ways(prepared, group)
        cause = ChainOff(group.axis, _ends(group), over, too_long, 0.0, ways, off, shared)
        yield _fact(prepared, cause, "error", too_long, overlaps)
        for rest in groups(group.lengthened(least_trims(group, {}).amounts, -1.0)):
            yield from _open(prepared, rest, overlaps)
        return
    if not any(link.excess > 0 for link in group.links):
        yield from _open(prepared, group, overlaps)
        return
    joints, ways = _joints(group, [link.excess != 0 for link in group.links]), _ways(prepared, group)
    if all(way.stops for way in ways) and not passes_somewhere(prepared, group):
        cause = ChainOff(
            group.axis, _ends(group), joints, too_long, 0.0, ways,
            trims=_at_ends(group, [link.excess for link in group.links]), fills=_back_as_drawn(group),
        )  # fmt: skip
        yield _fact(prepared, cause, "error", joints[0].off, overlaps)
        return
    opening = tuple(_open(prepared, group, overlaps))
    yield from opening
    if not opening:
        cause = ChainOff(group.axis, _ends(group), joints, too_long, 0.0, ways)
        yield _fact(prepared, cause, "note", max(abs(off) for _, off in ways[-1].shifts), overlaps)


def _with(group: Chain, routes: list[float]) -> Iterator[tuple[Link, float]]:
    return zip(group.links, routes, strict=True)


def _open(prepared: Prepared, group: Chain, overlaps: Mapping[Pair, Overlap]) -> Iterator[Fact]:
    """The fact about joints that can stay open by more than the fit allowance, if any can."""
    most = prepared.assembly.limits.fit_allowance + CONTACT
    routes = through(group)
    open_at = [link.glued and link.excess < 0 and -route > most for link, route in _with(group, routes)]
    if any(open_at):
        joints, ways = tuple(reversed(_joints(group, open_at))), _ways(prepared, group)
        opening = max(-route for route, one in zip(routes, open_at, strict=True) if one)
        cause = ChainOff(
            group.axis, _ends(group), joints, max(routes), opening, ways, fills=_fills(group, ways)
        )
        yield _fact(prepared, cause, "warning", opening, overlaps)


def _fact(
    prepared: Prepared, cause: ChainOff, severity: Severity, amount: float, overlaps: Mapping[Pair, Overlap]
) -> Fact:
    first, *others = (_place(joint, overlaps) for joint in cause.joints)
    worst = max((stop for way in cause.ways for stop in way.stops), key=lambda stop: stop.depth, default=None)
    if severity != "error":
        worst = None
    rib = prepared.assembly.by_label[first.parts[0]].role == RIB
    return Fact(
        "off-line" if severity == "note" else _rule(rib=rib, long=severity == "error"),
        severity,
        first.parts,
        first.at,
        amount,
        cause,
        worst.leaf if worst else "",
        worst.travel if worst else None,
        first.span,
        tuple(others),
    )


def _rule(*, rib: bool, long: bool) -> Rule:
    if long:
        return "long-rib" if rib else "long-part"
    return "short-rib" if rib else "short-part"


def _place(joint: OffJoint, overlaps: Mapping[Pair, Overlap]) -> Place:
    """Where a joint is off; the part that is more to blame first."""
    parts = (joint.part, joint.neighbor)
    if abs(joint.by_neighbor) > abs(joint.by_part):
        parts = (joint.neighbor, joint.part)
    found = overlaps.get(frozenset(parts)) if joint.off > 0 else None
    if found is None:
        return Place(parts, joint.at, abs(joint.off))
    return Place(parts, point(found.place), joint.off, span=span_of_overlap(found))


def _joints(group: Chain, which: Sequence[bool]) -> tuple[OffJoint, ...]:
    """Some joints of a chain, the longest first, then in order along it."""
    found = [
        OffJoint(
            group.labels[link.ending],
            group.labels[link.neighbor],
            not link.ends_low,
            link.excess,
            *((link.by_low, link.by_high) if link.ends_low else (link.by_high, link.by_low)),
            link.at,
        )
        for link, one in zip(group.links, which, strict=True)
        if one
    ]
    return tuple(sorted(found, key=lambda joint: -round(joint.off, 6)))


def _ends(group: Chain) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Labels of what ends a chain, below and above."""
    low = (number for number in sorted(group.held) if group.above[number] and not group.below[number])
    high = (number for number in sorted(group.held) if group.below[number] and not group.above[number])
    return tuple(group.labels[number] for number in low), tuple(group.labels[number] for number in high)


def _ways(prepared: Prepared, group: Chain) -> tuple[Fitted, ...]:
    low, high = _ends(group)
    ways: list[tuple[Way, tuple[str, ...]]] = [("low", low), ("high", high)]
    if len(group.held) < len(group.labels):
        ways.append(("evenly", ()))
    return tuple(_fitted(prepared, group, way, toward) for way, toward in ways)


def _fitted(prepared: Prepared, group: Chain, way: Way, toward: tuple[str, ...]) -> Fitted:
    at = pressed(group, way)
    off = tuple(
        (label, one) for label, one in zip(group.labels, at.positions, strict=True) if abs(one) > CONTACT
    )
    give = max(-at.gap(link) for link in group.links)
    return Fitted(way, toward, off, give, stops(prepared, shifts(group, at)))


# -- what to take off, and what to put in
# ------------------------------------------------------------------------------------------------------------


def _cuts(group: Chain, trims: Trims | None) -> tuple[Cut, ...]:
    return () if trims is None else _at_ends(group, trims.amounts)


def _fills(group: Chain, ways: tuple[Fitted, ...]) -> tuple[Cut, ...]:
    """What closes all joints: where nothing is too long each by what it is open, else by what is open in the first way
    to put the chain together that stops no leaf."""
    if not any(link.excess > 0 for link in group.links):
        return _back_as_drawn(group)
    chosen = next((way for way in ways if not way.stops), ways[-1])
    at = pressed(group, chosen.way)
    return _at_ends(group, [at.gap(link) if link.glued else 0.0 for link in group.links])


def _back_as_drawn(group: Chain) -> tuple[Cut, ...]:
    return _at_ends(group, [-link.excess if link.glued else 0.0 for link in group.links])


def _at_ends(group: Chain, amounts: Sequence[float]) -> tuple[Cut, ...]:
    return tuple(
        Cut(group.labels[link.ending], group.labels[link.neighbor], not link.ends_low, amount)
        for link, amount in zip(group.links, amounts, strict=True)
        if amount > CONTACT
    )
