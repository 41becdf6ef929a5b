"""Reserved spaces in Blender: bodies that follow their entries, and entries that follow bodies dragged in the view.

Places are worked out by hand: the quilting table is 1500 x 960 outside of boards 17.7 thick, its bottom panel at
700.5 to 712.3 mm, its top at 770; leaf L4 slides in from the left, 649.6 to 667.3 high, between y -379.9 and -15.
"""

from __future__ import annotations

import bpy
import numpy as np
import pytest

from addon.designs.table.build import build
from addon.files.table_file import parse_table
from addon.scene import access, ids, tables
from addon.ui import parts as ui_parts

from .conftest import QUILTING, first, in_scene
from .test_copies import living, select, settled
from .test_panels import drawn

SPACES = """
[[reserved]]
name = "pin tray"
x = [-60, 60]
y = [-300, -200]
z = [600, 640]

[[reserved]]
name = "wall"
form = "wall"
side = "left"
distance = 930

[[reserved]]
name = "lamp cable"
form = "cable"
x = [-650, -500, -500]
y = [200, 200, 100]
z = [620, 620, 620]
"""


@pytest.fixture
def state(scene):
    made = tables.create_table(scene, QUILTING + SPACES)
    settled()
    return made


def bodies(state) -> dict[str, bpy.types.Object]:
    found = ids.space_objects(access.scene_of(state), state.key)
    assert all(len(items) == 1 for items in found.values())
    return {label: items[0] for label, items in found.items()}


def box(item) -> list[list[float]]:
    """Least and greatest corner, mm."""
    points = in_scene(item) * 1000
    return [[round(float(one), 2) + 0.0 for one in end] for end in (points.min(axis=0), points.max(axis=0))]


def reserved(state):
    return parse_table(state.text).reserved


def test_each_space_is_a_body_with_its_name_that_is_no_part(state):
    """The wall is drawn 20 mm thick; a cable of 6 is drawn up to 0.05 thicker than it is."""
    found = bodies(state)
    assert {label: item.name for label, item in found.items()} == {
        "RES1": "RES1 pin tray", "RES2": "RES2 wall", "RES3": "RES3 lamp cable"
    }  # fmt: skip
    assert box(found["RES1"]) == [[-60, -300, 600], [60, -200, 640]]
    assert box(found["RES2"]) == [[-1700, -480, 0], [-1680, 480, 770]]
    low, high = box(found["RES3"])
    assert low == pytest.approx([-650, 100, 617], abs=0.06)
    assert high == pytest.approx([-497, 203, 623], abs=0.06)
    for item in found.values():
        assert item.show_name
        assert item.hide_render
        assert not item.hide_select
        assert item.active_material.diffuse_color[3] == pytest.approx(0.3)
        assert [group.name for group in item.users_collection] == ["Reserved Space"]
        assert ids.root_above(item) == state.root
    assert not set(found) & set(access.part_objects(state))
    assert not set(found) & {part.name for part in state.parts}
    assert not set(found) & set(state.labels.split("\n"))


def test_bodies_follow_their_entries_and_go_with_them(state):
    tables.change(
        state, {"reserved[0].z": [600.0, 650.0], "reserved[1].distance": 1000.0, "reserved[0].name": "pins"}
    )
    assert box(bodies(state)["RES1"]) == [[-60, -300, 600], [60, -200, 650]]
    assert box(bodies(state)["RES2"])[0][0] == -1770
    assert bodies(state)["RES1"].name == "RES1 pins"
    bodies(state)["RES1"].name = "my tray"
    state.parameters.reserved_index = 2
    assert bpy.ops.dry_assembly.remove_entry(section="reserved") == {"FINISHED"}
    assert set(bodies(first())) == {"RES1", "RES2"}
    assert bodies(first())["RES1"].name == "my tray"
    tables.change(first(), {"reserved[1]": None, "reserved[0]": None})
    assert bodies(first()) == {}
    assert "Reserved Space" not in bpy.data.collections


def test_a_body_dragged_in_the_view_takes_its_entry_along(state):
    select([bodies(state)["RES1"]])
    bpy.ops.transform.translate(value=(0.1, 0.0, -0.05))
    (one,) = settled()
    assert (reserved(one)[0].x, reserved(one)[0].y, reserved(one)[0].z) == (
        (40, 160),
        (-300, -200),
        (550, 590),
    )
    assert box(bodies(one)["RES1"]) == [[40, -300, 550], [160, -200, 590]]
    select([bodies(one)["RES2"]])
    bpy.ops.transform.translate(value=(-0.07, 0.3, 0.0))
    (one,) = settled()
    assert reserved(one)[1].distance == 1000
    assert box(bodies(one)["RES2"]) == [[-1770, -480, 0], [-1750, 480, 770]]
    select([bodies(one)["RES3"]])
    bpy.ops.transform.translate(value=(0.0, 0.0, 0.01))
    (one,) = settled()
    assert reserved(one)[2].z == (630, 630, 630)
    assert access.standing(one)


def test_a_tray_dragged_into_a_leafs_way_is_found_there(state):
    """L4 lies from 649.6 mm up: 640 and 15 is 5.4 mm into its way."""
    select([bodies(state)["RES1"]])
    bpy.ops.transform.translate(value=(0.0, 0.0, 0.015))
    (one,) = settled()
    ((number, found),) = [one for one in enumerate(one.findings) if one[1].rule == "space-crossed"]
    assert (found.severity, found.parts, one.verdict) == ("error", "RES1, L4", "blocked")
    assert found.size == pytest.approx(5.4, abs=0.06)
    one.finding_index = number
    assert {item.get(ids.SPACE) or item.get(ids.PART) for item in bpy.context.selected_objects} == {
        "RES1",
        "L4",
    }
    assert bpy.ops.dry_assembly.find_remedies() == {"FINISHED"}
    assert bpy.ops.dry_assembly.apply_remedy(index=number) == {"FINISHED"}
    assert first().verdict == "clear"
    assert box(bodies(first())["RES1"])[1][2] <= 649.6


def test_a_body_turned_scaled_or_edited_is_put_back(state):
    before = box(bodies(state)["RES1"])
    item = bodies(state)["RES1"]
    item.lock_rotation = item.lock_scale = (False,) * 3
    for change in ("turned", "scaled", "edited"):
        item = bodies(first())["RES1"]
        if change == "turned":
            item.rotation_quaternion = (0.9, 0.0, 0.0, 0.4)
        elif change == "scaled":
            item.scale = (2.0, 1.0, 1.0)
        else:
            points = np.zeros(3 * len(item.data.vertices), dtype=np.float32)
            item.data.attributes["position"].data.foreach_set("vector", points)
            item.data.update()
        settled()
        assert box(bodies(first())["RES1"]) == before, change
        assert reserved(first())[0].x == (-60, 60)


def test_undo_and_redo_take_body_and_entry_back_together(state):
    bpy.ops.ed.undo_push(message="table")
    select([bodies(first())["RES1"]])
    bpy.ops.transform.translate("EXEC_DEFAULT", True, value=(0.1, 0.0, 0.0))
    settled()
    found = []
    for step in ("undo", "redo"):
        getattr(bpy.ops.ed, step)()
        (one,) = settled()
        found.append((reserved(one)[0].x[0], box(bodies(one)["RES1"])[0][0]))
    # One press each: what Blender moved alone is stepped over.
    assert found == [(-60, -60), (40, 40)]


@pytest.mark.parametrize("what", ["parts", "parts and spaces", "hierarchy"])
def test_a_copied_table_has_bodies_of_its_own(state, what):
    items = list(access.part_objects(state).values())
    items += bodies(state).values() if what != "parts" else []
    items += [state.root] if what == "hierarchy" else []
    select(items)
    bpy.ops.object.duplicate()
    bpy.ops.transform.translate(value=(0.0, 3.0, 0.0))
    states = settled()
    living(states, 2)
    for one, y in zip(states, (0.0, 3000.0), strict=True):
        assert box(bodies(one)["RES1"]) == [[-60, y - 300, 600], [60, y - 200, 640]]
        assert {group.get(ids.TABLE) for item in bodies(one).values() for group in item.users_collection} == {
            one.key
        }
    assert [one.x for one in reserved(states[1])] == [one.x for one in reserved(states[0])]
    tables.change(states[1], {"reserved[0]": None})
    assert (len(bodies(settled()[0])), len(bodies(settled()[1]))) == (3, 2)


def test_a_copy_of_one_body_is_the_users_own(state):
    select([bodies(state)["RES1"]])
    bpy.ops.object.duplicate()
    extra = bpy.context.active_object.name
    (one,) = settled()
    tables.change(one, {"reserved[0].z": [600.0, 650.0]})
    assert ids.SPACE not in bpy.data.objects[extra]
    assert set(bodies(first())) == {"RES1", "RES2", "RES3"}


def test_a_table_moved_with_its_spaces_keeps_their_entries(state):
    before = state.text
    select([*access.part_objects(state).values(), *bodies(state).values()])
    bpy.ops.transform.translate(value=(1.0, 2.0, 0.0))
    (one,) = settled()
    assert one.root.matrix_world.translation[:] == pytest.approx((1.0, 2.0, 0.0), abs=1e-5)
    assert (one.text, access.standing(one)) == (before, True)
    assert box(bodies(one)["RES1"]) == [[940, 1700, 600], [1060, 1800, 640]]


def test_they_are_hidden_by_choice_and_while_the_table_is_exploded(scene, state):
    def hidden() -> set[bool]:
        return {item.hide_viewport for item in bodies(state).values()}

    assert hidden() == {False}
    state.explosion_factor = 0.5
    assert hidden() == {True}
    state.explosion_factor = 0.0
    assert hidden() == {False}
    scene.dry_assembly.view.reserved = False
    assert hidden() == {True}
    tables.change(state, {"reserved[0].z": [600.0, 650.0]})
    assert hidden() == {True}


def test_the_one_selected_is_said_and_the_list_selects_it(scene, state):
    state.parameters.reserved_index = 2
    item = bpy.context.active_object
    assert item == bodies(state)["RES3"]
    assert ui_parts.part_chosen(bpy.context) is None
    words = " ".join(drawn(scene).words)
    assert "RES3  lamp cable" in words
    assert "Reserved space, a cable" in words
    state.parameters.reserved_index = 0
    assert "120 mm × 100 mm × 40 mm" in " ".join(drawn(scene).words)


def test_deleting_the_table_takes_its_bodies_along(scene, state):
    select([state.root])
    bpy.ops.object.delete()
    assert settled() == []
    assert not [item for item in bpy.data.objects if item.get(ids.SPACE)]
    assert "Reserved Space" not in bpy.data.collections


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        (
            {"title": "basket", "form": "box", "length": "300", "width": "200", "height": "100", "where": "under"},
            {"x": (-150, 150), "y": (-100, 100), "z": (600.5, 700.5)},
        ),
        (
            {"title": "lamp", "form": "cylinder", "diameter": "120 mm", "height": "400", "where": "top"},
            {"x": (0, 0), "z": (770, 1170), "diameter": 120.0},
        ),
        (
            {"title": "hand", "form": "hand", "leaf": "L4"},
            {"x": (-900, -750), "y": (-197.5, -197.5), "z": (658.5, 658.5), "leaf": "L4"},
        ),
        (
            {"title": "cable", "form": "cable", "side": "back", "diameter": "5"},
            {"x": (-732.5, 732.5), "y": (432.5, 432.5), "z": (685.5, 685.5), "diameter": 5.0},
        ),
        ({"title": "door", "form": "wall", "side": "right"}, {"side": "right", "distance": 1000.0}),
    ],
)  # fmt: skip
def test_the_dialog_adds_one_of_each_form(scene, given, wanted):
    """Coordinates are those that a tape can read, half millimeters; what touches wood is exact."""
    tables.create_table(scene, QUILTING)
    assert "dry_assembly.add_reserved" in drawn(scene).buttons
    assert bpy.ops.dry_assembly.add_reserved(**given) == {"FINISHED"}
    (entry,) = reserved(first())
    assert (entry.name, entry.form) == (given["title"], given["form"])
    assert {name: getattr(entry, name) for name in wanted} == wanted
    assert set(bodies(first())) == {"RES1"}
    assert len(build(parse_table(first().text)).reserved) == 1


def test_a_size_that_is_none_adds_nothing_and_names_are_given_once(state):
    text = state.text
    with pytest.raises(RuntimeError, match="Give the height"):
        bpy.ops.dry_assembly.add_reserved(title="box", length="300", width="10")
    assert first().text == text
    for _ in range(2):
        bpy.ops.dry_assembly.add_reserved(title="pin tray", form="wall", distance="2000")
    assert [one.name for one in reserved(first())][3:] == ["pin tray 2", "pin tray 3"]
