"""Pages with a picture under the lines: where camera and paper meet, what is drawn over it, what the page says.

The camera's projection is done here anew, as the parallel projection of ISO 5456-1 (from memory) has it; coverage of
the leaves is from shapely 2.2.0.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from addon.command_line.main import main
from addon.command_line.tasks import RENDER_STYLES
from addon.designs.table import build
from addon.files.examples import EXAMPLES
from addon.paper.sheet.items import Fill, Image, Stroke
from addon.paper.sheet.raster import dots
from addon.paper.table_page import STYLES, line_picture, styled_page
from addon.paper.views import SHEETS, VIEWS
from addon.sizes.errors import BoundsError
from tests.line_samples import triangles_of

DPI = 60


@pytest.fixture(scope="module")
def assemblies():
    return {name: build(EXAMPLES[name].table()) for name in EXAMPLES}


def even(frame, color=(200, 150, 100), alpha=255) -> np.ndarray:
    return np.full((frame.rows, frame.columns, 4), (*color, alpha), dtype=np.uint8)


def places(table, leaves):
    return table.cover if leaves == "covered" else {}


def test_command_names_the_styles_there_are():
    assert tuple(STYLES) == RENDER_STYLES


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("leaves", ["covered", "stowed"])
@pytest.mark.parametrize("example", EXAMPLES)
def test_the_camera_sees_every_point_where_the_line_drawing_has_it(assemblies, example, leaves, view):
    table = assemblies[example]
    points = triangles_of(table.parts, places(table, leaves)).reshape(-1, 3)
    drawing = line_picture(table, date="2031-05-17", view=view, leaves=leaves)
    lines = [path for item in drawing.items if item.name in ("outlines", "edges") for path in item.paths]
    drawn = np.concatenate(lines)
    for style in STYLES:
        page = styled_page(table, style, view=view, leaves=leaves)
        frame = page.frame(150)
        assert frame.axes @ frame.axes.T == pytest.approx(np.eye(3))
        seen = (points - frame.middle) @ frame.axes.T
        share = seen[:, :2] / (frame.width, frame.height) + 0.5
        assert share.min() > 0
        assert share.max() < 1
        left, bottom, right, top = frame.box
        paper = share * (right - left, top - bottom) + (left, bottom)
        assert (drawing.width, drawing.height) == (page.layout.sheet.width, page.layout.sheet.height)
        np.testing.assert_allclose(paper.min(axis=0), drawn.min(axis=0), atol=1e-6)
        np.testing.assert_allclose(paper.max(axis=0), drawn.max(axis=0), atol=1e-6)


@pytest.mark.parametrize("dpi", [72, 150, 165, 300])
@pytest.mark.parametrize("style", STYLES)
def test_dots_of_the_picture_are_square_and_are_those_of_the_sheet(assemblies, style, dpi):
    page = styled_page(assemblies["quilting"], style, sheet=SHEETS["A4"])
    frame, sheet = page.frame(dpi), page.layout.sheet
    left, bottom, right, top = np.array(frame.box) / 25.4 * dpi
    assert (right - left, top - bottom) == pytest.approx((frame.columns, frame.rows))
    down = sheet.height / 25.4 * dpi - top
    assert (left, down) == pytest.approx((round(left), round(down)), abs=1e-6)
    assert frame.width / frame.columns == pytest.approx(frame.height / frame.rows)


def test_more_dots_than_a_render_can_have_are_refused_with_a_number_that_will_do(assemblies):
    page = styled_page(assemblies["quilting"], "shaded", sheet=SHEETS["A3"])
    with pytest.raises(
        BoundsError, match=r"more than 40,000,000 dots: use at most \d+ dots an inch"
    ) as refused:
        page.frame(1200)
    most = int(str(refused.value).split()[-4])
    frame = page.frame(most)
    assert 39e6 < frame.rows * frame.columns <= 40e6


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("style", STYLES)
def test_the_picture_stays_off_the_frame_and_the_title_block(assemblies, style, view):
    for sheet in SHEETS.values():
        page = styled_page(assemblies["seed-bench"], style, view=view, sheet=sheet)
        left, bottom, right, top = page.frame(DPI).box
        dot = 25.4 / DPI
        assert left > sheet.frame[0]
        assert right < sheet.frame[2]
        assert bottom > sheet.block[3]
        assert top < sheet.frame[3] - 2 + dot


def test_shaded_is_the_line_drawing_over_its_picture(assemblies):
    table = assemblies["quilting"]
    page = styled_page(table, "shaded", labels=True)
    frame = page.frame(DPI)
    drawing = page.drawing("2031-05-17", frame, even(frame, alpha=128))
    wanted = line_picture(table, date="2031-05-17", labels=True)
    (at,) = [place for place, item in enumerate(drawing.items) if isinstance(item, Image)]
    over = drawing.items[:at] + drawing.items[at + 1 :]
    assert len(over) == len(wanted.items)
    for one, other in zip(over, wanted.items, strict=True):
        assert type(one) is type(other)
        if isinstance(one, Stroke | Fill):
            pairs = (one.paths, other.paths) if isinstance(one, Stroke) else (one.rings, other.rings)
            assert all(np.allclose(a, b, atol=1e-6) for a, b in zip(*pairs, strict=True))
        else:
            assert one.text == other.text
    assert at <= min(place for place, item in enumerate(drawing.items) if item.name == "edges")
    # Half of the color and half of the white paper: 255 - 128/255 · (255 - color).
    np.testing.assert_allclose(drawing.items[at].pixels[0, 0], (227, 202, 177), atol=1)
    row, column = round((drawing.height - frame.box[3]) / 25.4 * DPI), round(frame.box[0] / 25.4 * DPI)
    assert tuple(dots(drawing, DPI)[row, column]) == tuple(drawing.items[at].pixels[0, 0])


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("example", EXAMPLES)
def test_leaves_are_seen_whole_through_a_transparent_body(assemblies, example, view):
    """Their wide and narrow black lines go around all that they cover; the body's are thin and gray."""
    table = assemblies[example]
    page = styled_page(table, "transparent", view=view, leaves="stowed", labels=True)
    frame = page.frame(DPI)
    drawing = page.drawing("2031-05-17", frame, even(frame))
    strokes = [item for item in drawing.items if item.name in ("outlines", "edges")]
    black = [path for item in strokes if item.pen.color == "#000000" for path in item.paths]
    gray = [item for item in strokes if item.pen.color != "#000000"]
    assert all(item.pen.width < 0.5 for item in gray)
    assert gray
    first = min(place for place, item in enumerate(drawing.items) if item in gray)
    assert max(place for place, item in enumerate(drawing.items) if item in strokes) > first
    leaves = [part for part in table.parts if part.role.slides]
    flat = (triangles_of(leaves) @ VIEWS[view].axes.T)[:, :, :2] * page.layout.scale + page.layout.place
    shapes = [shapely.Polygon(one) for one in flat]
    covered = shapely.union_all([one for one in shapes if one.area > 1e-6])
    covered = covered.buffer(1e-4, join_style="mitre").buffer(
        -1e-4, join_style="mitre"
    )  # slivers between triangles
    lines = shapely.union_all([shapely.LineString(path) for path in black])
    around = shapely.union_all([shapely.LineString(ring.coords) for ring in rings_of(covered)])
    assert around.difference(lines.buffer(1e-3)).length < 0.01 * around.length
    words = [item.text for item, _ in drawing.texts()]
    labels = [item.text for item, _ in drawing.texts() if item.name == "label"]
    assert {label.split()[0] for label in labels} <= {part.label for part in leaves}
    assert labels
    assert any("leaves stowed, body transparent" in one for one in words)


def rings_of(shape) -> list:
    polygons = shape.geoms if hasattr(shape, "geoms") else [shape]
    return [ring for one in polygons for ring in (one.exterior, *one.interiors)]


def test_rendered_pictures_have_no_lines_and_fade_at_their_borders(assemblies):
    page = styled_page(assemblies["quilting"], "rendered")
    frame = page.frame(DPI)
    drawing = page.drawing("2031-05-17", frame, even(frame, color=(0, 0, 0)))
    assert not [item for item in drawing.items if item.name in ("outlines", "edges", "label")]
    (image,) = (item for item in drawing.items if isinstance(item, Image))
    pixels = image.pixels
    for border in (pixels[0], pixels[-1], pixels[:, 0], pixels[:, -1]):
        assert border.min() > 245
    scale = np.array([frame.columns, frame.rows]) / (frame.width, frame.height) / page.layout.scale
    low = np.ceil((np.array(page.layout.box[:2]) - frame.box[:2]) * scale).astype(int)
    high = np.floor((np.array(page.layout.box[2:]) - frame.box[:2]) * scale).astype(int)
    within = pixels[::-1][low[1] : high[1], low[0] : high[0]]
    assert within.size > 1000
    assert within.max() == 0


@pytest.mark.parametrize("style", STYLES)
def test_every_page_says_table_scale_and_date(assemblies, style):
    for view, scale in (("front", "1:10"), ("isometric", "1:10 along length, width and height")):
        page = styled_page(assemblies["quilting"], style, view=view)
        frame = page.frame(DPI)
        words = [item.text for item, _ in page.drawing("2031-05-17", frame, even(frame)).texts()]
        assert {"Quilting table", scale, "2031-05-17"} <= set(words)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--view", "top"], "--view needs --style"),
        (["--dpi", "100"], "--dpi needs --style"),
        (["--style", "shaded", "--engine", "cycles"], "--engine is for --style rendered"),
    ],
)
def test_arguments_that_would_do_nothing_are_refused(tmp_path, capsys, arguments, sentence):
    table = tmp_path / "table.toml"
    assert main(["new", str(table)]) == 0
    assert main(["render", str(table), "--image", str(tmp_path / "a.png"), *arguments]) == 2
    assert sentence in capsys.readouterr().err
    assert [item.name for item in tmp_path.iterdir()] == ["table.toml"]


@pytest.mark.parametrize("view", ["front", "isometric", "30,20"])
def test_sizes_stand_beside_the_title_block_in_any_view(assemblies, view):
    # The file's 1500 by 960 by 770; below its body 628.1 is free: 770 less leaf 17.7, well 40, bottom panel 11.8, and
    # the 72.4 of the sides below that.
    drawing = line_picture(assemblies["quilting"], date="2031-05-17", view=view, sizes_in="mm")
    told = {text.text for text, _ in drawing.texts()}
    assert {"Length 1500 mm", "Width 960 mm", "Height 770 mm", "Knee clearance 628.1 mm"} <= told
    without = line_picture(assemblies["quilting"], date="2031-05-17", view=view)
    assert not any(text.text.startswith("Knee") for text, _ in without.texts())
