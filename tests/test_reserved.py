"""Reserved space: bodies against manifold3d and formulas, who crosses it against manifold3d, planted defects by hand.

The quilting table's places are written by hand from its drawing: leaf L4 slides in from the left, 651.6 to 669.3 mm
high, between y -380 and -15; it is 921.6 mm long; rib R1 stands at x -576.4 to -558.6, solid at y 200.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import pi
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
import pytest

from addon.check.prepared import prepare
from addon.check.reserved import facts_of_reserved
from addon.designs.findings import Finding
from addon.designs.table.build import build
from addon.designs.table.changes import changed
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.editing import set_values, update_text
from addon.files.table_file import parse_table
from addon.sizes.errors import TableFileError
from addon.wood.fasteners import Fastener, Sizes
from addon.wood.reserved import LOW_ALONE, Reserved, Space, space_of
from tests.large import sampled
from tests.oracles import Body

pytestmark = pytest.mark.once

QUILTING = (Path(__file__).parent.parent / "addon" / "examples" / "quilting-table.toml").read_text("utf-8")

TRAY = Reserved("pin tray", "box", (-60.0, 60.0), (-300.0, -200.0), (600.0, 640.0))
CABLE = Reserved(
    "lamp cable", "cable", (-650.0, -500.0, -500.0), (200.0, 200.0, 100.0), (620.0, 620.0, 620.0)
)
WALL = Reserved("wall", "wall", side="left", distance=930.0)


@cache
def _table() -> Table:
    return parse_table(QUILTING)


def _with(*entries: Reserved) -> Table:
    return replace(_table(), reserved=entries)


def _findings(*entries: Reserved) -> list[Finding]:
    return list(check(_with(*entries)).findings)


def _space(entry: Reserved) -> Space:
    return space_of(0, entry, (-750.0, -480.0, 0.0), (750.0, 480.0, 770.0))


def _union(space: Space) -> manifold3d.Manifold:
    found = manifold3d.Manifold()
    for number in range(len(space.pieces)):
        found += manifold3d.Manifold.hull_points(space.pieces.piece(number))
    return found


# -- bodies
# ----------------------------------------------------------------------------------------------------


def test_a_box_is_between_its_corners_in_any_order() -> None:
    space = _space(replace(TRAY, x=(60.0, -60.0)))
    assert _union(space).volume() == pytest.approx(120 * 100 * 40)


def test_a_cylinder_in_any_direction_has_its_volume_and_no_less() -> None:
    """50 mm long and 20 mm thick: pi r² l; facets touch it from outside, within 0.01 mm of the arc."""
    space = _space(Reserved("lamp", "cylinder", (0.0, 30.0), (0.0, 40.0), (5.0, 5.0), diameter=20.0))
    true = 50 * pi * 10**2
    assert true <= _union(space).volume() <= 50 * pi * 10.01**2


def test_the_way_of_a_hand_is_a_box_along_it_level_in_width() -> None:
    space = _space(
        Reserved("hand", "hand", (0.0, 300.0), (0.0, 400.0), (650.0, 650.0), width=90.0, height=40.0)
    )
    assert _union(space).volume() == pytest.approx(500 * 90 * 40)
    assert space.pieces.low.min(axis=0)[2] == pytest.approx(630.0)
    assert space.pieces.high.max(axis=0)[2] == pytest.approx(670.0)


@pytest.mark.parametrize("corner", [(100.0, 100.0, 0.0), (100.0, 0.0, 100.0), (170.0, 70.0, 0.0)])
def test_a_cable_is_straight_lengths_and_arcs_of_its_least_bend(corner: tuple[float, float, float]) -> None:
    """Its middle has a bend of 4.5 diameters; its volume is that of the circle times the length of the middle (Pappus).

    Facets stand out by at most 0.05 mm, of the cable and of its arcs.
    """
    points = np.array([(0.0, 0.0, 0.0), (100.0, 0.0, 0.0), corner])
    x, y, z = (tuple(float(one) for one in points[:, axis]) for axis in range(3))
    space = _space(Reserved("cable", "cable", x, y, z, diameter=6.0, bend=4.0))
    ways = np.diff(points, axis=0)
    lengths = np.linalg.norm(ways, axis=1)
    turn = float(np.arccos(ways[0] @ ways[1] / lengths.prod()))
    middle = 4 * 6 + 3
    along = lengths.sum() - 2 * middle * np.tan(turn / 2) + middle * turn
    assert along * pi * 3**2 <= _union(space).volume() <= along * pi * 3.06**2 * 1.001
    assert space.bends == ()


def test_a_length_too_short_for_its_arcs_is_told_by_how_much() -> None:
    """A right angle takes 27 mm of either length: 10 mm are 17 too few; between two right angles it takes 54."""
    short = Reserved("cable", "cable", (0.0, 10.0, 10.0), (0.0, 0.0, 100.0), (0.0, 0.0, 0.0))
    ((first,),) = [[one.short for one in _space(short).bends]]
    assert first == pytest.approx(17.0)
    between = Reserved(
        "cable", "cable", (0.0, 100.0, 100.0, 200.0), (0.0, 0.0, 40.0, 40.0), (0.0, 0.0, 0.0, 0.0)
    )
    ((second,),) = [[one.short for one in _space(between).bends]]
    assert second == pytest.approx(14.0)
    (found,) = _findings(replace(between, x=(-600.0, -500.0, -500.0, -400.0), z=(400.0,) * 4), WALL)
    assert (found.rule, found.severity) == ("cable-bend", "warning")
    assert "14.0 mm too near" in found.message
    assert found.message.endswith(LOW_ALONE)


# -- who crosses it, against hulls by manifold3d
# ----------------------------------------------------------------------------------------------------


def test_who_crosses_or_takes_a_space_is_who_shares_volume_with_it() -> None:
    """Random boxes, rods and hands in and about the table; what shares less than 1 mm³ is no case."""
    assembly = build(_table())
    prepared = prepare(assembly)
    random = np.random.default_rng(16)
    still = {
        part.label: [Body(prepared.pieces[n].piece(i)) for i in range(len(prepared.pieces[n]))]
        for n, part in enumerate(assembly.parts)
        if not part.role.slides
    }
    swept = {
        path.leaf: [
            Body(prepared.movers[path.leaf].pieces.piece(i)).swept(move.start, move.end)
            for move in path.moves
            for i in range(len(prepared.movers[path.leaf].pieces))
        ]
        for path in assembly.stow_paths
    }
    met = 0
    for _ in range(sampled(12, 400)):
        at = random.uniform((-900, -700, 550), (900, 700, 720))
        on = at + random.uniform(-150, 150, 3)
        form = str(random.choice(["box", "cylinder", "hand"]))
        points = [tuple(map(float, pair)) for pair in np.array([at, on]).T]
        space = _space(Reserved("any", form, *points, diameter=30.0))
        own = Body(space.pieces.piece(0))
        wanted = {
            label
            for label, bodies in {**still, **swept}.items()
            if any((own.low < one.high).all() and (one.low < own.high).all()
                   and (own.solid ^ one.solid).volume() > 1.0 for one in bodies)
        }  # fmt: skip
        facts = facts_of_reserved(prepare(replace(assembly, reserved=(space,))))
        own_facts = [fact for fact in facts if not getattr(fact.cause, "covering", False)]
        found = {fact.parts[1] for fact in own_facts if fact.amount > 0.05}
        assert wanted >= found - set(), (space.entry, wanted, found)
        assert {fact.parts[1] for fact in own_facts} >= wanted, (space.entry, wanted)
        met += len(wanted)
    assert met > 10


# -- planted defects, and what helps
# ----------------------------------------------------------------------------------------------------


def test_three_sound_spaces_are_no_finding() -> None:
    assert _findings(TRAY, CABLE, WALL) == []


def test_a_tray_3_mm_in_a_leafs_way_is_one_finding_that_moving_it_3_mm_mends() -> None:
    table = _with(replace(TRAY, z=(600.0, 654.6)), WALL)
    (found,) = check(table, remedies=True).findings
    assert (found.rule, found.severity, found.parts, found.leaf) == (
        "space-crossed",
        "error",
        ("RES1", "L4"),
        "L4",
    )
    assert found.amount == pytest.approx(3.0, abs=0.06)
    assert "The pin tray is in the way of L4, by 3" in found.message
    assert -60 <= found.at[0] <= 60
    assert -300 <= found.at[1] <= -200
    texts = [one.text for one in found.remedies]
    assert texts[0].startswith("Move the pin tray 3")
    assert texts[0].endswith(" down")
    for remedy in found.remedies:
        assert check(changed(table, remedy.set)).findings == ()
    text = update_text(QUILTING, _given(table))
    mended = update_text(text, {one.key: one.value for one in found.remedies[0].set})
    assert check(parse_table(mended)).findings == ()


def _given(table: Table) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for number, entry in enumerate(table.reserved):
        found |= {
            f"reserved[{number}].{name}": value for name, value in vars(entry).items() if value is not None
        }
    return found


def test_a_cable_across_a_slot_blocks_its_leaf() -> None:
    """Outside of the left side, 6 mm thick at 660: out of the leaf's 651.6 to 669.3 by 11.4 down, 12.3 up."""
    across = Reserved("lamp cable", "cable", (-760.0, -760.0), (-450.0, 100.0), (660.0, 660.0))
    report = check(_with(across))
    (found,) = report.findings
    assert (found.rule, found.parts, report.verdict) == ("space-crossed", ("RES1", "L4"), "blocked")
    assert found.amount == pytest.approx(11.4, abs=0.1)
    assert "The lamp cable runs across the way of L4" in found.message
    assert found.message.endswith(LOW_ALONE)
    assert report.answers.leaves["L4"].as_drawn.verdict == "blocked"
    assert report.answers.leaves["L1"].as_drawn.verdict == "clear"


def test_a_leaf_cannot_be_pulled_out_for_a_wall() -> None:
    """L4 is 921.6 mm long: a wall at 400 mm is 521.6 too near; at 921.5 by 0.1, at 922 no more."""
    table = _with(replace(WALL, distance=400.0))
    (found,) = check(table, remedies=True).findings
    assert (found.rule, found.severity, found.parts) == ("space-crossed", "error", ("RES1", "L4"))
    assert found.amount == pytest.approx(521.6, abs=0.06)
    assert "to pull L4 out takes 92" in found.message
    assert [one.text for one in found.remedies] == ["Stand the table 922 mm from the wall"]
    assert check(changed(table, found.remedies[0].set)).findings == ()
    assert len(_findings(replace(WALL, distance=921.4))) == 1
    for side in ("front", "back", "right"):
        (other,) = _findings(replace(WALL, side=side, distance=300.0))
        assert other.parts == ("RES1", {"front": "L1", "back": "L2", "right": "L3"}[side])


def test_two_at_once_are_two_findings_each_with_its_remedy() -> None:
    tray, wall = replace(TRAY, z=(600.0, 654.6)), replace(WALL, distance=400.0)
    found = _findings(tray, wall)
    assert sorted(one.parts for one in found) == [("RES1", "L4"), ("RES2", "L4")]
    assert sorted(round(one.amount) for one in found) == [3, 522]


def test_a_cable_needs_a_hole_in_a_rib_which_is_drilled_for_it() -> None:
    table = _with(replace(CABLE, z=(660.0,) * 3, x=(-650.0, -500.0, -500.0)))
    (found,) = check(table, remedies=True).findings
    assert (found.rule, found.severity, found.parts) == ("space-taken", "warning", ("RES1", "R1"))
    assert found.message == f"The lamp cable needs a hole in R1. {LOW_ALONE}"
    assert found.remedies[0].text == "Drill 14 mm for it through R1, wide enough for its plug"
    after = changed(table, found.remedies[0].set)
    assert check(after).findings == ()
    (hole,) = build(after).by_label["R1"].shape.holes
    assert hole.diameter == 14.0
    assert [len(part.shape.holes) for part in build(after).parts if part.label in ("R2", "R3", "R5")] == [
        0,
        0,
        0,
    ]
    u_v = np.array([[hole.u, hole.v, 0.0]])
    at = build(after).by_label["R1"].placement.to_table(u_v)[0]
    assert at[1:] == pytest.approx([200.0, 660.0])


def test_a_cable_askew_through_a_rib_is_said_to_be_so() -> None:
    (found,) = _findings(Reserved("lamp cable", "cable", (-650.0, -500.0), (200.0, 240.0), (660.0, 660.0)))
    assert found.message.startswith("The lamp cable runs into R1 askew")
    assert found.message.endswith(LOW_ALONE)


def test_a_screw_in_a_space_is_found() -> None:
    """A screw whose tip stands 20 mm deep in the tray, from below."""
    assembly = build(_with(TRAY))
    screw = Fastener(
        "SCR9", "screw", np.array([0.0, -250.0, 580.0]), np.array([0.0, 0.0, 1.0]),
        Sizes(length=40.0, shank=4.0, head=8.0, head_height=3.0), ("R7", "R12"),
    )  # fmt: skip
    facts = list(facts_of_reserved(prepare(replace(assembly, fasteners=(screw,)))))
    ((rule, parts),) = [(one.rule, one.parts) for one in facts]
    assert (rule, parts) == ("space-taken", ("RES1", "SCR9"))


def test_a_space_where_a_leaf_lies_as_cover_is_found() -> None:
    (found,) = _findings(Reserved("lamp", "box", (0.0, 40.0), (0.0, 40.0), (760.0, 800.0)))
    assert (found.rule, found.severity) == ("space-crossed", "error")
    assert "lies as cover" in found.message


def test_a_leaf_may_pass_the_space_that_is_for_it() -> None:
    hand = Reserved("hand for L4", "hand", (-900.0, -700.0), (-200.0, -200.0), (640.0, 640.0), height=30.0)
    assert {one.parts for one in _findings(hand) if one.rule == "space-crossed"} == {("RES1", "L4")}
    assert not [one for one in _findings(replace(hand, leaf="L4")) if one.rule == "space-crossed"]


def test_any_sound_spaces_under_the_table_are_no_finding() -> None:
    for name in ("seed-bench", "hemming-table"):
        path = Path(__file__).parent.parent / "addon" / "examples" / f"{name}.toml"
        table = parse_table(path.read_text("utf-8"))
        before = [one.rule for one in check(table).findings]
        box = Reserved("basket", "box", (-100.0, 100.0), (-100.0, 100.0), (100.0, 300.0))
        after = check(replace(table, reserved=(box, replace(WALL, distance=2000.0)))).findings
        assert [one.rule for one in after] == before


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ('name = "a"\nx = [1]\ny = [1, 2]\nz = [1, 2]', "x (1st [[reserved]]) has 1 value; give 2 each"),
        ('name = "a"\nx = [1, 1]\ny = [1, 2]\nz = [1, 2]', "has twice the same value"),
        ('name = "a"\nform = "cable"\nx = [1, 2, 3]\ny = [1, 2]\nz = [1, 2]', "has not as many values"),
        ('name = "a"\nform = "cable"\nx = [1, 1]\ny = [1, 1]\nz = [1, 1]', "two points at one place"),
        ('name = "a"\nform = "wall"', "side (1st [[reserved]]) is missing"),
        ("x = [1, 2]\ny = [1, 2]\nz = [1, 2]", "name (1st [[reserved]]) is missing"),
    ],
)
def test_entries_refused(entry: str, words: str) -> None:
    with pytest.raises(TableFileError) as refused:
        parse_table(f"{QUILTING}\n[[reserved]]\n{entry}\n")
    assert words in str(refused.value)


def test_a_name_is_given_once_and_values_are_set_by_key() -> None:
    with pytest.raises(TableFileError, match="is given twice"):
        set_values(_with(TRAY), _given(_with(TRAY, TRAY)))
    table = set_values(_with(TRAY), {"reserved[0].x": (0.0, 100.0)})
    assert table.reserved[0].x == (0.0, 100.0)
