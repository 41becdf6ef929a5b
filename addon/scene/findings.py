"""Findings of a check, kept with the table, and shown in the view."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Final, Literal

from bpy.types import Object, Scene

from ..check.facts import SEVERITIES, LeafResult, Place
from ..designs.accepting import accepting, opening
from ..designs.findings import OF_ANSWER, RULE_WORDS, Drawn, Finding, Report, Sized
from ..designs.words.answer import after_words
from ..sizes.tolerances import CONTACT
from ..sizes.units import Units, format_amount
from . import access
from .description import METERS
from .state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from .state.properties import DRY_ASSEMBLY_PG_scene as SceneState
from .state.properties import DRY_ASSEMBLY_PG_table as TableState
from .state.results import PlaceProperties as PlaceState

_BETWEEN: Final = ", "
"""Between labels that are kept in one text, which lists show."""

ELSEWHERE: Final = 0.02
"""An amount that is measured farther from its place than this would not be seen with it, m."""

Source = Literal["check", "answer", "slide"]
"""Who says a finding: the check, a line of the answer (in the shop, by hand), the study of leaves on their way."""


def store_drawn(state: TableState, report: Drawn) -> None:
    """Keeps what a check found, and the result of each leaf; what else the answer says stays until it is known anew."""
    state.verdict = report.as_drawn.table.verdict
    _replace(state, "check", report.found, report.units, tried=False)
    results = {result.leaf: result for result in report.result.leaves}
    for leaf in state.leaves:
        result = results.get(leaf.name)
        leaf.verdict = report.as_drawn.leaves[leaf.name].verdict if result else ""
        leaf.result = leaf_text(result, report.units) if result else "has no stow position"


def store_answer(state: TableState, report: Report, tried: bool) -> None:
    """Keeps what the random tables and the hand say; where remedies were `tried`, those of all findings."""
    own = [one for one in report.found if one.rule in OF_ANSWER]
    if tried:
        drawn = [one for one in report.found if one.rule not in OF_ANSWER]
        _replace(state, "check", drawn, report.units, tried)
    _replace(state, "answer", own, report.units, tried)


def store_notes(state: TableState, notes: Sequence[Finding], units: Units, tried: bool) -> None:
    """Keeps what the study of leaves on their way says beyond the answer; remedies for steering are its own."""
    steering = [one for one in notes if one.rule == "leaf-steer" and one.remedies]
    for item in state.findings if tried else ():
        if item.rule == "leaf-steer" and steering and not item.remedies:
            _store_remedies(item, steering[0], tried)
    _replace(state, "slide", [one for one in notes if one.rule not in OF_ANSWER], units, tried)


def _replace(
    state: TableState, source: Source, found: Sequence[Finding], units: Units, tried: bool
) -> None:  # fmt: skip
    """Puts findings in the place of those of the same source: gravest first, the one that was selected still is."""
    chosen = _chosen(state)
    for index in reversed(range(len(state.findings))):
        if _source(state.findings[index]) == source:
            state.findings.remove(index)
    for finding in found:
        item = state.findings.add()
        item.of_slide, item.of_answer = source == "slide", source == "answer"
        _store_finding(item, finding, units, tried)
    _sort(state)
    with access.own_writing():
        names = [name_of(item) for item in state.findings]
        last = max(0, len(names) - 1)
        state.finding_index = names.index(chosen) if chosen in names else min(state.finding_index, last)


def _source(item: FindingState) -> Source:
    return "slide" if item.of_slide else "answer" if item.of_answer else "check"


def _sort(state: TableState) -> None:
    """Gravest first; of one severity the check's, then the answer's, then the study's; what is accepted last."""
    order = [
        (bool(item.reason), -SEVERITIES.index(item.severity), item.of_slide, item.of_answer)
        for item in state.findings
    ]
    for place in range(len(order)):
        least = min(range(place, len(order)), key=order.__getitem__)
        if least != place:
            state.findings.move(least, place)
            order.insert(place, order.pop(least))


def _chosen(state: TableState) -> tuple[str, str, str] | None:
    inside = 0 <= state.finding_index < len(state.findings)
    return name_of(state.findings[state.finding_index]) if inside and state.finding_index else None


def name_of(item: FindingState) -> tuple[str, str, str]:
    """By which a finding is known again."""
    return item.rule, item.parts, item.leaf


def leaf_text(result: LeafResult, units: Units) -> str:
    """How a leaf slides home, in a few words."""
    amount = format_amount(abs(result.clearance), units)
    what = "overlaps" if result.clearance < 0 else "clears"
    return f"{what} {result.against} by {amount}"


def _store_finding(item: FindingState, finding: Finding, units: Units, tried: bool) -> None:
    item.rule = finding.rule
    item.severity = finding.severity
    item.message, item.reason, item.size = finding.message, finding.reason, finding.amount
    places = finding.places
    _store_place(item, places[0], units)
    for place in places if len(places) > 1 else ():
        _store_place(item.places.add(), place, units)
    _store_remedies(item, finding, tried)


def _store_place(item: PlaceState, place: Place, units: Units) -> None:
    item.parts = _BETWEEN.join(place.parts)
    item.place = [value * METERS for value in place.at]
    item.amount = format_amount(place.amount, units)
    item.leaf = place.leaf
    item.has_travel = place.travel is not None
    item.travel = (place.travel or 0.0) * METERS
    if place.span is not None and math.dist(*place.span) > CONTACT:
        item.span_from, item.span_to = ([value * METERS for value in end] for end in place.span)
        item.span_text = format_amount(math.dist(*place.span), units)


def _store_remedies(item: FindingState, finding: Finding, tried: bool) -> None:
    """Remedies that were tried; words alone where there is nothing to try."""
    item.remedies.clear()
    item.untried = not tried and any(
        isinstance(one, Sized) or one.set for one in finding.candidates
    )  # fmt: skip
    for remedy in () if item.untried else finding.remedies:
        own = item.remedies.add()
        own.name = remedy.text
        if remedy.set:
            own.changes = json.dumps({change.key: change.value for change in remedy.set})
        own.after = after_words(remedy)


def place_of(finding: FindingState) -> PlaceState:
    """The place of a finding that is selected; of one with a single place that."""
    return finding.places[finding.place_index] if 0 <= finding.place_index < len(finding.places) else finding


def looked_at(place: PlaceState) -> tuple[float, float, float]:
    """Where a place is looked at, m: where its amount is measured, if that is elsewhere along a leaf's way."""
    at = tuple(place.place)
    if place.span_text:
        middle = tuple((one + other) / 2.0 for one, other in zip(place.span_from, place.span_to, strict=True))
        if math.dist(middle, at) > ELSEWHERE:
            at = middle
    return at[0], at[1], at[2]


def labels_of(place: PlaceState) -> list[str]:
    """Labels of the parts concerned, the one to change first; Blender's properties hold no list of words."""
    return place.parts.split(_BETWEEN)


def what_of(finding: FindingState) -> str:
    """What a finding is about, in a word or two; its rule where a newer file brings one that is not known here."""
    return RULE_WORDS.get(finding.rule, finding.rule)


def accepting_changes(state: TableState, reason: str) -> dict[str, object]:
    """Changes by key that accept the finding selected, with a reason."""
    item, entries = state.findings[state.finding_index], access.table_in(state).accepted
    return accepting(entries, item.rule, item.severity, _places_of(item), item.size, reason)


def opening_changes(state: TableState) -> dict[str, object]:
    """Changes by key that make the finding selected open again."""
    item = state.findings[state.finding_index]
    return opening(access.table_in(state).accepted, item.rule, _places_of(item))


def _places_of(item: FindingState) -> list[tuple[str, ...]]:
    """Labels of the parts concerned, place by place."""
    return [tuple(labels_of(place)) for place in item.places or [item]]


def is_shown(group: SceneState, finding: FindingState) -> bool:
    """Whether findings of this severity are listed, or those that are accepted."""
    shown = {"error": group.show_errors, "warning": group.show_warnings, "note": group.show_notes}
    return group.show_accepted if finding.reason else shown[finding.severity]


def select(scene: Scene, chosen: list[Object]) -> None:
    """Selects these objects alone; the first is the active one."""
    layer = access.layer_of(scene)
    layer.update()
    for item in layer.objects:
        item.select_set(False, view_layer=layer)
    inside = [item for item in chosen if item.name in layer.objects]
    for item in inside:
        item.select_set(True, view_layer=layer)
    if inside:
        layer.objects.active = inside[0]
