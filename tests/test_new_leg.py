"""A kind of leg that the table does not have, from the bill to everything that follows from it.

Expected sizes are worked out by hand from the quilting table's: outside 1500 x 960 x 770 of sheets of 17.7, so that the
inner faces of its sides are at ±732.3 and ±462.3; the bottom panel's underside is at 770 - 17.7 - 40 - 11.8 = 700.5.
The order of assembly is common practice, no source. mm.
"""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module

import numpy as np
import pytest

from addon.check.apart.assembly_order import assembly_order
from addon.check.apart.blocking import blocking_of
from addon.check.progress import run_through
from addon.designs.table.design import check
from addon.designs.table.figures import mass
from addon.designs.table.parameters import AsCut, Table
from addon.files.editing import set_values
from addon.files.export import export
from addon.paper.exploded_page import exploded_page
from addon.paper.steps.pages import step_page, step_pictures
from addon.paper.table_page import line_picture
from addon.reports.steps import sentences_of, title_of
from addon.wood.assembly import Assembly
from tests.new_leg import add_layered_legs
from tests.old_tables import EXAMPLES

BUILD = import_module("addon.designs.table.build")
QUILTING = set_values(
    EXAMPLES["quilting"].table(), {"table.height": 770.0, "well.depth": 40.0, "legs.width": 60.0}
)
CORNERS = [
    ("LEG1", "LEG2", "LEG3"),
    ("LEG4", "LEG5", "LEG6"),
    ("LEG7", "LEG8", "LEG9"),
    ("LEG10", "LEG11", "LEG12"),
]


@pytest.fixture(autouse=True)
def layered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables are built with these legs."""
    monkeypatch.setattr(BUILD, "add_legs", add_layered_legs)


def built(table: Table = QUILTING) -> Assembly:
    return BUILD.build(table)


def test_it_stands_in_the_bill_and_in_the_table() -> None:
    """Front left first; the middle layer of the corner at the back right is the second board from the wall."""
    assembly = built()
    legs = [part.label for part in assembly.parts if part.role.word == "leg"]
    assert legs == [label for corner in CORNERS for label in corner]
    board = assembly.by_label["LEG11"]
    corners = board.placement.to_table(np.array([np.zeros(3), board.shape.size]))
    np.testing.assert_allclose(corners.min(axis=0), [672.3, 462.3 - 2 * 17.7, 0.0], atol=1e-9)
    np.testing.assert_allclose(corners.max(axis=0), [732.3, 462.3 - 17.7, 700.5], atol=1e-9)
    assert board.name == "leg layer, back right, middle"


def test_the_check_judges_it() -> None:
    """Drawn as it is, it is in nothing's way. A layer that is 5 too long stands up against the bottom panel all the
    same, so that its foot is 5 lower than the others."""
    sound = check(QUILTING, built())
    assert sound.verdict == "clear"
    assert not [one for one in sound.findings if any(label.startswith("LEG") for label in one.parts)]
    long = replace(QUILTING, as_cut=(AsCut("LEG11", "length", deviation=5.0, end="end"),))
    found = [one for one in check(long, built(long)).findings if "LEG11" in one.parts]
    assert [(one.rule, one.amount) for one in found] == [("table-rocks", pytest.approx(5.0))]


def test_the_figures_count_it() -> None:
    """Twelve boards of 700.5 x 60 x 17.7 at 685 kg/m³."""
    assembly = built()
    bare = replace(assembly, parts=tuple(part for part in assembly.parts if part.role.word != "leg"))
    assert mass(assembly) - mass(bare) == pytest.approx(12 * 0.7005 * 0.06 * 0.0177 * 685)


def test_its_layers_are_glued_up_first_and_go_in_as_one() -> None:
    assembly = built()
    order = assembly_order(assembly)
    titles = [title_of(assembly, step) for step in order.steps]
    first, legs = titles.index("Glue up legs"), titles.index("Legs")
    assert first == 0
    words = sentences_of(assembly, order, first, blocking_of(assembly.parts), "mm")
    assert words[0].startswith(
        "Glue up the legs: LEG2 onto LEG1, LEG3 onto LEG2, LEG5 onto LEG4, LEG6 onto LEG5"
    )
    assert words[1] == "Check that the ends are flush."
    assert [(one.parts, one.way) for one in order.steps[legs].arrivals] == [
        (corner, "+z") for corner in CORNERS
    ]


def test_it_is_in_the_step_pictures() -> None:
    assembly = built()
    pictures = run_through(step_pictures(assembly, "mm"))
    said = {item.text for item, _ in step_page(assembly, pictures[0], len(pictures), date="").texts()}
    assert any("LEG12" in words for words in said)


def test_the_exploded_view_takes_each_leg_off_in_one() -> None:
    page = run_through(exploded_page(built(), labels=True))
    for corner in CORNERS:
        offsets = [page.explosion.offset_at(label, 1.0) for label in corner]
        assert np.linalg.norm(offsets[0]) > 1.0
        np.testing.assert_allclose(offsets, [offsets[0]] * 3)
    assert page.explosion.proven


def test_it_is_exported(tmp_path) -> None:
    """A cuboid is twelve triangles, of three corners each."""
    export(built(), tmp_path)
    lines = (tmp_path / "LEG12.stl").read_text(encoding="ascii").splitlines()
    corners = np.array([line.split()[1:] for line in lines if line.split()[0] == "vertex"], dtype=float)
    assert corners.shape == (12 * 3, 3)
    np.testing.assert_allclose(sorted(np.ptp(corners, axis=0)), [17.7, 60.0, 700.5], atol=1e-3)


def test_it_is_drawn() -> None:
    """From the front the outer layers are seen below the body: 60 wide at 1:10."""
    drawing = line_picture(built(), date="", view="front", labels=True)
    assert {"LEG1 leg layer", "LEG4 leg layer"} <= {item.text for item, _ in drawing.texts()}
    (outlines,) = drawing.named("outlines")
    feet = min(float(path[:, 1].min()) for path in outlines.paths)
    ends = {round(float(x), 3) for path in outlines.paths for x, y in path if abs(y - feet) < 1e-6}
    assert len(ends) == 4
    left, right = sorted(ends)[:2]
    assert right - left == pytest.approx(6.0)
