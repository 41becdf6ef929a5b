"""Tables that Blender's own tools copied, appended, pasted, moved or deleted: brought to be tables again, put back.

A part is its table's by the empty that it hangs on, and by the key that both bear. Where two empties bear one key, the
younger is a copy: it gets a key of its own, and so does all that hangs on it.

What is sorted out is a step of its own in the list of what can be undone, right after the user's, which undo and redo
take with it (`undoing`). Nothing is sorted out after these: Blender brings back only what differs between two steps,
and takes all else to be as it was when the later one was recorded.
"""

from __future__ import annotations

from typing import Final
from uuid import uuid4

import bpy
from bpy.types import Object, Scene
from mathutils import Matrix

from ..sizes.errors import DryAssemblyError
from . import access, built, ids, marks, objects, pending, space_changes, spaces, standing, tables, undoing
from .motion import animation, exploded
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

WAIT: Final = 0.2
"""Pause after which is looked again whether the user is done with dragging, s."""

MOST: Final = 0.5
"""Share of a table's parts from which on copies of them are a table."""

_known: Final[set[str]] = set()
"""Keys of the tables that were there when things were sorted out last, or undone."""
_ever: Final[set[str]] = set()
"""The same since the file was opened."""
_borne: Final[set[str]] = set()
"""Keys that objects bore then, also those whose table is gone."""
_left: Final[dict[str, list[float]]] = {}
"""Key of a table whose parts undo or redo left off their places → where they stand."""
_count = -1


def came_or_went() -> bool:
    """Whether there are more or fewer objects than the last time that this was asked."""
    global _count
    before, _count = _count, len(bpy.data.objects)
    return before != _count


def is_news(item: Object) -> bool:
    """Whether an object bears a key that none bore when things were sorted out last, or undone."""
    return str(item.get(ids.TABLE, "")) not in _borne


def forget() -> None:
    """When another file is opened, or the extension is switched off."""
    global _count
    _count = -1
    for keys in (_known, _ever, _borne):
        keys.clear()
    _left.clear()
    spaces.forget()


def know_all() -> None:
    """What is there now is no news."""
    ids.forget()
    _known.clear()
    _known.update(str(root[ids.TABLE]) for scene in bpy.data.scenes for root in ids.roots(scene))
    _ever.update(_known)
    _borne.clear()
    _borne.update(
        str(item[ids.TABLE]) for scene in bpy.data.scenes for item in scene.objects if ids.TABLE in item
    )
    came_or_went()


def tidy_later() -> None:
    """Has things sorted out as soon as the user lets go of what is dragged."""
    pending.schedule(_tidy_unless_dragged, 0.0, "tidy")


def _tidy_unless_dragged() -> None:
    window = bpy.context.window
    if window is not None and any(
        one.bl_idname.startswith("TRANSFORM_OT_") for one in window.modal_operators
    ):
        pending.schedule(_tidy_unless_dragged, WAIT, "tidy")
        return
    tidy()


def tidy() -> None:
    """Sorts out what came, went or moved as a whole, in all scenes, as one undo step."""
    ids.forget()
    before = undoing.print_of()
    if sum([_tidy_scene(scene) for scene in bpy.data.scenes]):
        undoing.push(before)
    know_all()
    for scene in bpy.data.scenes:
        for state in access.tables_in(scene):
            standing.look(state)
        tables.follow(scene, access.active_in(scene))
    if tables.is_waiting() or any(state.out_of_date for state in access.all_tables()):
        tables.settle_later()


def _tidy_scene(scene: Scene) -> bool:
    """Sorts a scene out; whether anything was changed."""
    changed = _drop_tables(scene)
    for root in _copied_roots(scene):
        _adopt(scene, root)
        changed = True
    changed |= _assign_parts(scene)
    taken = {state.number for state in access.tables_in(scene) if state.key in _known}
    for state in access.tables_in(scene):
        if access.locked(state):
            continue
        if state.key not in _known and state.number in taken:
            state.number = max(taken) + 1
            changed = True
        taken.add(state.number)
        changed |= _tidy_table(scene, state)
    return changed | _free_orphans(scene)


def leave() -> None:
    """After undo and redo: takes what there is as it is, also tables whose parts were all moved."""
    know_all()
    _left.clear()
    for state in access.all_tables():
        spaces.leave(state)
        if stands_elsewhere(state):
            _left[state.key] = _places(state)


def was_moved(state: TableState) -> bool:
    """Whether all of a table's parts are off their places, and were not left there by undo or redo."""
    return stands_elsewhere(state) and _left.get(state.key) != _places(state)


def _places(state: TableState) -> list[float]:
    """Where the empty, the first and the last of a table's parts stand, by what is not evaluated anew after undo."""
    items = [*access.part_objects(state).values()]
    return [
        value for item in (state.root, *items[:1], *items[-1:]) for row in item.matrix_basis for value in row
    ]


def stands_elsewhere(state: TableState) -> bool:
    """Whether all of a table's parts are off their places: it may have been moved as a whole."""
    whats = {stray.what for stray in state.moved}
    return len(state.moved) >= len(state.labels.split("\n")) and bool(whats & {"moved", "turned"})


def put_back(state: TableState) -> None:
    """Has every part stand as it was made; copies of parts go. Raises DryAssemblyError where it cannot be built."""
    table = access.table_in(state)
    built.objects_of(table)
    root, made = state.root, access.part_objects(state)
    for stray in list(standing.strays(state)):
        item = bpy.data.objects.get(stray.item)
        if item is None:
            continue
        if stray.what == "extra":
            ids.remove_object(item)
        elif stray.label == ids.ROOT:
            root.scale = root.delta_scale = (1.0, 1.0, 1.0)
        elif made.get(stray.label) == item:
            standing.put_in_place(item, root)
            if stray.what == "edited" and isinstance(item.data, bpy.types.Mesh):
                mesh = item.data if item.data.users == 1 else ids.single_user(item, item.data)
                standing.forget(mesh)
                mesh[ids.DIGEST] = mesh[ids.TOPOLOGY] = ""
    tables.stand(state, table)
    exploded.refresh(state)


def keep_as_own(state: TableState, label: str) -> bool:
    """Makes a part that does not stand as it was made, or a copy of it, the user's own object; the part is made anew.

    Returns
    -------
    False, and nothing is changed, where there is no such object.

    Raises
    ------
    DryAssemblyError
        Where the table cannot be built.
    """
    table = access.table_in(state)
    built.objects_of(table)
    names = [stray.item for stray in state.moved if stray.name == label != ids.ROOT]
    found: list[Object | None] = [bpy.data.objects.get(name) for name in names]
    for item in [item for item in found if item is not None]:
        ids.free(item)
        objects.set_free(item, None)
        for group in item.users_collection:
            if ids.TABLE in group:
                group.objects.unlink(item)
        if not item.users_collection:
            access.scene_of(state).collection.objects.link(item)
    tables.stand(state, table)
    exploded.refresh(state)
    return any(item is not None for item in found)


def make_local(state: TableState) -> TableState:
    """Makes a linked table, or an override of one, a table of this file. Raises DryAssemblyError where it cannot be."""
    scene, key, name = access.scene_of(state), state.key, state.name
    for group in [group for group in scene.collection.children_recursive if group.get(ids.TABLE) == key]:
        group.make_local()  # first, or what is in them stays in use by what is linked
    items = [item for item in scene.objects if item.get(ids.TABLE) == key]
    for item in sorted(items, key=_depth, reverse=True):
        local = item.make_local()
        assert isinstance(local, Object)
        if local.data is not None and local.data.library is not None:
            local.data = local.data.make_local()  # type: ignore[assignment]
        if local.animation_data is not None and local.animation_data.action is not None:
            local.animation_data.action = local.animation_data.action.make_local()  # type: ignore[assignment]
    ids.forget()
    found = access.with_key(scene, key)
    if found is None or access.locked(found):
        raise DryAssemblyError(f"{name} cannot be made local: append it from its file instead.")
    return found


def _depth(item: Object) -> int:
    """How many objects it hangs on."""
    return 0 if item.parent is None else 1 + _depth(item.parent)


def _drop_tables(scene: Scene) -> bool:
    """Tables whose empty is gone go with all their parts and marks; whether there were any."""
    changed = False
    there = {str(root[ids.TABLE]) for one in bpy.data.scenes for root in ids.roots(one)}
    for key in _ever - there:
        if any(item.get(ids.TABLE) == key for item in scene.objects):
            objects.remove(scene, key)
            changed = True
    return changed


def _copied_roots(scene: Scene) -> list[Object]:
    """Empties that bear a key that an older one bears."""
    found: set[str] = set()
    copied = []
    everywhere = {root for one in bpy.data.scenes for root in ids.roots(one)}
    for root in sorted(everywhere, key=lambda item: item.session_uid):
        key = str(root[ids.TABLE])
        if key in found and root.library is None and root in ids.roots(scene):
            copied.append(root)
        found.add(key)
    return copied


def _adopt(scene: Scene, root: Object) -> None:
    """Gives a copied empty a key of its own."""
    state = root.dry_assembly  # type: ignore[attr-defined]
    state.number = max(one.number for one in access.tables_in(scene)) + 1
    state.key = root[ids.TABLE] = uuid4().hex[:12]
    state.path, state.family = "", ""
    state.figures.clear()
    state.labels = ""
    root[ids.MARKERS] = ""


def _assign_parts(scene: Scene) -> bool:
    """Parts and marks bear the key of the empty that they hang on, collections that of what is in them; whether any
    was given another."""
    changed = False
    for item in scene.objects:
        if ids.TABLE not in item or ids.is_root(item) or item.library is not None:
            continue
        root = ids.root_above(item)
        if root is not None and root[ids.TABLE] != item[ids.TABLE]:
            item[ids.TABLE] = root[ids.TABLE]
            changed = True
    for group in scene.collection.children_recursive:
        if ids.TABLE not in group or group.library is not None:
            continue
        keys = {item[ids.TABLE] for item in group.all_objects if ids.TABLE in item}
        if len(keys) == 1 and keys != {group[ids.TABLE]}:
            group[ids.TABLE] = keys.pop()
            changed = True
    return changed


def _tidy_table(scene: Scene, state: TableState) -> bool:
    """Completes, splits, moves or drops a table as its objects ask for; whether anything was changed."""
    found = ids.claimants(scene, state.key)
    labels = [label for label in state.labels.split("\n") if label]
    own = [items for items in found.values() if not items[0].get(ids.EXTRA)]
    if not labels or (len(own) <= MOST * len(labels) and state.key not in _known):
        _complete(scene, state, found)
        return True
    if not own:  # all its parts were deleted; copies of them are left, as the user's own
        for item in (item for items in found.values() for item in items):
            ids.free(item)
            objects.set_free(item, None)
        tables.remove_table(state)
        return True
    copies = [items[1] for items in found.values() if len(items) > 1 and not items[1].get(ids.EXTRA)]
    if len(copies) > MOST * len(labels):
        _tidy_table(scene, _table_of_copies(scene, state, copies))
        _tidy_table(scene, state)
        return True
    for items in found.values():
        for item in items[1:]:
            item[ids.EXTRA] = 1
    standing.look(state)
    return (was_moved(state) and _follow_parts(scene, state)) or space_changes.follow(state)


def _complete(scene: Scene, state: TableState, found: dict[str, list[Object]]) -> None:
    """A copy becomes a table of its own: parts that did not come with it are made, and its findings are its own."""
    marks.clear(scene, state.key)
    state.unwritten = True  # its own marks are made with the text
    state.labels = "\n".join(found)
    try:
        table = access.table_in(state)
        wanted, spaced = {part.label for part in built.objects_of(table).parts}, bool(table.reserved)
    except DryAssemblyError:
        wanted, spaced = set(found), False  # the panel says why it cannot be built
    if wanted != set(found) or spaced:
        tables.rebuild(state)
    _sort_into(scene, state)


def _table_of_copies(scene: Scene, state: TableState, copies: list[Object]) -> TableState:
    """Copies of a table's parts, made without its empty, get an empty of their own where that of the others stands."""
    root = state.root.copy()
    assert isinstance(root, Object)
    root.animation_data_clear()
    for group in state.root.users_collection:
        group.objects.link(root)
    for layer in scene.view_layers:
        if root.name in layer.objects:
            root.hide_set(True, view_layer=layer)
    ids.forget()
    _adopt(scene, root)
    for item in copies:
        item[ids.TABLE] = root[ids.TABLE]
        if item.parent == state.root:
            item.parent = root
    for item in (one for _, *others in ids.space_objects(scene, state.key).values() for one in others):
        item[ids.TABLE], item.parent = root[ids.TABLE], root
    made: TableState = root.dry_assembly  # type: ignore[attr-defined]
    _complete(scene, made, ids.claimants(scene, made.key))
    return made


def _sort_into(scene: Scene, state: TableState) -> None:
    """Takes a copied table's objects out of the collections of the table that it is a copy of, into its own."""
    for item in [item for item in scene.objects if item.get(ids.TABLE) == state.key]:
        for group in item.users_collection:
            if group.get(ids.TABLE, state.key) != state.key:
                own = objects.own_collection(
                    scene, state.root, str(group[ids.ROLE]), group.name.split(".")[0]
                )
                own.objects.link(item)
                group.objects.unlink(item)


def _follow_parts(scene: Scene, state: TableState) -> bool:
    """Where all parts were moved alike, the table was moved: its empty goes there, and they stand in it as before.

    Whether that is so.
    """
    root = state.root
    moves: list[tuple[Object, Matrix]] = []
    for item in access.part_objects(state).values():
        wanted = standing.wanted_pose(item)
        if animation.is_animated(item) or wanted is None:
            return False
        belongs = Matrix.LocRotScale(wanted[0][:], wanted[1], None)
        moves.append((item, standing.pose(item, root) @ belongs.inverted()))
    first = moves[0][1]
    if not standing.is_one(first.to_scale()) or any(not standing.is_same(first, move) for _, move in moves):
        return False
    root.matrix_world = root.matrix_world @ first
    for item, _ in moves:
        standing.put_in_place(item, root)
    spaces.put_back(list(spaces.moved(state)), root)
    access.layer_of(scene).update()
    return True


def _free_orphans(scene: Scene) -> bool:
    """Parts that came without the empty of a table are the user's own objects; whether there were any."""
    changed = False
    keys = {str(root[ids.TABLE]) for one in bpy.data.scenes for root in ids.roots(one)}
    for item in scene.objects:
        if item.get(ids.TABLE, "") not in ("", *keys) and item.library is None and not ids.is_root(item):
            ids.free(item)
            changed = True
    return changed
