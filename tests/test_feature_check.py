"""Which parts are refused, and that the verdict agrees with distances that manifold3d measures."""

from __future__ import annotations

import numpy as np
import pytest

from addon.sizes.errors import PartError
from addon.sizes.tolerances import ARC
from addon.wood.features import Bevel, EdgeTreatment, Groove, Hole, Opening
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Shape, rectangle
from addon.wood.sound import check_features
from addon.wood.sound.angled_check import LEAST_WEB
from addon.wood.sound.outline_check import is_plain, is_surely_sound
from tests.large import sampled
from tests.shape_bench import cuts_of, random_shape

BOARD = rectangle(1500.0, 144.0)
THICK = 17.7


def window(u0: float, u1: float, v0: float = 40.0, v1: float = 90.0, r: float = 3.0) -> Opening:
    """A window with 2 mm chamfers."""
    return Opening(u0, u1, v0, v1, r, 2.0, 2.0)


REFUSED = {
    "window window": (
        Shape(BOARD, THICK, (window(100, 400), window(403, 500))),
        ["the 1st window runs into the 2nd window"],
    ),
    "slot of a leaf": (
        Shape(BOARD, THICK, (Opening(0.5, 90.0, 40.0, 60.0, kind="slot", leaf="L2"), Hole(91.0, 50.0, 5.0))),
        ["slot for L2", "the hole by 1.52 mm;"],
    ),
    "window hole": (Shape(BOARD, THICK, (window(100, 400), Hole(404.0, 60.0, 5.0))), ["window", "hole"]),
    "hole hole": (
        Shape(BOARD, THICK, (Hole(50.0, 50.0, 8.0), Hole(57.0, 50.0, 6.0))),
        ["the 1st hole runs into the 2nd hole"],
    ),
    "hole half in a groove": (
        Shape(BOARD, THICK, (Groove(0.0, 1500.0, 50.0, 60.0, 6.0), Hole(50.0, 60.0, 6.0))),
        ["groove", "hole"],
    ),
    "grooves through": (
        Shape(
            BOARD, THICK, (Groove(0.0, 1500.0, 5.0, 15.0, 9.0), Groove(50.0, 60.0, 0.0, 144.0, 8.7, "back"))
        ),
        ["the 1st groove runs into the 2nd groove"],
    ),
    "a chamfer of 2 leaves the board, a window 1 within it does not": (
        Shape(BOARD, THICK, (window(100, 400, v0=1.0),)),
        ["the chamfer around the window runs out of the board; make it smaller"],
    ),
    "window crosses the end": (
        Shape(BOARD, THICK, (window(-5, 400),)),
        ["the window runs out of the board; move it or make it smaller"],
    ),
    "chamfered edge": (
        Shape(BOARD, THICK, (window(100, 400, v0=8.0), EdgeTreatment(0, "front", "chamfer", 7.0))),
        ["out of the board"],
    ),
    "notch wider than the end": (
        Shape(BOARD, THICK, (Opening(1300.0, 1500.0, -5.0, 90.0, open_end="end"),)),
        ["window", "end of the board"],
    ),
    "corners too round": (Shape(BOARD, THICK, (window(100, 400, r=26.0),)), ["radius 26"]),
    "chamfer deeper than the board": (
        Shape(BOARD, THICK, (Opening(100.0, 400.0, 40.0, 90.0, front_chamfer=17.7),)),
        ["chamfer of 17.7"],
    ),
    "groove through the board": (Shape(BOARD, THICK, (Groove(0.0, 9.0, 0.0, 9.0, 17.7),)), ["17.7 mm deep"]),
    "groove beside the board": (Shape(BOARD, THICK, (Groove(0.0, 9.0, 144.0, 150.0, 5.0),)), ["outside"]),
    "hole through the edge": (Shape(BOARD, THICK, (Hole(3.0, 50.0, 6.0),)), ["hole", "out of the board"]),
    "no such edge": (Shape(BOARD, THICK, (EdgeTreatment(4, "front", "chamfer", 2.0),)), ["edge 4"]),
    "stop before start": (
        Shape(BOARD, THICK, (EdgeTreatment(0, "front", "chamfer", 2.0, 90.0, 80.0),)),
        ["start before it stops"],
    ),
    "one edge cut twice": (
        Shape(BOARD, THICK, (*(EdgeTreatment(0, "back", k, 2.0) for k in ("chamfer", "round-over")),)),
        ["twice"],
    ),
    "treatments that meet": (
        Shape(BOARD, THICK, (*(EdgeTreatment(0, f, "chamfer", 9.0) for f in ("front", "back")),)),
        ["meets the chamfer"],
    ),
    "two bevels": (Shape(BOARD, THICK, (Bevel(0, 1.0, 0.0), Bevel(0, 0.0, 1.0))), ["one bevel"]),
    "bevels that meet": (
        Shape(BOARD, THICK, (Bevel(0, 80.0, 0.0), Bevel(2, 80.0, 0.0))),
        ["nothing is left"],
    ),
    "clockwise": (Shape(((0.0, 0.0), (0.0, 9.0), (9.0, 9.0), (9.0, 0.0)), 5.0), ["counter-clockwise"]),
    "crossed": (Shape(((0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 12.0)), 5.0), ["crosses"]),
    "spike": (
        Shape(((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (10.0, 5.0), (10.0, 20.0), (0.0, 20.0)), 5.0),
        ["crosses or touches itself"],
    ),
    "not a number": (Shape(((0.0, 0.0), (10.0, 0.0), (10.0, float("nan"))), 5.0), ["finite"]),
    "no thickness": (Shape(BOARD, 0.0), ["thickness"]),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_a_sentence_that_names_all(name: str) -> None:
    shape, words = REFUSED[name]
    with pytest.raises(PartError) as refusal:
        check_features(shape, "R3")
    text = str(refusal.value)
    assert text.startswith("R3: ")
    assert text.endswith(".")
    for word in words:
        assert word in text


ACCEPTED = {
    "windows apart by their chamfers": Shape(BOARD, THICK, (window(100, 400), window(404.1, 500))),
    "window above a groove": Shape(BOARD, THICK, (window(100, 400), Groove(0.0, 1500.0, 92.1, 100.0, 6.0))),
    "chamfer that stops before the window": Shape(
        BOARD, THICK, (window(100, 400, v0=8.0), EdgeTreatment(0, "front", "chamfer", 7.0, 500.0, 700.0))
    ),
    "groove over both ends": Shape(BOARD, THICK, (Groove(-5.0, 1510.0, 50.0, 60.0, 6.0),)),
    "crossing grooves": Shape(
        BOARD, THICK, (Groove(0.0, 1500.0, 50.0, 60.0, 6.0), Groove(20.0, 30.0, 0.0, 144.0, 8.0))
    ),
    "holes in a groove": Shape(
        BOARD,
        THICK,
        (
            Groove(0.0, 1500.0, 50.0, 60.0, 6.0),
            Hole(40.0, 55.0, 5.0),
            Hole(80.0, 55.0, 5.0, 10.0),
            Hole(120.0, 55.0, 5.0, 3.0),
        ),
    ),
    "window groove": Shape(BOARD, THICK, (window(100, 400), Groove(0.0, 1500.0, 91.0, 100.0, 6.0))),
    "blind holes back to back": Shape(
        BOARD, THICK, (Hole(40.0, 50.0, 5.0, 8.0), Hole(40.0, 50.0, 5.0, 9.0, "back"))
    ),
    "straight corner": Shape(((0.0, 0.0), (5.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)), 5.0),
}


@pytest.mark.parametrize("name", ACCEPTED)
def test_accepted(name: str) -> None:
    check_features(ACCEPTED[name])
    assert mesh_of(ACCEPTED[name]).volume > 0.0


def test_the_sentence_stands_alone_without_a_label() -> None:
    said = r"The 1st window runs into the 2nd window by \S+ mm; move either away by more than that, or make one so much"
    with pytest.raises(PartError, match=rf"^{said} smaller\.$"):
        check_features(REFUSED["window window"][0])


@pytest.mark.once
@pytest.mark.parametrize("seed", range(sampled(1, 3)))
def test_verdict_on_pairs_agrees_with_the_gap_between_the_voids(seed: int) -> None:
    """Two cuts in a wide board: refused exactly where manifold3d finds less than the least web between them, but for a
    groove and an opening, which may meet."""
    rng = np.random.default_rng(seed)
    refused = accepted = 0
    for _ in range(sampled(100, 250)):
        shape = _two_cuts(rng)
        first, second = cuts_of(shape)
        gap = first.min_gap(second, 1.0) if (first ^ second).volume() < 1e-9 else 0.0
        if LEAST_WEB - 1e-6 < gap < LEAST_WEB + 2 * ARC + 1e-6:
            continue  # facets stand out of the arcs by up to `ARC`, so the verdict may go either way
        sentence = ""
        try:
            check_features(shape)
        except PartError as error:
            sentence = str(error)
        may_meet = bool(shape.grooves) and bool(shape.openings)
        assert bool(sentence) == (gap < LEAST_WEB + ARC and not may_meet), shape
        assert "runs into" in sentence or not sentence
        refused, accepted = refused + bool(sentence), accepted + (not sentence)
    assert refused > sampled(15, 40)
    assert accepted > sampled(15, 40)


def _two_cuts(rng: np.random.Generator) -> Shape:
    """Two openings, holes or grooves that lie about as near to one another as they are wide."""
    openings, holes, grooves = [], [], []
    for middle in (100.0, 100.0 + float(rng.uniform(10, 40))):
        u, v = middle, 100.0 + float(rng.uniform(-20, 20))
        kind = rng.integers(3) if not grooves else rng.integers(2)
        depth = float(rng.uniform(2, 9))
        face = "front" if rng.random() < 0.5 else "back"
        if kind == 0:
            half_u, half_v = rng.uniform(4, 15, 2).tolist()
            radius = float(rng.choice([0.0, min(half_u, half_v) * rng.uniform(0.1, 1.0)]))
            chamfers = rng.uniform(0, 4, 2).tolist()
            openings.append(Opening(u - half_u, u + half_u, v - half_v, v + half_v, radius, *chamfers))
        elif kind == 1:
            holes.append(Hole(u, v, float(rng.uniform(5, 30)), depth if rng.random() < 0.5 else None, face))
        else:
            half_u, half_v = rng.uniform(4, 15, 2).tolist()
            grooves.append(Groove(u - half_u, u + half_u, v - half_v, v + half_v, depth, face))
    return Shape(rectangle(300.0, 200.0), 12.0, (*openings, *grooves, *holes))


def test_what_passes_unseen_has_a_sound_section() -> None:
    """The short cut for plain boards lets nothing through that the sections would refuse."""
    rng = np.random.default_rng(7)
    seen, wanted = 0, sampled(50, 150)
    while seen < wanted:
        shape = random_shape(rng)
        try:
            check_features(shape)
        except PartError:
            continue
        if (
            is_plain(shape.outline)
            and is_surely_sound(shape)
            and (shape.edges or shape.bevels or shape.grooves)
        ):
            mesh_of(shape)  # raises PartError if a section is not sound
            seen += 1
    assert seen == wanted


def test_a_notch_past_a_corner_is_said_so() -> None:
    """A board 144 wide; the notch at its start would reach to 150."""
    notch = Opening(-1.0, 90.0, 100.0, 150.0, 3.0, 2.0, 2.0, kind="window", leaf="L1", open_end="start")
    with pytest.raises(PartError) as refusal:
        check_features(Shape(BOARD, THICK, (notch,)), "R11")
    assert str(refusal.value) == (
        "R11: the window for L1 is open at the start of the board, but reaches past a corner there:"
        " move it or make it smaller."
    )
