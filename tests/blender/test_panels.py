"""What the panels show, by a layout that notes what is drawn."""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path
from types import SimpleNamespace

import bpy
import pytest

import addon
from addon.designs.table.parameters import LISTS, SECTIONS
from addon.scene import access, built, standing, tables
from addon.scene.overlay import corner
from addon.scene.state.choices import OUTPUT_ITEMS
from addon.scene.state.values import LIST_ITEMS, SECTION_ITEMS, TYPED, attribute, is_typed
from addon.scene.translation import CONTEXT
from addon.ui import lists, output_panel, panels, report
from addon.ui.panel import TablePanel

from .conftest import LOW_WINDOW, QUILTING

WIDE = 28
"""Letters that stand in the sidebar at its first width: by hand, from a screenshot of 291 pixels less tabs, margins and
an icon, at 7.5 pixels for a letter of Blender's font."""
SENTENCE = 34
"""The same on a line of a sentence, whose small letters take 5.5 pixels on average."""
LONG_RIB = QUILTING + '\n[[as_cut]]\npart = "R3"\ndimension = "length"\ndeviation = 4.0\n'


class Layout:
    """Stands in for Blender's layout: notes fields, buttons and words, and refuses what does not exist, or is not
    translated in our own context."""

    def __init__(self, notes=None, alert=False):
        self.notes = notes if notes is not None else new_notes()
        self.alert, self.scale_y, self.beside = alert, 1.0, []

    def _part(self, *_args, heading="", heading_ctxt="", **_settings):
        if heading:
            self._word(heading, heading_ctxt == CONTEXT)
        return Layout(self.notes)

    column = split = box = grid_flow = _part

    def row(self, *_args, heading="", heading_ctxt="", **_settings):
        made = self._part(heading=heading, heading_ctxt=heading_ctxt)
        made.beside = []
        self.notes.rows.append(made.beside)
        return made

    def panel(self, _name, default_closed):
        assert default_closed
        self.notes.depth += 1
        return Layout(self.notes), Layout(self.notes)

    def _word(self, text, ours, translate=True):
        if not text:
            return
        self.notes.words.append(text)
        if self.scale_y == 1.0:
            self.notes.labels.append(text)
        if translate and not ours:
            self.notes.strange.append(text)

    def prop(self, group, name, text="", text_ctxt="", translate=True, **_settings):
        assert name in group.bl_rna.properties, (group, name)
        self._word(text, text_ctxt == CONTEXT, translate)
        path = "" if isinstance(group, bpy.types.ID | SimpleNamespace) else group.path_from_id()
        self.notes.fields.add((path, name))
        if self.alert:
            self.notes.red.add((path, name))

    def label(self, text="", icon="NONE", translate=True, text_ctxt=""):
        icons = bpy.types.UILayout.bl_rna.functions["label"].parameters["icon"].enum_items
        assert icon in icons
        self._word(text, text_ctxt == CONTEXT, translate)

    def operator(self, name, text=None, icon="NONE", depress=False, translate=True, text_ctxt=""):
        group, _, verb = name.partition(".")
        assert verb in dir(getattr(bpy.ops, group)), name
        kind = getattr(bpy.types, "_".join([group.upper(), "OT", verb]), None)
        shown = (kind.bl_label if kind is not None else verb) if text is None else text
        if text is None and kind is not None:
            assert kind.bl_translation_context == CONTEXT
        self.notes.buttons.append(name)
        self.notes.texts.append(shown)
        self.beside.append((shown, icon != "NONE"))
        self._word(shown, text is None or text_ctxt == CONTEXT, translate)
        return SimpleNamespace()

    def menu(self, name, text="", icon="NONE", text_ctxt=""):
        assert getattr(bpy.types, name).bl_translation_context == CONTEXT
        self.notes.menus.append(name)
        self._word(text, text_ctxt == CONTEXT)

    def template_icon(self, icon_value, scale):
        assert icon_value >= 0  # 0 without a window
        self.notes.icons.append(scale)

    def template_list(self, kind, _name, group, items, active_group, active, **_settings):
        assert hasattr(bpy.types, kind)
        assert items in group.bl_rna.properties
        assert active in active_group.bl_rna.properties


def new_notes() -> SimpleNamespace:
    return SimpleNamespace(
        fields=set(),
        red=set(),
        buttons=[],
        texts=[],
        rows=[],
        words=[],
        labels=[],
        strange=[],
        menus=[],
        icons=[],
        depth=0,
    )


ROOM = 236
"""Pixels of the sidebar that buttons get: measured on a screenshot, as is the room that a letter and an icon take."""


def pixels(row: list[tuple[str, bool]]) -> float:
    """Room that buttons in a row need: all are as wide as the widest that is no mere sign."""
    named = [6.1 * len(text) + 8 + 20 * icon for text, icon in row if text]
    return len(named) * max(named, default=0.0) + 20 * (len(row) - len(named))


def looking(scene) -> SimpleNamespace:
    """A context whose sidebar is as wide as Blender makes it at first."""
    return SimpleNamespace(
        scene=scene,
        region=SimpleNamespace(width=291),
        preferences=SimpleNamespace(system=SimpleNamespace(ui_scale=1.0)),
        screen=SimpleNamespace(is_animation_playing=False),
        active_object=bpy.context.view_layer.objects.active,
        selected_objects=[item for item in bpy.context.view_layer.objects if item.select_get()],
    )


def drawn(scene, *kinds) -> SimpleNamespace:
    """What all panels draw, or some of them; sections that are closed at first are open."""
    context, layout = looking(scene), Layout()
    for kind in kinds or panels.PANELS:
        panel = SimpleNamespace(layout=layout)
        if issubclass(kind, TablePanel):
            if kind.poll(context):
                kind.draw_table(panel, context, layout, access.active_table(context))
        else:
            kind.draw(panel, context)
    return layout.notes


def reported(scene, about: str = "") -> SimpleNamespace:
    """What the report draws, of one thing or of all."""
    context, layout = looking(scene), Layout()
    for name in report.REPORTS:
        if about in ("", name):
            report.draw(layout, context, access.active_table(context), name)
    return layout.notes


def test_without_a_table_there_is_one_button_one_sentence_and_a_menu(scene):
    notes = drawn(scene)
    assert notes.buttons == ["dry_assembly.add_example"]
    assert notes.menus == ["DRY_ASSEMBLY_MT_begin"]
    assert [word for word in notes.words if word.endswith(".")] == [notes.words[1]]
    assert " ".join(notes.words[:2]) == "Begin with an example, then change its sizes."


def test_five_panels_of_which_the_first_two_are_open():
    assert [kind.bl_label for kind in panels.PANELS] == ["Table", "Sizes", "Check", "Show", "Output"]
    closed = ["DEFAULT_CLOSED" in getattr(kind, "bl_options", ()) for kind in panels.PANELS]
    assert closed == [False, False, True, True, True]


EVERY_LIST = """
[[fastener]]
kind = "screw"
head = "LEDG1"
into = "S1"
[[own_part]]
name = "rest"
length = 200
width = 100

[[own_cut]]
part = "REST1"
kind = "hole"
along = 50
across = 50
diameter = 10
[[reserved]]
name = "pin tray"
x = [-150, 150]
y = [-40, 40]
z = [300, 340]

[[accepted]]
rule = "long-rib"
parts = "R3, S2"
reason = "planed on site"
"""
"""An entry of each list that most tables have none of."""


def test_every_parameter_has_its_field_with_the_declared_name_and_tooltip(scene):
    state = tables.create_table(scene, LONG_RIB + EVERY_LIST)
    start = state.parameters.path_from_id()
    fields = {(path.removeprefix(start), name) for path, name in drawn(scene).fields}
    for kind, _ in next(one.choices for one in LIST_ITEMS["own_cut"] if one.name == "kind"):
        with access.own_writing():  # of a cut there are the fields of its kind alone
            state.parameters.own_cut[0].kind = kind
        fields |= {(path.removeprefix(start), name) for path, name in drawn(scene).fields}
    for form in ("cylinder", "hand", "cable", "wall"):
        with access.own_writing():  # of a reserved space those of its form
            state.parameters.reserved[0].form = form
        fields |= {(path.removeprefix(start), name) for path, name in drawn(scene).fields}
    with access.own_writing():  # of legs those that they use
        legs = state.parameters.legs
        legs.kind, legs.taper, legs.edge, legs.leveling_feet = "laminated", "two", "chamfer", True
    fields |= {(path.removeprefix(start), name) for path, name in drawn(scene).fields}
    for section, items in {**SECTION_ITEMS, **LIST_ITEMS}.items():
        where = f".{section}[0]" if section in LISTS else f".{section}"
        for item in items:
            shown = item.name + TYPED if is_typed(item) else attribute(item)
            assert (where, shown) in fields
            group = state.parameters.path_resolve(where[1:])
            found = group.bl_rna.properties[shown]
            assert (found.name, found.description) == (item.label, item.help.rstrip("."))
            if item.kind == "length":
                value = group.bl_rna.properties[attribute(item)]
                assert value.unit == "LENGTH"
                assert value.hard_min == pytest.approx(item.low / 1000)
                assert value.hard_max == pytest.approx(item.high / 1000)
    assert len(SECTIONS) == len(SECTION_ITEMS)


@pytest.mark.parametrize("text", [QUILTING, LONG_RIB, LOW_WINDOW])
def test_nothing_is_too_long_for_the_sidebar(scene, text):
    tables.create_table(scene, text)
    tables.pending.flush()
    for output, *_ in OUTPUT_ITEMS:
        scene.dry_assembly.output = output
        notes = drawn(scene)
        assert not [word for word in notes.labels if len(word) > WIDE]
        assert not [word for word in notes.words if len(word) > SENTENCE]
        assert not [row for row in notes.rows if pixels(row) > ROOM]


@pytest.mark.parametrize("text", [QUILTING, LONG_RIB])
def test_no_two_buttons_have_one_name(scene, text):
    state = tables.create_table(scene, text)
    tables.pending.flush()
    tables.find_remedies(state)
    found = Counter(text for text in drawn(scene).texts if text)
    del found["Use Nearest"]
    assert not [text for text, count in found.items() if count > 1]


def test_all_words_are_translated_in_our_own_context(scene):
    tables.create_table(scene, LOW_WINDOW)
    tables.pending.flush()
    assert drawn(scene).strange == []
    assert reported(scene).strange == []


def test_every_panel_operator_and_menu_has_our_context(scene):
    for base in (bpy.types.Panel, bpy.types.Operator, bpy.types.Menu):
        own = [kind for kind in base.__subclasses__() if kind.__name__.startswith("DRY_ASSEMBLY_")]
        assert len(own) > 4
        for kind in own:
            if getattr(kind, "is_registered", True):
                assert kind.bl_translation_context == CONTEXT, kind


def test_all_words_go_through_what_translates_them():
    """By reading the sources: nobody but `panel` and `fields` calls Blender's layout for words of his own."""
    found = []
    for path in (Path(addon.__file__).parent / "ui").glob("*.py"):
        if path.name in ("panel.py", "fields.py"):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                words = [one for one in node.keywords if one.arg in ("text", "heading")]
                context = [
                    one for one in node.keywords if one.arg in ("text_ctxt", "heading_ctxt", "translate")
                ]
                plain = node.func.attr in ("label", "operator") and not _is_ours(node.func.value)
                if (words and not context) or plain:
                    found.append((path.name, node.lineno))
    assert found == []


def _is_ours(value: ast.expr) -> bool:
    return isinstance(value, ast.Name) and value.id == "panel"


def test_a_finding_is_shown_in_words_with_its_buttons(scene):
    """A remedy is offered once it was tried; until then there is the button that tries."""
    state = tables.create_table(scene, LOW_WINDOW)
    tables.pending.flush()
    notes = drawn(scene)
    shown, whole = " ".join(notes.words), " ".join(reported(scene, "finding").words).replace("\u00a0", " ")
    assert state.findings[0].message[:60] in shown
    assert state.findings[0].message in whole
    assert {"Show", "Fix", "Show Place", "Find Remedies"} <= set(notes.texts)
    assert "dry_assembly.apply_remedy" not in notes.buttons
    tables.find_remedies(state)
    notes = drawn(scene)
    shown = " ".join(notes.words)
    for word in state.findings[0].remedies[0].name.split():
        assert word in shown
    assert "dry_assembly.apply_remedy" in notes.buttons
    assert "dry_assembly.find_remedies" not in notes.buttons


def test_the_list_says_what_each_finding_is_about(scene):
    state, layout = tables.create_table(scene, LONG_RIB), Layout()
    lists.DRY_ASSEMBLY_UL_findings.draw_item(
        None, None, layout, state, state.findings[0], None, state, "finding_index"
    )
    assert layout.notes.words == ["too long", "R3", "4.0 mm"]


def test_an_exploded_table_says_why_nothing_is_drawn_over_the_view(scene):
    state = tables.create_table(scene, QUILTING)
    said, lines = "Nothing is marked exploded", drawn(scene).words
    assert said not in lines
    state.explosion_factor = 0.5
    assert said in drawn(scene).words


def test_findings_are_marked_as_out_of_date_while_a_check_is_pending(scene):
    state = tables.create_table(scene, QUILTING)
    tables.pending.flush()
    assert not [word for word in drawn(scene).words if "ut of date" in word]
    state.parameters.table.height = 0.8
    assert "Out of date: check pending" in drawn(scene).words
    assert "Out of date: the proof is pending" in reported(scene, "sliding in").words
    tables.pending.flush()
    assert not [word for word in drawn(scene).words + reported(scene).words if "ut of date" in word]


def test_an_input_error_is_shown_as_a_sentence_and_its_field_is_red(scene):
    state = tables.create_table(scene, QUILTING)
    state.parameters.well.ledger_height = 0.06
    notes = drawn(scene)
    shown = " ".join(notes.words)
    assert state.error.startswith("well.ledger_height = 60 mm cannot be built: ")
    assert "Ledger Height = 60 mm cannot be built: " in shown.replace("\u00a0", " ")
    assert "well." not in shown
    assert "You see the last table that could be built." in shown
    own = state.parameters.well.path_from_id()
    assert notes.red == {(own, "ledger_height_text")}
    state.parameters.well.ledger_height = 0.03
    notes = drawn(scene)
    assert (notes.red, len(state.refusals)) == (set(), 0)


def test_the_nearest_value_that_can_be_built_is_one_button_away(scene):
    """Refused by a stand-in that knows the nearest; the refusals themselves are tested with the table."""
    state = tables.create_table(scene, QUILTING)
    state.parameters.well.ledger_height = 0.06
    item = state.refusals["well.ledger_height"]
    item.value, item.words = "35.0", "35 mm"
    notes = drawn(scene)
    assert "Use 35 mm" in notes.texts
    assert bpy.ops.dry_assembly.use_nearest(key="well.ledger_height") == {"FINISHED"}
    assert access.table_in(state).well.ledger_height == 35.0
    assert (state.error, len(state.refusals)) == ("", 0)


def test_the_verdict_of_a_long_rib_has_its_gravest_finding_beside_it(scene):
    state = tables.create_table(scene, LONG_RIB)
    tables.pending.flush()
    words = drawn(scene, panels.PANELS[0]).words
    assert {"As drawn", "In the shop", "By hand", "Too long", "R3  4.0 mm"} <= set(words)
    assert state.findings[0].severity == "error"


def test_a_part_that_was_moved_is_told_and_put_back(scene):
    state = tables.create_table(scene, QUILTING)
    tables.pending.flush()
    table = panels.PANELS[0]
    assert "Put Back" not in drawn(scene, table).texts
    item = access.part_objects(state)["S1"]
    item.location.z += 0.3
    standing.look(state)
    notes = drawn(scene, table)
    assert "1 part moved: S1." in notes.words
    assert {"Put Back", "Keep as My Own"} <= set(notes.texts)
    assert corner.verdict_of(state)[1] == ("watch", "1 part moved: S1")
    assert {grade for grade, _ in corner.verdict_of(state)[2:]} == {"open"}
    assert bpy.ops.dry_assembly.put_back() == {"FINISHED"}
    assert "Put Back" not in drawn(scene, table).texts
    assert not bpy.ops.dry_assembly.put_back.poll()


def test_a_part_that_was_moved_is_kept_as_the_users_own(scene):
    state = tables.create_table(scene, QUILTING)
    item = access.part_objects(state)["S1"]
    item.location.z += 0.3
    standing.look(state)
    assert bpy.ops.dry_assembly.keep_as_own() == {"FINISHED"}
    assert access.part_objects(state)["S1"] != item
    assert not state.moved
    assert item.name in scene.objects


def test_fix_tries_remedies_and_applies_the_first_that_holds(scene):
    tables.create_table(scene, LONG_RIB)
    tables.pending.flush()
    assert bpy.ops.dry_assembly.fix_finding() == {"FINISHED"}
    state = access.tables_in(scene)[0]
    assert "too long" not in [one.rule for one in state.findings]
    assert state.verdict == "clear"


def test_every_output_has_a_button_that_saves_and_says_what_it_writes(scene, tmp_path):
    state = tables.create_table(scene, QUILTING)
    tables.pending.flush()
    group = scene.dry_assembly
    group.pictures_folder = str(tmp_path)
    assert set(output_panel.OUTPUTS) == {name for name, *_ in OUTPUT_ITEMS}
    for name, what in output_panel.OUTPUTS.items():
        group.output = name
        notes = drawn(scene, panels.PANELS[4])
        assert notes.texts.count("Save") == 1
        assert f"dry_assembly.{what.operator}" in notes.buttons
        assert what.file(state, group.sheet) in "".join(notes.words)


@pytest.mark.parametrize("name", ["parts", "exploded", "picture"])
def test_what_is_announced_is_what_is_written(scene, tmp_path, name):
    state = tables.create_table(scene, QUILTING)
    group = scene.dry_assembly
    group.pictures_folder, group.sheet.format = str(tmp_path), "svg"
    what = output_panel.OUTPUTS[name]
    assert getattr(bpy.ops.dry_assembly, what.operator)(**what.settings) == {"FINISHED"}
    (path,) = tmp_path.iterdir()
    assert path.name == f"quilting-table-{what.file(state, group.sheet)}"


def test_drawing_computes_nothing(scene, monkeypatch):
    tables.create_table(scene, LOW_WINDOW)

    def refuse(*_args, **_settings):
        raise AssertionError("a panel computed something")

    for name in (
        "table_of",
        "changed_table",
        "assembly_of",
        "objects_of",
        "prepared_of",
        "report_of",
        "proofs_of",
        "study_steps",
    ):
        monkeypatch.setattr(built, name, refuse)
    assert drawn(scene).fields
    assert reported(scene).words
