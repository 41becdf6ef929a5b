"""Lengths typed into the fields of a table, and dragged beside them, in Blender itself."""

from __future__ import annotations

from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import bpy
import pytest

from addon.files.table_file import parse_table
from addon.scene import access, tables
from addon.scene.state import parameters
from addon.scene.state.values import LIST_ITEMS, READ_AS, REFUSED, SECTION_ITEMS, TYPED, attribute, is_typed
from addon.sizes.units import parse_length
from addon.ui import dragging, fields

from .conftest import QUILTING, SEED_BENCH

LETTERS = 15
"""That the field of a length shows beside its handle in the sidebar as Blender opens it, 280 pixels wide: measured in
Blender 4.3."""


class Layout:
    """Stands in for Blender's layout: notes what is drawn, and how it is marked."""

    def __init__(self, notes: list[Any] | None = None):
        self.notes = [] if notes is None else notes
        self.alert, self.active, self.scale_y, self.use_property_split = False, True, 1.0, True

    def row(self, align=False, heading="", heading_ctxt=""):
        self.notes.append(("heading", heading)) if heading else None
        return Layout(self.notes)

    column = row

    def prop(self, group, name, text="", placeholder="", emboss=True, text_ctxt=""):
        assert name in group.bl_rna.properties
        self.notes.append(("prop", name, text, self.alert))

    def label(self, text="", icon="NONE", translate=True, text_ctxt=""):
        self.notes.append(("label", text))

    def operator(self, name, text="", icon="NONE"):
        handle = SimpleNamespace(kind="operator")
        self.notes.append(handle)
        return handle


def drawn(group: Any, name: str, **settings: Any) -> list[Any]:
    """What the field of a parameter draws."""
    layout = Layout()
    fields.length(layout, group, name, **settings)  # type: ignore[arg-type]
    return layout.notes


@pytest.fixture
def both(scene: bpy.types.Scene) -> tuple[Any, Any]:
    """The mm table and the inch table, side by side."""
    tables.create_table(scene, QUILTING)
    tables.create_table(scene, SEED_BENCH)
    quilting, bench = (state.parameters for state in access.tables_in(scene))
    return quilting, bench


def text_of(number: int) -> str:
    """The file of a table, after all that waits."""
    tables.pending.flush()
    return access.tables_in(bpy.context.scene)[number].text


def parameters_of(number: int) -> Any:
    """The parameters of a table, looked up anew: an undo makes old references invalid."""
    return access.tables_in(bpy.context.scene)[number].parameters


def test_two_tables_of_unlike_units_stand_side_by_side(both):
    quilting, bench = both
    assert (quilting.table.length_text, bench.table.length_text) == ("1500 mm", "60 in")
    for active in (0, 1):
        tables.make_active(access.tables_in(bpy.context.scene)[active])
        bpy.context.scene.unit_settings.system = ("METRIC", "IMPERIAL")[active]
        quilting.table.length_text, bench.table.length_text = "1510", "60 1/4"
        assert (quilting.table.length_text, bench.table.length_text) == ("1510 mm", "60 1/4 in")
        quilting.table.length_text, bench.table.length_text = "1500", "60"
    bench.table.length_text = "1500"
    assert bench.table.length_text == "60 in"
    assert "or write 1500 mm" in bench.table.length_refused
    quilting.table.length_text = "60 in"
    assert (quilting.table.length_text, quilting.table.length_read_as) == ("1524 mm", "60 in is 1524 mm")
    assert parse_table(text_of(0)).table.length == 1524.0
    assert parse_table(text_of(1)).table.length == 1524.0


@pytest.mark.parametrize(
    ("typed", "mm", "written"),
    [
        ("28 1/2", 723.9, '"28 1/2"'),
        ("28-1/2", 723.9, '"28 1/2"'),
        ("2' 4 1/2\"", 723.9, '"28 1/2"'),
        ("27 45/64", float((27 + Fraction(45, 64)) * Fraction(254, 10)), '"27 45/64"'),
        ("27.7", 703.58, "27.7"),
        ("710.3 mm", 710.3, '"710.3 mm"'),
    ],
)
def test_what_is_typed_stands_in_the_file_and_comes_back_from_it(both, typed, mm, written):
    _, bench = both
    bench.table.height_text = typed
    assert bench.table.height == pytest.approx(mm / 1000, abs=1e-7)
    text = text_of(1)
    assert f"height = {written}" in text
    assert parse_table(text).table.height == mm
    shown = parameters_of(1).table.height_text
    tables.set_text(access.tables_in(bpy.context.scene)[1], text)
    assert parameters_of(1).table.height_text == shown
    assert parse_length(shown, "in") == pytest.approx(mm, abs=5e-5)


def test_every_typed_field_takes_what_it_shows(both):
    for number in (0, 1):
        before = text_of(number)
        for section, items in {**SECTION_ITEMS, **LIST_ITEMS}.items():
            found = getattr(parameters_of(number), section)
            for group in found if section in LIST_ITEMS else [found]:
                for item in filter(is_typed, items):
                    shown = getattr(group, item.name + TYPED)
                    setattr(group, item.name + TYPED, f" {shown} ")
                    assert getattr(group, item.name + TYPED) == shown
                    assert not getattr(group, item.name + REFUSED)
                    assert len(shown) <= LETTERS or item.kind == "lengths"
        assert text_of(number) == before


def test_no_length_is_longer_than_its_field(both):
    """A 64th of an inch in mm has six decimals at most: 25.4 / 64 = 0.396875."""
    with access.own_writing():  # nothing is built
        for group, item in every_length(both):
            low, high = item.low or 0.0, item.high or 0.0
            for part in (0.0, 0.123456, 0.5, 0.87654321, 1.0):
                mm = low + part * (high - low)
                for text in (f"{mm:.9f} mm", f"{int(mm / 25.4 * 64)}/64 in", f"{mm / 25.4:.7f} in"):
                    setattr(group, item.name + TYPED, text)
                    assert len(getattr(group, item.name + TYPED)) <= LETTERS


def every_length(both) -> list[tuple[Any, Any]]:
    """Every length of both tables that stands in no list, with its declaration."""
    return [
        (getattr(parameters, section), item)
        for parameters in both
        for section, items in SECTION_ITEMS.items()
        for item in items
        if item.kind == "length"
    ]


def test_a_comma_is_read_where_the_language_has_it(both, monkeypatch):
    quilting, _ = both
    quilting.table.length_text = "1500,5"
    assert quilting.table.length_text == "1500 mm"
    assert "has a comma" in quilting.table.length_refused
    monkeypatch.setattr(parameters, "comma_in_labels", lambda: True)
    quilting.table.length_text = "1500,5"
    assert (quilting.table.length_text, quilting.table.length_refused) == ("1500,5 mm", "")
    quilting.table.length_text = "1.502"
    assert "can be read in two ways: write 1502 or 1,502" in quilting.table.length_refused
    assert parse_table(text_of(0)).table.length == 1500.5
    quilting.ribs.through_at_text = "-372,75; 372,75"
    assert quilting.ribs.through_at_text == "-372,75; 372,75 mm"
    assert quilting.ribs.through_at == "-372.75, 372.75"


def test_typing_is_undone_and_done_again(both):
    bpy.ops.ed.undo_push(message="before")
    parameters_of(1).table.length_text = "60 3/64"
    bpy.ops.ed.undo_push(message="typed")
    parameters_of(1).table.length_text = "x"
    bpy.ops.ed.undo_push(message="refused")
    assert parameters_of(1).table.length_refused
    bpy.ops.ed.undo()
    table = parameters_of(1).table
    assert (table.length_text, table.length_refused) == ("60 3/64 in", "")
    bpy.ops.ed.undo()
    assert parameters_of(1).table.length_text == "60 in"
    bpy.ops.ed.redo()
    assert parameters_of(1).table.length_text == "60 3/64 in"
    assert parse_table(text_of(1)).table.length == float((60 + Fraction(3, 64)) * Fraction(254, 10))


def test_a_typed_length_is_saved_and_opened_again(both, tmp_path):
    parameters_of(1).table.length_text = "60 3/64"
    path = str(tmp_path / "bench.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path, compress=True)
    bpy.ops.wm.read_homefile(use_empty=True)
    bpy.ops.wm.open_mainfile(filepath=path)
    assert parameters_of(1).table.length_text == "60 3/64 in"
    assert parameters_of(0).table.length_text == "1500 mm"


def test_a_script_that_sets_the_number_itself_is_shown_too(both):
    quilting, bench = both
    quilting.table.length, bench.table.length = 1.5003, 0.9525  # 37 1/2 in
    assert (quilting.table.length_text, bench.table.length_text) == ("1500.3 mm", "37 1/2 in")


@pytest.mark.parametrize("number", [0, 1])
def test_what_a_script_sets_and_is_no_length_is_said_and_mended_by_typing(both, number):
    state, table = access.tables_in(bpy.context.scene)[number], both[number].table
    table.length = float("nan")
    assert "nan" in table.length_text
    assert "is not a finite number" in state.error
    table.length_text = "60 in"
    assert table.length_read_as == ("" if number else "60 in is 1524 mm")
    assert not state.error
    both[number].ribs.rows_at_given, both[number].ribs.rows_at = True, "here"
    assert both[number].ribs.rows_at_text == "here"


def test_tables_take_another_unit(both):
    quilting, bench = both
    quilting.units, bench.units = "in", "mm"
    assert (quilting.table.length_text, bench.table.length_text) == ("1500 mm", "1524 mm")
    quilting.table.length_text, bench.table.length_text = "59 1/2", "1500"
    assert (quilting.table.length_text, bench.table.length_text) == ("59 1/2 in", "1500 mm")
    assert parse_table(text_of(0)).table.length == 1511.3
    assert parse_table(text_of(1)).table.length == 1500.0


def test_a_field_has_its_handle_and_says_what_was_not_understood_below(both):
    _, bench = both
    (_, name, text, marked), handle = drawn(bench.table, "length")
    assert (name, text, marked) == ("length_text", "Length", False)
    assert handle.parameter == "length"
    bench.table.length_text = "1500"
    (_, _, _, marked), _, *below = drawn(bench.table, "length")
    assert marked
    assert " ".join(line for _, line in below) == bench.table.length_refused
    bench.table.length_text = "950 mm"
    (_, _, _, marked), _, *below = drawn(bench.table, "length")
    assert not marked
    assert " ".join(line for _, line in below) == "950 mm is about 37 13/32 in"  # 37.4016: 25.7 sixty-fourths


def test_the_fields_of_refused_keys_are_marked(both):
    quilting, _ = both
    refused = {"table.length", "stow[1].offset", "leaves.count"}
    for group, name, marked in (
        (quilting.table, "length", True),
        (quilting.table, "width", False),
        (quilting.stow[1], "offset", True),
        (quilting.stow[0], "offset", False),
        (quilting.leaves, "count", True),
    ):
        assert drawn(group, name, refused=refused)[0][3] is marked


def test_every_kind_of_parameter_has_a_field(both):
    for one in both:
        for section, items in {**SECTION_ITEMS, **LIST_ITEMS}.items():
            found = getattr(one, section)
            for group in found if section in LIST_ITEMS else [found]:
                for item in items:
                    names = [note[1] for note in drawn(group, item.name) if isinstance(note, tuple)]
                    assert (item.name + TYPED if is_typed(item) else attribute(item)) in names


def test_the_text_has_the_parameters_name_and_tooltip(both):
    found = both[0].table.bl_rna.properties
    assert found["length_text"].name == found["length"].name
    assert found["length_text"].description == found["length"].description


# Dragging


def dragged(group: Any, name: str, steps: int) -> set[str]:
    """Drags a length by whole steps of the rule."""
    done: set[str] = bpy.ops.dry_assembly.drag_length(
        "EXEC_DEFAULT", True, data_path=dragging.path_of(group), parameter=name, steps=steps
    )
    return done


@pytest.mark.parametrize(
    ("number", "steps", "shown"),
    [
        # the rule of the mm table has half millimeters, that of the inch table 32nds
        (0, 1, "1500.5 mm"),
        (0, -3, "1498.5 mm"),
        (1, 1, "60 1/32 in"),
        (1, -8, "59 3/4 in"),
        (1, 32, "61 in"),
    ],
)
def test_a_drag_goes_in_steps_of_the_rule_and_is_one_step_of_undo(both, number, steps, shown):
    bpy.ops.ed.undo_push(message="before")
    before = parameters_of(number).table.length_text
    assert dragged(parameters_of(number).table, "length", steps) == {"FINISHED"}
    assert parameters_of(number).table.length_text == shown
    bpy.ops.ed.undo()
    assert parameters_of(number).table.length_text == before


def test_the_first_step_goes_to_the_next_line_of_the_rule(both):
    quilting, _ = both
    quilting.table.length_text = "1500.3"
    dragged(quilting.table, "length", 1)
    assert quilting.table.length_text == "1500.5 mm"
    quilting.table.length_text = "1500.3"
    dragged(quilting.table, "length", -1)
    assert quilting.table.length_text == "1500 mm"


def test_a_drag_ends_at_the_limits(both):
    _, bench = both
    assert dragged(bench.limits, "leaf_proud", -1) == {"CANCELLED"}
    dragged(bench.limits, "min_clearance", 10_000)
    assert bench.limits.min_clearance_text == "20 mm"  # its limit, whatever the unit
    assert not bench.limits.min_clearance_refused


def test_small_lengths_are_dragged_in_steps_of_a_caliper(both):
    quilting, bench = both
    dragged(quilting.tolerances, "opening_size", 1)
    assert quilting.tolerances.opening_size_text == "0.3 mm"
    dragged(bench.tolerances, "opening_size", 1)
    assert bench.tolerances.opening_size_text == "0.01 in"


class Mouse:
    """A drag by hand: the operator's own `modal`, with events as Blender sends them."""

    def __init__(self, group: Any, name: str):
        self.said: list[str | None] = []
        self._at = 100
        self._operator = SimpleNamespace(
            _drag=dragging.Drag(dragging.path_of(group), name),
            _mouse=self._at,
            _leave=lambda context, changed: dragging.DRY_ASSEMBLY_OT_drag_length._leave(
                self._operator, context, changed
            ),  # type: ignore[arg-type]
        )

    def send(self, kind: str, value: str = "NOTHING", **settings: Any) -> set[str]:
        """One event."""
        context = SimpleNamespace(
            preferences=SimpleNamespace(system=SimpleNamespace(ui_scale=1.0)),
            workspace=SimpleNamespace(status_text_set=self.said.append),
        )
        held = {"shift": False, "ctrl": False, **settings}
        event = SimpleNamespace(type=kind, value=value, mouse_x=self._at, **held)
        answer: set[str] = dragging.DRY_ASSEMBLY_OT_drag_length.modal(self._operator, context, event)  # type: ignore[arg-type]
        return answer

    def move(self, pixels: int, **settings: Any) -> None:
        """Moves pixel by pixel, to the right or the left."""
        for _ in range(abs(pixels)):
            self._at += 1 if pixels > 0 else -1
            assert self.send("MOUSEMOVE", **settings) == {"RUNNING_MODAL"}


def test_the_mouse_drags_and_a_click_keeps(both):
    quilting, _ = both
    mouse = Mouse(quilting.table, "length")
    mouse.move(7)
    assert quilting.table.length_text == "1500 mm"  # less than the 8 pixels of a step
    mouse.move(1)
    assert quilting.table.length_text == "1500.5 mm"
    assert mouse.said[-1] is not None
    assert mouse.said[-1].startswith("Length 1500.5 mm.")
    mouse.move(16, ctrl=True)
    assert quilting.table.length_text == "1510 mm"  # in steps of 5: 1505, 1510
    mouse.move(-8, shift=True)
    assert quilting.table.length_text == "1509.9 mm"
    assert mouse.send("LEFTMOUSE", "RELEASE") == {"RUNNING_MODAL"}
    assert mouse.send("Z", "PRESS", ctrl=True) == {"RUNNING_MODAL"}
    assert mouse.send("LEFTMOUSE", "PRESS") == {"FINISHED"}
    assert mouse.said[-1] is None
    assert parse_table(text_of(0)).table.length == 1509.9


@pytest.mark.parametrize("kind", ["ESC", "RIGHTMOUSE"])
def test_a_drag_is_put_back_exactly(both, kind):
    _, bench = both
    bench.table.length_text = "60 5/64"
    bench.table.length_text = "1500.1234 mm"
    before = text_of(1)
    mouse = Mouse(bench.table, "length")
    mouse.move(-50)
    assert bench.table.length_text != "1500.1234 mm"
    tables.pending.flush()  # meanwhile the text is written
    assert text_of(1) != before
    assert bench.table.length_read_as == ""
    assert mouse.send(kind, "PRESS") == {"CANCELLED"}
    assert bench.table.length_text == "1500.1234 mm"
    assert bench.table.length_read_as == "1500.1234 mm is about 59 1/16 in"  # 59.06 in: 3.8 sixty-fourths
    assert text_of(1) == before


def test_a_click_where_nothing_was_moved_changes_nothing(both):
    quilting, _ = both
    mouse = Mouse(quilting.table, "length")
    assert mouse.send("RET", "PRESS") == {"CANCELLED"}
    assert quilting.table.length_text == "1500 mm"


def test_a_length_that_is_gone_is_said_in_words(both):
    path = dragging.path_of(both[0].stow[3])
    for wrong in (path.replace("[3]", "[30]"), "scenes"):
        with pytest.raises(RuntimeError, match="no such length"):
            bpy.ops.dry_assembly.drag_length("EXEC_DEFAULT", data_path=wrong, parameter="offset")


# Dialogs


def test_a_dialog_reads_a_length_as_fields_do():
    item = next(one for one in LIST_ITEMS["as_cut"] if one.name == "value")
    assert fields.read_dialog("2' 4 1/2\"", item, "in") == 723.9
    with pytest.raises(fields.DryAssemblyError, match="has a comma"):
        fields.read_dialog("28,5", item, "in")
    assert fields.read_dialog("28-1/2", item, "in") == 723.9
    with pytest.raises(fields.DryAssemblyError, match=r"^12 x is not a length: .*\.$"):
        fields.read_dialog("12 x", item, "in")


def test_words_of_what_was_read_go_with_the_drag(both):
    quilting, _ = both
    quilting.table.length_text = "60 in"
    assert getattr(quilting.table, "length" + READ_AS)
    dragged(quilting.table, "length", 1)
    assert not getattr(quilting.table, "length" + READ_AS)
