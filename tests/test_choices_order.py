"""Choices of the proposed order of assembly: who goes in when, and which of several free ways it takes.

All of them are common practice, no source; the reasons stand beside the expected values, which are written by hand.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from addon.check.apart.assembly_order import AssemblyOrder, assembly_order
from addon.check.apart.blocking import blocking_of
from addon.designs.table import build
from addon.files.editing import set_values
from addon.files.table_file import read_table
from addon.reports.steps import sentences_of, title_of
from addon.wood.assembly import Assembly, Joint, Move, StowPath
from addon.wood.part import Part
from addon.wood.roles import role_of
from tests.line_samples import box
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()
SHIPPED = Path(__file__).parents[1] / "addon" / "examples"


def board(label: str, role: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> Part:
    """A block between two corners, mm."""
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return replace(box(size, low, label), role=role_of(role))


def way_of(label: str, *parts: Part, paths: tuple[StowPath, ...] = ()) -> str | None:
    """The direction in which a part moves when it goes in."""
    steps = assembly_order(Assembly("A", parts, (), paths)).steps
    (way,) = [one.way for step in steps for one in step.arrivals if one.parts == (label,)]
    return way


def arrivals(order: AssemblyOrder) -> list[list[tuple[str, str | None]]]:
    """Label and way of all that goes in, step by step; glued-up parts as "A+B"."""
    return [
        [("+".join(one.parts), one.way) for one in step.arrivals]
        for step in order.steps
        if step.kind == "put-in"
    ]


# -- the quilting table, from its drawing
# ------------------------------------------------------------------------------------------------------------------


def test_the_quilting_table_goes_together_in_this_order_and_along_these_ways() -> None:
    """Upside down, so "+z" is downward onto the bottom panel, until the table is turned over.

    Through ribs reach from long side to long side, so the segments between them come after them. The short sides
    stand between the long ones (butted corners): they are pressed onto the ends of their segments first, then the long
    sides from front and back onto the ends of ribs and short sides, with no face sliding along fresh glue. End stops
    stand between segments, legs on the bottom panel in the corners that the sides make. Upright again, ledger strips
    are let down into the well and leaves slide in through their slots: L1 and L2 from front and back (S1, S2), L3 from
    the right (S4), L4 from the left (S3).
    """
    order = assembly_order(build(QUILTING))
    down, down_upright = "+z", "-z"
    assert arrivals(order) == [
        [("B1", None), *((f"R{number}", down) for number in range(1, 5))],
        [(f"R{number}", down) for number in range(5, 20)],
        [("S3", "+x"), ("S4", "-x")],
        [("S1", "+y"), ("S2", "-y")],
        [("STOP1", down), ("STOP2", down)],
        [(f"LEG{one}+LEG{one + 1}", down) for one in (1, 3, 5, 7)],
        [("LEDG1", down_upright), ("LEDG2", down_upright)],
        [("L1", "+y"), ("L2", "-y"), ("L3", "-x"), ("L4", "+x")],
    ]
    assert [title_of(build(QUILTING), step) for step in order.steps] == [
        "Glue up legs",
        "Bottom panel and through ribs",
        "Rib segments",
        "Left side and right side",
        "Front side and back side",
        "End stops",
        "Legs",
        "Turn over",
        "Ledger strips",
        "Cover leaves",
    ]


def test_mitered_sides_go_on_in_one_step() -> None:
    """No mitered side stands between others: all four close at once, held by one band clamp."""
    order = assembly_order(build(set_values(QUILTING, {"table.corner_joint": "mitered"})))
    sides = [step.moved for step in order.steps if "S1" in step.moved]
    assert [set(moved) for moved in sides] == [{"S1", "S2", "S3", "S4"}]


def test_strips_go_in_from_the_bottom_panel_up() -> None:
    """Upside down, kickers (above a leaf's way) lie nearest to the bottom panel, guides beside it, runners on top of
    both: whatever lies deeper goes in first. Fixed tops rest on ledger strips, so they come after them."""
    strips = {"stowing.runners": True, "stowing.kickers": True, "stowing.guides": True}
    order = assembly_order(build(set_values(EXAMPLES["seed-bench"].table(), strips)))
    roles = [step.role and step.role.word for step in order.steps if step.kind != "glue-up"]
    assert roles[roles.index("side") :] == [
        "side", "side", "kicker", "guide", "runner", "leg", None, "ledger", "top", "leaf"
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["quilting-table", "seed-bench"])
def test_kickers_on_the_panel_go_in_before_the_ribs_that_run_over_them(name: str) -> None:
    """Under windows that are open to the bottom panel, kickers lie on the bare panel, set down from above; nothing has
    to be threaded through windows. Kickers between boards that stand wait for these (see above)."""
    order = assembly_order(build(read_table(SHIPPED / f"{name}.toml")))
    steps = [step for step in order.steps if step.kind == "put-in"]
    assert steps[0].moved == ("B1", "KICK1", "KICK2", "KICK3", "KICK4")
    assert [one.way for one in steps[0].arrivals[1:]] == ["+z"] * 4  # down onto it, as it lies upside down
    assert all(label.startswith("R") for step in steps[1:3] for label in step.moved)


@pytest.mark.parametrize(("well", "high"), [(34.0, 55), (37.2, 55), (37.4, 60), (40.0, 60)])
def test_blocks_under_the_bottom_panel_are_high_enough(well: float, high: int) -> None:
    """Upside down, the sides reach past the bottom panel by the well and a leaf of 17.7. Blocks are cut to full 5 mm,
    rounded up: on lower ones the sides would stand on the bench before the panel lies."""
    table = build(set_values(QUILTING, {"well.depth": well}))
    order, blocking = assembly_order(table), blocking_of(table.parts)
    (number,) = (at for at, step in enumerate(order.steps) if "B1" in step.new)
    assert f"at least {high} mm high" in sentences_of(table, order, number, blocking, "mm")[0]


# -- which of several free ways, on blocks
# ------------------------------------------------------------------------------------------------------------------

PLATE = board("P", "bottom", (0, 0, 10), (100, 100, 20))


def test_from_above_where_nothing_else_decides() -> None:
    """A block that rests on a plate is let down onto it, though it could be pushed in from four sides. Upside down,
    it stands on the plate's underside; upright, on its upper face."""
    assert way_of("R", PLATE, board("R", "rib", (40, 40, 0), (60, 60, 10))) == "+z"
    assert way_of("T", PLATE, board("T", "ledger", (40, 40, 20), (60, 60, 30))) == "-z"


def test_onto_the_face_that_it_is_glued_to_rather_than_along_it() -> None:
    """A board on the end of another is pressed onto it: let down from above, it would wipe the glue off."""
    rib = board("R", "rib", (0, 0, 0), (100, 18, 60))
    assert way_of("S", rib, board("S", "side", (100, -40, 0), (118, 60, 60))) == "-x"
    assert way_of("S", rib, board("S", "side", (-18, -40, 0), (0, 60, 60))) == "+x"


def test_from_above_where_it_comes_to_rest_on_both() -> None:
    """A block in a corner: it is let down along the wall onto the plate, whose weight and glue then hold it."""
    wall = board("W", "rib", (0, 0, -50), (18, 100, 10))
    assert way_of("LEG1", PLATE, wall, board("LEG1", "leg", (18, 40, -50), (36, 60, 10))) == "+z"


def test_not_from_below_while_a_way_from_the_side_is_free() -> None:
    """Upright, nobody presses a board up from below with wet glue while it can be pushed in along a free side."""
    walls = (
        board("R1", "rib", (0, 0, -20), (10, 100, 10)),
        board("R2", "rib", (10, 0, -20), (100, 40, 10)),
        board("R3", "rib", (10, 60, -20), (100, 100, 10)),
    )
    assert way_of("T", PLATE, *walls, board("T", "ledger", (50, 40, 0), (100, 60, 10))) == "-x"


def test_a_leaf_through_its_slot_even_where_it_could_come_from_above() -> None:
    """The order shows how the leaf stows: through its slot, here from the back."""
    leaf = board("L1", "leaf", (20, 20, 20), (80, 80, 30))
    outward = np.array([0.0, 1.0, 0.0])
    path = StowPath("L1", "P", (Move(200.0 * outward, np.zeros(3)),), 0.0, outward)
    assert way_of("L1", PLATE, leaf, paths=(path,)) == "-y"


@pytest.mark.parametrize(("count", "steps"), [(16, [16]), (17, [8, 9]), (33, [11, 11, 11])])
def test_many_like_parts_are_shared_out_evenly(count: int, steps: list[int]) -> None:
    """More than 16 in one picture are not read any more; handfuls of one size, not a full one and a rest of one."""
    ribs = [board(f"R{n}", "rib", (2.0 * n, 0, 0), (2.0 * n + 1, 100, 10)) for n in range(count)]
    wide = board("P", "bottom", (0, 0, 10), (2.0 * count, 100, 20))
    found = assembly_order(Assembly("A", (wide, *ribs), (), ()))
    sizes = [sum(label != "P" for label in step.moved) for step in found.steps]
    assert sizes == steps


# -- which step a part belongs to, on blocks
# ------------------------------------------------------------------------------------------------------------------


def steps_of(*parts: Part, joints: tuple[Joint, ...] = ()) -> list[list[str]]:
    """Labels of what goes in, step by step; glued-up parts as "A+B"."""
    order = assembly_order(Assembly("A", parts, joints, ()))
    return [["+".join(one.parts) for one in step.arrivals] for step in order.steps if step.kind == "put-in"]


def standing(label: str, role: str, x: float, y: float = 0.0) -> Part:
    """A board 10 thick and 50 long on a plate whose upper face is at 20."""
    return board(label, role, (x, y, 20), (x + 10, y + 50, 60))


WIDE = board("P", "bottom", (-500, -500, 10), (500, 500, 20))


def test_roles_that_nobody_has_heard_of_are_not_mixed() -> None:
    """Both go in at one stage; a step is about one kind of part, the kind that comes first in the list before."""
    parts = [standing(f"X{n}", "tray" if n % 2 else "shelf", 50.0 * n) for n in range(4)]
    assert steps_of(WIDE, *parts) == [["P"], ["X0", "X2"], ["X1", "X3"]]


def test_what_ends_on_two_waits_for_the_later_one() -> None:
    """R2 ends on R1; R3 ends on both, so it comes after R2, though R1 alone would let it in with R2."""
    parts = (WIDE, standing("R3", "rib", 200), standing("R2", "rib", 100), standing("R1", "rib", 0))
    joints = (Joint("R2", "R1", "butt"), Joint("R3", "R1", "butt"), Joint("R3", "R2", "butt"))
    assert steps_of(*parts, joints=joints) == [["P", "R1"], ["R2"], ["R3"]]


def test_what_is_glued_up_waits_for_what_any_part_of_it_ends_on() -> None:
    """Of two legs of two boards each, the second board of the first leg ends on the other leg."""
    legs = [standing(f"LEG{n + 1}", "leg", 10.0 * n + (200 if n > 1 else 0)) for n in range(4)]
    joints = (Joint("LEG2", "LEG1", "face"), Joint("LEG4", "LEG3", "face"), Joint("LEG2", "LEG3", "butt"))
    assert steps_of(WIDE, *legs, joints=joints) == [["P", "LEG3+LEG4"], ["LEG1+LEG2"]]


def test_of_two_in_each_others_way_the_later_one_cannot_get_in() -> None:
    """Guides that are glued up to a crate around a rib: by then the rib is there."""
    crate = (
        ((0, 0, 20), (100, 100, 30)),
        ((0, 0, 90), (100, 100, 100)),
        ((0, 0, 30), (100, 10, 90)),
        ((0, 90, 30), (100, 100, 90)),
        ((0, 10, 30), (10, 90, 90)),
        ((90, 10, 30), (100, 90, 90)),
    )
    guides = [board(f"GUIDE{n}", "guide", *corners) for n, corners in enumerate(crate, 1)]
    joints = tuple(Joint(one.label, "GUIDE1", "face") for one in guides[1:])
    rib = board("R1", "rib", (20, 20, 40), (80, 80, 80))
    order = assembly_order(Assembly("A", (WIDE, *guides, rib), joints, ()))
    assert order.blocked == tuple(one.label for one in guides)


@pytest.mark.parametrize(("bases", "steps"), [(1, [["B1", "R1"]]), (2, [["B1", "B2"], ["R1"]])])
def test_a_single_board_is_laid_down_with_what_is_put_onto_it(bases: int, steps: list[list[str]]) -> None:
    """A picture of a single board on the bench tells nothing; two boards beside each other are a step."""
    parts = [
        board(f"B{n + 1}", "bottom", (300.0 * n, 0, 10), (300.0 * n + 290, 300, 20)) for n in range(bases)
    ]
    rib = board("R1", "rib", (100, 100, 0), (200, 110, 10))
    assert steps_of(*parts, rib) == steps


def test_the_step_is_about_what_is_put_onto_the_single_board() -> None:
    """The rib is what one works on, and what the step's verb and title are for."""
    parts = (WIDE, board("R1", "rib", (100, 100, 0), (200, 110, 10)))
    (step,) = assembly_order(Assembly("A", parts, (), ())).steps
    assert step.role == role_of("rib")


def test_parts_are_new_where_they_are_first_handled() -> None:
    """A leg of two boards is new when it is glued up, and no more when it is set in: who fetches the parts of a step
    finds it on the bench."""
    legs = (standing("LEG1", "leg", 0), standing("LEG2", "leg", 10))
    order = assembly_order(Assembly("A", (WIDE, *legs), (Joint("LEG2", "LEG1", "face"),), ()))
    assert [(step.kind, step.new) for step in order.steps] == [
        ("glue-up", ("LEG1", "LEG2")),
        ("put-in", ("P",)),
    ]
