"""Jamming, wedging and chamfers: worked examples, and feasibility over friction cones by scipy's linear programs."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog

from addon.check.forces import jamming
from addon.check.forces.jamming import climbs, judge
from addon.check.row.profile import Chamfer, Row, RowOpening
from addon.wood.limits import Limits

# -- outside view: can forces within the friction cones hold a leaf?
# ------------------------------------------------------------------------------------------------------------


def rays(contacts, mu):
    """Wrenches (force along, force across, moment) of both edges of each contact's friction cone; columns."""
    columns = []
    for x, y, normal in contacts:
        for along in (-mu, mu):
            columns.append((along, normal, x * normal - y * along))
    return np.array(columns).T


def held(contacts, mu, push) -> bool:
    """Whether some forces in the cones of contacts (x, y, ±1 across) balance a push (wrench about the origin)."""
    cones = rays(contacts, mu)
    answer = linprog(np.zeros(cones.shape[1]), A_eq=cones, b_eq=-np.asarray(push, dtype=float))
    assert answer.status in (0, 2)  # found, or none
    return answer.status == 0


def diagonal(length, width, side=1):
    """A leaf on a lower lip ahead and an upper one behind (side 1), or turned the other way."""
    return [(length / 2, -side * width / 2, side), (-length / 2, side * width / 2, -side)]


@pytest.mark.parametrize("mu", [0.25, 0.33, 0.40])
@pytest.mark.parametrize("side", [1, -1])
def test_offset_limit_against_all_friction_forces(mu, side):
    """300 mm guided: free at 0.999 of the limit, held at 1.001, on both sides."""
    limit = float(jamming.greatest_offset(300.0, mu))
    for share, stuck in ((0.999, False), (1.001, True)):
        assert held(diagonal(300.0, 100.0, side), mu, (1, 0, -side * share * limit)) == stuck


@pytest.mark.parametrize("seed", range(25))
def test_limits_of_jamming_and_wedging_against_all_friction_forces(seed):
    random = Random(seed)
    mu, width = random.uniform(0.1, 0.8), random.uniform(10, 500)
    wedge = float(jamming.wedging_length(width, mu))
    # Beyond the wedging length only the offset counts, whatever the width.
    length = wedge * random.uniform(1.01, 5)
    limit = float(jamming.greatest_offset(length, mu))
    assert not held(diagonal(length, width), mu, (1, 0, -0.999 * limit))
    assert held(diagonal(length, width), mu, (1, 0, -1.001 * limit))
    # Up to it even a push in the middle, or a pull at the other side, may be held.
    assert held(diagonal(0.999 * wedge, width), mu, (1, 0, 0.3 * width))
    assert not held(diagonal(1.001 * wedge, width), mu, (1, 0, 0.0))


@pytest.mark.parametrize("seed", range(25))
def test_jamming_diagram_against_all_friction_forces(seed):
    """With play between, the leaf touches one side at its end and one at the mouth: four ways to be held. Beyond the
    wedging length, where the diagram holds."""
    random = Random(seed)
    mu, width = random.uniform(0.1, 0.8), random.uniform(10, 500)
    length = mu * width * random.uniform(1.05, 4)
    ways = [
        [(0.0, end * width / 2, -end), (-length, mouth * width / 2, -mouth)]
        for end in (1, -1)
        for mouth in (1, -1)
    ]
    corners = jamming.jamming_corners(length, width, mu)
    for _ in range(8):
        one, other = random.choices(corners, k=2)
        across, moment = one * random.uniform(0, 1.3) + other * random.uniform(0, 0.6)
        stuck = any(held(way, mu, (1, across, moment * width / 2)) for way in ways)
        assert bool(jamming.slides(across, moment, length, width, mu)) == (not stuck)


@pytest.mark.parametrize("seed", range(10))
def test_push_factor_against_all_friction_forces(seed):
    """The greatest push along that a corner on a chamfer can withstand for a force of 1 across."""
    random = Random(seed)
    mu, lean = random.uniform(0.1, 0.8), random.uniform(0.1, np.pi / 2)
    # The chamfer's face pushes back, along -x, and up.
    normal, tangent = np.array([-np.sin(lean), np.cos(lean)]), np.array([np.cos(lean), np.sin(lean)])
    cone = np.stack([normal - mu * tangent, normal + mu * tangent, [1.0, 0.0]], axis=1)
    answer = linprog([0, 0, -1], A_eq=cone, b_eq=[0, 1])
    factor = float(jamming.push_factor(lean, mu))
    if answer.status == 3:
        assert factor == np.inf  # locks itself
    else:
        assert factor == pytest.approx(answer.x[2])


# -- worked examples
# ------------------------------------------------------------------------------------------------------------


def test_bracket_on_a_pipe():
    """Beer and Johnston, Vector Mechanics, sample problem of the movable bracket: contacts 6 in apart on a 3 in pipe,
    mu 0.25: it holds for a load 12 in from the pipe's axis and beyond."""
    assert jamming.greatest_offset(6.0, 0.25) == 12.0
    assert jamming.least_guided_length(12.0, 0.25) == 6.0
    assert held(diagonal(6.0, 3.0), 0.25, (1, 0, -12.01))
    assert not held(diagonal(6.0, 3.0), 0.25, (1, 0, -11.99))


def test_two_to_one_rule_of_bearing_makers():
    """A linear bearing maker's note: a 10 in arm needs at least 5 in of bearing; the rule is that of mu 0.25."""
    assert jamming.least_guided_length(10.0, 0.25) == 5.0


def test_binding_ratio():
    """Arm over bearing length 1 / (2 mu), worked out by hand."""
    mu = [0.12, 0.17, 0.24, 0.25, 0.33, 0.40, 0.46, 0.5]
    assert jamming.greatest_offset(1.0, mu) == pytest.approx(
        [4.17, 2.94, 2.08, 2.00, 1.515, 1.25, 1.087, 1.00], abs=0.005
    )


def test_drawer_with_two_handles():
    """Old textbook exercise, from memory: pulled by one of two handles s apart it sticks from mu = L / s on."""
    mu = float(jamming.two_handle_friction(240.0, 600.0))
    assert mu == 0.4
    for share, stuck in ((0.999, False), (1.001, True)):
        assert held(diagonal(240.0, 500.0), share * mu, (1, 0, -300.0)) == stuck


def test_guided_length_for_an_offset_and_the_other_way_round():
    """Worked out by hand for 150 mm off the middle, and for 300 mm guided."""
    mu = [0.25, 0.33, 0.40, 0.46]
    assert jamming.least_guided_length(150.0, mu) == pytest.approx([75, 99, 120, 138])
    assert jamming.greatest_offset(300.0, mu) == pytest.approx([600, 454.5, 375, 326.1], abs=0.05)


def test_wedging_of_a_peg():
    """D. E. Whitney, J. Dyn. Sys. Meas. Control 104 (1982), worked out for radii 5 and 5.2 mm, mu 0.3: entry tilt
    sqrt(2c) 15.891 and exactly 15.942 degrees, wedging beyond 7.3456 degrees or down to 3.0 mm."""
    c = 0.2 / 5.2
    assert c == pytest.approx(0.0384615, abs=5e-8)
    assert np.degrees(np.sqrt(2 * c)) == pytest.approx(15.891, abs=5e-4)
    assert np.degrees(jamming.entry_tilt(c)) == pytest.approx(15.942, abs=5e-4)
    assert np.degrees(jamming.wedging_tilt(c, 0.3)) == pytest.approx(7.3456, abs=5e-5)
    assert jamming.wedging_length(10.0, 0.3) == pytest.approx(3.0)


def test_wedging_of_a_leaf_across_its_width():
    """The same for a leaf of 400 in 402 mm, mu 0.4: 0.7126 degrees, 160 mm, entry tilt 5.715 and exactly 5.718."""
    c = 2 / 402
    assert np.degrees(jamming.wedging_tilt(c, 0.4)) == pytest.approx(0.7126, abs=5e-5)
    assert np.degrees(np.sqrt(2 * c)) == pytest.approx(5.715, abs=5e-4)
    assert np.degrees(jamming.entry_tilt(c)) == pytest.approx(5.718, abs=5e-4)
    assert jamming.wedging_length(400.0, 0.4) == pytest.approx(160.0)


def test_jamming_diagram_of_whitney():
    """Corners (-1/mu, 2k+1), (1/mu, -1), (1/mu, -(2k+1)), (-1/mu, 1), k = l / (2 r mu), sides of slope -(k+1) mu (D. E.
    Whitney, MIT 2.875; Chin. J. Mech. Eng. 38:196). A push beside the middle slides by its rule as by the drawer's."""
    length, width, mu = 30.0, 20.0, 0.4
    ratio = length / (2 * 10.0 * mu)
    corners = jamming.jamming_corners(length, width, mu)
    assert corners == pytest.approx(
        np.array([(-2.5, 2 * ratio + 1), (2.5, -1), (2.5, -(2 * ratio + 1)), (-2.5, 1)])
    )
    upper = corners[1] - corners[0]
    assert upper[1] / upper[0] == pytest.approx(-(ratio + 1) * mu)
    offsets = float(jamming.greatest_offset(length, mu)) * np.array([-1.001, -0.999, 0.999, 1.001])
    assert jamming.slides(0.0, offsets / 10.0, length, width, mu).tolist() == [False, True, True, False]


def test_push_on_a_chamfer_of_45_degrees():
    """(1 + mu) / (1 - mu), statics of a wedge; from 90 degrees of lean and friction on it locks itself."""
    assert jamming.push_factor(np.pi / 4, [0.2, 0.3, 0.4]) == pytest.approx([1.5, 1.857, 2.333], abs=5e-4)
    assert jamming.push_factor(np.pi / 2 - np.arctan(0.4) + 1e-9, 0.4) == np.inf


def test_friction_is_that_of_the_table():
    """Within the band for bare plywood (common practice), and within what was measured on chestnut (Villar-Garcia et
    al. 2020: kinetic mean 0.33, static mean 0.46)."""
    assert Limits().friction == jamming.FRICTION
    assert 0.33 < jamming.FRICTION < 0.46
    assert 0.2 < jamming.FRICTION < 0.6


# -- a leaf in its row
# ------------------------------------------------------------------------------------------------------------


def plan(board=18.0, gap=364.0, count=2, width=400.0, length=900.0, **extra) -> Row:
    openings = tuple(RowOpening(k * (board + gap), board, -1.0, width + 1.0, **extra) for k in range(count))
    return Row(length, width, openings, 800.0)


def test_a_leaf_in_one_long_guide():
    """400 mm wide, mu 0.4, pushed anywhere on its edge: 160 mm guided or more (drawer rule), 192 near the
    wedging limit, 320 with a clear margin; wedging in the first 160 mm (Whitney's l <= mu d)."""
    own = judge(plan(board=700.0, count=1), mu=0.4)
    found = own.anywhere_from
    assert (found.plain, found.near, found.clear) == pytest.approx((160.0, 192.0, 320.0))
    assert own.wedging == ((0.0, pytest.approx(160.0)),)
    assert own.home_length == 700.0
    assert own.home_offset.plain == pytest.approx(875.0)
    assert own.home_offset.clear == pytest.approx(437.5)


def test_a_thin_board_guides_thickness_well_and_width_badly():
    """Leaf of 18 mm in an 18 mm board, mu 0.4: wedging in the first 7.2 mm only; across its 400 mm it may wedge until
    the next opening holds it too."""
    side = judge(
        Row(900.0, 18.0, (RowOpening(0, 18.0, 0.0, 18.5), RowOpening(382, 18.0, 0.0, 18.5)), 800.0), mu=0.4
    )
    assert side.wedging == ((0.0, pytest.approx(7.2)),)
    own = judge(plan(), mu=0.4)
    assert own.wedging == ((0.0, 382.0),)
    assert own.anywhere_from.plain == own.anywhere_from.near == own.anywhere_from.clear == 382.0
    assert judge(plan(), mu=0.8).anywhere_from.clear is None  # 400 mm guided, 640 wanted


def test_phases_of_a_leaf():
    """Entry in the first board, then held by two; one handle: e < L / (2 mu), twice the length for a clear margin."""
    own = judge(plan(), mu=0.4)
    assert [(one.name, one.start, one.stop) for one in own.phases] == [("entry", 0, 382), ("held", 382, 800)]
    entry, at_two = own.phases
    assert (entry.least, entry.greatest, at_two.least, at_two.greatest) == (0, 18, 382, 400)
    assert at_two.offset.plain == pytest.approx(382 / 0.8)
    assert at_two.offset.clear == pytest.approx(382 / 1.6)
    assert own.seated == 18.0
    assert own.offset.plain == pytest.approx(18 / 0.8)
    assert own.offset.near == pytest.approx(18 / 0.96)  # 18 mm are less than 1.2 mu w


def test_a_narrower_hand_needs_less():
    """Pushed within 100 mm of the middle: mu 0.4 needs 80 mm of guide (e = 100, L > 2 mu e)."""
    assert judge(plan(board=700.0, count=1), width=200.0, mu=0.4).anywhere_from.plain == pytest.approx(80.0)


def test_edges_on_one_side_only_do_not_guide():
    ceiling = RowOpening(0, 18.0, None, 18.5)
    own = judge(Row(900.0, 18.0, (ceiling,), 100.0))
    assert [one.name for one in own.phases] == ["unguided"]
    assert own.anywhere_from.plain is None
    assert own.wedging == ()


def test_the_near_factor_lies_between_the_plain_rule_and_the_clear_one():
    for length in np.linspace(1, 500, 40):
        plain, near, clear = (
            float(jamming.greatest_offset(length, 0.4)),
            float(jamming.prudent_offset(length, 400.0, 0.4)),
            float(jamming.greatest_offset(length / jamming.CLEAR, 0.4)),
        )
        assert clear < near <= plain
        # Near the wedging limit of 160 mm it is a fifth more guide for the same offset.
        assert near == pytest.approx(plain / 1.2 if length <= 192.0 else plain)


def test_climbs():
    """The steeper of the two chamfers counts; square against square nothing climbs (wedge statics)."""
    row = Row(
        900.0,
        18.0,
        (
            RowOpening(0, 18.0, 0.0, 18.5, Chamfer(3.0, 3.0)),
            RowOpening(100, 18.0, 0.0, 18.5),
            RowOpening(200, 18.0, 0.0, 18.5, Chamfer(3.0, 9.0)),
        ),
        800.0,
        Chamfer(4.0, 2.0),
    )
    first, square, steep = climbs(row, 0.4)
    assert first.factor == pytest.approx(1.4 / 0.6)
    assert np.tan(square.lean) == pytest.approx(0.5)
    assert square.factor == pytest.approx((0.5 + 0.4) / (1 - 0.5 * 0.4))  # tan of a sum
    assert not steep.climbs  # tan 3, 71.6 and 21.8 degrees
    bare = Row(900.0, 18.0, row.openings[1:2], 800.0)
    assert (climbs(bare)[0].lean, climbs(bare)[0].climbs) == (np.pi / 2, False)
