"""Chains of parts that butt on each other: what too long and too short add up to from side to side.

One fact for each chain, with a place for every joint that is off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ...sizes.tolerances import CONTACT
from ...wood.roles import RIB
from ..causes import ChainOff, Cut, Fitted, OffJoint, Way
from ..clearance.kernel import Overlap
from ..facts import Fact, Place, Rule, Severity
from ..prepared import Prepared
from ..spans import point, span_of_overlap
from .links import Chain, Link, chains_of
from .pressed import groups, pressed, through
from .stops import curing_trims, filled, passes_somewhere, sharing_trims, shifts, stops
from .trims import Trims, least_trims

Pair = frozenset[str]


def chain_facts(prepared: Prepared, overlaps: Sequence[Overlap]) -> tuple[list[Fact], set[Pair]]:
    """Facts about chains of parts cut otherwise than drawn, and the pairs of parts whose overlap these explain.

    A chain that is too long between its ends is an error, and so is one that goes together but stops a leaf whichever
    way it is pressed. A joint that stays open is a warning. Where too long and too short make up for each other, a
    note tells which parts then stand off their lines, or a warning if a leaf comes too near to them.
    """
    facts: list[Fact] = []
    explained: set[Pair] = set()
    found = {_pair(prepared, overlap): overlap for overlap in overlaps}
    for chain in chains_of(prepared.assembly):
        explained |= chain.apart
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
    yield from _made_up_for(prepared, group, too_long, overlaps)


def _made_up_for(
    prepared: Prepared, group: Chain, too_long: float, overlaps: Mapping[Pair, Overlap]
) -> Iterator[Fact]:
    """Facts about a group in which some parts are too long and which goes together all the same."""
    ways = _ways(prepared, group)
    stopped = all(way.stops for way in ways) and not passes_somewhere(prepared, group, 0.0)
    opening = () if stopped else tuple(_open(prepared, group, overlaps))
    yield from opening
    if opening:
        return
    joints = _joints(group, [link.excess != 0 for link in group.links])
    clear = not stopped and passes_somewhere(prepared, group, prepared.assembly.limits.min_clearance)
    cause = ChainOff(group.axis, _ends(group), joints, too_long, 0.0, ways)
    if not clear:
        trims = _at_ends(group, [link.excess for link in group.links])
        cause = replace(cause, trims=trims, fills=_fills(group, [-link.excess for link in group.links]))
    if stopped:
        yield _fact(prepared, cause, "error", joints[0].off, overlaps)
    else:
        off = max(abs(off) for _, off in ways[-1].shifts)
        yield _fact(prepared, cause, "note" if clear else "warning", off, overlaps)


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
            group.axis,
            _ends(group),
            joints,
            max(routes),
            opening,
            ways,
            fills=_fills(group, filled(prepared, group)),
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
        _rule(cause, severity, rib=rib),
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


def _rule(cause: ChainOff, severity: Severity, *, rib: bool) -> Rule:
    if severity == "error":
        return "long-rib" if rib else "long-part"
    if cause.opening:
        return "short-rib" if rib else "short-part"
    return "off-line"


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
    """Labels of what ends a chain, below and above: of several those that most butts on, as on a side."""
    low = {number: len(group.above[number]) for number in sorted(group.held) if not group.below[number]}
    high = {number: len(group.below[number]) for number in sorted(group.held) if not group.above[number]}
    below, above = (
        tuple(group.labels[number] for number, count in side.items() if count == max(side.values()))
        for side in (low, high)
    )
    return below, above


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


def _fills(group: Chain, amounts: Sequence[float]) -> tuple[Cut, ...]:
    """What is put in where joints have to close."""
    closing = zip(group.links, amounts, strict=True)
    return _at_ends(group, [amount if link.glued else 0.0 for link, amount in closing])


def _at_ends(group: Chain, amounts: Sequence[float]) -> tuple[Cut, ...]:
    return tuple(
        Cut(group.labels[link.ending], group.labels[link.neighbor], not link.ends_low, amount)
        for link, amount in zip(group.links, amounts, strict=True)
        if amount > CONTACT
    )
