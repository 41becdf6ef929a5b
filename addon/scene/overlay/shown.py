"""What is shown over the view: prepared when the findings or the choices change, never while the view is drawn.

Everything follows from a few properties of the scene. Drawing compares them with those that the last preparation was
made from and asks for a new one where they differ; so undo, redo and other files need no care of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import Any, Final

import bpy
import numpy as np
from bpy.types import Scene

from ...check.spans import Passage, passages
from ...sizes.errors import DryAssemblyError
from .. import access, built, ids, marks, seeing, translation
from ..findings import is_shown, labels_of, looked_at, place_of, what_of
from ..state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from ..state.properties import DRY_ASSEMBLY_PG_scene as SceneState
from ..state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..state.results import PlaceProperties as PlaceState
from .prepare import OF_SEVERITY, Hatching, Item, Name, Overlay, prepare

STRIPES: Final = 0.025
"""From stripe to stripe on parts of the finding that is shown, m."""

State = tuple[Any, ...]

_made: Final[dict[str, tuple[State, Overlay]]] = {}
"""Name of a scene → what its overlay was made from, and the overlay."""


def overlay_of(scene: Scene) -> Overlay | None:
    """What is to be drawn now; None where there is nothing, or where it is not prepared yet (it will be soon)."""
    group = scene.dry_assembly
    state = access.active_in(scene)
    if not group.view.show or state is None or state.out_of_date or state.error:
        return None
    if state.explosion_factor > 0:
        return None  # places are those of the table put together; the panel says so
    wanted = _state_of(group, state)
    found = _made.get(scene.name)
    if found is None or found[0] != wanted:
        if not bpy.app.timers.is_registered(refresh):
            bpy.app.timers.register(refresh, first_interval=0.0)
        return None if found is None or found[0][:2] != wanted[:2] else found[1]
    return found[1]


def refresh() -> None:
    """Prepares the overlays of all scenes that are on screen anew, and has them drawn."""
    _made.clear()
    for window in bpy.context.window_manager.windows:
        prepare_scene(window.scene)
    seeing.redraw()


def prepare_scene(scene: Scene) -> Overlay | None:
    """Prepares the overlay of one scene; None without a table."""
    group = scene.dry_assembly
    state = access.active_in(scene)
    if state is None:
        return None
    boxes: Sequence[Passage] = ()
    if group.view.passages:
        with suppress(DryAssemblyError):  # the panel says what is wrong
            boxes = passages(built.prepared_of(access.table_in(state)))
    overlay = prepare(
        _items(group, state),
        group.view.dimensions,
        [(box, translation.shown("Passage of {leaf}", leaf=box.leaf)) for box in boxes],
        _names(state),
        _hatchings(state) if state.shown else (),
    )
    _made[scene.name] = _state_of(group, state), overlay
    return overlay


def forget() -> None:
    """Drops what was prepared, and what waits."""
    _made.clear()
    if bpy.app.timers.is_registered(refresh):
        bpy.app.timers.unregister(refresh)


def _state_of(group: SceneState, state: TableState) -> State:
    """All that an overlay follows from: findings follow from the text, notes of the proof from what is known of it."""
    view = group.view
    return (
        state.key,
        state.shown,
        state.text,
        len(state.findings),
        state.finding_index,
        tuple(finding.place_index for finding in state.findings),
        state.out_of_date,
        state.shop_count,
        state.proof_out_of_date,
        state.remedies_found,
        group.show_errors,
        group.show_warnings,
        group.show_notes,
        tuple((leaf.state, leaf.travel) for leaf in state.leaves) if state.shown else (),
        view.notes,
        view.only_chosen,
        view.dimensions,
        view.passages,
    )


def _items(group: SceneState, state: TableState) -> list[Item]:
    """The findings that are marked; of the chosen one all places, of the others the first."""
    found = []
    for index, finding in enumerate(state.findings):
        chosen = index == state.finding_index
        asked = seeing.is_shown(state, finding)
        if not (asked if state.shown else is_marked(group, finding, chosen)):
            continue
        if finding.of_slide and state.proof_out_of_date:
            continue
        places = list(finding.places) if chosen and finding.places else [finding]
        for number, place in enumerate(places):
            picked = chosen and (len(places) == 1 or number == finding.place_index)
            span = (tuple(place.span_from), tuple(place.span_to)) if place.span_text else None
            found.append(
                Item(
                    finding.severity,
                    looked_at(place) if asked else tuple(place.place),
                    _head(finding, place),
                    place.parts,
                    picked,
                    span,
                    translation.figures(place.span_text),
                )
            )
    return found


def is_marked(group: SceneState, finding: FindingState, chosen: bool) -> bool:
    """Whether a finding is marked without being shown: one that the panel lists, notes where they are asked for."""
    view = group.view
    wanted = chosen or not view.only_chosen
    if finding.reason and not chosen:
        return False
    return wanted and is_shown(group, finding) and (view.notes or finding.severity != "note")


def _names(state: TableState) -> list[Name]:
    """Of the parts of the finding that is shown."""
    shown, finding = seeing.shown_in(state), seeing.finding_shown(state)
    if shown is None or finding is None:
        return []
    kinds = {part.name: part.kind for part in state.parts}
    return [
        Name(
            (place[0], place[1], place[2]),
            f"{label} {translation.shown(kinds.get(label, ''))}".strip(),
            finding.severity,
        )
        for label, place in seeing.in_table(state, shown.names).items()
    ]


def _hatchings(state: TableState) -> list[Hatching]:
    """Of its parts: the first leans one way, the next the other, as where boards meet in a section (ISO 128, from
    memory)."""
    finding, made = seeing.finding_shown(state), access.part_objects(state)
    if finding is None:
        return []
    try:
        meshes = {part.label: part.mesh for part in built.objects_of(access.table_in(state)).parts}
    except DryAssemblyError:
        return []
    found = []
    for number, label in enumerate(labels_of(place_of(finding))):
        if label in made and label in meshes:
            mesh = meshes[label]
            points, lean = mesh.positions.astype(float), np.array([-1.0 if number % 2 else 1.0, 1.0, 1.0])
            stripes, corners = marks.hatch(points * lean, mesh.triangles[:, :: int(lean[0])], STRIPES)
            edges = points[marks.outline_edges(points, mesh.triangles, marks.SHARP).ravel()].astype(
                np.float32
            )
            turned = (stripes * lean).astype(np.float32)[corners[:, :: int(lean[0])].ravel()]
            through = ids.THROUGH in made[label]
            found.append(Hatching(made[label].name, OF_SEVERITY[finding.severity], turned, edges, through))
    return found


def _head(finding: FindingState, place: PlaceState) -> str:
    """How grave a finding is, what it is about and by how much, in the language of the window."""
    severity = finding.bl_rna.properties["severity"].enum_items[finding.severity].name
    what = translation.shown(what_of(finding))
    return f"{translation.shown(severity)}: {what}  {translation.figures(place.amount)}".rstrip()
