"""Long work in steps: what a window does with it, Esc included; and what stands in the context menu."""

from __future__ import annotations

from collections import OrderedDict
from types import SimpleNamespace

import bpy
import pytest

import addon
from addon.check.prepared import prepare
from addon.check.progress import run_through, share_of
from addon.check.slide.proof import prove_leaves
from addon.check.tolerance.analysis import analysis_steps, analyze
from addon.designs.table import build
from addon.designs.table.advice.guiding import option_steps, options
from addon.scene import access, built, ids, pending, tables
from addon.scene.findings import labels_of
from addon.sizes.errors import DryAssemblyError
from addon.ui import menus, operator_kinds, parts
from addon.ui.check_panel import DRY_ASSEMBLY_OT_find_remedies as FindRemedies
from tests.old_tables import EXAMPLES

from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, first


def shares(steps) -> tuple[list[float], object]:
    """What some work says of its progress, and its result."""
    said = []
    while True:
        try:
            said.append(next(steps))
        except StopIteration as end:
            return said, end.value


# -- steps


def test_remedies_in_steps_are_the_remedies():
    table = EXAMPLES["seed-bench"].table()
    proofs = prove_leaves(prepare(build(table)))
    said, found = shares(option_steps(table, proofs))
    assert found == options(table, proofs)
    assert found
    assert len(said) > 5
    assert said == sorted(said)
    assert 0 <= said[0] <= said[-1] <= 1


def test_an_analysis_in_steps_is_the_analysis_however_it_is_cut():
    table = EXAMPLES["seed-bench"].table()
    said, found = shares(analysis_steps(build(table), count=300, guided=20, at_once=70))
    whole = analyze(build(table), count=300, guided=20)
    assert (found.passes, found.works, found.guides, found.router) == (
        whole.passes,
        whole.works,
        whole.guides,
        whole.router,
    )
    assert len(said) > 20
    assert said == sorted(said)
    assert 0 <= said[0] <= said[-1] <= 1


def test_work_within_longer_work_says_its_share():
    def work():
        yield 0.0
        yield 0.5
        return "done"

    assert shares(share_of(work(), 0.2, 0.6)) == ([0.2, 0.4], "done")
    assert run_through(work()) == "done"


# -- in a window


class Window:
    """Stands in for Blender's window: notes timers, words and progress."""

    def __init__(self, scene):
        self.timers, self.handlers, self.words, self.progress = [], [], [], []
        self.window = object()
        self.scene = scene
        self.window_manager = self
        self.workspace = SimpleNamespace(status_text_set=self.words.append)
        self.progress_begin = lambda low, high: self.progress.append((low, high))
        self.progress_update = self.progress.append
        self.progress_end = lambda: self.progress.append("end")
        self.modal_handler_add = self.handlers.append

    def event_timer_add(self, _pause, window):
        assert window is self.window
        self.timers.append(object())
        return self.timers[-1]

    def event_timer_remove(self, timer):
        self.timers.remove(timer)


class Button(operator_kinds.StepOperator):
    """The steps of `Find Remedies` without Blender's operator around them."""

    what = FindRemedies.what
    steps = FindRemedies.steps
    keep = FindRemedies.keep

    def __init__(self):
        self.reports = []

    def report(self, kind, text):
        self.reports.append((kind, text))


@pytest.fixture
def window(scene, monkeypatch):
    """A window with the seed-sorting bench, proven; no study is remembered."""
    monkeypatch.setattr(built, "_results", OrderedDict())
    tables.create_table(scene, SEED_BENCH)
    pending.flush()
    monkeypatch.setattr(
        operator_kinds, "bpy", SimpleNamespace(app=SimpleNamespace(background=False), types=bpy.types)
    )
    return Window(scene)


TIMER, ESC, KEY = (SimpleNamespace(type=name) for name in ("TIMER", "ESC", "Z"))


def notes():
    return [
        (finding.rule, [(remedy.name, remedy.changes) for remedy in finding.remedies])
        for finding in first().findings
    ]


def test_the_window_goes_on_until_the_remedies_are_there(window, monkeypatch):
    button, before = Button(), notes()
    assert button.invoke(window, None) == {"RUNNING_MODAL"}
    assert window.handlers == [button]
    assert window.progress[0] == (0, 100)
    monkeypatch.setattr(operator_kinds, "SPELL", 0.0)
    ticks = 0
    while (result := button.modal(window, TIMER)) == {"RUNNING_MODAL"}:
        ticks += 1
        assert notes() == before, "nothing is kept before the end"
        assert button.modal(window, KEY) == {"RUNNING_MODAL"}, "no key gets through"
    assert result == {"FINISHED"}
    assert ticks > 5
    assert first().remedies_found
    assert any(remedies for rule, remedies in notes() if rule == "leaf-steer")
    assert (window.timers, window.words[-1], window.progress[-1]) == ([], None, "end")
    assert window.words[0].endswith("Esc stops it")


def test_esc_leaves_everything_as_it_was(window, monkeypatch):
    button, before = Button(), notes()
    button.invoke(window, None)
    monkeypatch.setattr(operator_kinds, "SPELL", 0.0)
    for _ in range(3):
        button.modal(window, TIMER)
    assert button.modal(window, ESC) == {"CANCELLED"}
    assert button.reports == [({"WARNING"}, "Stopped: everything is as it was")]
    assert notes() == before
    assert not first().remedies_found
    assert (window.timers, window.words[-1], window.progress[-1]) == ([], None, "end")


def test_a_table_that_was_changed_meanwhile_keeps_nothing(window):
    button = Button()
    button.invoke(window, None)
    first().parameters.table.height = 0.8
    while (result := button.modal(window, TIMER)) == {"RUNNING_MODAL"}:
        pass
    assert result == {"CANCELLED"}
    assert button.reports == [({"WARNING"}, "Stopped: the table was changed meanwhile")]
    assert not first().remedies_found
    assert window.timers == []


def test_an_error_on_the_way_is_told(window, monkeypatch):
    def broken(self, _context, _table):
        yield 0.1
        raise DryAssemblyError("No room.")

    monkeypatch.setattr(Button, "steps", broken)
    button = Button()
    button.invoke(window, None)
    assert button.modal(window, TIMER) == {"CANCELLED"}
    assert button.reports == [({"ERROR"}, "No room.")]
    assert window.timers == []


# -- the part under the mouse


def choose(label: str) -> None:
    """Makes a part the active object, and the only one selected."""
    for item in bpy.context.selected_objects:
        item.select_set(False)
    item = access.part_objects(first())[label]
    item.select_set(True)
    bpy.context.view_layer.objects.active = item


def test_findings_of_a_part_come_one_after_the_other(scene):
    tables.create_table(scene, LOW_WINDOW)
    pending.flush()
    choose("R3")
    wanted = [number for number, one in enumerate(first().findings) if "R3" in labels_of(one)]
    assert len(wanted) > 1
    for number in (*wanted, wanted[0]):
        assert bpy.ops.dry_assembly.show_part_findings() == {"FINISHED"}
        assert first().finding_index == number
        assert bpy.context.view_layer.objects.active[ids.PART] == "R3"
    choose("R3")
    first().finding_index = 0
    choose("R3")
    assert bpy.ops.dry_assembly.show_part_findings() == {"FINISHED"}
    assert first().finding_index == wanted[0]


def test_a_part_without_findings_says_so(scene):
    tables.create_table(scene, QUILTING)
    choose("S1")
    assert not parts.findings_of(first(), "S1")
    with pytest.raises(RuntimeError, match="There are no findings about this part"):
        bpy.ops.dry_assembly.show_part_findings()
    bpy.context.view_layer.objects.active = None
    with pytest.raises(RuntimeError, match="Select a part of a table first"):
        bpy.ops.dry_assembly.show_part_findings()


def test_only_a_leaf_is_moved(scene):
    tables.create_table(scene, QUILTING)
    choose("L2")
    assert bpy.ops.dry_assembly.move_leaf(where="stowed") == {"FINISHED"}
    assert [leaf.state for leaf in first().leaves] == ["cover", "stowed", "cover", "cover"]
    choose("R3")
    with pytest.raises(RuntimeError, match="The part selected is no leaf"):
        bpy.ops.dry_assembly.move_leaf(where="cover")


def test_the_menus_hold_what_there_is_and_go_without_a_trace(empty):
    found = {name: list(getattr(bpy.types, name)._dyn_ui_initialize()) for name, _ in menus.MENUS}
    addon.register()
    tables.create_table(bpy.context.scene, QUILTING)
    for name, draw in menus.MENUS:
        assert draw in getattr(bpy.types, name)._dyn_ui_initialize()
    for names in menus._BUTTONS:
        for name in names:
            assert name in dir(bpy.ops.dry_assembly)
    addon.unregister()
    assert {name: getattr(bpy.types, name)._dyn_ui_initialize() for name in found} == found
