"""The exploded view on paper: by shapely, and by rays from the eye."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace

import numpy as np
import pytest
import shapely

from addon.check.apart.blocking import DIRECTIONS, VECTORS
from addon.check.progress import run_through
from addon.command_line.main import main
from addon.designs.table import build
from addon.files.examples import EXAMPLES
from addon.paper.exploded_page import exploded_page, exploded_steps, unit_texts
from addon.paper.exploded_parts import GAP, places_at_the_end, ways_home
from addon.paper.lines.hidden import seen_through_air
from addon.paper.lines.seen import surface_of
from addon.paper.part_labels import _LINE as LEADER
from addon.paper.sheet.items import Stroke
from addon.paper.views import view_from
from addon.wood.assembly import Assembly
from addon.wood.features import Hole
from addon.wood.part import Shape, rectangle
from addon.wood.same import alike_units
from tests.large import sampled
from tests.line_samples import box, free_way, triangles_of
from tests.test_line_pictures import first_met

pytestmark = [pytest.mark.once, pytest.mark.usefixtures("worked_out_once")]

VIEWS = ("isometric", "below")
STEP = sampled(2, 1)
"""Of the points that are looked at on each triangle, in sixths of its sides."""


@pytest.fixture(scope="module")
def pages():
    found = {}
    for example in EXAMPLES:
        table = build(EXAMPLES[example].table())
        for view in VIEWS:
            for once in (False, True):
                page = run_through(exploded_page(table, view=view, once=once, labels=True))
                found[example, view, once] = table, page, run_through(page.drawing("2031-05-17"))
    return found


cases = pytest.mark.parametrize("once", [False, True], ids=["all", "once"])
views = pytest.mark.parametrize("view", VIEWS)
examples = pytest.mark.parametrize("example", EXAMPLES)


def corners_of(page, labels) -> tuple[np.ndarray, list[str]]:
    """(m, 3, 3) triangles in the view's axes, and the label of each one's part."""
    table, places = page.explosion.order.assembly, places_at_the_end(page.explosion, labels)
    each = [triangles_of([table.by_label[label]], places) @ page.view.axes.T for label in labels]
    return np.concatenate(each), [
        label for label, own in zip(labels, each, strict=True) for _ in range(len(own))
    ]


def outside_of_insets(drawing, page):
    """Labels and leaders of the table itself: those of insets come before, two to each."""
    labels = [(item.text, shapely.box(*box)) for item, box in drawing.texts() if item.name == "label"]
    leaders = [one.paths[0] for one in drawing.items if isinstance(one, Stroke) and one.pen == LEADER]
    assert len(labels) == len(leaders)
    first = sum(len(inset.kind.first) for inset in page.insets)
    return labels[first:], leaders[first:]


@cases
@views
@examples
def test_labels_point_at_their_units_and_leaders_do_not_cross(pages, example, view, once):
    _, page, drawing = pages[example, view, once]
    labels, leaders = outside_of_insets(drawing, page)
    lines, words = [shapely.LineString(path) for path in leaders], [box for _, box in labels]
    for number, (line, word) in enumerate(zip(lines, words, strict=True)):
        assert not any(line.intersects(other) for place, other in enumerate(lines) if place != number)
        assert not any(word.intersects(other) for place, other in enumerate(words) if place != number)
        assert not any(line.intersects(other) for place, other in enumerate(words) if place != number)
    corners, owner = corners_of(page, page.shown)
    spots = (np.array([path[-1] for path in leaders]) - page.layout.place) / page.layout.scale
    for (text, _), spot in zip(labels, spots, strict=True):
        assert owner[first_met(corners, spot)] in text.split()[0].split("+")
    units = {page.texts[label] for label in page.shown}
    assert {text for text, _ in labels} <= units
    assert len(labels) >= 0.85 * len(units)


@cases
@views
@examples
def test_all_lies_on_the_sheet_and_nothing_on_something_else(pages, example, view, once):
    _, page, drawing = pages[example, view, once]
    left, bottom, right, top = page.layout.sheet.frame
    block = shapely.box(*page.layout.sheet.block)
    inset = shapely.box(
        *np.concatenate([f(drawing.named("inset")[0].paths[0], axis=0) for f in (np.min, np.max)])
    )
    labels, leaders = outside_of_insets(drawing, page)
    drawn = shapely.box(*page.layout.box)
    for one in (drawn, *(word for _, word in labels), *(shapely.LineString(path) for path in leaders)):
        assert one.within(shapely.box(left, bottom, right, top))
        assert not one.intersects(block)
        assert not one.intersects(inset)


@examples
def test_every_unit_is_well_seen_in_one_of_the_views(pages, example):
    """By rays toward the eye from points all over the largest faces of its parts."""
    shares = np.array([[i, j, 6 - i - j] for i in range(1, 5, STEP) for j in range(1, 6 - i, STEP)]) / 6
    best: dict[tuple[str, ...], float] = {}
    for view in VIEWS:
        _, page, _ = pages[example, view, False]
        corners, owner = corners_of(page, page.shown)
        for labels in page.explosion.order.units.members:
            own = corners[[label in labels for label in owner]]
            one, two = own[:, 1] - own[:, 0], own[:, 2] - own[:, 0]
            area = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
            points = np.einsum("sk,tkj->tsj", shares, own[np.argsort(-area)[:6]]).reshape(-1, 3)
            aside = np.tile([1.0, 0.0, 0.0], (len(points), 1))
            seen = free_way(points, aside, np.array([0.0, 0.0, 1.0]), corners).mean()
            best[labels] = max(seen, best.get(labels, 0.0))
    assert min(best.values()) > 0.3


@views
@examples
def test_gaps_are_measured_on_the_paper(pages, example, view):
    """Between the boxes of a unit and what it hangs on, along the way that it takes."""
    _, page, _ = pages[example, view, False]
    explosion = page.explosion
    units, offsets = explosion.order.units, explosion.offsets
    tight = 0
    for one in explosion.order.graph.departures:
        along = VECTORS[one.direction]
        low, high = units.low + offsets, units.high + offsets
        ends = np.stack([low[one.unit] @ along, high[one.unit] @ along])
        other = np.stack([low[one.parent] @ along, high[one.parent] @ along])
        seen = np.hypot(*(page.view.axes[:2] @ along)) * page.layout.scale * (ends.min() - other.max())
        assert seen > GAP - 1e-6, DIRECTIONS
        tight += seen < GAP + 1e-6
    assert tight >= 3


@views
@examples
def test_lines_run_along_the_ways_through_the_air(pages, example, view):
    """Each piece is straight along a way that some unit takes."""
    _, page, drawing = pages[example, view, False]
    (strokes,) = [one for one in drawing.named("ways") if len(one.paths) > 2]
    flat = [page.view.axes[:2] @ VECTORS[one.direction] for one in page.explosion.order.graph.departures]
    for start, end in strokes.paths:
        assert any(abs(np.cross(end - start, way)) < 1e-6 for way in flat)
    assert len(strokes.paths) >= len(page.explosion.order.units) / 2


@views
@examples
def test_lines_are_drawn_where_nothing_is_before_them(pages, example, view):
    """By rays toward the eye from the middles of all pieces, of those drawn and of those left out."""
    _, page, _ = pages[example, view, False]
    corners, _ = corners_of(page, page.shown)
    table = page.explosion.order.assembly
    surface = surface_of(table.parts, page.view.axes, places_at_the_end(page.explosion, page.shown))
    ways = ways_home(page.explosion, page.shown) @ page.view.axes.T
    pieces = seen_through_air(surface, ways)
    drawn, left_out = [], []
    for start, end in ways:
        along = end - start
        shares = [
            sorted((piece - start) @ along / (along @ along))
            for piece in pieces
            if np.abs(np.cross(piece - start, along)).max() < 1e-6 * (along @ along)
        ]
        shares = [(a, b) for a, b in shares if a > -1e-9 and b < 1 + 1e-9]
        cuts = sorted([(0.0, 0.0), *map(tuple, shares), (1.0, 1.0)])
        drawn += [start + (a + b) / 2 * along for a, b in shares]
        gaps = [(a, b) for (_, a), (b, _) in itertools.pairwise(cuts) if b - a > 1e-6]
        left_out += [start + (a + b) / 2 * along for a, b in gaps]
    assert len(drawn) == len(pieces) > 20
    for points, expected in ((drawn, True), (left_out, False)):
        aside = np.tile([1.0, 0.0, 0.0], (len(points), 1))
        assert (free_way(np.array(points), aside, np.array([0.0, 0.0, 1.0]), corners) == expected).all()
    assert left_out


NOT_OVER = {
    "quilting": ("BLK1", "BLK2", "BLK3", "BLK4"),
    "seed-bench": ("FOOT1", "FOOT2", "FOOT3", "FOOT4"),
}
"""What has no wood before it on its way home: legs' blocks that come from the side, below the panel that they are glued
to, and foot blocks that come up between the boards of their legs."""


@views
@examples
def test_lines_go_from_wood_to_wood(pages, example, view):
    """A little farther at either end they are in a convex piece of the unit, and of what it hangs on."""
    _, page, _ = pages[example, view, False]
    explosion = page.explosion
    blocking, units, graph = explosion.order.blocking, explosion.order.units, explosion.order.graph
    ways = ways_home(explosion, page.shown)
    beside = [one for one in graph.departures if units.members[one.unit][0] not in NOT_OVER[example]]
    assert len(beside) == len(graph.departures) - 4
    assert len(ways) == len(beside)

    def inside(point, unit) -> bool:
        at_home = point - explosion.offsets[unit]
        pieces = [blocking.pieces[blocking.number[label]] for label in units.members[unit]]
        planes = [one.piece_planes(number) for one in pieces for number in range(len(one))]
        return any((one[:, :3] @ at_home < one[:, 3] - 1e-6).all() for one in planes)

    for (start, end), one in zip(ways, beside, strict=True):
        farther = 0.01 * VECTORS[one.direction]
        assert np.allclose(np.cross(end - start, farther), 0.0)
        assert inside(end + farther, one.unit)
        assert inside(start - farther, one.parent)


def test_a_line_ends_where_it_goes_into_a_face():
    """Toward the eye over a block, and down into its upper face: at 40 of 60 mm, by the intercept theorem."""
    surface = surface_of([box((200, 200, 40))], view_from("top").axes)
    seen = seen_through_air(surface, np.array([[(90.0, 100.0, 80.0), (120.0, 100.0, 20.0)]]))
    np.testing.assert_allclose(seen, [[(90.0, 100.0, 80.0), (110.0, 100.0, 40.0)]], atol=1e-6)
    assert not len(seen_through_air(surface, np.array([[(90.0, 100.0, 30.0), (120.0, 100.0, 20.0)]])))


LEGS = {
    "quilting": ("LEG1+LEG2", "LEG3+LEG4", "LEG5"),
    "seed-bench": ("LEG1 to LEG6", "LEG7 to LEG12", "LEG13"),
}
"""Of the front corners, left and right, and a board of the next."""


@examples
def test_repeated_units_once(pages, example):
    """As many of each as the bill has, and all like parts by their shapes; legs are of two kinds, mirror images."""
    table, page, _ = pages[example, "isometric", True]
    first, second, third = LEGS[example]
    assert page.texts["LEG1"] == f"{first} leg ×2"
    assert page.texts[second.split()[0].split("+")[0]] == f"{second} leg ×2, mirror image of {first}"
    assert third not in page.shown
    counts = {}
    for label in page.shown:
        _, _, count = page.texts[label].partition(", mirror image")[0].partition("×")
        counts[label] = int(count or 1)
    assert sum(counts.values()) == len(table.parts)
    alone = [label for label in page.shown if "mirror image of LEG" not in page.texts[label]]
    shapes = {(table.by_label[label].role, table.by_label[label].shape) for label in alone}
    assert len(shapes) == len(alone)


def test_once_by_hand(pages):
    """Kinds as of `test_same`, each by the code of its first part and by what all parts of the kind are called."""
    _, page, _ = pages["quilting", "isometric", True]
    leg, mirrored = "LEG1+LEG2 leg ×2", "LEG3+LEG4 leg ×2, mirror image of LEG1+LEG2"
    assert page.texts == {
        "S1": "S1 side ×2",
        "S3": "S3 side ×2",
        "B1": "B1 bottom panel",
        "R1": "R1 through rib ×2",
        "R2": "R2 through rib ×2",
        "R5": "R5 rib segment ×6",
        "R6": "R6 rib segment ×6",
        "R7": "R7 rib segment ×3",
        "L1": "L1 cover leaf ×4",
        "STOP1": "STOP1 end stop ×2",
        "LEG1": leg,
        "LEG2": leg,
        "LEG3": mirrored,
        "LEG4": mirrored,
        "LEDG1": "LEDG1 ledger strip ×2",
        # Four guides stand between a side and the first row, four between rows; kickers run from side to side.
        # Pockets are bored into the face that is free, which is not the same on all of them.
        "BLK1": "BLK1 corner block ×4",
        "BLK5": "BLK5 corner block ×2",
        "BLK6": "BLK6 corner block ×4, mirror image of BLK5",
        "GUIDE1": "GUIDE1 guide ×4",
        "GUIDE2": "GUIDE2 guide ×4",
        "KICK1": "KICK1 kicker ×4",
    }


def test_mirror_images_are_drawn_each_and_said_to_be_such():
    """Two boards with a blind hole near opposite ends, turned alike: no turn makes the one the other."""
    boards = [
        replace(
            box((400, 100, 18), (0.0, 0.0, 100.0 * at), f"R{at}"),
            shape=Shape(rectangle(400, 100), 18, (hole,)),
        )
        for at, hole in enumerate((Hole(50, 30, 20, 6), Hole(350, 30, 20, 6), Hole(50, 30, 20, 6)), 1)
    ]
    kinds = alike_units(Assembly("A", tuple(boards), (), ()), [("R1",), ("R2",), ("R3",)])
    assert unit_texts(Assembly("A", tuple(boards), (), ()), kinds, once=True) == {
        "R1": "R1 rib ×2",
        "R2": "R2 R2, mirror image of R1",
    }


def test_the_leg_is_taken_apart_in_its_inset(pages):
    _, page, drawing = pages["quilting", "isometric", False]
    (inset,) = page.insets  # the mirror image of what is taken apart tells nothing new
    assert inset.kind.first == ("LEG1", "LEG2")
    assert any(item.text == "Leg ×2 and ×2 mirrored, 1:10" for item, _ in drawing.texts())
    assert np.abs(inset.explosion.offsets).max() > 0
    assert page.explosion.offset_at("LEG1", 1.0).any()
    assert np.array_equal(page.explosion.offset_at("LEG1", 1.0), page.explosion.offset_at("LEG2", 1.0))


def test_command(tmp_path, capsys):
    file, image = tmp_path / "table.toml", tmp_path / "exploded.svg"
    file.write_text(EXAMPLES["seed-bench"].text(), encoding="utf-8")
    assert main(["draw", str(file), "--exploded", "--once", "--image", str(image), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"image": str(image)}
    text = image.read_text(encoding="utf-8")
    assert "exploded" in text
    for arguments, word in ((["--once"], "--exploded"), (["--exploded", "--stowed"], "--stowed")):
        assert main(["draw", str(file), "--image", str(image), *arguments]) == 2
        assert word in capsys.readouterr().err


def test_progress_rises_from_0_to_1():
    said = list(exploded_steps(build(EXAMPLES["seed-bench"].table()), date="2031-05-17", labels=True))
    assert said == sorted(said)
    assert 0 <= said[0] < said[-1] <= 1
    assert len(said) > 8
