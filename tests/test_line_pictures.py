"""Line drawings on paper: scales of ISO 5455, widths and dashes of ISO 128-2, frame of ISO 5457 (all from memory)."""

from __future__ import annotations

import io
import json
import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from addon.command_line.main import main
from addon.command_line.tasks import DRAWN_VIEWS
from addon.designs.table import build
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.lines.chains import paths_of
from addon.paper.sheet.items import Pen, Stroke
from addon.paper.table_page import line_picture, scale_words
from addon.paper.views import SHEETS, VIEWS, view_from
from addon.sizes.errors import ExportError
from tests.line_samples import triangles_of

pytestmark = pytest.mark.usefixtures("worked_out_once")

LEADER = Pen(0.18)
KINDS = {"outlines": 0.5, "edges": 0.25, "hidden edges": 0.25}


@pytest.fixture(scope="module")
def assemblies():
    return {name: build(parse_table(EXAMPLES[name].text(), name)) for name in EXAMPLES}


def strokes(drawing, name) -> list[Stroke]:
    return [item for item in drawing.named(name) if isinstance(item, Stroke)]


def drawn_points(drawing) -> np.ndarray:
    return np.concatenate([path for name in KINDS for item in strokes(drawing, name) for path in item.paths])


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("leaves", ["covered", "stowed"])
@pytest.mark.parametrize("example", EXAMPLES)
def test_everything_is_on_the_sheet(assemblies, example, leaves, view):
    """Lines within the frame and off the title block, lettering within the sheet, and no lettering on another."""
    for size, sheet in SHEETS.items():
        drawing = line_picture(
            assemblies[example], date="2031-05-17", view=view, leaves=leaves, hidden=True, sheet=sheet
        )
        points = drawn_points(drawing)
        left, _, right, top = sheet.frame
        block = sheet.block
        assert points[:, 0].min() > left + 1
        assert points[:, 0].max() < right - 1
        assert points[:, 1].max() < top - 1
        assert points[:, 1].min() > block[3] + 1
        boxes = [box for _, box in drawing.texts()]
        assert all(a > 0 and b > 0 and c < sheet.width and d < sheet.height for a, b, c, d in boxes), size
        for number, (a, b, c, d) in enumerate(boxes):
            for e, f, g, h in boxes[:number]:
                assert min(c, g) <= max(a, e) or min(d, h) <= max(b, f)


def test_size_on_paper_is_that_of_the_scale(assemblies):
    """The quilting table is 1500 mm long, 960 mm wide and 770 mm high; isometric lengths run at 30° and upright."""
    table = assemblies["quilting"]
    x, y, z = triangles_of(table.parts).reshape(-1, 3).T / 10
    isometric = np.ptp((x + y) * np.cos(np.pi / 6)), np.ptp((y - x) * np.sin(np.pi / 6) + z)
    sizes = {"front": (150.0, 77.0), "right": (96.0, 77.0), "top": (150.0, 96.0), "isometric": isometric}
    for view, size in sizes.items():
        drawing = line_picture(table, date="2031-05-17", view=view, leaves="stowed")
        assert sum(item.text.startswith("1:10") for item, _ in drawing.texts()) == 1, view
        np.testing.assert_allclose(np.ptp(drawn_points(drawing), axis=0), size, atol=1e-6)


def test_widths_and_dashes(assemblies):
    drawing = line_picture(assemblies["seed-bench"], date="2031-05-17", hidden=True)
    for name, width in KINDS.items():
        (stroke,) = strokes(drawing, name)
        assert stroke.pen.width == width
        assert stroke.pen.dash == ((3.0, 0.75) if name == "hidden edges" else ())
    plain = line_picture(assemblies["seed-bench"], date="2031-05-17")
    assert not plain.named("hidden edges")
    assert len(plain.named("edges")) == 1


def test_what_the_title_block_says(assemblies):
    drawing = line_picture(assemblies["quilting"], date="2031-05-17", view="below", leaves="stowed")
    words = " | ".join(item.text for item, _ in drawing.texts())
    for part in (
        "Quilting table",
        "Upside down, isometric, leaves stowed",
        "1:10 along length, width and height",
        "2031-05-17",
        "A3, print at 100 %",
        "Measure and dry-fit before glue",
    ):
        assert part in words


@pytest.mark.parametrize("view", [*VIEWS, "20,30", "205,-40"])
@pytest.mark.parametrize("leaves", ["covered", "stowed"])
@pytest.mark.parametrize("example", EXAMPLES)
def test_labels_point_at_their_parts(assemblies, example, leaves, view):
    """By rays from the eye through the leaders' dots, and by shapely: nothing that is put beside the drawing meets."""
    table, axes = assemblies[example], view_from(view).axes
    drawing = line_picture(table, date="2031-05-17", view=view, leaves=leaves, labels=True)
    labels = [(item.text, shapely.box(*box)) for item, box in drawing.texts() if item.name == "label"]
    leaders = [one.paths[0] for one in drawing.items if isinstance(one, Stroke) and one.pen == LEADER]
    assert len(labels) == len(leaders) >= 3
    names = [name.split()[0] for name, _ in labels]
    assert len(set(names)) == len(names)
    for text, _ in labels:
        code, _, name = text.partition(" ")
        assert name
        assert table.by_label[code].name.startswith(name)
    lines = [shapely.LineString(path) for path in leaders]
    words = [box for _, box in labels]
    outside = shapely.box(*drawn_points(drawing).min(axis=0), *drawn_points(drawing).max(axis=0))
    for number, (line, word) in enumerate(zip(lines, words, strict=True)):
        assert not word.intersects(outside)
        assert not any(line.intersects(other) for place, other in enumerate(lines) if place != number)
        assert not any(line.intersects(other) for place, other in enumerate(words) if place != number)
        assert not any(word.intersects(other) for place, other in enumerate(words) if place != number)
    places = table.cover if leaves == "covered" else {}
    corners = np.concatenate([triangles_of([part], places) @ axes.T for part in table.parts])
    owner = np.repeat(
        [part.label for part in table.parts], [len(triangles_of([part])) for part in table.parts]
    )
    drawn, flat = drawn_points(drawing), corners.reshape(-1, 3)[:, :2]
    scale = (np.ptp(drawn, axis=0) / np.ptp(flat, axis=0))[0]
    at = (np.array([path[-1] for path in leaders]) - drawn.min(axis=0)) / scale + flat.min(axis=0)
    assert [owner[first_met(corners, spot)] for spot in at] == names


def first_met(corners: np.ndarray, spot: np.ndarray) -> int:
    """The triangle, of (m, 3, 3) with z toward the eye, that the eye meets first at a place of the paper."""
    a, b, c = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]
    x, y = spot[0] - a[:, 0], spot[1] - a[:, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        u, v = (x * c[:, 1] - y * c[:, 0]) / area, (b[:, 0] * y - b[:, 1] * x) / area
        z = a[:, 2] + u * b[:, 2] + v * c[:, 2]
        hit = (np.abs(area) > 1e-9) & (u >= 0) & (v >= 0) & (u + v <= 1)
    assert hit.any()
    return int(np.argmax(np.where(hit, z, -np.inf)))


def test_paths_keep_all_segments_and_close_rings():
    ring = np.array([(0, 0), (4, 0), (4, 3), (0, 3)], dtype=float)
    segments = np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)[[2, 0, 3, 1]]
    segments[1] = segments[1, ::-1]
    lone = np.array([[(9, 9), (9, 12)]], dtype=float)
    around, other = sorted(paths_of(np.concatenate([segments, lone])), key=len, reverse=True)
    np.testing.assert_allclose(np.hypot(*np.diff(around[:5], axis=0).T).sum(), 14.0)
    np.testing.assert_array_equal(around[0], around[4])
    np.testing.assert_array_equal(other, lone[0])


def test_too_large_a_table_is_refused(assemblies):
    from dataclasses import replace

    from addon.wood.part import Placement

    table = assemblies["quilting"]
    far = table.parts[0].placement.origin + (60_000.0, 0.0, 0.0)
    moved = replace(table.parts[0], placement=Placement(far, table.parts[0].placement.axes))
    with pytest.raises(ExportError, match="too large"):
        line_picture(replace(table, parts=(moved, *table.parts[1:])), date="2031-05-17")


def test_command_names_the_views_there_are():
    assert tuple(VIEWS) == DRAWN_VIEWS


def test_directions_in_degrees_are_the_named_views():
    """The isometric view looks along a cube's diagonal, 35.26 degrees above level (ISO 5456-3, from memory)."""
    elevation = float(np.degrees(np.arctan(1 / np.sqrt(2))))
    named = {"0,0": "front", "90,0": "right", "0,90": "top", f"45,{elevation!r}": "isometric"}
    for direction, name in named.items():
        assert np.allclose(view_from(direction).axes, VIEWS[name].axes, atol=1e-12)


@given(azimuth=st.floats(-720, 720), elevation=st.floats(-90, 90))
@settings(derandomize=True, max_examples=100)
def test_any_direction_stands_upright(azimuth, elevation):
    axes = view_from(f"{azimuth!r},{elevation!r}").axes
    assert np.allclose(axes @ axes.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    assert axes[0, 2] == pytest.approx(0.0, abs=1e-9)
    assert axes[1, 2] >= -1e-9
    assert axes[2, 2] == pytest.approx(np.sin(np.radians(elevation)))


def test_an_oblique_view_says_that_it_is_not_to_scale(assemblies):
    drawing = line_picture(assemblies["quilting"], date="2031-05-17", view="20,30")
    words = [item.text for item, _ in drawing.texts()]
    assert "not to scale" in words
    assert not any(word.startswith("1:") for word in words)


@pytest.mark.parametrize("parts", [1, 2, 5, 10, 20, 50, 100])
def test_a_standard_scale_is_named(parts):
    """Those of ISO 5455 for reductions (from memory): rules are sold with them."""
    assert scale_words(VIEWS["front"], parts) == f"1:{parts}"
    assert scale_words(VIEWS["isometric"], parts) == f"1:{parts} along length, width and height"


@pytest.mark.parametrize("parts", [3, 11, 13, 16, 25, 99])
def test_a_picture_that_is_reduced_by_another_number_is_not_to_scale(parts):
    """As exploded views are that are as large as the paper takes."""
    assert scale_words(VIEWS["front"], parts) == scale_words(VIEWS["isometric"], parts) == "not to scale"


@pytest.mark.parametrize("view", ["behind", "30", "30,91", "30,20,10", "nan,0", "x,y"])
def test_views_that_there_are_not(assemblies, view):
    with pytest.raises(ExportError, match=f"'{view}' is no view"):
        line_picture(assemblies["quilting"], date="2031-05-17", view=view)


def test_command(tmp_path, capsys):
    table = tmp_path / "table.toml"
    assert main(["new", str(table), "--example", "seed-bench"]) == 0
    svg, png = tmp_path / "table.svg", tmp_path / "table.png"
    assert main(["draw", str(table), "--image", str(svg), "--view", "front", "--stowed"]) == 0
    root = ElementTree.fromstring(svg.read_text(encoding="utf-8"))
    assert root.get("width") == "297mm"
    titles = [one.text for one in root.iter("{http://www.w3.org/2000/svg}title")]
    assert "Seed-sorting bench: front view, leaves stowed" in titles
    capsys.readouterr()
    assert main(["draw", str(table), "--image", str(png), "--size", "A3", "--dpi", "50", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"image": str(png)}
    image = Image.open(io.BytesIO(png.read_bytes()))
    assert image.size == (round(420 / 25.4 * 50), round(297 / 25.4 * 50))
    assert np.asarray(image.convert("L")).min() < 50
    assert main(["draw", str(table), "--image", str(tmp_path / "table.bmp")]) == 2
    assert main(["draw", str(table), "--image", str(svg), "--stowed", "--covered"]) == 2
