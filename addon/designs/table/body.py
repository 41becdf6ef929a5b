"""The body: four sides with their grooves and slots, the bottom panel between them, ledgers, fixed top boards.

Center supports are boards on edge under the joints of the cover leaves, hooked on the ledgers and lifted out.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

from ...wood.features import Bevel, EdgeTreatment, Face, Groove, Opening
from ...wood.part import Part, Placement, Shape, rectangle
from ...wood.roles import BOTTOM, LEDGER, SIDE, SUPPORT, TOP
from .bill import Bill
from .lanes import SIDE_LABELS, Lane, Layout
from .refusals import at_least, at_most, refuse

RUN_OUT = 1.0
"""How far a through groove is drawn past the board's end, mm."""
FIT: Final = 0.5
"""Room on either side of a hook in its notch, and at both ends of a support, mm (common practice, no source)."""
LEAST_SUPPORT: Final = 12.0
"""A lower support carries nothing worth having, mm (common practice, no source)."""


def add_sides(layout: Layout, bill: Bill) -> dict[str, Part]:
    """The four sides by name; joined at the corners."""
    sides = {name: _side(layout, bill, name) for name in SIDE_LABELS}
    mitered = layout.table.table.corner_joint == "mitered"
    for short in ("left", "right"):
        bill.join(sides[short], sides["front"], "miter" if mitered else "butt", "start")
        bill.join(sides[short], sides["back"], "miter" if mitered else "butt", "end")
    return sides


def _side(layout: Layout, bill: Bill, name: str) -> Part:
    table, t = layout.table, layout.side_thickness
    along = 0 if name in ("front", "back") else 1
    half_outside = (table.table.length / 2, table.table.width / 2)
    mitered = table.table.corner_joint == "mitered"
    half = half_outside[along] if mitered or along == 0 else layout.inner[along]
    length, height = 2 * half, table.table.height - layout.body_bottom
    inner_face: Face = "front" if name in ("front", "right") else "back"
    shape = Shape(
        outline=rectangle(length, height),
        thickness=t,
        features=(
            *(_slot(layout, lane, half) for lane in layout.lanes if lane.side == name),
            _groove(layout, along, half, inner_face, mitered),
            *_round_over(layout, along, half, inner_face),
            *_outer_edge(layout, along, half, "back" if inner_face == "front" else "front"),
            *(_miters(t, inner_face) if mitered else ()),
        ),
    )
    x, y = half_outside
    z = layout.body_bottom
    placement = {
        "front": Placement.along("+x", "+z", (-half, -y + t, z)),
        "back": Placement.along("+x", "+z", (-half, y, z)),
        "left": Placement.along("+y", "+z", (-x, -half, z)),
        "right": Placement.along("+y", "+z", (x - t, -half, z)),
    }[name]
    return bill.add(SIDE, f"{name} side", layout.stocks[table.sides.stock], shape, placement)


def _slot(layout: Layout, lane: Lane, half: float) -> Opening:
    sides = layout.table.sides
    low, high = lane.passage
    return Opening(
        low + half,
        high + half,
        lane.slot_bottom - layout.body_bottom,
        lane.slot_top - layout.body_bottom,
        min(sides.corner_radius, (lane.slot_top - lane.slot_bottom) / 2),
        sides.slot_chamfer,
        sides.slot_chamfer,
        kind="slot",
        leaf=lane.leaf,
    )


def _groove(layout: Layout, along: int, half: float, face: Face, mitered: bool) -> Groove:
    """Stopped before the ends of the long sides where these show, else right through."""
    depth = layout.table.bottom.groove_depth
    bottom, top = layout.panel_bottom - layout.body_bottom, layout.groove_top - layout.body_bottom
    stopped = along == 0 and not mitered
    run = layout.inner[along] + depth + layout.table.bottom.groove_run_on if stopped else half + RUN_OUT
    radius = min(layout.table.bottom.groove_bit, top - bottom) / 2 if stopped else 0.0
    return Groove(half - run, half + run, bottom, top, depth, face, end_radius=radius)


def _round_over(layout: Layout, along: int, half: float, face: Face) -> tuple[EdgeTreatment, ...]:
    """On the inner lower edge, stopped before the legs."""
    sides, legs = layout.table.sides, layout.table.legs
    if sides.lower_round_over == 0:
        return ()
    return _lower_edge(
        layout, along, half, EdgeTreatment(0, face, "round-over", sides.lower_round_over), legs.fitted
    )


def _outer_edge(layout: Layout, along: int, half: float, face: Face) -> tuple[EdgeTreatment, ...]:
    """On the outer lower edge, stopped before legs that go over it."""
    sides, legs = layout.table.sides, layout.table.legs
    if sides.outer_edge == "square":
        return ()
    kind: Literal["chamfer", "round-over"] = "chamfer" if sides.outer_edge == "chamfer" else "round-over"
    own = EdgeTreatment(0, face, kind, sides.outer_edge_size)
    return _lower_edge(layout, along, half, own, legs.fitted and legs.kind == "laminated")


def _lower_edge(
    layout: Layout, along: int, half: float, own: EdgeTreatment, stopped: bool
) -> tuple[EdgeTreatment, ...]:
    """A treatment of a lower edge, along all of it or stopped before the legs; none where these leave it no room."""
    if not stopped:
        return (own,)
    start = half - layout.inner[along] + layout.table.legs.width + layout.table.sides.round_over_stop
    return () if start >= half else (replace(own, start=start, stop=2 * half - start),)


def _miters(t: float, inner_face: Face) -> tuple[Bevel, ...]:
    front, back = (t, 0.0) if inner_face == "front" else (0.0, t)
    return (Bevel(1, front, back), Bevel(3, front, back))


def add_bottom(layout: Layout, bill: Bill, sides: dict[str, Part]) -> Part:
    """The bottom panel, captured in the grooves of all four sides."""
    reach = layout.table.bottom.groove_depth - layout.table.bottom.groove_slack
    x, y = layout.inner[0] + reach, layout.inner[1] + reach
    box = ((-x, -y, layout.panel_bottom), (x, y, layout.panel_top))
    bottom = bill.add_box(BOTTOM, "bottom panel", layout.stocks[layout.table.bottom.stock], box, "+x", "+y",
                          cut=layout.table.bottom.corner_cut)  # fmt: skip
    for side in sides.values():
        bill.join(bottom, side, "groove")
    return bottom


def add_ledgers(layout: Layout, bill: Bill, sides: dict[str, Part]) -> list[Part]:
    """Strips on the two sides that carry the ends of the cover leaves, notched for center supports."""
    well = layout.table.well
    stock = layout.stocks[well.ledger_stock]
    across = layout.table.leaves.direction == "across"
    along = 0 if across else 1
    bottom = layout.cover_bottom - well.ledger_height
    run, wall = layout.inner[along], layout.inner[1 - along]
    shape = Shape(rectangle(2 * run, well.ledger_height), stock.thickness, ledger_notches(layout))
    ledgers: list[Part] = []
    for sign, name in ((-1, "front" if across else "left"), (1, "back" if across else "right")):
        near, far = sorted((sign * wall, sign * (wall - stock.thickness)))
        place = (
            Placement.along("+x", "+z", (-run, far, bottom))
            if across
            else Placement.along("+y", "+z", (near, -run, bottom))
        )
        ledger = bill.add(LEDGER, "ledger strip", stock, shape, place, which=(name,))
        bill.join(ledger, sides[name], "face")
        ledgers.append(ledger)
    return ledgers


def add_tops(layout: Layout, bill: Bill) -> None:
    """Fixed boards that cover what the leaves leave open."""
    covered = layout.table.leaves.cover_length
    along = 0 if layout.table.leaves.direction == "across" else 1
    room = layout.inner[along] - (covered / 2 if covered is not None else layout.inner[along])
    if room < 1.0:
        return
    stock = layout.stocks[layout.table.leaves.stock]
    end = layout.inner[1 - along]
    z = layout.cover_bottom
    ledgers = [part for part in bill.parts if part.role.carries_cover]
    for sign in (-1, 1):
        near, far = sorted((sign * layout.inner[along], sign * (layout.inner[along] - room)))
        low = (near, -end, z) if along == 0 else (-end, near, z)
        high = (far, end, z + stock.thickness) if along == 0 else (end, far, z + stock.thickness)
        where = ("left", "right") if along == 0 else ("front", "back")
        u, v = ("+y", "-x") if along == 0 else ("+x", "+y")
        which = (where[(sign + 1) // 2],)
        top = bill.add_box(TOP, "fixed top", stock, (low, high), u, v, which=which)
        for ledger in ledgers:
            bill.join(top, ledger, "face")


# -- center supports


def joints_at(layout: Layout) -> tuple[float, ...]:
    """Where two cover leaves lie side by side, on the axis across them, mm; none without center supports."""
    leaves = layout.table.leaves
    if not layout.table.well.center_supports:
        return ()
    step = layout.leaf_size[1] + leaves.gap
    return tuple((number - leaves.count / 2) * step for number in range(1, leaves.count))


def hook_depth(layout: Layout) -> float:
    """Depth of the notches in the ledgers, mm: as deep as leaves as much of the ledger below it."""
    return layout.table.well.ledger_height / 2


def check_supports(layout: Layout) -> None:
    """Refuse supports too low to carry anything, or lower than their hooks."""
    well = layout.table.well
    if not joints_at(layout):
        return
    least = max(LEAST_SUPPORT, hook_depth(layout))
    if well.depth - well.work_height < least:
        most = well.depth - least
        if most >= 0:
            refuse(
                layout.table, "well.work_height", well.work_height, at_most(layout.table, most),
                "nothing of the center supports would be left above it",
            )  # fmt: skip
        refuse(
            layout.table, "well.depth", well.depth, at_least(layout.table, well.work_height + least),
            "the well is too shallow for center supports",
        )  # fmt: skip


def ledger_notches(layout: Layout) -> tuple[Opening, ...]:
    """In a ledger strip, for the hooks."""
    across = layout.table.leaves.direction == "across"
    run, height = layout.inner[0 if across else 1], layout.table.well.ledger_height
    half = _stock_thickness(layout) / 2 + FIT
    bottom = height - hook_depth(layout)
    return tuple(
        Opening(run + at - half, run + at + half, bottom, height, kind="notch", open_above=True)
        for at in joints_at(layout)
    )


def add_supports(layout: Layout, bill: Bill, ledgers: list[Part]) -> None:
    """One support under each joint, loose in the ledgers' notches, its upper edge level with theirs."""
    across = layout.table.leaves.direction == "across"
    well, wall = layout.table.well, layout.inner[1 if across else 0]
    stock, t = layout.stocks[well.ledger_stock], _stock_thickness(layout)
    height, hook = well.depth - well.work_height, hook_depth(layout)
    length, end = (
        2 * (wall - FIT),
        t,
    )  # the hook reaches over the ledger; its shoulder keeps clear of it by FIT
    outline = (
        (end, 0.0), (length - end, 0.0), (length - end, height - hook), (length, height - hook),
        (length, height), (0.0, height), (0.0, height - hook), (end, height - hook),
    )  # fmt: skip
    low = layout.cover_bottom - height
    for number, at in enumerate(joints_at(layout), 1):
        place = (
            Placement.along("+y", "+z", (at - t / 2, -wall + FIT, low))
            if across
            else Placement.along("+x", "+z", (-wall + FIT, at + t / 2, low))
        )
        shape = Shape(outline, t)
        between = f"between leaves {number} and {number + 1}"
        support = bill.add(SUPPORT, "center support", stock, shape, place, which=(between,))
        for ledger in ledgers:
            bill.join(support, ledger, "face", fastening="dry")


def _stock_thickness(layout: Layout) -> float:
    return layout.thickness(layout.table.well.ledger_stock)
