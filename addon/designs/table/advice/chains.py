"""Parts that butt on each other from side to side and are too long, or too short, in all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

from ....check.causes import ChainOff, Cut, Fitted, OffJoint, Stop
from ....check.facts import Fact
from ....sizes.tolerances import CONTACT
from ....sizes.words import listed
from ....wood.part import Part
from ....wood.roles import SIDE
from ...findings import Candidate, Change, Remedy, Sized, by_number
from .by_hand import remade
from .case import Advice, Case


def chain_off(case: Case, fact: Fact, chain: ChainOff) -> Advice:
    """What is cut otherwise along a chain, what that adds up to, and what comes of it in each way to fit it."""
    words = [_blamed(case, chain.joints)]
    several = len(chain.joints) > 1
    if chain.opening:
        words.append(
            f"a joint stays open by up to {case.words(chain.opening)}" if several else "the joint stays open"
        )
    elif chain.excess <= CONTACT:
        words.append(f"{_between(chain)} that makes up for each other")
    elif several:
        words.append(f"together that is {case.words(chain.excess)} too much {_between(chain)}")
    elif chain.excess < fact.places[0].amount - CONTACT:
        words.append(f"{_between(chain)} that is {case.words(chain.excess)} too much")
    words += _in_each_way(case, chain)
    message = "; ".join(words) + "."
    if fact.severity == "note":
        return Advice(message)
    labels = sorted({one for joint in chain.joints for one in (joint.part, joint.neighbor)}, key=by_number)
    anew = Remedy(
        f"Measure {listed(labels)} again, and cut anew what is not as drawn{case.until_glued(labels)}"
    )
    if chain.trims and chain.fills:
        return Advice(message, _as_drawn(case, chain), anew)
    ways = [_farther_out(case, chain), *_filled(case, chain), *_trimmed(case, chain), _new(case, chain)]
    return Advice(message, *ways, anew)


def _new(case: Case, chain: ChainOff) -> Remedy | None:
    """A new part where a single one is to blame for what is too much."""
    blamed = {joint.part if joint.by_part > CONTACT else joint.neighbor for joint in chain.joints}
    return remade(case, blamed.pop()) if chain.excess > CONTACT and len(blamed) == 1 else None


# -- what is wrong
# ------------------------------------------------------------------------------------------------------------


def _blamed(case: Case, joints: Sequence[OffJoint]) -> str:
    """Which part is off, where, by how much: ``R6 is 1.5 mm too long at R2, R7 is 1.5 mm too long at R3``."""
    said: dict[str, None] = {}
    for joint in joints:
        if abs(joint.by_part) > CONTACT:
            off = joint.by_part
            word = "long" if off > 0 else "short"
            said[f"{joint.part} is {case.words(abs(off))} too {word} at {joint.neighbor}"] = None
        if abs(joint.by_neighbor) > CONTACT:
            said[_neighbor(case, joint)] = None
    return listed(list(said))


def _neighbor(case: Case, joint: OffJoint) -> str:
    """What is off with the face that an end seats on."""
    part = case.assembly.by_label[joint.neighbor]
    thicker = part.shape.thickness - part.drawn_shape.thickness
    if abs(thicker) > CONTACT:
        how = "thicker" if thicker > 0 else "thinner"
        return f"{part.label} is {case.words(abs(thicker))} {how} than drawn"
    how = "too near to" if joint.by_neighbor > 0 else "too far from"
    return f"{part.label} is {case.words(abs(joint.by_neighbor))} {how} {joint.part}"


def _between(chain: ChainOff) -> str:
    low, high = chain.between
    return f"between {listed(low)} and {listed(high)}"


def _in_each_way(case: Case, chain: ChainOff) -> list[str]:
    """What comes of each way to fit a chain: where windows end up, and which leaf is stopped."""
    ways = [way for way in chain.ways if way.shifts or way.give > CONTACT]
    if len(ways) == len(chain.ways) and all(way.shifts == ways[0].shifts for way in ways):
        return [f"put together, {_comes_of(case, chain, ways[0])}"]
    heads = (f"pressed toward {listed(way.toward)}" if way.toward else _evenly(way) for way in ways)
    return [f"{head}, {_comes_of(case, chain, way)}" for head, way in zip(heads, ways, strict=True)]


def _evenly(way: Fitted) -> str:
    return "forced in evenly" if way.give > CONTACT else "with the gaps spread evenly"


def _comes_of(case: Case, chain: ChainOff, way: Fitted) -> str:
    ends = {label for side in chain.between for label in side}
    words = [_pushed(case, label, off) for label, off in way.shifts if label in ends]
    parts = ((case.assembly.by_label[label], abs(off)) for label, off in way.shifts if label not in ends)
    moved = [(part.label, off) for part, off in parts if _carries_windows(part, chain.axis)]
    if moved:
        words.append(_windows(case, moved))
    return listed([*words, _stops(case, way.stops)])


def _pushed(case: Case, label: str, off: float) -> str:
    if case.assembly.by_label[label].role == SIDE:
        return f"{label} stands {case.words(abs(off))} out"
    return f"{label} is pushed {case.words(abs(off))} aside"


def _carries_windows(part: Part, axis: int) -> bool:
    """Whether a shift along an axis carries a part's windows sideways, past the leaves' edges."""
    return bool(part.shape.openings) and abs(float(part.placement.axes[0][axis])) > 0.5


def _windows(case: Case, moved: Sequence[tuple[str, float]]) -> str:
    far = max(off for _, off in moved)
    labels = sorted((label for label, off in moved if off > far - CONTACT), key=by_number)
    rest = [off for _, off in moved if off <= far - CONTACT]
    others = f" (of {len(rest)} other{'s' if len(rest) > 1 else ''} less)" if rest else ""
    return f"the windows of {listed(labels)} end up {case.words(far)} off{others}"


def _stops(case: Case, stops: Sequence[Stop]) -> str:
    if not stops:
        return "no leaf is stopped"
    each = [
        f"{stop.leaf} is stopped at {case.place(stop.travel)} of its travel by {stop.part},"
        f" {case.words(stop.depth)} in its way"
        for stop in stops
    ]
    return listed(each)


# -- what to do
# ------------------------------------------------------------------------------------------------------------


def _farther_out(case: Case, chain: ChainOff) -> Remedy | None:
    """Where nothing is to blame but one thick part that ends the chain: that part set back by what it is too thick."""
    blamed = {joint.neighbor for joint in chain.joints}
    reach = chain.joints[0].by_neighbor
    alike = all(joint.by_part == 0 and abs(joint.by_neighbor - reach) <= CONTACT for joint in chain.joints)
    if chain.opening or len(blamed) > 1 or not alike:
        return None
    (label,) = blamed
    low = label in chain.between[0]
    if not low and label not in chain.between[1]:
        return None
    along = case.assembly.by_label[label].placement.axes[0]
    runs = abs(float(along[chain.axis])) > 0.5
    dimension = "place_up" if chain.axis == 2 else "place_along" if runs else "place_across"
    values = {"part": label, "dimension": dimension, "deviation": -reach if low else reach}
    new = len(case.table.as_cut)
    return Remedy(
        f"Let {label} stand {case.words(reach)} farther out than drawn",
        tuple(Change(f"as_cut[{new}].{key}", value) for key, value in values.items()),
    )


def _trimmed(case: Case, chain: ChainOff) -> Iterator[Candidate]:
    """The least wood off, and the same shared; a little more leaves a joint that still fits well."""
    allowance = case.table.limits.fit_allowance
    for cuts in (chain.trims, chain.shared):
        amounts = [cut.amount for cut in cuts]
        if not cuts:
            continue
        if max(amounts) - min(amounts) <= CONTACT:
            need = max(amounts)
            yield Sized(partial(_as_much, case, cuts), need, need + allowance / len(cuts))
        else:
            yield _trim(case, cuts, amounts)


def _as_much(case: Case, cuts: Sequence[Cut], mm: float) -> Remedy:
    return _trim(case, cuts, [mm] * len(cuts))


def _trim(case: Case, cuts: Sequence[Cut], amounts: Sequence[float]) -> Remedy:
    lengths = _lengths(
        case, [(cut.part, cut.low, -amount) for cut, amount in zip(cuts, amounts, strict=True)]
    )
    loose = case.until_glued(cut.part for cut in cuts)
    return Remedy(f"Trim {_at_each(case, cuts, amounts)}{loose}", lengths)


def _at_each(case: Case, cuts: Sequence[Cut], amounts: Sequence[float]) -> str:
    """So much off the ends: ``4 mm off the end of R3 at S2``, ``0.5 mm off each of R6 at R2 and R7 at R3``."""
    said, ends = (
        [case.given(case.finely(amount)) for amount in amounts],
        [f"{cut.part} at {cut.neighbor}" for cut in cuts],
    )
    if len(cuts) == 1:
        return f"{said[0]} off the end of {ends[0]}"
    if len(set(said)) == 1:
        return f"{said[0]} off each of {listed(ends)}"
    return listed([f"{amount} off {end}" for amount, end in zip(said, ends, strict=True)])


def _filled(case: Case, chain: ChainOff) -> Iterator[Candidate]:
    """New parts for those that are too short, or something in the gaps."""
    if chain.fills:
        changes = _lengths(case, [(cut.part, cut.low, cut.amount) for cut in chain.fills])
        yield Remedy(f"Cut {_anew(chain)}, or pack {_gaps(case, chain.fills)}", changes)


def _anew(chain: ChainOff) -> str:
    blamed = dict.fromkeys(
        joint.part if joint.by_part < 0 else joint.neighbor for joint in chain.joints if joint.off < 0
    )
    return f"a new {listed(list(blamed))}"


def _gaps(case: Case, fills: Sequence[Cut]) -> str:
    return listed(
        [f"the gap between {cut.part} and {cut.neighbor} with {case.words(cut.amount)}" for cut in fills]
    )


def _as_drawn(case: Case, chain: ChainOff) -> Remedy:
    """Wood off where it is too much and in where it lacks, so that each part comes to stand where it is drawn."""
    amounts = [cut.amount for cut in chain.trims]
    changes = [(cut.part, cut.low, -cut.amount) for cut in chain.trims]
    changes += [(cut.part, cut.low, cut.amount) for cut in chain.fills]
    trim = f"trim {_at_each(case, chain.trims, amounts)} and pack {_gaps(case, chain.fills)}"
    return Remedy(f"Cut {_anew(chain)}, or {trim}", _lengths(case, changes))


def _lengths(case: Case, longer: Sequence[tuple[str, bool, float]]) -> tuple[Change, ...]:
    """Changes that make parts longer by some mm at their low or their high end: in the entry that has that end
    measured, else in a new one.

    A length that was measured as a whole stands out at the entry's own end.
    """
    entries = list(case.table.as_cut)
    changes: list[Change] = []
    new = len(entries)
    for part, low, by in longer:
        end = "start" if low else "end"
        for index, entry in enumerate(entries):
            if (entry.part, entry.dimension, entry.end or "end") == (part, "length", end):
                key = "value" if entry.deviation is None else "deviation"
                was = entry.value if entry.deviation is None else entry.deviation
                value = _round((was or 0.0) + by)
                entries[index] = replace(entry, **{key: value})
                changes = [one for one in changes if one.key != f"as_cut[{index}].{key}"]
                changes.append(Change(f"as_cut[{index}].{key}", value))
                break
        else:
            values = {"part": part, "dimension": "length", "deviation": _round(by), "end": end}
            changes += [Change(f"as_cut[{new}].{key}", value) for key, value in values.items()]
            new += 1
    return tuple(changes)


def _round(mm: float) -> float:
    """A length without what binary fractions add to it."""
    return round(mm, 9) + 0.0
