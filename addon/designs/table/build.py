"""From parameters to the assembly, in the order in which the parts depend on each other."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Final

from ...sizes.errors import speaking
from ...wood.as_cut import apply_as_cut
from ...wood.assembly import Assembly
from ...wood.sound import check_parts
from .bill import Bill
from .body import add_bottom, add_ledgers, add_sides, add_supports, add_tops
from .fastening import add_fasteners
from .layout import lay_out
from .leaves import add_leaf, cover_placement, stow_path
from .legs.kinds import add_legs
from .own_parts import add_own_parts, join_own_parts
from .parameters import Table
from .push_holes import drill_push_holes
from .reserved import drill_for_cables, lacks_hole, spaces_of
from .ribs import add_ribs, butt_on_legs
from .strips import add_blocks, add_end_stop, add_strips

_REMEMBERED: Final = 4


def build(table: Table) -> Assembly:
    """The assembly of a table, with its `as_cut` entries applied; every part of it can be cut.

    Raises
    ------
    ParameterError : for what cannot be built
    AsCutError : for an entry that names no part or dimension
    PartError : for a part, as drawn or as cut, whose features run into each other or out of the board
    """
    if table.reserved and all(lacks_hole(one) or one.form != "cable" for one in table.reserved):
        # Nothing is cut for them: while one is moved, or tried elsewhere, the boards stay what they were.
        return replace(_built(replace(table, reserved=())), reserved=spaces_of(table))
    return _built(table)


@lru_cache(maxsize=_REMEMBERED)
def _built(table: Table) -> Assembly:
    layout = lay_out(table)
    bill = Bill()
    sides = add_sides(layout, bill)
    bottom = add_bottom(layout, bill, sides)
    ribs = add_ribs(layout, bill, sides, bottom)
    own = add_own_parts(layout, bill)
    leaves = [add_leaf(layout, bill, lane) for lane in layout.lanes]
    stops = [add_end_stop(layout, bill, lane, ribs, sides) for lane in layout.lanes]
    paths = tuple(
        stow_path(layout, lane, stop.label if stop else None)
        for lane, stop in zip(layout.lanes, stops, strict=True)
    )
    butt_on_legs(bill, ribs, add_legs(layout, bill, sides, bottom))
    add_supports(layout, bill, add_ledgers(layout, bill, sides))
    add_tops(layout, bill)
    add_blocks(layout, bill, ribs)
    add_strips(layout, bill, ribs, sides, bottom)
    join_own_parts(table, bill, own)
    drill_push_holes(layout, bill)
    spaces = spaces_of(table)
    drill_for_cables(bill, spaces)
    add_fasteners(table, bill, layout.lane_boxes)
    cover = {leaf.label: cover_placement(layout, index) for index, leaf in enumerate(leaves)}
    drawn = Assembly(
        table.name, tuple(bill.parts), tuple(bill.joints), paths, cover, table.limits, table.tolerances,
        fasteners=tuple(bill.fasteners), reserved=spaces,
    )  # fmt: skip
    with speaking(table.units):
        assembly = apply_as_cut(drawn, table.as_cut)
        check_parts(assembly.parts)
    return assembly
