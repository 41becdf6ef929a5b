"""Findings of a check, kept with the table, and shown in the view."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Final

import bpy
from bpy.types import Object, Scene, SpaceView3D
from mathutils import Quaternion, Vector

from ..check.facts import LeafResult
from ..designs.findings import RULE_WORDS, Finding, Report
from ..sizes.tolerances import CONTACT
from ..sizes.units import Units, as_units, format_amount
from .access import own_writing
from .description import METERS
from .state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from .state.properties import DRY_ASSEMBLY_PG_scene as SceneState
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

_BETWEEN: Final = ", "
"""Between labels that are kept in one text, which lists show."""

NEAR: Final = 1.1
"""Distance from which a finding's place is looked at, m."""


def store(state: TableState, report: Report) -> None:
    """Keeps a report's findings, gravest first, and the result of each leaf; notes of the slide proof stay behind."""
    units = as_units(report.units)
    state.verdict = report.verdict
    notes = _drop(state, of_slide=False)
    order = ("error", "warning", "note")
    for finding in sorted(report.findings, key=lambda finding: order.index(finding.severity)):
        _store_finding(state.findings.add(), finding, units)
    for _ in range(notes if report.findings else 0):
        state.findings.move(0, len(state.findings) - 1)
    _keep_index(state)
    results = {result.leaf: result for result in report.leaves}
    for leaf in state.leaves:
        result = results.get(leaf.name)
        leaf.verdict = result.verdict if result else ""
        leaf.result = leaf_text(result, units) if result else "has no stow position"


def store_notes(state: TableState, notes: Sequence[Finding], units: Units) -> None:
    """Keeps what the slide proof says, after the findings of the check."""
    _drop(state, of_slide=True)
    for finding in notes:
        item = state.findings.add()
        _store_finding(item, finding, units)
        item.of_slide = True
    _keep_index(state)


def _drop(state: TableState, of_slide: bool) -> int:
    """Takes away the findings of the slide proof, or all others; how many stay."""
    for index in reversed(range(len(state.findings))):
        if state.findings[index].of_slide == of_slide:
            state.findings.remove(index)
    return len(state.findings)


def _keep_index(state: TableState) -> None:
    with own_writing():
        state.finding_index = min(state.finding_index, max(0, len(state.findings) - 1))


def leaf_text(result: LeafResult, units: Units) -> str:
    """How a leaf slides home, in a few words."""
    amount = format_amount(abs(result.clearance), units)
    what = "overlaps" if result.clearance < 0 else "clears"
    return f"{what} {result.against} by {amount}"


def _store_finding(item: FindingState, finding: Finding, units: Units) -> None:
    item.rule = finding.rule
    item.severity = finding.severity
    item.parts = _BETWEEN.join(finding.parts)
    item.place = [value * METERS for value in finding.at]
    item.amount = format_amount(finding.amount, units)
    item.message = finding.message
    item.leaf = finding.leaf
    item.has_travel = finding.travel is not None
    item.travel = (finding.travel or 0.0) * METERS
    if finding.span is not None and math.dist(*finding.span) > CONTACT:
        item.span_from, item.span_to = ([value * METERS for value in end] for end in finding.span)
        item.span_text = format_amount(math.dist(*finding.span), units)
    if finding.remedy is not None:
        item.remedy = finding.remedy.text
        item.remedy_changes = json.dumps({change.key: change.value for change in finding.remedy.set})


def labels_of(finding: FindingState) -> list[str]:
    """Labels of the parts concerned, the one to change first; Blender's properties hold no list of words."""
    return finding.parts.split(_BETWEEN)


def what_of(finding: FindingState) -> str:
    """What a finding is about, in a word or two; its rule where a newer file brings one that is not known here."""
    return RULE_WORDS.get(finding.rule, finding.rule)


def is_shown(group: SceneState, finding: FindingState) -> bool:
    """Whether findings of this severity are listed."""
    shown = {"error": group.show_errors, "warning": group.show_warnings, "note": group.show_notes}
    return shown[finding.severity]


def select(scene: Scene, chosen: list[Object]) -> None:
    """Selects these objects alone; the first is the active one."""
    layer = next(
        (layer for layer in scene.view_layers if layer == bpy.context.view_layer), scene.view_layers[0]
    )
    layer.update()
    for item in layer.objects:
        item.select_set(False, view_layer=layer)
    inside = [item for item in chosen if item.name in layer.objects]
    for item in inside:
        item.select_set(True, view_layer=layer)
    if inside:
        layer.objects.active = inside[0]


def look_at(place: Vector, distance: float = NEAR) -> None:
    """Turns the 3D views of the window (of all screens, without one) to a place."""
    for space in views():
        view = space.region_3d
        view.view_location = place
        view.view_distance = distance
        if view.view_perspective == "CAMERA":
            view.view_perspective = "PERSP"


def look_square(place: Vector, facing: Quaternion, distance: float = NEAR) -> None:
    """Turns the 3D views to a place without perspective; `facing` is right, up and back of the eye."""
    for space in views():
        view = space.region_3d
        view.view_perspective = "ORTHO"
        view.view_rotation = facing
        view.view_location = place
        view.view_distance = distance


def views() -> list[SpaceView3D]:
    """The 3D views of the window, or of all screens where there is no window."""
    window = bpy.context.window
    screens = [window.screen] if window is not None else list(bpy.data.screens)
    areas = [area for screen in screens for area in screen.areas if area.type == "VIEW_3D"]
    return [space for area in areas for space in area.spaces if isinstance(space, bpy.types.SpaceView3D)]
