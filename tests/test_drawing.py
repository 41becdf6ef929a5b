"""Drawings: coverage of dots against shapely 2.2.0, files read back by Pillow 13.0.0 and the standard library's XML.

What a file has to hold: PNG from ISO/IEC 15948 (chunks IHDR, pHYs), SVG 1.1 from its recommendation; line types and
heights of letters from ISO 128-2 and ISO 3098-1 (from memory).
"""

from __future__ import annotations

import io
import re
import stat
import string
import struct
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

from addon.paper.sheet import WHITE, Drawing, Pen, save
from addon.paper.sheet.areas import dashes
from addon.paper.sheet.clip import clip_path, clip_ring, hatch_lines, overlap
from addon.paper.sheet.dimensions import chain, double_dashed, spread, upright_dimension
from addon.paper.sheet.lettering import (
    ACCENTS,
    GLYPHS,
    MISSING,
    SAME,
    shortened,
    text_box,
    text_strokes,
    text_width,
    wrapped,
)
from addon.paper.sheet.png import png_of_bands
from addon.paper.sheet.raster import bands, coverage, dots, png_of
from addon.paper.sheet.save import svg_text
from addon.sizes.errors import ExportError

SVG = "{http://www.w3.org/2000/svg}"

STAR = [(30, 5), (36, 22), (55, 22), (40, 33), (45, 51), (30, 40), (15, 51), (20, 33), (5, 22), (24, 22)]
THIN = [(3.2, 3.9), (3.3, 3.9), (57.7, 58.1), (57.6, 58.1)]
SLIVER = [(10.5, 0), (10.5000001, 0), (10.5, 60)]


def shares(area: shapely.Geometry, columns: int, rows: int) -> np.ndarray:
    """(rows, columns) share of every dot that an area covers, the lowest row first."""
    x, y = np.meshgrid(np.arange(columns), np.arange(rows))
    return shapely.area(shapely.intersection(shapely.box(x, y, x + 1, y + 1), area))


def sheet(mm: float = 60.0) -> Drawing:
    return Drawing(mm, mm)


ONE_DOT_A_MM = 25.4


def ink(drawing: Drawing) -> np.ndarray:
    """(rows, columns) how dark a drawing in black is, 0 to 1, at a dot a millimeter, the lowest row first."""
    picture = dots(drawing, ONE_DOT_A_MM)
    assert (picture == picture[:, :, :1]).all()
    return 1 - picture[::-1, :, 0] / 255


@pytest.mark.parametrize("ring", [STAR, STAR[::-1], THIN, SLIVER], ids=["star", "turned", "thin", "sliver"])
def test_dots_of_a_polygon_are_covered_exactly(ring):
    drawing = sheet()
    drawing.fill([ring], "#000000")
    assert np.abs(ink(drawing) - shares(shapely.Polygon(ring), 60, 60)).max() <= 0.5 / 255 + 1e-6


def test_coverage_is_exact_to_rounding_and_not_just_to_a_dots_brightness():
    generator = np.random.default_rng(7)
    for _ in range(20):
        ring = generator.uniform(-5, 25, (3, 2))
        edges = np.concatenate([ring, np.roll(ring, -1, axis=0)], axis=1)
        found, top, left = coverage(edges, 20, 20)
        whole = np.zeros((20, 20))
        whole[top : top + found.shape[0], left : left + found.shape[1]] = found
        np.testing.assert_allclose(whole, shares(shapely.Polygon(ring), 20, 20), atol=1e-9)


def test_a_ring_in_a_ring_is_a_hole_and_one_in_that_an_island():
    rings = [
        shapely.box(*box).exterior.coords[:-1]
        for box in ((5, 5, 55, 55), (10.25, 12, 50, 48.5), (20, 20, 31.5, 30))
    ]
    drawing = sheet()
    drawing.fill([np.array(ring) for ring in rings], "#000000")
    outer, hole, island = (shapely.Polygon(ring) for ring in rings)
    want = shares(outer.difference(hole).union(island), 60, 60)
    assert np.abs(ink(drawing) - want).max() <= 0.5 / 255 + 1e-6


def test_a_line_covers_what_its_buffer_does():
    path = [(5, 5), (40, 12), (52, 50), (20, 55), (12.5, 30)]
    drawing = sheet()
    drawing.polyline(path, Pen(3.7))
    buffer = shapely.LineString(path).buffer(3.7 / 2, cap_style="flat", join_style="mitre", mitre_limit=4)
    assert np.abs(ink(drawing) - shares(buffer, 60, 60)).max() <= 0.5 / 255 + 1e-6


def test_a_closed_line_has_all_its_corners():
    drawing = sheet()
    drawing.polyline([(10, 10), (50, 15), (30, 50)], Pen(2), closed=True)
    ring = shapely.LinearRing([(10, 10), (50, 15), (30, 50)])
    outside = shapely.Polygon(ring).buffer(1, join_style="mitre")
    inside = shapely.Polygon(ring).buffer(-1, join_style="mitre")
    assert np.abs(ink(drawing) - shares(outside.difference(inside), 60, 60)).max() <= 0.5 / 255 + 1e-6


def test_what_lies_above_covers_what_lies_below_and_none_shines_through():
    drawing = sheet()
    drawing.rectangle((10, 10, 50, 50), "#d55e00")
    drawing.rectangle((20, 20, 40, 40), "#0072b2")
    picture = dots(drawing, ONE_DOT_A_MM)
    assert tuple(picture[30, 30]) == (0x00, 0x72, 0xB2)
    assert tuple(picture[30, 15]) == (0xD5, 0x5E, 0x00)
    assert tuple(picture[5, 5]) == (255, 255, 255)


@pytest.mark.parametrize("most", [1, 700, 5000])
def test_bands_are_what_the_whole_is(most):
    """Dot by dot; lines, areas and images that end anywhere, over the borders of bands and of the sheet."""
    random = np.random.default_rng(7)
    drawing = Drawing(70.3, 41.7)
    for number in range(20):
        color = f"#{int(random.integers(2**24)):06x}"
        drawing.polyline(random.uniform(-9, 80, (4, 2)), Pen(float(random.uniform(0.1, 3.0)), color))
        drawing.fill([random.uniform(-9, 80, (3, 2))], color)
        if number % 5 == 0:
            left, bottom = random.uniform(-9, 20, 2)
            pixels = random.integers(0, 256, (31 + 17 * number, 47, 3)).astype(np.uint8)
            drawing.image(pixels, (left, bottom, left + 33.3, bottom + 21.1))
    cut = list(bands(drawing, 60.0, most))
    (whole,) = bands(drawing, 60.0, 10**9)
    assert len(cut) > 3
    assert len({band.shape[1:] for band in cut}) == 1
    assert (np.concatenate(cut) == whole).all()


def test_a_png_of_bands_is_read_as_the_whole():
    """By Pillow; the rows of a band are filtered by the last of the one before."""
    image = np.random.default_rng(3).integers(0, 256, (40, 30, 3)).astype(np.uint8)
    data = png_of_bands([image[:1], image[1:17], image[17:]], (40, 30), 100.0)
    assert (np.asarray(Image.open(io.BytesIO(data))) == image).all()


@pytest.mark.parametrize("dpi", [72, 150, 200, 300])
def test_a_png_has_the_size_of_the_sheet_and_says_its_dots_an_inch(dpi):
    drawing = Drawing(297, 210)
    drawing.line((10, 10), (100, 100), Pen(0.5))
    data = png_of(drawing, dpi)
    picture = Image.open(io.BytesIO(data))
    picture.load()
    assert picture.mode == "RGB"
    assert picture.size == (round(297 / 25.4 * dpi), round(210 / 25.4 * dpi))
    at = data.index(b"pHYs")
    across, up, unit = struct.unpack(">IIB", data[at + 4 : at + 13])
    assert (across, up, unit) == (round(dpi / 0.0254), round(dpi / 0.0254), 1)
    assert (np.asarray(picture) == dots(drawing, dpi)).all()


def test_the_same_drawing_gives_the_same_bytes():
    def made() -> Drawing:
        drawing = Drawing(100, 80, "a & b")
        drawing.hatch([STAR], Pen(0.2), 2)
        drawing.text("½ × 18 mm", 10, 60, 5)
        return drawing

    assert png_of(made(), 100) == png_of(made(), 100)
    assert svg_text(made()) == svg_text(made())


def test_svg_is_in_millimeters_with_text_that_is_text():
    drawing = Drawing(297, 210, "Sheet <1> & more")
    drawing.line((10, 20), (30, 20), double_dashed(0.25))
    drawing.polyline([(0, 0), (10, 0), (10, 10)], Pen(0.5, "#0072b2"), closed=True, name='board "R1"')
    drawing.text("a < b & c", 50, 100, 3.6, "middle", halo=0.5)
    root = ElementTree.fromstring(svg_text(drawing))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("297mm", "210mm", "0 0 297 210")
    assert root.get("font-family") == "sans-serif"
    assert root.find(f"{SVG}title").text == "Sheet <1> & more"
    dashed, board = root.findall(f"{SVG}path")
    assert dashed.get("d") == "M10 190L30 190"
    assert [float(one) for one in dashed.get("stroke-dasharray").split()] == pytest.approx(
        [6, 0.75, 0.125, 0.75, 0.125, 0.75]
    )
    assert board.get("d").endswith("Z")
    assert board.find(f"{SVG}title").text == 'board "R1"'
    border, words = root.findall(f"{SVG}text")
    assert words.text == border.text == "a < b & c"
    assert border.get("stroke") == WHITE
    assert (words.get("x"), words.get("y"), words.get("text-anchor")) == ("50", "110", "middle")
    assert float(words.get("textLength")) == pytest.approx(text_width("a < b & c", 3.6), abs=1e-3)


@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("pattern", [(4.0, 2.0), double_dashed(0.5).dash, chain(0.35).dash, (3.0,)])
def test_dashes_are_those_of_the_pattern_along_the_line(pattern, closed):
    path = np.array([(0, 0), (17, 0), (17, 9), (40, 31.5)], dtype=float)
    whole = shapely.LineString([*path, path[0]] if closed else path)
    lengths, at, turn = [], 0.0, 0
    while at < whole.length:
        step = min(pattern[turn % len(pattern)], whole.length - at)
        if turn % 2 == 0:
            lengths.append(step)
        at, turn = at + step, turn + 1
    found = dashes(path, pattern, closed)
    assert [shapely.LineString(one).length for one in found] == pytest.approx(lengths)
    assert all(whole.buffer(1e-9).covers(shapely.LineString(one)) for one in found)


def test_dashes_darken_a_line_by_their_share():
    drawing, solid = sheet(), sheet()
    drawing.line((0, 30.5), (60, 30.5), Pen(1, dash=(2.5, 1.5)))
    solid.line((0, 30.5), (60, 30.5), Pen(1))
    assert ink(drawing).sum() / ink(solid).sum() == pytest.approx(2.5 / 4, abs=0.01)


def test_what_is_clipped_is_what_lies_within():
    box = (20.0, 15.0, 44.0, 38.5)
    clipped = sheet()
    with clipped.clipped(box):
        clipped.fill([STAR], "#000000")
    want = shapely.Polygon(STAR).intersection(shapely.box(*box))
    assert np.abs(ink(clipped) - shares(want, 60, 60)).max() <= 0.5 / 255 + 1e-6
    assert shapely.Polygon(clip_ring(np.array(STAR, dtype=float), box)).area == pytest.approx(want.area)


@pytest.mark.parametrize("closed", [False, True])
def test_lines_are_clipped_into_the_pieces_within(closed):
    box = (21.0, 15.0, 44.0, 38.5)
    ring = np.array(STAR, dtype=float)
    line = shapely.LineString([*STAR, STAR[0]] if closed else STAR)
    want = line.intersection(shapely.box(*box))
    pieces = clip_path(ring, box, closed)
    found = shapely.MultiLineString(pieces)
    assert found.length == pytest.approx(want.length)
    assert found.hausdorff_distance(want) < 1e-9
    assert len(pieces) == len(shapely.line_merge(want).geoms)


def test_overlap_of_convex_areas():
    a = np.array([(0, 0), (10, 0), (12, 6), (2, 8)], dtype=float)
    b = np.array([(8, -3), (8, 7), (20, 7), (20, -3)], dtype=float)
    want = shapely.Polygon(a).intersection(shapely.Polygon(b))
    for first, second in ((a, b), (b, a), (a[::-1], b), (a, b[::-1])):
        assert shapely.Polygon(overlap(first, second)).symmetric_difference(want).area < 1e-9
    assert len(overlap(a, b + 50.0)) == 0


@pytest.mark.parametrize("degrees", [45, 135, 30, 0])
def test_hatching_is_the_set_of_lines_within(degrees):
    hole = [(28, 28), (34, 26), (32, 34)]
    area = shapely.Polygon(STAR, [hole])
    lines = hatch_lines([np.array(STAR, dtype=float), np.array(hole, dtype=float)], 1.7, degrees)
    turn = np.radians(degrees)
    across = np.array([-np.sin(turn), np.cos(turn)])
    want = 0.0
    for number in range(-80, 81):
        foot = number * 1.7 * across
        along = 200 * np.array([np.cos(turn), np.sin(turn)])
        want += shapely.LineString([foot - along, foot + along]).intersection(area).length
    assert sum(shapely.LineString(line).length for line in lines) == pytest.approx(want, rel=1e-9)
    assert all(area.buffer(1e-6).covers(shapely.LineString(line)) for line in lines)


NEEDED = string.ascii_letters + string.digits + string.punctuation + "°±×µ½–—√α−²³¹⁻≤≥ØäöüßéñÅ¾⅛→·…’”"


@pytest.mark.parametrize("letter", NEEDED)
def test_every_letter_has_strokes_of_its_own(letter):
    drawing = sheet(20)
    item = drawing.text(letter, 5, 5, 10)
    strokes = text_strokes(item)
    missing = text_strokes(sheet().text(MISSING, 5, 5, 10))
    assert strokes
    assert [one.tolist() for one in strokes] != [one.tolist() for one in missing]
    left, bottom, right, top = text_box(item)
    points = np.concatenate(strokes)
    assert left - 1e-9 <= points[:, 0].min()
    assert points[:, 0].max() <= right + 1e-9
    assert bottom - 1e-9 <= points[:, 1].min()
    if letter not in "Å":  # a ring over a capital stands above brackets
        assert points[:, 1].max() <= top + 10 * 0.12


def test_no_two_letters_look_alike():
    codes = [GLYPHS[letter] for letter in GLYPHS]
    twice = [letter for letter in GLYPHS if codes.count(GLYPHS[letter]) > 1]
    assert not twice
    assert set(SAME).isdisjoint(GLYPHS)
    assert all(strokes for strokes in ACCENTS.values())


def test_capitals_are_as_high_as_the_lettering():
    points = np.concatenate(text_strokes(sheet().text("HEX", 5, 12, 7)))
    assert points[:, 1].min() == pytest.approx(12)
    assert points[:, 1].max() == pytest.approx(19)


@pytest.mark.parametrize(("anchor", "share"), [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
def test_anchors_and_turning(anchor, share):
    item = sheet().text("Hello", 30, 20, 4, anchor, angle=90)
    left, bottom, right, top = text_box(item)
    width = text_width("Hello", 4)
    assert bottom == pytest.approx(20 - share * width)
    assert top == pytest.approx(20 + (1 - share) * width)
    assert left < 30 - 4 < 30 < right


@pytest.mark.parametrize(("vertical", "low"), [("base", 20.0), ("middle", 18.0), ("top", 16.0)])
def test_vertical_anchors(vertical, low):
    points = np.concatenate(text_strokes(sheet().text("H", 30, 20, 4, vertical=vertical)))
    assert points[:, 1].min() == pytest.approx(low)


def test_lines_of_words_keep_within_their_room():
    text = "Keep the outer end between 6.5 mm low and 9.5 mm high"
    lines = wrapped(text, 2.5, 40)
    assert " ".join(lines) == text
    assert len(lines) > 1
    assert max(text_width(line, 2.5) for line in lines) <= 40
    short = shortened(text, 2.5, 30)
    assert text_width(short, 2.5) <= 30
    assert short.endswith("…")
    assert text.startswith(short[:-1])
    assert shortened("R1", 2.5, 30) == "R1"


def test_things_side_by_side_are_spread_as_little_as_may_be():
    widths = np.full(3, 10.0)
    np.testing.assert_allclose(spread(np.array([10.0, 40.0, 70.0]), widths, 0, 100), [10, 40, 70])
    np.testing.assert_allclose(spread(np.array([48.0, 50.0, 52.0]), widths, 0, 100), [40, 50, 60])
    np.testing.assert_allclose(spread(np.array([1.0, 2.0, 3.0]), widths, 0, 100), [5, 15, 25])
    found = spread(np.array([95.0, 96.0, 97.0]), widths, 0, 100)
    np.testing.assert_allclose(found, [75, 85, 95])


@pytest.mark.parametrize("height", [2.0, 20.0])
def test_a_dimension_has_two_heads_on_its_extension_lines(height):
    drawing = sheet()
    upright_dimension(drawing, 30, (20, 10), (20, 10 + height), "20 mm", 1)
    heads = [item.rings[0] for item in drawing.items if type(item).__name__ == "Fill"]
    tips = sorted(float(head[0][1]) for head in heads)
    assert tips == pytest.approx([10, 10 + height])
    rest = [float(np.mean(head[1:], axis=0)[1]) for head in sorted(heads, key=lambda head: head[0][1])]
    assert (rest[0] > 10) is (height == 20.0)  # inside where there is room, else from outside
    assert [item.text for item, _ in drawing.texts()] == ["20 mm"]


@pytest.mark.parametrize("suffix", [".svg", ".png", ".PNG"])
def test_a_file_is_replaced_whole(tmp_path: Path, suffix):
    path = tmp_path / f"sheet{suffix}"
    path.write_bytes(b"old")
    path.chmod(0o640)
    drawing = sheet()
    drawing.text("R1", 5, 5, 5)
    save(drawing, path, dpi=100)
    want = svg_text(drawing).encode() if suffix == ".svg" else png_of(drawing, 100)
    assert path.read_bytes() == want
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_another_kind_or_no_folder_is_one_sentence(tmp_path: Path):
    with pytest.raises(ExportError, match=re.escape("has to end in .svg, .png or .pdf")):
        save(sheet(), tmp_path / "sheet.bmp")
    with pytest.raises(ExportError, match="there is no folder"):
        save(sheet(), tmp_path / "none" / "sheet.svg")
