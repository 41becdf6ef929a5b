"""Tables in a scene: what the buttons do, as plain functions that scripts can call as well (`motion/` has the leaves').

A change of a parameter goes this way: property → `parameter_changed` → `rebuild` (parts and objects, at once) →
`check_now` (what the check finds, the line as drawn) → `answer` (the lines by hand, and in the shop of a few random
tables) → `_write` (the text, figures of variants) → `sliding_in` (the study of leaves on their way, when the user
pauses) → `answer` (many random tables, when the hand rests). Where the parameters cannot be built, the table's `error`
says why and the last good geometry stays.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any, Final
from uuid import uuid4

import bpy
from bpy.types import PropertyGroup, Scene

from ..check.progress import run_through
from ..check.tolerance.shop import COUNT, FEW
from ..designs.findings import Report, SlideReport
from ..designs.table.parameters import Table
from ..files.editing import adapted
from ..files.saving import save_text
from ..files.table_file import parse_table, read_text
from ..sizes.errors import DryAssemblyError
from . import (
    access,
    answer,
    built,
    families,
    findings,
    floor,
    ids,
    marks,
    objects,
    overlap,
    parts,
    pending,
    seeing,
    sliding_in,
    snag,
    spaces,
    standing,
)
from .access import active_in, is_own_writing, own_writing, owner, scene_of, table_in
from .motion import animation, exploded, motion
from .pictures import preview
from .sliding_in import BREATH
from .state import values
from .state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from .state.properties import DRY_ASSEMBLY_PG_table as TableState
from .unbuilt import adaptation, as_sentences, refuse


def create_table(scene: Scene, text: str, path: str = "") -> TableState:
    """Adds a table to a scene, beside what is there: its objects, its findings; it is selected and framed in the view.

    Raises
    ------
    DryAssemblyError
        Where the text holds no table that can be built; the scene is as it was.
    """
    described = built.objects_of(built.table_of(text))
    if bpy.context.mode != "OBJECT":
        bpy.ops.object.mode_set(mode="OBJECT")
    cube = floor.default_cube(scene)
    if cube is not None:
        floor.hide(cube)
    number = max((one.number for one in access.tables_in(scene)), default=0) + 1
    root = objects.new_root(scene, uuid4().hex[:12], described)
    state = root.dry_assembly
    state.key, state.number, state.path = str(root[ids.TABLE]), number, path
    set_text(state, text)
    settle(state)
    make_active(state)
    floor.frame(state)
    return state


def make_active(state: TableState) -> None:
    """Has the panels show a table: its parts are selected, one of them is the active object, units are the table's."""
    scene = scene_of(state)
    findings.select(scene, list(access.part_objects(state).values()))
    layer = access.layer_of(scene)
    if active_in(scene) != state:
        layer.objects.active = None  # none of its parts can be selected, but it is the last one
    follow(scene, state)


def follow(scene: Scene, state: TableState | None) -> None:
    """Where another table than the last one is active, takes note of it and gives the scene its units."""
    group = scene.dry_assembly
    if state is None or state.key == group.last:
        return
    group.last = state.key
    with suppress(DryAssemblyError):
        set_units(scene, built.table_of(state.text))


def open_table(scene: Scene, path: str | Path) -> TableState:
    """Adds the table of a file to a scene. Raises DryAssemblyError; the scene is then as it was."""
    text = read_text(path)
    parse_table(text, Path(path).name)
    return create_table(scene, text, str(path))


def save_table(state: TableState, path: str | Path) -> None:
    """Writes a table's file, comments and spelling kept. Raises DryAssemblyError."""
    settle(state)
    state.text = built.changed_text(state.text, {})
    save_text(path, state.text)
    state.path = str(path)


def remove_table(state: TableState) -> None:
    """Takes a table and its objects out of its scene; objects that the user made stay."""
    scene, family = scene_of(state), state.family
    marks.clear(scene, state.key)
    objects.remove(scene, state.key)
    follow(scene, active_in(scene))
    families.refresh_family(scene, family)


def set_text(state: TableState, text: str) -> None:
    """Gives a table another text, and builds it. Raises DryAssemblyError where it holds no valid table."""
    table = built.table_of(text)
    before = state.parameters.units
    state.text = text
    with own_writing():
        values.fill_all(state.parameters, table)
    state.name = table.name
    if before != table.units and active_in(scene_of(state)) == state:
        set_units(scene_of(state), table)
    rebuild(state)


def change(state: TableState, changed: dict[str, Any]) -> None:
    """Changes values by their keys in the table file, lengths in mm; None takes one away. Then checks the table.

    Raises
    ------
    DryAssemblyError
        Where there is no such key or value; nothing is changed. A table that cannot be built is no error here: its
        `error` says why.
    """
    _write_text(state)
    text, notes = adapted(state.text, changed, "The table")
    set_text(state, text)
    state.adapted = as_sentences(notes)
    if not state.error:
        settle(state)


def parameter_changed(group: PropertyGroup) -> None:
    """Called by Blender when the user changes a parameter."""
    if is_own_writing():
        return
    state = owner(group)
    if not state.text:
        return
    units = state.parameters.units
    found = adaptation(state)
    state.adapted = ""
    if found is None:
        rebuild(state)
    else:
        text, words = found
        set_text(state, text)
        state.adapted = words
    if units != built.table_of(state.text).units:
        _quietly(settle, state)  # properties that show texts in the table's unit are filled anew
        set_units(scene_of(state), built.table_of(state.text))


def rebuild(state: TableState) -> bool:
    """Brings a table's objects up to date at once, and its findings when the user pauses; whether it can be built."""
    state.out_of_date = state.unwritten = True
    answer.outdate(state)
    sliding_in.outdate(state)
    snag.hide(state)
    overlap.hide(state)
    seeing.put_back(scene_of(state))
    preview.drop()
    try:
        table = table_in(state)
        built.objects_of(table)
    except DryAssemblyError as error:
        refuse(state, error)
        return False
    state.error = ""
    state.refusals.clear()
    state.name = table.name
    stand(state, table)
    settle_later()
    return True


def stand(state: TableState, table: Table) -> None:
    """Makes the parts of a table that can be built, or brings them up to date; leaves go where their states say."""
    described, assembly = built.objects_of(table), built.assembly_of(table)
    made = objects.sync(scene_of(state), state.root, described)
    spaces.sync(scene_of(state), state.root, assembly.reserved)
    state.labels = "\n".join(made)
    motion.list_leaves(state, [part.label for part in described.parts if part.role.slides])
    for leaf in state.leaves:
        motion.place_leaf(state, leaf, made[leaf.name], table)
    if state.animation != "none":
        parts = {part.label: part for part in described.parts}
        animation.animate(made, parts, assembly, state.animation)
    standing.look(state)


def use_nearest(state: TableState, key: str) -> None:
    """Gives a value that cannot be built the nearest that can; all else that was changed stays.

    Raises DryAssemblyError where the table does not read with it.
    """
    item = state.refusals.get(key)
    if item is not None and item.value:
        change(state, {key: json.loads(item.value)})


def settle(state: TableState) -> None:
    """Checks a table and writes its changed parameters into its text.

    Raises
    ------
    DryAssemblyError
        Where the parameters cannot be built; the findings stay as they were, out of date.
    """
    check_now(state)
    answer.hand_now(state)
    _write(state)


def _write(state: TableState) -> None:
    """What can wait longer than the verdict: the text, the exploded view, figures of variants, marks of the animation.

    Raises DryAssemblyError as `settle` does.
    """
    _write_text(state)
    state.unwritten = False
    exploded.refresh(state)
    families.refresh_figures(state)
    if state.animation != "none":
        motion.show_marks(state, built.report_of(table_in(state)))


def check_now(state: TableState) -> None:
    """Checks a table as drawn and keeps its findings. Raises DryAssemblyError where it cannot be built."""
    table = table_in(state)
    drawn = built.drawn_of(table)
    if state.remedies_found and not state.out_of_date:
        return  # the same is kept already, with remedies
    findings.store_drawn(state, drawn)
    parts.store(state, table)
    if state.shop_count == 0:
        answer.store_drawn(state, drawn)
    state.out_of_date = False


def check_all(state: TableState) -> None:
    """Checks a table, with all that follows. Raises DryAssemblyError as `settle` does."""
    tried = state.remedies_found
    settle(state)
    if tried and state.remedies_found:
        return
    answer.answer_now(state)
    sliding_in.prove_now(state)


def settle_later() -> None:
    """Has all tables with findings out of date settled when the user pauses."""
    pending.schedule(_settle_all)


def _settle_all() -> None:
    for state in access.all_tables():
        if state.out_of_date:
            _quietly(check_now, state)
    seeing.redraw()
    _go_on_later("")


def _unwritten() -> list[TableState]:
    found = [state for state in access.all_tables() if state.unwritten]
    return [state for state in found if not state.out_of_date and not state.error]


def _write_next() -> bool:
    for state in _unwritten()[:1]:
        _quietly(_write, state)
    return bool(_unwritten())


_STAGES: Final[dict[str, tuple[float, Callable[[], bool], Callable[[], bool]]]] = {
    "hand": (BREATH, answer.hand_waits, answer.hand_next),
    "few": (BREATH, lambda: answer.is_waiting(FEW), answer.few_next),
    "write": (BREATH, lambda: bool(_unwritten()), _write_next),
    "study": (sliding_in.PAUSE, sliding_in.is_waiting, sliding_in.prove_next),
    "many": (answer.REST, lambda: answer.is_waiting(COUNT), answer.many_next),
}
"""What follows the check, in order: the pause before it, whether it waits, a step of it."""


def is_waiting() -> bool:
    """Whether anything of a table is still to be worked out."""
    return any(waits() for _, waits, _ in _STAGES.values())


def _go_on_later(last: str) -> None:
    """Schedules the next step; after a breath where it is of the same stage as the `last` one."""
    for name, (pause, waits, _) in _STAGES.items():
        if waits():
            pending.schedule(partial(_go_on, name), BREATH if name == last else pause)
            return


def _go_on(stage: str) -> None:
    _, _, step = _STAGES[stage]
    before = _worked_out()
    step()
    if _worked_out() != before:  # drawing a view takes longer than many a step
        seeing.redraw()
    _go_on_later(stage)


def _worked_out() -> list[tuple[int, bool, bool, str]]:
    """What is there of what follows the check."""
    tables = access.all_tables()
    return [(one.shop_count, one.hand_waits, one.proof_out_of_date, one.error) for one in tables]


def _quietly(work: Callable[[TableState], object], state: TableState) -> None:
    """Does something for a table, with what is wrong shown in the panel."""
    try:
        work(state)
    except DryAssemblyError as error:
        state.error = str(error)


def _write_text(state: TableState) -> None:
    """Brings a table's text up to date with its parameters. Raises DryAssemblyError."""
    try:
        changed = values.changes(state.parameters, built.table_of(state.text))
    except ValueError as error:
        raise DryAssemblyError(str(error)) from None
    if not changed:
        return
    text = built.changed_text(state.text, changed)
    state.text = text
    with own_writing():
        values.fill_all(state.parameters, built.table_of(text))


def apply_remedy(state: TableState, index: int, which: int = 0) -> bool:
    """Makes the changes of a remedy of finding `index`, and checks again; False where it has none.

    A view that was turned to the finding turns back, and a leaf goes back that it had on its way.
    """
    found = state.findings[index].remedies
    changes = json.loads(found[which].changes or "{}") if 0 <= which < len(found) else {}
    if not changes:
        return False
    change(state, changes)
    motion.show_no_more(state)
    return True


def tried_remedy(finding: FindingState) -> int | None:
    """Number of the first remedy that was tried and changes something; None where there is none."""
    return next((number for number, one in enumerate(finding.remedies) if one.changes), None)


def find_remedies(state: TableState) -> None:
    """Tries what may make the findings go away, and keeps what holds. Raises DryAssemblyError."""
    keep_remedies(state, run_through(built.remedied_steps(table_in(state))))


def keep_remedies(state: TableState, found: tuple[Report, SlideReport]) -> None:
    """Keeps remedies that were tried of a table as it is now."""
    report, study = found
    answer.store(state, report, COUNT)
    findings.store_answer(state, report, tried=True)
    sliding_in.store(state, study, remedies=True)


def set_units(scene: Scene, table: Table) -> None:
    """Has a scene show lengths in a table's unit."""
    settings = scene.unit_settings
    system, unit = ("IMPERIAL", "INCHES") if table.units == "in" else ("METRIC", "MILLIMETERS")
    if (settings.system, settings.length_unit, settings.scale_length) != (system, unit, 1.0):
        settings.system, settings.length_unit, settings.scale_length = system, unit, 1.0
