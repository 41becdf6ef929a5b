"""Kinds of legs: their boards and cuts against values by hand and manifold3d, their joints, and what the check sees.

By hand for the quilting table: inner faces of the sides at ±732.3 and ±462.3, boards of 17.7, the bottom panel's
underside at 700.5, the body's lower edge at 628.1; legs 60 wide. mm.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from addon.designs.findings import Change
from addon.designs.table.build import build
from addon.designs.table.design import check
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.sizes.errors import ParameterError
from addon.wood.assembly import Assembly
from addon.wood.meshes.mesh import mesh_of
from tests.oracles import mesh_solid

pytestmark = pytest.mark.once

KINDS = ("corner", "bolted", "laminated", "plain")
SHAPED = {
    "legs.taper": "four",
    "legs.taper_amount": 6.0,
    "legs.edge": "round-over",
    "legs.leveling_feet": True,
}


@cache
def built(kind: str, shaped: bool = False, name: str = "quilting") -> Assembly:
    return build(set_values(EXAMPLES[name].table(), {"legs.kind": kind, **(SHAPED if shaped else {})}))


@pytest.mark.parametrize("shaped", [False, True])
@pytest.mark.parametrize("name", ["quilting", "seed-bench"])
@pytest.mark.parametrize("kind", KINDS)
def test_a_table_with_legs_of_any_kind_is_clear_and_guides_itself(kind: str, name: str, shaped: bool) -> None:
    table = set_values(EXAMPLES[name].table(), {"legs.kind": kind, **(SHAPED if shaped else {})})
    report = check(table, built(kind, shaped, name))
    # Screws from outside into a plain leg of the bench are nearer to its end than the NDS asks for.
    assert {one.rule for one in report.findings} <= ({"near-edge"} if kind == "plain" else set())
    assert {one.verdict for one in report.leaves} == {"clear"}
    assert report.answers.table.by_hand.verdict == "guides-itself"


@pytest.mark.parametrize("kind", KINDS)
def test_tapered_boards_are_sound_solids_that_share_no_wood(kind: str) -> None:
    """Meshes are closed and have the volume that manifold3d finds; no two boards of a leg and its body overlap."""
    table = built(kind, True)
    solids = {}
    for part in table.parts:
        mesh = mesh_of(part.shape)
        solids[part.label] = mesh_solid(part.placement.to_table(mesh.vertices), mesh.triangles)
        if part.role.word == "leg":
            assert solids[part.label].volume() == pytest.approx(mesh.volume)
    legs = [part.label for part in table.with_role("leg", "foot", "block")]
    others = [*legs, *(part.label for part in table.with_role("side", "bottom", "rib"))]
    for at, one in enumerate(legs):
        for other in others[at + 1 :]:
            assert (solids[one] ^ solids[other]).volume() < 1e-3, (one, other)


def test_a_plain_leg_tapered_on_four_faces_has_the_volume_of_prism_and_frustum() -> None:
    """60 square down to 48 over 400 of its 700.5: a frustum, as a handbook has it, below a prism."""
    changes = {"legs.kind": "plain", "legs.taper": "four", "legs.taper_amount": 6.0}
    table = build(set_values(EXAMPLES["quilting"].table(), changes))
    low, high = 48.0**2, 60.0**2
    volume = 400 / 3 * (low + high + (low * high) ** 0.5) + 300.5 * high
    for leg in table.with_role("leg"):
        assert mesh_of(leg.shape).volume == pytest.approx(volume)


def test_two_bolts_hold_each_bolted_leg_in_its_block() -> None:
    """By hand: 35 of bolt within 35.4 of wood; a quarter and three quarters up 72.4; in the middle of 17.7 to 60."""
    table = built("bolted")
    bolts = [one for one in table.fasteners if one.kind == "bolt"]
    assert len(bolts) == 8
    for one in bolts:
        leg, block = (table.by_label[label] for label in one.joins)
        assert (leg.role.word, block.role.word) == ("leg", "block")
        assert one.sold_length == pytest.approx(35.0)
        assert abs(abs(one.tip[0]) - 732.3) == pytest.approx(0.4)
        assert abs(one.tip[1]) == pytest.approx(462.3 - 38.85)
        assert min(abs(one.tip[2] - at) for at in (628.1 + 18.1, 700.5 - 18.1)) == pytest.approx(
            0.0, abs=1e-9
        )
    held = {(one.a[:3], one.b[:3], one.fastening) for one in table.joints if one.fastening == "bolt"}
    assert held == {("LEG", "BLK", "bolt")}


def test_a_bolt_needs_room_for_itself_and_a_wrench_and_no_driver() -> None:
    """A bolt of 35 stays in its leg of 17.7 and comes 17.3 back, out of the block; 10 more for wrench and fingers.

    Eight leaves: through ribs beside their ways stand some 10 mm behind the bolts; six leave 31.3, two more.
    """
    for count, rules in ((8, ["no-driver"]), (6, []), (2, [])):
        text = f'format = 4\n[leaves]\ncount = {count}\n[legs]\nkind = "bolted"'
        found = check(parse_table(text), remedies=True).findings
        assert [one.rule for one in found] == rules
        for one in found:
            assert one.amount == pytest.approx(27.3 - 10.2, abs=0.05)
            assert one.remedies[0].set == (Change("legs.kind", "corner"),)


def test_the_channel_of_a_laminated_leg_takes_the_thickest_side() -> None:
    """17.7 in the mean, half of 0.6 more at its thickest, and half the fit allowance of 0.2: 18.1."""
    table = built("laminated")
    legs = table.with_role("leg")
    for wall, axis, side in ((732.3, 0, "short side"), (462.3, 1, "long side")):
        found = [
            {
                part.kind: np.sort(np.abs([end[axis] for end in part.box]))
                for part in legs
                if part.which == (corner, side)
            }
            for corner in ("front left", "front right", "back left", "back right")
        ]
        for one in found:
            assert one["inner board"][1] == pytest.approx(wall)
            assert one["outer board"][0] - wall == pytest.approx(18.1)
    cores = [part for part in table.with_role("leg") if part.kind == "core board"]
    assert {round(float(part.box[1][2]), 6) for part in cores} == {628.1}


def test_leveling_feet_lift_all_legs_off_the_floor_alike() -> None:
    for kind in KINDS:
        table = built(kind, True)
        assert {float(part.box[0][2]) for part in table.with_role("leg", "foot")} == {15.0}
        pads = [one for one in table.fasteners if one.kind == "leveling foot"]
        assert [float(one.box[0][2]) for one in pads] == [0.0] * 4


def test_a_taper_that_leaves_nothing_is_refused() -> None:
    table = set_values(EXAMPLES["quilting"].table(), {"legs.kind": "plain", "legs.taper": "four"})
    with pytest.raises(ParameterError, match=r"legs\.taper_amount = 40 mm .* use at most 29\.5 mm"):
        build(set_values(table, {"legs.taper_amount": 40.0}))


@pytest.mark.parametrize("units", ["mm", "in"])
def test_new_tables_have_two_boards_in_each_corner(units: str) -> None:
    assert parse_table(f'format = 4\nunits = "{units}"').legs.kind == "corner"


def test_an_inner_board_in_a_way_is_seen_and_narrower_legs_clear_it() -> None:
    """Arms that reach 8 mm farther than the edge of a leaf that goes in through the front stand in its way."""
    table = set_values(EXAMPLES["quilting"].table(), {"legs.kind": "laminated"})
    leaf = build(table).by_label["L1"].box
    edge = 732.3 - max(abs(float(leaf[0][0])), abs(float(leaf[1][0])))
    blocking = set_values(table, {"legs.width": edge + 4.0 + 8.0})
    report = check(blocking, remedies=True)
    found = [one for one in report.findings if one.rule == "leaf-blocked"]
    assert found
    (change,) = found[0].remedies[0].set
    assert change.key == "legs.width"
    after = check(set_values(blocking, {change.key: change.value}))
    assert not [one for one in after.findings if one.rule == "leaf-blocked"]
