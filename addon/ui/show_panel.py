"""The panel of what is to be seen: leaves on their way, the animation, the table apart, marks in the view, variants."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Event, Operator, Panel, UILayout

from ..reports.variants import MOST
from ..scene import families, snag, variants
from ..scene.motion import exploded
from ..scene.state.properties import DRY_ASSEMBLY_PG_leaf as LeafState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import StringProperty
from . import panel
from .operator_kinds import CHANGES, DONE, ONE_STEP, TableOperator, attempt, unbuilt
from .panel import CLOSED, TablePanel


class DRY_ASSEMBLY_OT_show_snag(TableOperator, Operator):
    bl_idname = "dry_assembly.show_snag"
    bl_label = "Show Snag"
    bl_description = "Show a ghost of the leaf at the opening selected, in the pose that needs steering most"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A leaf selected that snags somewhere."""
        leaf = chosen_leaf(state)
        snags = leaf is not None and leaf.slide in ("needs-steering", "does-not-pass")
        return "" if snags else "The leaf selected snags nowhere"

    def execute(self, context: Context) -> set[Any]:
        """Shows it."""
        state = self.table(context)
        leaf = chosen_leaf(state)
        assert leaf is not None
        opening = panel.selected(leaf.openings, leaf.opening_index)
        where = ("", -1) if opening is None else (opening.view, opening.opening)
        return attempt(self, lambda: snag.show(state, leaf.name, *where) is not None)


class DRY_ASSEMBLY_OT_hide_snag(TableOperator, Operator):
    bl_idname = "dry_assembly.hide_snag"
    bl_label = "Hide Snag"
    bl_description = "Take the ghost and its note away"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """One that is shown."""
        return "" if state.snag else "No snag is shown"

    def execute(self, context: Context) -> set[Any]:
        """Hides it."""
        snag.hide(self.table(context))
        return DONE


def chosen_leaf(state: TableState) -> LeafState | None:
    """The leaf selected in the list."""
    leaf: LeafState | None = panel.selected(state.leaves, state.leaf_index)
    return leaf


class DRY_ASSEMBLY_OT_animate_exploded_view(TableOperator, Operator):
    bl_idname = "dry_assembly.animate_exploded_view"
    bl_label = "Animate Exploded View"
    bl_description = "Give the Factor keyframes: the table comes apart, rests, and goes together again"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """That the leaves stand still."""
        return "Remove the animation of the leaves first" if state.animation != "none" else ""

    def execute(self, context: Context) -> set[Any]:
        """Animates it."""
        return attempt(self, lambda: exploded.animate(self.table(context)))


class DRY_ASSEMBLY_OT_stop_exploded_view(TableOperator, Operator):
    bl_idname = "dry_assembly.stop_exploded_view"
    bl_label = "Clear Keyframes"
    bl_description = "Take the keyframes of the Factor away and put the table together; other keyframes stay"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """An animation."""
        return "" if exploded.is_animated(state) else "The exploded view is not animated"

    def execute(self, context: Context) -> set[Any]:
        """Removes it."""
        exploded.stop_animation(self.table(context))
        return DONE


class DRY_ASSEMBLY_OT_add_variant(TableOperator, Operator):
    bl_idname = "dry_assembly.add_variant"
    bl_label = "Add Variant"
    bl_description = "Put a copy of the table beside it, to give it other sizes and compare"
    bl_options = CHANGES

    name: StringProperty(
        name="Name",
        description="What to call the variant",
        maxlen=60,
        options={"SKIP_SAVE"},
    )

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A table that can be built, and room for one more."""
        full = variants.FULL if len(families.family_of(state)) >= MOST else ""
        return unbuilt(state) or full

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks for the name."""
        self.name = self.name or variants.next_name(self.table(context))
        return context.window_manager.invoke_props_dialog(self)

    def execute(self, context: Context) -> set[Any]:
        """Adds it."""
        state = self.table(context)
        return attempt(self, lambda: variants.add(state, self.name or variants.next_name(state)))


class DRY_ASSEMBLY_OT_keep_variant(TableOperator, Operator):
    bl_idname = "dry_assembly.keep_variant"
    bl_label = "Keep This One"
    bl_description = (
        "Keep the variant shown, in the place and under the name of the first; the others are removed"
    )
    bl_options = ONE_STEP

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """Variants; that the table can be built."""
        return unbuilt(state) if families.family_of(state) else "Add a variant first"

    def execute(self, context: Context) -> set[Any]:
        """Keeps it."""
        return attempt(self, lambda: variants.keep(self.table(context)))


class DRY_ASSEMBLY_PT_show(TablePanel, Panel):
    """What is to be seen in the view."""

    bl_label = "Show"
    bl_options = CLOSED

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """Leaves, animation, exploded view; marks and variants in sections of their own."""
        _leaves(layout, context, state)
        _animation(layout, context, state)
        _exploded(layout, context, state)
        body = panel.folded(layout, "In the View")
        if body is not None:
            _marks(body, context, state)
        body = panel.folded(layout, "Variants")
        if body is not None:
            _variants(body, context, state)


def _leaves(layout: UILayout, context: Context, state: TableState) -> None:
    """All leaves at once, and the one selected."""
    row = layout.row(align=True)
    panel.button(row, "dry_assembly.set_leaves", "Cover the Well", "TRIA_UP", where="cover")
    panel.button(row, "dry_assembly.set_leaves", "Stow All", "TRIA_DOWN", where="stowed")
    layout.template_list("DRY_ASSEMBLY_UL_leaves", "", state, "leaves", state, "leaf_index", rows=3)
    leaf = chosen_leaf(state)
    if leaf is None:
        return
    column = layout.column(align=True)
    panel.expanded(column, leaf, "state")
    if leaf.state == "sliding":
        panel.field(column, leaf, "travel", slider=True)
    if state.snag:
        panel.button(layout, "dry_assembly.hide_snag", "Hide Snag", "X")
        panel.sentence(layout, context, state.snag, "GHOST_ENABLED")
    elif leaf.slide in ("needs-steering", "does-not-pass"):
        panel.button(layout, "dry_assembly.show_snag", "Show Snag", "GHOST_ENABLED")


def _animation(layout: UILayout, context: Context, state: TableState) -> None:
    """Make, play, remove."""
    if state.animation == "none":
        row = layout.row(align=True)
        panel.button(row, "dry_assembly.animate", "Slide in Turn", "ANIM", order="in turn")
        panel.button(row, "dry_assembly.animate", "Slide Together", order="together")
        return
    playing = context.screen is not None and context.screen.is_animation_playing
    row = layout.row(align=True)
    panel.button(row, "screen.animation_play", "Pause" if playing else "Play", "PAUSE" if playing else "PLAY")
    panel.sign(row, "dry_assembly.stop_animation", "X")


def _exploded(layout: UILayout, context: Context, state: TableState) -> None:
    """How far apart, and its keyframes."""
    row = layout.row(align=True)
    panel.field(row, state, exploded.FACTOR, "Explode", slider=True)
    if exploded.is_animated(state):
        panel.sign(row, "dry_assembly.stop_exploded_view", "X")
    else:
        panel.sign(row, "dry_assembly.animate_exploded_view", "ANIM")
    if state.explosion_factor > 0 and state.explosion_words:
        panel.sentence(layout, context, state.explosion_words, "ERROR")


def _marks(layout: UILayout, context: Context, state: TableState) -> None:
    """Switches, gray while the table is exploded, as nothing is drawn then."""
    view = context.scene.dry_assembly.view
    together = state.explosion_factor == 0
    panel.field(layout, view, "verdict")
    if state.parameters.reserved:
        panel.field(layout, view, "reserved")
    column = layout.column()
    column.active = together
    panel.field(column, view, "show")
    column = layout.column()
    column.active = together and view.show
    for name in ("notes", "only_chosen", "dimensions", "passages"):
        panel.field(column, view, name)
    # In one line either way: a panel that grows while the Factor is dragged moves things under the mouse.
    panel.label(layout, "" if together else "Nothing is marked exploded", "NONE" if together else "INFO")


def _variants(layout: UILayout, context: Context, state: TableState) -> None:
    """Names, figures that differ, buttons."""
    members = families.family_of(state)
    if not members:
        panel.sentence(layout, context, "Compare two to four sets of sizes before a sheet is cut.")
        panel.button(layout, "dry_assembly.add_variant", "Add Variant", "ADD")
        return
    row = layout.row(align=True)
    for one in members:
        icon = "CANCEL" if one.error else panel.VERDICT_ICONS.get(one.verdict, "QUESTION")
        panel.named(row, "dry_assembly.choose_table", one.name, icon, one.key == state.key, key=one.key)
    if any(one.out_of_date for one in members):
        panel.label(layout, "Out of date: check pending", "TIME")
    _figures(layout, members)
    row = layout.row(align=True)
    panel.button(row, "dry_assembly.keep_variant", "Keep This One", "CHECKMARK")
    panel.button(row, "dry_assembly.add_variant", "Add Variant", "ADD")


def _figures(layout: UILayout, members: list[TableState]) -> None:
    """Under the name of each figure its values, one a variant."""
    column = layout.column(align=True)
    column.scale_y = 0.8
    column.active = not any(one.out_of_date or one.error for one in members)
    if not members[0].figures:
        panel.label(column, "All sizes are the same yet")
    for row in zip(*(one.figures for one in members), strict=False):
        name = column.row()
        name.active = False
        panel.label(name, row[0].name)
        values = column.row()
        for figure in row:
            panel.label(values, figure.words)
        column.separator()


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_show_snag,
    DRY_ASSEMBLY_OT_hide_snag,
    DRY_ASSEMBLY_OT_animate_exploded_view,
    DRY_ASSEMBLY_OT_stop_exploded_view,
    DRY_ASSEMBLY_OT_add_variant,
    DRY_ASSEMBLY_OT_keep_variant,
)
