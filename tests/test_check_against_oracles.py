"""The check against outside libraries, on hundreds of random tables, from what is exported: see `oracles`."""

from __future__ import annotations

import contextlib
import math
from itertools import combinations
from random import Random

import manifold3d
import numpy as np
import pytest

from addon.check.clearance.kernel import Mover, StaticScene, static_overlaps
from addon.check.clearance.separation import Polytope, signed_distance, sweep
from addon.check.prepared import prepare
from addon.designs.table import build
from addon.designs.table.design import check_prepared
from addon.designs.table.parameters import Table
from addon.sizes.errors import DryAssemblyError
from addon.wood.assembly import Assembly
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Part
from addon.wood.solids.pieces import Pieces
from addon.wood.solids.solids import convex_pieces
from defects import KINDS
from plain_boxes import PlainTable
from random_tables import sound_table
from tests.large import sampled
from tests.oracles import Body, Exported, Way, exact_separation, smallest_distance
from tests.shape_bench import allowed, as_manifold, difference, union

pytestmark = pytest.mark.once

BATCHES, BATCH = sampled(2, 10), 10
"""So many tables are sound, and as many more have a defect."""
AGREES = 1e-6
"""Clearances by the project and by the libraries, mm."""
NEAR = 3.0
"""Parts farther from a leaf's way than this are measured exactly on some tables only, mm."""

Case = tuple[Table, Assembly]


@pytest.fixture(scope="module", params=range(BATCHES), ids=lambda batch: f"batch{batch}")
def batch(request: pytest.FixtureRequest) -> int:
    return request.param


@pytest.fixture(scope="module")
def sound(batch: int) -> list[Case]:
    return [sound_table(f"oracles/{batch}/{index}") for index in range(BATCH)]


@pytest.fixture(scope="module")
def with_defects(batch: int, sound: list[Case]) -> list[Case]:
    """The same tables, each with one dimension of one board cut otherwise; without those that cannot be built.

    The kinds of defects take turns.
    """
    cases = []
    for number, (table, drawn) in enumerate(sound, batch * BATCH):
        random, turn = Random(table.table.length), number % (len(KINDS) - 1)
        kinds = [*KINDS[turn:-1], *KINDS[:turn]]
        case = next(case for kind in kinds if (case := kind.inject(random, table, drawn, PlainTable(drawn))))
        with contextlib.suppress(DryAssemblyError):
            assembly = build(case.table)
            prepare(assembly)
            cases.append((case.table, assembly))
    return cases


def compare_leaves(table: Table, assembly: Assembly, within: float) -> set[str]:
    """Every leaf against every part, and what the report makes of it; the verdicts seen."""
    prepared, exported = prepare(assembly), Exported(assembly)
    report = check_prepared(table, prepared)
    ours_by_leaf = prepared.slides(assembly.stow_paths, within)
    for way, slides, result in zip(exported.ways, ours_by_leaf, report.leaves, strict=True):
        theirs = exported.clearances(way, within)
        for label, clearance in theirs.items():
            ours = min(float(slide.clearance[prepared.number[label]]) for slide in slides)
            if clearance < within:
                assert ours == pytest.approx(clearance, abs=AGREES), (way.leaf, label)
            else:
                assert ours >= within, (way.leaf, label)
        least = min(theirs.values())
        assert result.leaf == way.leaf
        assert result.clearance == pytest.approx(least, abs=AGREES)
        assert theirs[result.against] == pytest.approx(least, abs=AGREES)
        limit = table.limits.min_clearance
        assert result.verdict == ("blocked" if least < -AGREES else "tight" if least < limit else "clear")
    return {result.verdict for result in report.leaves}


def test_clearances_of_sound_tables(sound: list[Case]) -> None:
    for index, (table, assembly) in enumerate(sound):
        assert compare_leaves(table, assembly, NEAR if index else math.inf) == {"clear"}


def test_clearances_of_tables_with_a_defect(with_defects: list[Case]) -> None:
    assert len(with_defects) > BATCH / 2
    assert {"clear"} in [compare_leaves(table, assembly, NEAR) for table, assembly in with_defects]


def test_ways_at_random(sound: list[Case]) -> None:
    """Leaves on short oblique ways anywhere in the table, so that edges meet edges and corners meet faces."""
    _, assembly = sound[0]
    random = np.random.default_rng(len(assembly.parts))
    prepared, exported = prepare(assembly), Exported(assembly)
    leaf = assembly.stow_paths[0].leaf
    mover = Mover(prepared.pieces[prepared.number[leaf]])
    compared = 0
    for scale in ([30, 30, 30], [200, 200, 5], [5, 5, 100]):
        start, travel = random.normal(size=3) * scale, random.normal(size=3) * scale
        slide = prepared.scene.slide(mover, travel, start=start, threshold=20.0)
        for label, clearance in exported.clearances(
            Way(leaf, None, ((start, start + travel),)), 20.0
        ).items():
            if clearance < 20.0:
                number = prepared.number[label]
                assert slide.exact[number]
                assert slide.clearance[number] == pytest.approx(clearance, abs=AGREES), label
                compared += 1
    assert compared > 3


# -- boards that stand
# ------------------------------------------------------------------------------------------------


def placed_mesh(part: Part) -> manifold3d.Manifold:
    """A part's mesh where it stands."""
    mesh = mesh_of(part.shape)
    return manifold3d.Manifold(
        manifold3d.Mesh64(part.placement.to_table(mesh.vertices), mesh.triangles.astype(np.uint64))
    )


def compare_standing(assembly: Assembly) -> int:
    """All parts where they stand, by common volume (manifold3d) and depth; how many pairs overlap."""
    prepared, exported = prepare(assembly), Exported(assembly)
    parts = assembly.parts
    ours = {
        (parts[one.a].label, parts[one.b].label): one.depth
        for one in static_overlaps(prepared.scene)
        if max(one.a, one.b) < len(parts)  # fasteners come after the parts; screws stand in their boards
    }
    solids = {part.label: placed_mesh(part) for part in parts}
    touching = {
        (a, b) for a, b in combinations(solids, 2) if exported.boxes[a].bounds_gap(exported.boxes[b]) < AGREES
    }
    assert ours.keys() <= touching
    for a, b in touching:
        volume = (solids[a] ^ solids[b]).volume()
        if (a, b) in ours:
            depth = -smallest_distance(exported.bodies[a], exported.bodies[b])
            assert ours[a, b] == pytest.approx(depth, abs=AGREES), (a, b)
            assert volume > 1e-3, (a, b)
        else:
            assert volume < 1e-6, (a, b)
    return len(ours)


def test_no_two_parts_of_a_sound_table_overlap(sound: list[Case]) -> None:
    assert [compare_standing(assembly) for _, assembly in sound[::5]] == [0, 0]


def test_overlaps_of_ribs_that_are_too_long(sound: list[Case]) -> None:
    kind = next(kind for kind in KINDS if kind.name == "rib too long")
    for table, drawn in sound[1::5]:
        case = kind.inject(Random(table.table.length), table, drawn, PlainTable(drawn))
        assert case is not None
        assert compare_standing(build(case.table)) >= 1


def test_pieces_of_every_part_make_up_its_mesh(sound: list[Case], with_defects: list[Case]) -> None:
    shapes = {part.shape for _, assembly in sound[::5] for part in assembly.parts}
    shapes |= {assembly.by_label[table.as_cut[0].part].shape for table, assembly in with_defects}
    assert len(shapes) > 25
    for shape in shapes:
        mesh, made_up = as_manifold(mesh_of(shape)), union(convex_pieces(shape))
        assert mesh.status().name == "NoError"
        assert mesh.volume() == pytest.approx(made_up.volume(), rel=1e-9)
        # Each way to take the difference fails now and then on surfaces that coincide, but never both.
        if difference(mesh, made_up) > allowed(mesh):
            assert abs((mesh - made_up).volume()) + abs((made_up - mesh).volume()) <= allowed(mesh)


# -- exact fractions
# --------------------------------------------------------------------------------------------------


def body_of(pieces: Pieces, number: int = 0) -> Polytope:
    return Polytope.of(pieces, number)


def box(low: list[float], high: list[float]) -> Polytope:
    return body_of(Pieces.boxes(np.array([low]), np.array([high])))


def post_beside_a_window() -> Polytope:
    """The wood on one side of a chamfered window in a rib of the quilting table."""
    from addon.files.examples import EXAMPLES

    assembly = build(EXAMPLES["quilting"].table())
    rib = next(part for part in assembly.parts if part.name == "through rib")
    pieces = convex_pieces(rib.shape)
    beside = next(
        i for i, tag in enumerate(pieces.tags) if tag.cut == "window" and len(pieces.piece(i)) == 12
    )
    return body_of(pieces, beside)


POST = post_beside_a_window()
LEAF = box([0.0, 0.0, 0.0], [921.6, 364.9, 17.7])
PAIRS = {
    "box past a box": (sweep(LEAF, np.array([600.0, 0.0, 0.0])), box([950.0, 366.9, -20.0], [967.7, 400.0, 40.0])),
    "box into a box": (sweep(LEAF, np.array([600.0, 0.0, 0.0])), box([950.0, 364.7, -20.0], [967.7, 400.0, 40.0])),
    "0.1 mm too deep, a tenth no float can hold": (LEAF, box([921.5, 0.0, 0.0], [1000.0, 364.9, 17.7])),
    "on a slant into a box": (
        sweep(box([0.0, 0.0, 0.0], [40.0, 30.0, 17.7]), np.array([100.0, 7.0, 3.0])),
        box([120.0, 32.0, 15.0], [160.0, 60.0, 55.0]),
    ),
    "into a chamfered post": (
        box([0.0, 0.0, 0.0], [17.7, 30.0, 12.0]).translated(POST.vertices.mean(axis=0) + [1.0, 2.0, 9.0]),
        POST,
    ),
    "on a slant into a chamfered post": (
        sweep(
            box([0.0, 0.0, 0.0], [9.0, 8.0, 7.0]).translated(POST.vertices.min(axis=0) - [20.0, 3.0, 11.0]),
            np.array([15.0, 9.0, 7.0]),
        ),
        POST,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", PAIRS)
def test_pairs_in_exact_fractions(name: str) -> None:
    a, b = PAIRS[name]
    ours = signed_distance(a, b).distance
    assert ours == pytest.approx(exact_separation(a.vertices, b.vertices), abs=1e-11)
    assert ours == pytest.approx(Body(a.vertices).distance(Body(b.vertices)), abs=1e-9)


def test_a_scene_gives_its_parts_in_their_own_order(sound: list[Case]) -> None:
    """Pieces of one part need not follow each other: the same clearances whatever their order."""
    _, assembly = sound[0]
    prepared = prepare(assembly)
    pieces = Pieces.concatenate(prepared.pieces)
    owner = np.repeat(np.arange(len(prepared.pieces)), [len(one) for one in prepared.pieces])
    order = np.random.default_rng(0).permutation(len(owner))
    shuffled = StaticScene(pieces.select(order), owner[order], part_count=len(prepared.pieces))
    paths = assembly.stow_paths[:1]
    (slides,), (others,) = prepared.slides(paths, NEAR), prepared.slides(paths, NEAR, shuffled)
    for slide, other in zip(slides, others, strict=True):
        near = slide.clearance < NEAR
        assert (near == (other.clearance < NEAR)).all()
        np.testing.assert_allclose(slide.clearance[near], other.clearance[near], atol=1e-12)
