"""Leaves pushed through rows of openings in a physics engine (mujoco): boxes in a plane, with and without friction.

The engine knows nothing of the proof: wood is boxes, chamfers are boxes turned by their angle, the hand pushes in the
middle of the outer end, along the travel, and there is no gravity, so that the leaf takes whatever pose the push gives
it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, sin, tan
from random import Random

import mujoco
import numpy as np
import pytest

from addon.check.row.profile import SQUARE, Chamfer, Row, RowOpening
from addon.check.row.proof import RowProof, prove
from tests import row_samples
from tests.large import sampled

pytestmark = pytest.mark.once

ROWS = 160
PUSHED = sampled(20, ROWS)
"""Of each verdict, at most."""
FAR = 60.0
"""mm; how far wood reaches beside an opening."""

SKIN = 4.0
"""mm; thickness of the boxes that are chamfers, with wood behind them."""

STEP = 5e-4
"""s; contacts are stiff over two of these."""

PUSH, SPEED = 2000.0, 700.0
"""Of the leaf, whose mass is 1 t: N, and mm/s at most, by damping."""

CLEAR = 0.3
"""mm; a pose that misses by less may slip in: contacts give a few hundredths, and corners are rounded by that."""


def sample(random: Random) -> Row:
    """Three or four openings, nearly level, with chamfers at 25 to 60 degrees, and a leaf that reaches out of them."""
    thickness, face, openings = random.choice([12.0, 18.0]), 0.0, []
    for _ in range(random.randint(3, 4)):
        board = random.choice([18.0, 25.0, 40.0])
        bottom = random.uniform(-0.15, 0.15)
        rise = random.choice([0.0, random.uniform(0.5, 9.0)])
        entry = Chamfer(rise / tan(random.uniform(0.44, 1.05)), rise) if rise else SQUARE
        if entry.run > 0.6 * board:
            entry = Chamfer(0.6 * board, rise)
        openings.append(RowOpening(face, board, bottom, bottom + thickness + random.uniform(0.4, 1.2), entry))
        face += board + random.uniform(15, 90)
    end = openings[-1].end
    return Row(random.uniform(1.1, 1.4) * end, thickness, tuple(openings), end + 5)


def box(x: float, z: float, half_x: float, half_z: float, tilt: float = 0.0) -> str:
    return (
        f'<geom type="box" pos="{x!r} 0 {z!r}" size="{half_x!r} 10 {half_z!r}"'
        f' euler="0 {degrees(-tilt)!r} 0"/>'
    )


def wood(opening: RowOpening, side: int) -> list[str]:
    """Boxes below (side -1) or above (1) an opening: behind the land, behind the mouth, and the chamfer's skin."""
    edge = opening.sill if side < 0 else opening.head
    assert edge is not None
    run, rise = opening.entry.run, opening.entry.rise
    start, mouth = opening.face + run, edge + side * rise
    boxes = [box((start + opening.end) / 2, edge + side * FAR / 2, (opening.end - start) / 2, FAR / 2)]
    if run:
        boxes.append(box(opening.face + run / 2, mouth + side * FAR / 2, run / 2, FAR / 2))
        lean = atan2(-side * rise, run)
        middle = (
            opening.face + run / 2 - side * sin(lean) * SKIN / 2,
            (edge + mouth) / 2 + side * cos(lean) * SKIN / 2,
        )
        boxes.append(box(*middle, hypot(run, rise) / 2, SKIN / 2, lean))
    return boxes


def model_of(leaf: Row, friction: float) -> mujoco.MjModel:
    """The row, and the leaf on joints at the middle of its outer end: along, across, tilt (nose up is positive)."""
    boxes = [text for one in leaf.openings for side in (-1, 1) for text in wood(one, side)]
    return mujoco.MjModel.from_xml_string(f"""
        <mujoco>
          <compiler angle="degree"/>
          <option timestep="{STEP}" gravity="0 0 0" cone="elliptic" impratio="10"/>
          <default>
            <geom solref="{2 * STEP} 1" solimp="0.98 0.995 0.01" friction="{friction} 0 0" condim="3"/>
          </default>
          <worldbody>
            {"".join(boxes)}
            <body>
              <joint type="slide" axis="1 0 0" damping="{PUSH / SPEED}"/>
              <joint type="slide" axis="0 0 1"/>
              <joint type="hinge" axis="0 -1 0"/>
              <geom type="box" pos="{leaf.length / 2} 0 0" size="{leaf.length / 2} 20 {leaf.thickness / 2}" mass="1"/>
            </body>
          </worldbody>
        </mujoco>""")


@dataclass(frozen=True)
class Pushed:
    arrived: bool
    nose: float
    """x of the foremost corner, where the leaf stopped, mm."""
    tilt: float

    def at_face(self, leaf: Row, face: float) -> bool:
        """Whether an end of its nose is at a face: the foremost corner, or the one behind it when it leans."""
        return face - 0.5 < self.nose < face + leaf.thickness * abs(sin(self.tilt)) + 0.5


def push(leaf: Row, model: mujoco.MjModel, travel: float, height: float, tilt: float) -> Pushed:
    """The lower leading corner starts at (travel, height). Ends stowed, or where it gets no farther for 0.4 s."""
    data = mujoco.MjData(model)
    data.qpos[:] = (
        travel - leaf.length * cos(tilt) - leaf.thickness / 2 * sin(tilt),
        height - leaf.length * sin(tilt) + leaf.thickness / 2 * cos(tilt),
        tilt,
    )
    data.qfrc_applied[0] = PUSH
    furthest, since = -np.inf, 0
    for _ in range(400):
        mujoco.mj_step(model, data, nstep=round(0.02 / STEP))
        x, _, tilt = data.qpos
        nose = float(x + leaf.length * cos(tilt) + leaf.thickness / 2 * abs(sin(tilt)))
        if nose >= leaf.travel:
            return Pushed(True, nose, float(tilt))
        since = 0 if nose > furthest + 0.05 else since + 1
        furthest = max(furthest, nose)
        if since == 20:
            break
    return Pushed(False, nose, float(tilt))


def start(leaf: Row, rng: np.random.Generator) -> tuple[float, float, float]:
    """A pose that the first opening allows, with the nose at its far face, by no means level."""
    first = leaf.openings[0]
    slopes = np.linspace(-0.2, 0.2, 4001)
    low, high = row_samples.bounds(leaf, np.full(4001, first.end), slopes, [first])
    free = np.flatnonzero(high - low > 0.05)
    one = int(rng.choice(free))
    c = rng.uniform(low[one] + 0.02, high[one] - 0.02)
    return first.end, c + slopes[one] * first.end, float(np.arctan(slopes[one]))


def samples(verdict: str) -> list[tuple[Row, RowProof]]:
    rows = [sample(Random(seed)) for seed in range(ROWS)]
    found = [(leaf, proof) for leaf, proof in zip(rows, prove(rows), strict=True) if proof.verdict == verdict]
    return found[:PUSHED]


@pytest.mark.parametrize("friction", [0.0, 0.3])
def test_leaves_that_guide_themselves_arrive_from_any_pose(friction: float) -> None:
    rng, rows = np.random.default_rng(1), samples("guides-itself")
    assert len(rows) >= 20
    for leaf, _ in rows:
        model = model_of(leaf, friction)
        for _ in range(3):
            pose = start(leaf, rng)
            assert push(leaf, model, *pose).arrived, (leaf, pose)


@pytest.mark.parametrize("friction", [0.0, 0.3])
def test_leaves_in_a_pose_that_misses_get_stuck_at_that_opening(friction: float) -> None:
    rows = samples("needs-steering")
    stuck = 0
    for leaf, proof in rows:
        worst, snag = proof.worst_opening, proof.counterexample
        assert worst is not None
        assert snag is not None
        margin = proof.openings[worst].margin
        assert margin is not None
        if margin > -CLEAR:
            continue
        # Back along the leaf, so that neither end of the nose is at the face yet.
        back = leaf.thickness * abs(sin(snag.tilt)) + 0.5
        pushed = push(
            leaf, model_of(leaf, friction), snag.travel - back, snag.height - back * tan(snag.tilt), snag.tilt
        )
        assert not pushed.arrived, (leaf, snag)
        assert pushed.at_face(leaf, leaf.openings[worst].face), (leaf, snag, pushed)
        stuck += 1
    assert stuck >= 0.4 * len(rows)


def test_leaves_that_need_steering_stick_nowhere_but_at_openings_that_can_be_missed() -> None:
    rng = np.random.default_rng(2)
    arrived = stuck = 0
    for leaf, proof in samples("needs-steering"):
        pushed = push(leaf, model_of(leaf, 0.0), *start(leaf, rng))
        arrived += pushed.arrived
        if not pushed.arrived:
            faces = [
                one.face
                for one, proved in zip(leaf.openings, proof.openings, strict=True)
                if proved.verdict == "needs-steering"
            ]
            assert any(pushed.at_face(leaf, face) for face in faces), (leaf, pushed)
            stuck += 1
    assert stuck > arrived > 0, "a push from behind turns a leaf as far as it can"
