"""Dragging a length: the handle beside its field follows the mouse in steps of the maker's rule."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor
from typing import Any, Final, NamedTuple

import bpy
from bpy.types import Context, Event, Operator, PropertyGroup

from ..scene import access, seeing, tables
from ..scene.state import typed
from ..scene.state.values import LIST_ITEMS, READ_AS, REFUSED, SECTION_ITEMS, TABLE_ITEMS, TYPED, held_in, say
from ..scene.translation import IntProperty, StringProperty, reported, told
from ..sizes.declare import Parameter
from ..sizes.units import CALIPER, MM_PER_INCH, Units, as_units
from .operator_kinds import DONE, NOTHING, OWN, OwnOperator

DRAG: Final = "dry_assembly.drag_length"
PIXELS: Final = 8.0
"""That the mouse goes for a step, at a resolution scale of 1."""
KEEP: Final = {"LEFTMOUSE", "RET", "NUMPAD_ENTER"}
PUT_BACK: Final = {"RIGHTMOUSE", "ESC"}
GRABBING: Final = {"UNDO", "INTERNAL", "GRAB_CURSOR_X", "BLOCKING"}
_FOLDERS: Final = {"SCENE": "scenes", "OBJECT": "objects"}
"""Kind of what keeps a table's parameters → where the open file has these."""
_DECLARED: Final = {
    (section, item.name): item
    for section, items in {"": TABLE_ITEMS, **SECTION_ITEMS, **LIST_ITEMS}.items()
    for item in items
}


def home_of(group: PropertyGroup) -> str:
    """Section of a group of parameters, with the number of its entry: ``table``, ``stow[1]``; "" of the table's own."""
    return group.path_from_id().rpartition("parameters")[2].removeprefix(".")


def declared(group: PropertyGroup, name: str) -> Parameter:
    """The declaration of a parameter in its group. Raises KeyError where there is none."""
    return _DECLARED[home_of(group).partition("[")[0], name]


def path_of(group: PropertyGroup) -> str:
    """Where a group is in the open file: what `DRY_ASSEMBLY_OT_drag_length` is told."""
    owner = group.id_data
    return f'{_FOLDERS[owner.id_type]}["{bpy.utils.escape_identifier(owner.name)}"].{group.path_from_id()}'


class Steps(NamedTuple):
    """By how much a length changes at once, mm."""

    fine: Fraction
    plain: Fraction
    coarse: Fraction


_FEWEST: Final = 50
"""Steps that a length's range has at least."""


def steps_of(item: Parameter, units: Units, division: float) -> Steps:
    """Steps of the maker's rule, whose finest division is `division`, mm; of a caliper for what is smaller than that.

    Coarse are 5 mm, or a quarter of an inch, on a rule of 0.5 mm or 1/32 in.
    """
    inch = MM_PER_INCH if units == "in" else Fraction(1)
    hair = CALIPER.step(units) * inch
    rule = _exactly(division)
    narrow = Fraction((item.high or 0.0) - (item.low or 0.0)) < _FEWEST * rule
    plain = min(rule, 10 * hair) if narrow else rule
    fine = 10 * hair if 10 * hair < plain else hair
    return Steps(fine, plain, plain * (8 if units == "in" else 10))


def stepped(start: float, count: int, step: Fraction, item: Parameter) -> float:
    """A length after so many steps, mm, within its limits: multiples of the step, the first of them nearer than it."""
    first = _exactly(start) / step
    whole = floor(first) if count > 0 else ceil(first)
    moved = (whole + count) * step if count else _exactly(start)
    low = moved if item.low is None else max(moved, _exactly(item.low))
    return float(low if item.high is None else min(low, _exactly(item.high)))


def _exactly(mm: float) -> Fraction:
    """The decimal that a length reads as."""
    return Fraction(repr(float(mm)))


class Drag:
    """A length that is being dragged, from where it was. The group is looked up anew each time: a list may move it."""

    def __init__(self, data_path: str, name: str) -> None:
        """Raises ValueError and KeyError where there is no such length."""
        self._path = data_path
        self.item = declared(self.group, name)
        self.units: Units = as_units(access.owner(self.group).parameters.units)
        self.start: float = held_in(self.item, self.group, self.units)
        self._from, self._way, self._pace = self.start, 0.0, 1
        self._beside = [getattr(self.group, name + ending) for ending in (REFUSED, READ_AS)]

    @property
    def group(self) -> PropertyGroup:
        """The section or entry that the length is in."""
        found: PropertyGroup = bpy.data.path_resolve(self._path)
        return found

    @property
    def value(self) -> float:
        """The length as it is now, mm."""
        found: float = held_in(self.item, self.group, self.units)
        return found

    @property
    def words(self) -> str:
        """What the window says meanwhile."""
        shown = getattr(self.group, self.item.name + TYPED)
        return told(
            "{label} {size}. Click keeps it, Esc puts it back; Shift fine, Ctrl coarse",
            label=self.item.label,
            size=shown,
        )

    def follow(self, steps: float, pace: int = 1) -> bool:
        """Goes on by so many steps, or parts of them; whether the length is another now.

        Parameters
        ----------
        pace : 0 fine, 1 plain, 2 coarse; where it changes, what was gone until then stays
        """
        if pace != self._pace:
            self._from, self._way, self._pace = self.value, 0.0, pace
        self._way += steps
        division = access.owner(self.group).parameters.limits
        rule = held_in(declared(division, "rule_division"), division, self.units)
        step = steps_of(self.item, self.units, rule)[pace]
        return self.set(stepped(self._from, int(self._way), step, self.item))

    def put_back(self) -> None:
        """Gives the length its old value, with the words that stood beside it."""
        self.set(self.start)
        say(self.group, self.item, *self._beside)

    def set(self, mm: float) -> bool:
        """Gives the length a value, and builds the table; whether it is another now."""
        group = self.group
        if mm == self.value:
            return False
        with access.own_writing():
            typed.take(group, self.item, mm, self.units)
        tables.parameter_changed(group)
        return True


class DRY_ASSEMBLY_OT_drag_length(OwnOperator, Operator):
    bl_idname = DRAG
    bl_label = "Drag Length"
    bl_description = (
        "Change this length with the mouse, in steps of your rule: left is less, right is more. Shift is fine, Ctrl "
        "coarse; click or Enter keeps it, Esc or the right button puts it back"
    )
    bl_options = GRABBING

    data_path: StringProperty(description="Where the length's section is in the open file", options=OWN)
    parameter: StringProperty(description="The length's name in the table file", options=OWN)
    steps: IntProperty(description="How many steps to go where there is no mouse", default=1, options=OWN)

    def execute(self, _context: Context) -> set[Any]:
        """Goes a number of steps."""
        drag = self._begun()
        return DONE if drag is not None and drag.follow(self.steps) else NOTHING

    def invoke(self, context: Context, event: Event) -> set[Any]:
        """Follows the mouse."""
        drag = self._begun()
        if drag is None:
            return NOTHING
        self._drag, self._mouse = drag, event.mouse_x
        context.window_manager.modal_handler_add(self)
        context.workspace.status_text_set(drag.words)
        return {"RUNNING_MODAL"}

    def modal(self, context: Context, event: Event) -> set[Any]:
        """Goes as far as the mouse went. Nothing else gets through: an undo would take the table away."""
        drag = self._drag
        if event.type in KEEP and event.value == "PRESS":
            return self._leave(context, drag.value != drag.start)
        if event.type in PUT_BACK and event.value == "PRESS":
            drag.put_back()
            return self._leave(context, False)
        if event.type == "MOUSEMOVE":
            pixels, self._mouse = event.mouse_x - self._mouse, event.mouse_x
            way = pixels / (PIXELS * context.preferences.system.ui_scale)
            if drag.follow(way, 0 if event.shift else 2 if event.ctrl else 1):
                context.workspace.status_text_set(drag.words)
                seeing.redraw()
        return {"RUNNING_MODAL"}

    def cancel(self, context: Context) -> None:
        """Called by Blender where the window closes meanwhile."""
        self._drag.put_back()
        self._leave(context, False)

    def _begun(self) -> Drag | None:
        try:
            return Drag(self.data_path, self.parameter)
        except (ValueError, KeyError):
            self.report({"ERROR"}, reported("There is no such length any more"))
            return None

    def _leave(self, context: Context, changed: bool) -> set[Any]:
        context.workspace.status_text_set(None)
        return DONE if changed else NOTHING


CLASSES: Final = (DRY_ASSEMBLY_OT_drag_length,)
