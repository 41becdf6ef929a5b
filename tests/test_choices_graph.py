"""Choices of the exploded view: which of several free ways a part takes, on a few blocks, by hand.

The rules are common practice, no source: nearest way out first (after Li, Agrawala, Curless and Salesin, SIGGRAPH
2008), but no way into the room where what is drawn apart will hang. Blocks are in mm.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from addon.check.apart.blocking import Direction, blocking_of
from addon.check.apart.graph import Graph, explosion_graph
from addon.check.apart.units import units_of
from addon.wood.assembly import Assembly, Joint
from addon.wood.part import Part
from tests.blocks import block


def graph_of(parts: list[Part], joints: list[Joint]) -> Graph:
    assembly = Assembly("A", tuple(parts), tuple(joints), ())
    return explosion_graph(units_of(assembly, blocking_of(parts), [[part.label] for part in parts]))


def ways(parts: list[Part], joints: list[Joint]) -> dict[str, Direction]:
    """Label → direction in which it leaves."""
    labels = [part.label for part in parts]
    return {labels[one.unit]: one.direction for one in graph_of(parts, joints).departures}


def order(parts: list[Part], joints: list[Joint]) -> list[str]:
    return [parts[one.unit].label for one in graph_of(parts, joints).departures]


PLATE = block("P", "bottom", ((0, 0, 0), (400, 300, 20)))
HIGH = block("R2", "rib", ((200, 50, 20), (218, 250, 120)))
"""A rib on the plate: 18 thick, 200 long, 100 high."""


def strip_between_ribs(
    thick: float, gap: float, high: float = 20.0, first: str = "R1"
) -> dict[str, Direction]:
    """A strip glued to the face of a rib, toward another rib that stands `gap` away from the strip.

    Both ribs touch the plate alone, so both can go straight up from it, and the one listed first does so first.
    """
    strip = block("T", "guide", ((200 - thick, 100, 60), (200, 200, 60 + high)))
    low = block("R1", "rib", ((182 - thick - gap, 50, 20), (200 - thick - gap, 250, 120)))
    joints = [Joint("T", "R2", "face"), Joint("R1", "P", "face"), Joint("R2", "P", "face")]
    ribs = [low, HIGH] if first == "R1" else [HIGH, low]
    return ways([PLATE, *ribs, strip], joints)


@pytest.mark.parametrize("first", ["R1", "R2"])
def test_a_strip_goes_up_where_it_would_be_pushed_into_the_next_rib(first: str) -> None:
    """Square off the rib's face would be nearest, but after less than its own thickness it would stand in the room of
    the other rib, which goes up as this one does: so it goes up too, 60 to the rib's upper edge, not 150 to its ends.
    It makes no difference which of the two ribs leaves the plate first."""
    assert strip_between_ribs(thick=15, gap=14, first=first)["T"] == "+z"


@pytest.mark.parametrize("first", ["R1", "R2"])
def test_a_strip_goes_square_off_its_rib_where_it_comes_out_before_the_next_one(first: str) -> None:
    """The same strip with room for all its thickness between the ribs: square off the face, the nearest way."""
    assert strip_between_ribs(thick=15, gap=16, first=first)["T"] == "-x"


@pytest.mark.parametrize(("thick", "high"), [(10.0, 20.0), (30.0, 20.0)])
def test_it_is_the_thickness_along_the_way_that_counts(thick: float, high: float) -> None:
    """1 less than the strip's thickness is not enough, 1 more is, whatever its height and length are."""
    assert strip_between_ribs(thick, thick - 1, high)["T"] == "+z"
    assert strip_between_ribs(thick, thick + 1, high)["T"] == "-x"


# -- like parts, and what hangs on what
# ------------------------------------------------------------------------------------------------------------------


def corner_blocks(upper_edge: float) -> dict[str, Direction]:
    """Two like blocks above the plate, in the corners between a long wall and a short one each.

    Along x the first is past its short wall after 50, and nothing else is in the way. The second has another wall
    before it. Both can go up past the upper edge of the walls, and it is 80 or so to there.
    """
    parts = [
        block("P", "bottom", ((0, 0, 0), (600, 600, 20))),
        block("S1", "side", ((200, 0, 20), (218, 600, upper_edge))),
        block("S2", "side", ((218, 100, 20), (268, 118, upper_edge))),
        block("S3", "side", ((218, 400, 20), (268, 418, upper_edge))),
        block("S4", "side", ((260, 380, 20), (278, 520, upper_edge))),
        block("T1", "guide", ((218, 118, 100), (248, 148, 120))),
        block("T2", "guide", ((218, 418, 100), (248, 448, 120))),
    ]
    return ways(parts, [])


def test_like_parts_go_the_same_way_where_it_is_no_more_than_twice_as_far() -> None:
    """Two blocks that go up together read as a pair; one up and one aside look like unlike things. Up is 80 for both,
    so the first gives up its 50 aside; where up is 120, more than twice 50, it goes aside alone."""
    near = corner_blocks(180.0)
    assert (near["T1"], near["T2"]) == ("+z", "+z")
    far = corner_blocks(220.0)
    assert (far["T1"], far["T2"]) == ("+x", "+z")


def test_what_hangs_on_a_part_goes_before_it_where_it_cannot_go_along() -> None:
    """The strip is held down by a lip, so it cannot go up with its rib: it is drawn off sideways before, else it would
    hang in the air when the rib that it is glued to has gone."""
    strip = block("T", "guide", ((185, 100, 60), (200, 200, 80)))
    post = block("K1", "kicker", ((150, 20, 20), (168, 280, 90)))
    lip = block("K2", "kicker", ((168, 20, 82), (198, 280, 90)))
    parts = [PLATE, HIGH, strip, post, lip]
    joints = [
        Joint("T", "R2", "face"),
        Joint("R2", "P", "face"),
        Joint("K1", "P", "face"),
        Joint("K2", "K1", "face"),
    ]
    found = order(parts, joints)
    assert found.index("T") < found.index("R2")


# -- what stays
# ------------------------------------------------------------------------------------------------------------------

POSTS = [
    block(f"R{n}", "rib", ((x, y, 20), (x + 18, y + 18, 120)))
    for n, (x, y) in enumerate([(0, 0), (382, 0), (0, 282), (382, 282)], 1)
]


def test_the_largest_of_what_holds_most_together_stays() -> None:
    """A larger sheet that touches one post alone is no base: a plate with four posts on it is.

    Where the sheet lies on all four posts both touch as many, and the larger one stays.
    """
    mast = block("R5", "rib", ((190, 140, 20), (208, 158, 200)))
    above = block("TOP1", "top", ((-50, -50, 200), (450, 350, 218)))
    parts = [PLATE, *POSTS, mast, above]
    assert parts[graph_of(parts, []).base].label == "P"
    on_all = replace(above, placement=above.placement.moved([0.0, 0.0, -80.0]))
    parts = [PLATE, *POSTS, on_all]
    assert parts[graph_of(parts, []).base].label == "TOP1"
