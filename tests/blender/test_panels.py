"""What the panels show, by a layout that notes what is drawn."""

from __future__ import annotations

from types import SimpleNamespace

import bpy
import pytest

from addon.designs.table.parameters import LISTS, SECTIONS
from addon.scene import access, built, tables
from addon.scene.state.values import LIST_ITEMS, SECTION_ITEMS, attribute
from addon.ui import lists, panels
from addon.ui.panel import TablePanel

from .conftest import LOW_WINDOW, QUILTING


class Layout:
    """Stands in for Blender's layout: notes fields, buttons and words, and refuses what does not exist."""

    def __init__(self, notes=None):
        self.notes = notes if notes is not None else SimpleNamespace(fields=set(), buttons=[], words=[])

    def _part(self, *_args, **_settings):
        return Layout(self.notes)

    row = column = split = box = grid_flow = _part

    def prop(self, group, name, text="", **_settings):
        assert name in group.bl_rna.properties, (group, name)
        self.notes.words.append(text)
        self.notes.fields.add(("" if isinstance(group, bpy.types.ID) else group.path_from_id(), name))

    def label(self, text="", icon="NONE", translate=True):
        icons = bpy.types.UILayout.bl_rna.functions["label"].parameters["icon"].enum_items
        assert icon in icons
        self.notes.words.append(text)

    def operator(self, name, text="", icon="NONE", depress=False, translate=True):
        group, _, verb = name.partition(".")
        assert verb in dir(getattr(bpy.ops, group)), name
        self.notes.buttons.append(name)
        return SimpleNamespace()

    def menu(self, name, icon="NONE"):
        assert hasattr(bpy.types, name)

    def operator_menu_enum(self, name, prop, **settings):
        self.operator(name)

    def template_list(self, kind, _name, group, items, active_group, active, **_settings):
        assert hasattr(bpy.types, kind)
        assert items in group.bl_rna.properties
        assert active in active_group.bl_rna.properties


def drawn(scene) -> SimpleNamespace:
    """What all panels draw."""
    context = SimpleNamespace(
        scene=scene,
        region=SimpleNamespace(width=300),
        preferences=SimpleNamespace(system=SimpleNamespace(ui_scale=1.0)),
        screen=SimpleNamespace(is_animation_playing=False),
    )
    layout = Layout()
    for kind in panels.PANELS:
        panel = SimpleNamespace(layout=layout)
        if issubclass(kind, TablePanel):
            if kind.poll(context):
                kind.draw_table(panel, context, layout, access.active_in(scene))
            if hasattr(kind, "draw_header"):
                kind.draw_header(panel, context)
        else:
            kind.draw(panel, context)
    return layout.notes


def test_without_a_table_there_is_a_button_for_each_demo_table(scene):
    notes = drawn(scene)
    assert notes.buttons == [
        "dry_assembly.add_example",
        "dry_assembly.add_example",
        "dry_assembly.open_table",
    ]


def test_every_parameter_has_its_field_with_the_declared_name_and_tooltip(scene):
    state = tables.create_table(
        scene, QUILTING + '\n[[as_cut]]\npart = "R1"\ndimension = "length"\ndeviation = 0\n'
    )
    fields = {
        (path.removeprefix("dry_assembly.tables[0].parameters"), name) for path, name in drawn(scene).fields
    }
    for section, items in {**SECTION_ITEMS, **LIST_ITEMS}.items():
        where = f".{section}[0]" if section in LISTS else f".{section}"
        for item in items:
            assert (where, attribute(item)) in fields
            group = state.parameters.path_resolve(where[1:])
            found = group.bl_rna.properties[attribute(item)]
            assert (found.name, found.description) == (item.label, item.help.rstrip("."))
            if item.kind == "length":
                assert found.unit == "LENGTH"
                assert found.hard_min == pytest.approx(item.low / 1000)
                assert found.hard_max == pytest.approx(item.high / 1000)
    assert len(SECTIONS) == len(SECTION_ITEMS)


def test_a_finding_is_shown_in_words_with_its_buttons(scene):
    """A remedy is offered once it was tried; until then there is the button that tries."""
    state = tables.create_table(scene, LOW_WINDOW)
    notes = drawn(scene)
    shown = " ".join(notes.words)
    for word in state.findings[0].message.split():
        assert word in shown
    buttons = {"dry_assembly.show_finding", "dry_assembly.check_now"}
    assert {*buttons, "dry_assembly.find_remedies"} <= set(notes.buttons)
    assert "dry_assembly.apply_remedy" not in notes.buttons
    tables.find_remedies(state)
    notes = drawn(scene)
    shown = " ".join(notes.words)
    for word in state.findings[0].remedies[0].name.split():
        assert word in shown
    assert {*buttons, "dry_assembly.apply_remedy"} <= set(notes.buttons)
    assert "dry_assembly.find_remedies" not in notes.buttons


def test_the_list_says_what_each_finding_is_about(scene):
    tables.create_table(
        scene, QUILTING + '\n[[as_cut]]\npart = "R3"\ndimension = "length"\ndeviation = 4.0\n'
    )
    state, layout = scene.dry_assembly.tables[0], Layout()
    lists.DRY_ASSEMBLY_UL_findings.draw_item(
        None, None, layout, state, state.findings[0], None, state, "finding_index"
    )
    assert layout.notes.words == ["too long", "R3, S2", "4.0 mm"]


def test_an_exploded_table_says_why_nothing_is_drawn_over_the_view(scene):
    tables.create_table(scene, QUILTING)
    said, lines = "Show Findings (not while exploded)", drawn(scene).words
    assert said not in lines
    scene.dry_assembly.tables[0].explosion_factor = 0.5
    exploded = drawn(scene).words
    assert said in exploded
    assert len(exploded) == len(lines)  # no line comes or goes under the mouse that drags the Factor


def test_findings_are_marked_as_out_of_date_while_a_check_is_pending(scene):
    state = tables.create_table(scene, QUILTING)
    tables.pending.flush()
    assert not [word for word in drawn(scene).words if "ut of date" in word]
    state.parameters.table.height = 0.8
    assert "Out of date: a check is pending" in drawn(scene).words
    assert "Out of date: the proof is pending" in drawn(scene).words
    tables.pending.flush()
    assert not [word for word in drawn(scene).words if "ut of date" in word]


def test_an_input_error_is_shown_as_a_sentence(scene):
    state = tables.create_table(scene, QUILTING)
    state.parameters.well.ledger_height = 0.06
    assert state.error in " ".join(drawn(scene).words)


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
