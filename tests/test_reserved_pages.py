"""Reserved spaces on paper: where they are drawn, with which line, what stands beside them, in the views by hand.

A drawing at 1:10 has a place of the table at a tenth of its distance from any other; isometric views are enlarged so
that lengths along the axes are true.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from addon.designs.table.build import build
from addon.designs.table.parameters import Table
from addon.files.table_file import parse_table
from addon.paper.reserved_lines import NAME
from addon.paper.sheet import Drawing
from addon.paper.sheet.items import Stroke, Text
from addon.paper.sheet.lettering import text_box
from addon.paper.shop import drawing as drawing_pages
from addon.paper.shop import layout as layout_pages
from addon.paper.table_page import line_picture
from addon.wood.reserved import LOW_ALONE, LOW_VOLTAGE, Reserved
from tests.page_checks import overlaps
from tests.shop_jobs import checked_job, drawn_legibly

pytestmark = pytest.mark.once

QUILTING = (Path(__file__).parent.parent / "addon" / "examples" / "quilting-table.toml").read_text("utf-8")

TRAY = Reserved("pin tray", "box", (-60.0, 60.0), (-300.0, -200.0), (500.0, 540.0))
LAMP = Reserved("lamp", "cylinder", (0.0, 0.0), (0.0, 0.0), (100.0, 300.0), diameter=120.0)
CABLE = Reserved(
    "lamp cable", "cable", (-650.0, -500.0, -500.0), (200.0, 200.0, 100.0), (600.0, 600.0, 600.0)
)
WALL = Reserved("wall", "wall", side="left", distance=930.0)


@cache
def _table(*entries: Reserved) -> Table:
    return replace(parse_table(QUILTING), reserved=entries)


def lines(drawing: Drawing) -> list[np.ndarray]:
    """Paths of the lines of reserved spaces, mm on the paper."""
    found = [item for item in drawing.named(NAME) if isinstance(item, Stroke)]
    # ISO 128-2, line 05.1 (from memory): dashes of 24, gaps of 3 and dots of half a line width, narrow.
    assert {item.pen.dash for item in found} <= {(6.0, 0.75, 0.125, 0.75, 0.125, 0.75)}
    assert {item.pen.width for item in found} <= {0.25}
    return [path for item in found for path in item.paths]


def span(paths: list[np.ndarray]) -> tuple[float, float]:
    points = np.concatenate(paths)
    width, height = np.ptp(points, axis=0)
    return round(float(width), 2), round(float(height), 2)


def words(drawing: Drawing) -> list[str]:
    return [item.text for item, _ in drawing.texts()]


def test_a_box_is_drawn_in_every_view_at_the_drawings_scale() -> None:
    """120 x 100 x 40 at 1:10. In an isometric view it is (120 + 100) cos 30° wide, (120 + 100) sin 30° + 40 high."""
    for view, size in {"front": (12.0, 4.0), "right": (10.0, 4.0), "top": (12.0, 10.0)}.items():
        drawing = line_picture(build(_table(TRAY)), date="D", view=view)
        assert span(lines(drawing)) == size
        assert "RES1 pin tray" in words(drawing)
    drawing = line_picture(build(_table(TRAY)), date="D")
    assert span(lines(drawing)) == (round(22 * np.cos(np.pi / 6), 2), 15.0)
    # Of the twelve edges of a box three meet in the corner that is turned away.
    assert round(sum(np.hypot(*np.diff(path, axis=0).T).sum() for path in lines(drawing)), 2) == 3 * (
        12 + 10 + 4
    )


def test_it_stands_where_its_entry_says() -> None:
    """In the front view the tray's middle is as far from the table's lower end as 520 mm are at 1:10."""
    drawing = line_picture(build(_table(TRAY)), date="D", view="front")
    (outlines,) = (item for item in drawing.named("outlines") if isinstance(item, Stroke))
    table = np.concatenate(outlines.paths)
    tray = np.concatenate(lines(drawing))
    assert (tray[:, 1].min() + tray[:, 1].max()) / 2 - table[:, 1].min() == pytest.approx(52.0, abs=0.01)
    assert (tray[:, 0].min() + tray[:, 0].max()) / 2 == pytest.approx(
        (table[:, 0].min() + table[:, 0].max()) / 2
    )


def test_a_cylinder_has_its_outline_alone_and_a_cable_its_middle_with_its_bend() -> None:
    drawing = line_picture(build(_table(LAMP)), date="D", view="front")
    assert span(lines(drawing)) == (pytest.approx(12.0, abs=0.01), 20.0)
    assert sum(np.hypot(*np.diff(path, axis=0).T).sum() for path in lines(drawing)) == pytest.approx(
        64.0, abs=0.1
    )
    (path,) = lines(line_picture(build(_table(CABLE)), date="D", view="top"))
    # Arms of 150 and 100; a right angle with a middle radius of 27 takes 27 of either and is pi / 2 · 27 long.
    length = (150 - 27 + 100 - 27 + np.pi / 2 * 27) / 10
    assert np.hypot(*np.diff(path, axis=0).T).sum() == pytest.approx(length, rel=1e-3)


def test_a_wall_off_the_sheet_stands_in_words_and_one_that_is_near_is_drawn() -> None:
    far = line_picture(build(_table(WALL)), date="D", view="front", sizes_in="mm")
    assert lines(far) == []
    assert " ".join(words(far)).count("RES1 wall, 930 mm") == 1
    near = line_picture(build(_table(replace(WALL, distance=100.0))), date="D", view="front")
    assert span(lines(near)) == (2.0, 77.0)
    assert "RES1 wall" in words(near)
    square = line_picture(build(_table(replace(WALL, distance=100.0))), date="D", view="right")
    assert lines(square) == []


def test_a_drawing_without_reserved_space_is_as_before() -> None:
    drawing = line_picture(build(_table()), date="D", sizes_in="mm")
    assert drawing.named(NAME) == []
    assert "Reserved space" not in words(drawing)


@pytest.mark.parametrize("view", ["isometric", "below", "front", "top", "30,20"])
def test_names_stand_over_no_other_words(view: str) -> None:
    table = _table(TRAY, LAMP, CABLE, replace(WALL, distance=100.0))
    drawing = line_picture(build(table), date="D", view=view, labels=True, sizes_in="mm")
    assert [one for one in overlaps(drawing) if "line" not in one] == []
    names = {item.text for item in drawing.named(NAME) if isinstance(item, Text)}
    assert {"RES1 pin tray", "RES2 lamp", "RES3 lamp cable"} <= names


@pytest.mark.parametrize("view", ["isometric", "below", "30,20"])
def test_a_name_stands_at_its_lines_or_has_a_leader_to_them(view: str) -> None:
    """A sloping outline fills no box: its corner may be far from any line."""
    for entry in (replace(WALL, distance=100.0), CABLE, LAMP):
        drawing = line_picture(build(_table(entry)), date="D", view=view)
        (name,) = (item for item in drawing.named(NAME) if isinstance(item, Text))
        left, bottom, right, top = text_box(name)
        points = np.concatenate(
            [np.linspace(one, two, 200) for path in lines(drawing) for one, two in pairwise(path)]
        )

        def near(where: np.ndarray, box: tuple[float, ...] = (left, bottom, right, top)) -> bool:
            away = np.maximum(np.maximum(box[:2] - where, where - box[2:]), 0.0)
            return bool((np.hypot(*away.T) < 2.6).any())

        leaders = [
            item.paths[0] for item in drawing.items if isinstance(item, Stroke) and len(item.paths[0]) == 2
        ]
        led = [path for path in leaders if near(path[:1]) and np.hypot(*(points - path[1]).T).min() < 0.1]
        assert near(points) or led, entry.name


# -- in the shop
# ----------------------------------------------------------------------------------------------------


def test_the_set_has_a_page_of_reserved_space_that_says_what_cables_are_for() -> None:
    job = checked_job(_table(TRAY, CABLE, WALL))
    general, own = drawing_pages.pages(job)
    assert own.title == "Reserved space: Quilting table"
    drawn = drawn_legibly(own, job)
    text = " ".join(words(drawn))
    for line in ("RES1 pin tray.", "RES2 lamp cable, 6 mm, bent to 24 mm inside at least.",
                 "RES3 wall, 930 mm from the left side.", LOW_VOLTAGE):  # fmt: skip
        assert line in text
    assert len(lines(drawn)) >= 2
    first = drawn_legibly(general, job)
    assert [item.text for item in first.named(NAME) if isinstance(item, Text)].count("RES1") == 3
    assert [item.text for item in first.named(NAME) if isinstance(item, Text)].count("RES3") == 0
    assert LOW_ALONE in words(first) or LOW_VOLTAGE in " ".join(words(first))
    (without,) = drawing_pages.pages(checked_job(_table()))
    assert without.scale == general.scale


def test_the_layout_has_a_cables_run_and_the_list_its_corners_at_their_rounded_places() -> None:
    """The panel is 1475.6 by 935.6: a cable at x -650 is 1387.8 from its left edge as it lies upside down, at y 200
    667.8 from the front; both round to half a millimeter."""
    job = checked_job(_table(TRAY, CABLE))
    plan, *lists = layout_pages.pages(job)
    drawn = drawn_legibly(plan, job)
    (path,) = lines(drawn)
    assert np.hypot(*np.diff(path, axis=0).T).sum() == pytest.approx((196 + np.pi / 2 * 27) / 10, rel=1e-3)
    assert "RES2" in words(drawn)
    assert f"RES2: 6 mm, bent to 24 mm inside at least. {LOW_VOLTAGE}" in " ".join(words(drawn))
    rows = [text for page in lists for text in words(drawn_legibly(page, job))]
    for line in ("lamp cable: start", "lamp cable: corner 1", "lamp cable: end"):
        assert line in rows
    start = rows.index("lamp cable: start")
    assert rows[start + 1 : start + 3] == ["1388", "668"]
