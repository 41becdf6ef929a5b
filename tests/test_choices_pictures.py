"""Choices of what pictures show: from where a step is looked at, on which sheet, and what marks a verdict.

Common practice, no source, where none is named. mm.
"""

from __future__ import annotations

import numpy as np
import pytest

from addon.check.progress import run_through
from addon.paper.exploded_page import exploded_page
from addon.paper.sheet import Drawing
from addon.paper.sheet.items import Fill
from addon.paper.sheet.palette import verdict_mark
from addon.paper.steps.looks import Corner, Move, Scenery, best_look
from addon.paper.views import VIEWS
from addon.wood.assembly import Assembly
from addon.wood.part import Part
from tests.line_samples import box

BLOCK = box((60, 60, 60), (0, 0, 0), "R1")
"""What goes in at the step that is drawn."""


def scenery(*there: Part) -> Scenery:
    low, high = np.zeros(3), np.full(3, 60.0)
    return Scenery((BLOCK, *there), frozenset({0}), {}, (Move(("R1",), np.zeros(3), low, high),), 400.0)


def wall(x: float, y: float, along: str, high: float = 400.0) -> Part:
    """A board 400 long beside the block, that stands from far below it to far above."""
    size = (400.0, 10.0, high) if along == "x" else (10.0, 400.0, high)
    return box(size, (x, y, 60.0 - high / 2), "R2")


@pytest.mark.parametrize(
    ("pose", "name"), [("upright", "isometric"), ("upside-down", "below")], ids=["upright", "upside down"]
)
def test_steps_are_looked_at_from_where_the_named_views_are(pose, name) -> None:
    """Whoever has the drawing beside the steps sees the same table: from the front right, and turned over for gluing
    up as in the view named below."""
    look = best_look(scenery(), pose, None)
    np.testing.assert_allclose(look.corner.axes, VIEWS[name].axes, atol=1e-12)


@pytest.mark.parametrize(("x", "y"), [(1, 1), (-1, 1), (-1, -1)])
def test_the_corner_of_the_step_before_is_kept_while_it_shows_the_parts(x: int, y: int) -> None:
    """Readers follow from picture to picture: the table turns only where something would be hidden."""
    before = Corner("upright", x, y)
    assert best_look(scenery(), "upright", before).corner == before


def test_a_table_that_was_turned_over_is_looked_at_from_the_first_corner_again() -> None:
    before = Corner("upside-down", 1, 1)
    assert best_look(scenery(), "upright", before).corner == Corner("upright", 1, -1)


def test_another_corner_from_above_comes_before_a_look_from_below() -> None:
    """A wall before the block hides it from the front right. It is seen from the left as well as from below; nobody
    lies under the bench to look."""
    corner = best_look(scenery(wall(-170, -20, "x")), "upright", None).corner
    assert not corner.below
    assert corner.y == 1


# -- sheets
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("long", "width"), [(2400.0, 297.0), (3200.0, 420.0)])
def test_an_exploded_view_goes_onto_a_larger_sheet_rather_than_below_1_to_10(
    long: float, width: float
) -> None:
    """At 1:10 a board 18 thick is drawn 1.8 wide, which still shows it as a board.

    Two long boards, 100 wide, one above the other. Lengths along the axes are true on the paper (isometric), so at
    1:10 they are (long + 100) · cos 30° / 10 wide: 216 for 2400, which goes onto A4 with 267 inside its frame, and 286
    for 3200, which does not; A3 has 390.
    """
    parts = (box((long, 100, 18), (0, 0, 0), "R1"), box((long, 100, 18), (0, 0, 18), "R2"))
    page = run_through(exploded_page(Assembly("Boards", parts, (), ())))
    assert (page.layout.sheet.width, page.layout.parts) == (width, 10)


MARKS = {"guides-itself": "#009E73", "needs-steering": "#0066CC", "does-not-pass": "#990077"}
"""Chosen by hand: tests/test_colors.py measures that all eyes tell them apart."""


@pytest.mark.parametrize("verdict", MARKS)
def test_verdicts_have_a_shape_and_a_color_each(verdict) -> None:
    """ISO 3864-1 (from memory): green says that all is safe, a triangle with its tip up warns. Each mark has a shape of
    its own, for gray prints: a disc, a triangle, a square."""
    drawing = Drawing(40.0, 40.0)
    verdict_mark(drawing, 20.0, 20.0, 10.0, verdict)
    ((color, corners),) = [(item.color, item.rings[0]) for item in drawing.items if isinstance(item, Fill)]
    assert color == MARKS[verdict]
    highest = corners[corners[:, 1] > corners[:, 1].max() - 1e-9]
    if verdict == "guides-itself":
        np.testing.assert_allclose(np.linalg.norm(corners - 20.0, axis=1), 5.0)
    else:
        assert (len(corners), len(highest)) == ((3, 1) if verdict == "needs-steering" else (4, 2))
