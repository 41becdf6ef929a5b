"""The check of an assembly: from its parts to verdicts and facts."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from ..sizes.tolerances import CONTACT
from ..wood.assembly import Assembly
from ..wood.fasteners import Body
from .as_built import as_built_facts
from .board_causes import HeldByNothing
from .causes import Overlapping
from .chains import chain_facts
from .channels import channel_facts
from .clearance.kernel import Overlap, static_overlaps
from .door import door_facts
from .drawn_way import meetings_at_once, slide_leaves
from .facts import SEVERITIES, CheckResult, Fact, LeafResult, Verdict
from .fasteners import fastener_facts
from .forces.open_ribs import facts_of_open_ribs
from .grooves import Jam, cuts_that_meet, explains, jams, round_end_facts
from .least_wood import thin_wood
from .prepared import Prepared, prepare
from .push_holes import facts_of_push_holes
from .reserved import facts_of_reserved
from .sheets import bowed_leaf, bowed_ribs, unmeasured_sheets
from .spans import point, span_of_overlap
from .stowed import stowed_facts


def check(assembly: Assembly) -> CheckResult:
    """Slide every leaf home, look for overlaps and gaps, and say what is behind them.

    Raises PartError for features that run together.
    """
    return check_prepared(prepare(assembly))


def check_prepared(prepared: Prepared) -> CheckResult:
    """`check` of an assembly whose pieces are worked out already."""
    limits = prepared.assembly.limits
    facts: list[Fact] = []
    results: list[LeafResult] = []
    judged = slide_leaves(prepared, limits.min_clearance)
    for path, (result, meetings) in zip(prepared.assembly.stow_paths, judged, strict=True):
        results.append(result)
        facts += meetings
        facts += stowed_facts(prepared, path, result)
        facts += bowed_leaf(prepared, path, result)
    overlaps = _between_fixed_parts(prepared)
    chains, explained = chain_facts(prepared, overlaps)
    facts += chains
    jammed = jams(prepared.assembly)
    apart = [*_overlaps(prepared, overlaps, explained, jammed), *round_end_facts(jammed)]
    facts += apart
    held = [*fastener_facts(prepared)]
    facts += held
    facts += door_facts(prepared.assembly)
    facts += channel_facts(prepared.assembly)
    facts += cuts_that_meet(prepared.assembly)
    facts += as_built_facts(prepared.assembly)
    facts += held_by_nothing(prepared.assembly)
    facts += meetings_at_once(prepared)
    facts += facts_of_open_ribs(prepared)
    facts += thin_wood(prepared.assembly)
    facts += unmeasured_sheets(prepared.assembly)
    facts += bowed_ribs(prepared)
    facts += facts_of_reserved(prepared)
    facts += facts_of_push_holes(prepared)
    facts.sort(key=lambda fact: (-SEVERITIES.index(fact.severity), fact.rule, fact.parts))
    return CheckResult(_verdict(results, [*chains, *apart, *held]), tuple(results), tuple(facts))


def _verdict(results: list[LeafResult], fixed: list[Fact]) -> Verdict:
    """From the leaves' clearance, and whether the parts that stay in place go together."""
    verdicts = {result.verdict for result in results}
    if "blocked" in verdicts or any(fact.severity == "error" for fact in fixed):
        return "blocked"
    return "tight" if "tight" in verdicts else "clear"


def held_by_nothing(assembly: Assembly) -> Iterator[Fact]:
    """Boards of the maker's own that nothing joins or screws to another, and that lie on none.

    What a design makes is held as its kind is.
    """
    own = [part for part in assembly.parts if part.given]
    if not own:
        return
    joints = (*assembly.joints, *assembly.lost_joints)
    held = {label for one in joints for label in (one.a, one.b)}
    held |= {label for one in assembly.fasteners for label in one.joins}
    for part in own:
        low, high = part.box
        below = (
            all(low[k] < other.box[1][k] - CONTACT and other.box[0][k] < high[k] - CONTACT for k in (0, 1))
            and abs(other.box[1][2] - low[2]) <= CONTACT
            for other in assembly.parts
            if other is not part and not other.role.slides
        )
        if part.label not in held and not any(below):
            yield Fact("part-unheld", "warning", (part.label,), point((low + high) / 2), 0.0, HeldByNothing())


def _between_fixed_parts(prepared: Prepared) -> list[Overlap]:
    """Overlaps of parts that stay in place; leaves are judged by their slides."""
    assembly = prepared.assembly
    number = prepared.number
    through = {
        (number[label], number[one.label])
        for one in assembly.fasteners
        for label in one.joins
        if label in number
    }
    found = static_overlaps(prepared.scene, through)
    return [one for one in found if _is_amiss(assembly, assembly.bodies[one.a], assembly.bodies[one.b])]


def _is_amiss(assembly: Assembly, a: Body, b: Body) -> bool:
    """Whether two parts that overlap should not: leaves slide, and a screw is meant to go through what it joins."""
    return not (a.role.slides or b.role.slides or assembly.are_joined(a, b))


def _overlaps(
    prepared: Prepared, overlaps: list[Overlap], explained: Collection[frozenset[str]], jammed: list[Jam]
) -> Iterator[Fact]:
    """Overlaps that are none of ends that butt on each other, nor of corners in round ends of grooves."""
    parts = prepared.assembly.bodies
    for found in overlaps:
        labels = parts[found.a].label, parts[found.b].label
        pair = frozenset(labels)
        if pair not in explained and not any(explains(jam, found, pair) for jam in jammed):
            place, span = point(found.place), span_of_overlap(found)
            yield Fact("overlap", "error", labels, place, found.depth, Overlapping(), span=span)
