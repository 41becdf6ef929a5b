"""PDF files read back by pypdf 7.1.1 and drawn by pypdfium2 5.15.2 (PDFium), images by Pillow 13.0.0.

What a file has to hold is from ISO 32000-1: operators of a page (annex A), boxes (14.11.2), printing (12.2).
"""

from __future__ import annotations

import builtins
import io
import re
import xml.etree.ElementTree as ElementTree
from base64 import b64decode
from datetime import date

import numpy as np
import pypdf
import pypdfium2
import pytest
from PIL import Image as Pillow
from pypdf._codecs.core_font_metrics import CORE_FONT_METRICS
from pypdf.generic import ContentStream

from addon.command_line import main
from addon.designs.table import build
from addon.files.examples import EXAMPLES
from addon.paper.sheet import Drawing, Pen, helvetica, save
from addon.paper.sheet.items import Fill, Stroke
from addon.paper.sheet.lettering import text_width
from addon.paper.sheet.pdf import pdf_bytes
from addon.paper.sheet.raster import dots
from addon.paper.sheet.save import svg_text
from addon.paper.table_page import line_picture
from addon.sizes.errors import ExportError
from tests.large import sampled

POINT = 25.4 / 72
"""mm."""


@pytest.fixture(scope="module")
def table() -> Drawing:
    """The quilting table with everything that a line drawing has."""
    assembly = build(EXAMPLES["quilting"].table())
    return line_picture(assembly, date="2031-05-17", leaves="stowed", hidden=True, labels=True)


def read(data: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(data), strict=True)


def operations(data: bytes, page: int = 0) -> list[tuple[list, str]]:
    reader = read(data)
    content = ContentStream(reader.pages[page].get_contents(), reader)
    return [(operands, operator.decode()) for operands, operator in content.operations]


def painted(data: bytes) -> list[tuple]:
    """What is painted: the operator, its pen or color, and the paths in units of the page's own first matrix."""
    found, paths, pen = [], [], {}
    for operands, operator in operations(data):
        if operator in ("m", "l"):
            if operator == "m":
                paths.append([])
            paths[-1].append([float(one) for one in operands])
        elif operator == "h":
            paths[-1].append("closed")
        elif operator in ("w", "d", "J", "j", "RG", "rg"):
            pen[operator] = operands
        elif operator in ("S", "f*"):
            found.append((operator, dict(pen), paths))
            paths = []
    assert not paths
    return found


def drawn(data: bytes, dpi: float, page: int = 0) -> np.ndarray:
    """(rows, columns, 3) uint8: the page as PDFium draws it."""
    return np.asarray(pypdfium2.PdfDocument(data)[page].render(scale=dpi / 72).to_pil().convert("RGB"))


@pytest.mark.parametrize("size", [(210.0, 297.0), (420.0, 297.0), (215.9, 279.4), (100.25, 33.3)])
def test_a_page_is_the_sheet_and_is_printed_at_its_size(size):
    data = pdf_bytes([Drawing(*size, title="Sheet")])
    (page,) = read(data).pages
    assert [float(one) * POINT for one in page.mediabox] == pytest.approx([0, 0, *size], abs=1e-4)
    preferences = read(data).trailer["/Root"]["/ViewerPreferences"]
    assert preferences["/PrintScaling"] == "/None"
    first, operator = operations(data)[0]
    assert operator == "cm"
    assert [float(one) for one in first] == pytest.approx([1 / POINT, 0, 0, 1 / POINT, 0, 0], abs=1e-6)


@pytest.mark.parametrize("title", ["Quilting table", "Nähtisch (b\\c) ≤ 5", ""])
def test_title_and_date(title):
    information = read(pdf_bytes([Drawing(100, 100, title)], date(2031, 5, 17))).metadata
    assert (information.title or "") == title
    assert information.creation_date.date() == date(2031, 5, 17)
    assert pdf_bytes([Drawing(9, 9)], date(2031, 5, 17)) == pdf_bytes([Drawing(9, 9)], date(2031, 5, 17))


def test_lines_and_areas_are_those_of_the_drawing(table):
    lines = Drawing(table.width, table.height)
    lines.items = line_items(table)
    found = painted(pdf_bytes([lines]))
    assert len(found) == len(lines.items) > 5
    for item, (operator, pen, paths) in zip(lines.items, found, strict=True):
        if isinstance(item, Stroke):
            assert operator == "S"
            assert float(pen["w"][0]) == pytest.approx(item.pen.width)
            assert [float(one) for one in pen["d"][0]] == pytest.approx(item.pen.dash)
            assert float(pen["d"][1]) == 0
            assert (pen["J"], pen["j"]) == ([0], [0])
            color, wanted, closed = pen["RG"], item.pen.color, item.closed
        else:
            assert operator == "f*"
            color, wanted, closed = pen["rg"], item.color, True
        assert "#" + "".join(f"{round(float(one) * 255):02x}" for one in color) == wanted
        points = item.paths if isinstance(item, Stroke) else item.rings
        assert len(points) == len(paths)
        for path, ring in zip(paths, points, strict=True):
            assert (path[-1] == "closed") == closed
            np.testing.assert_allclose([one for one in path if one != "closed"], ring, atol=1e-4)


def line_items(table: Drawing) -> list[Stroke | Fill]:
    """The table's lines, a closed one with dashes, an area with a hole."""
    drawing = Drawing(table.width, table.height)
    drawing.polyline([(10, 10), (50, 15), (30, 50.12345)], Pen(0.7, "#d55e00", (3, 1, 0.5, 1)), closed=True)
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)])
    drawing.fill([square * 30, square * 10 + 5], "#0072b2")
    return [item for item in (*table.items, *drawing.items) if isinstance(item, Stroke | Fill)]


@pytest.mark.parametrize("dpi", sampled([127], [127, 254]))
def test_pages_look_like_pictures(table, dpi):
    """Dots that lie whole on the sheet; thin lines come out a little bolder, so lines are compared by place."""
    lines = Drawing(table.width, table.height)
    lines.items = line_items(table)
    ours, theirs = dots(lines, dpi)[:, :, 1], drawn(pdf_bytes([lines]), dpi)[:, :, 1]
    assert theirs.shape == ours.shape
    ours, theirs = ours.astype(float), theirs.astype(float)
    assert np.abs(ours - theirs).mean() < 0.2
    for one, other in ((ours, theirs), (theirs, ours)):
        around = np.min([np.roll(one, (y, x), (0, 1)) for y in (-1, 0, 1) for x in (-1, 0, 1)], axis=0)
        assert not ((other < 150) & (around > 200)).any()


def test_lettering_is_text_that_can_be_found(table):
    data = pdf_bytes([table])
    words = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range()
    other = read(data).pages[0].extract_text()
    for item, _ in table.texts():
        assert item.text in words
        assert item.text in other


@pytest.mark.parametrize("weight", [0.1, 0.15])
@pytest.mark.parametrize("angle", [0.0, 90.0, 30.0])
@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("words", ["LEFT HAND", "Räder (18 mm) – ½ × 3", "illicit 1:10 \\ %"])
def test_lettering_is_as_large_as_the_drawing_says(words, anchor, angle, weight):
    """The ink of the letters lies within the box of the text, and capitals are as high as it."""
    size = 5.0
    drawing = Drawing(200, 200)
    drawing.text(words, 100, 100, size, anchor, angle=angle, weight=weight)
    dpi = 254
    picture = drawn(pdf_bytes([drawing]), dpi)[:, :, 0]
    row, column = np.nonzero(picture < 128)
    points = np.stack([column + 0.5, len(picture) - row - 0.5], axis=1) / dpi * 25.4 - 100
    turn = np.radians(angle)
    along = points @ (np.cos(turn), np.sin(turn))
    up = points @ (-np.sin(turn), np.cos(turn))
    wide = text_width(words, size)
    start = {"start": 0.0, "middle": -wide / 2, "end": -wide}[anchor]
    assert along.min() > start - 0.1
    assert along.max() < start + wide + 0.1
    assert np.ptp(along) > 0.85 * wide
    if words.isupper():
        assert (up.min(), up.max()) == pytest.approx((0, size), abs=0.16)  # a dot is 0.1


def test_letters_outside_latin_1_are_drawn():
    drawing = Drawing(80, 20)
    drawing.text("≤ 5 ≥", 5, 5, 6, halo=0.5)
    assert "≤" not in pypdfium2.PdfDocument(pdf_bytes([drawing]))[0].get_textpage().get_text_range()
    ours, theirs = (
        dots(drawing, 254)[:, :, 0].astype(float),
        drawn(pdf_bytes([drawing]), 254)[:, :, 0].astype(float),
    )
    assert np.abs(ours - theirs).mean() < 1.0
    assert theirs.min() < 50


def test_a_border_around_letters_is_white_and_no_text_of_its_own():
    drawing = Drawing(80, 20)
    drawing.rectangle((0, 0, 80, 20), "#0072b2")
    drawing.text("Once", 10, 8, 6, halo=1.0)
    data = pdf_bytes([drawing])
    picture = drawn(data, 254)
    assert (picture == 255).all(axis=2).sum() > 500
    spans = [operands for operands, operator in operations(data) if operator == "BDC"]
    assert [dict(one[1]) for one in spans] == [{"/ActualText": ""}]
    assert pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range().count("Once") == 1


@pytest.mark.parametrize("name", ["Helvetica", "Helvetica-Bold"])
def test_widths_of_letters_are_those_of_the_typeface(name):
    """Against the metric files as pypdf carries them."""
    known = CORE_FONT_METRICS[name]
    assert known.font_descriptor.cap_height / 1000 == helvetica.CAPITAL_OF_EM or name != "Helvetica"
    letters = [bytes([code]).decode("cp1252", "ignore") for code in range(32, 256)]
    checked = [letter for letter in letters if letter in known.character_widths]
    for letter in checked:
        assert helvetica.width(letter, name.endswith("Bold")) == known.character_widths[letter] / 1000
        assert helvetica.encoded(letter) == letter.encode("cp1252")
    assert len(checked) > 200
    assert helvetica.encoded("≤") is None


PICTURE = np.random.default_rng(3).integers(0, 256, (30, 40, 3)).astype(np.uint8)


def test_images_are_kept_dot_by_dot():
    drawing = Drawing(120, 80)
    drawing.image(PICTURE, (10.0, 20.0, 50.0, 50.0))
    data = pdf_bytes([drawing])
    (image,) = read(data).pages[0].images
    assert (np.asarray(Pillow.open(io.BytesIO(image.data)).convert("RGB")) == PICTURE).all()
    places = [[float(one) for one in operands] for operands, operator in operations(data) if operator == "cm"]
    assert places[1] == pytest.approx([40, 0, 0, 30, 10, 20])
    root = ElementTree.fromstring(svg_text(drawing))
    (element,) = root.findall("{http://www.w3.org/2000/svg}image")
    kind, _, code = element.get("{http://www.w3.org/1999/xlink}href").partition(",")
    assert kind == "data:image/png;base64"
    assert (np.asarray(Pillow.open(io.BytesIO(b64decode(code)))) == PICTURE).all()
    assert [float(element.get(one)) for one in ("x", "y", "width", "height")] == [10, 30, 40, 30]


@pytest.mark.parametrize("factor", [1, 2, 5])
def test_images_are_averaged_over_the_dots_of_a_picture(factor):
    """Against Pillow's box filter; at one dot each they are as they were."""
    drawing = Drawing(120, 80)
    drawing.image(PICTURE, (10.0, 20.0, 50.0, 50.0))
    found = dots(drawing, 25.4 / factor)[30 // factor : 60 // factor, 10 // factor : 50 // factor].astype(
        float
    )
    want = Pillow.fromarray(PICTURE).resize((40 // factor, 30 // factor), Pillow.Resampling.BOX)
    assert np.abs(found - np.asarray(want)).max() <= 1


def test_an_image_covers_part_of_a_dot_by_its_share():
    drawing = Drawing(4, 4)
    drawing.image(np.zeros((7, 3, 3), dtype=np.uint8), (0.75, 1.5, 2.5, 3.0))
    across, up = np.array([0.25, 1, 0.5, 0]), np.array([0, 0.5, 1, 0])
    want = 255 * (1 - np.outer(up[::-1], across))
    assert np.abs(dots(drawing, 25.4)[:, :, 0] - want).max() <= 0.5 + 1e-4


def test_an_image_lies_over_what_came_before_and_under_what_comes_after():
    drawing = Drawing(60, 60)
    drawing.rectangle((0, 0, 60, 60), "#0072b2")
    drawing.image(np.full((10, 10, 3), 200, dtype=np.uint8), (10, 10, 50, 50))
    drawing.rectangle((20, 20, 40, 40), "#d55e00")
    for found in (dots(drawing, 25.4), drawn(pdf_bytes([drawing]), 25.4)):
        assert [tuple(found[at, at]) for at in (5, 15, 30)] == [(0, 114, 178), (200, 200, 200), (213, 94, 0)]


def test_several_drawings_are_pages_of_one_file(tmp_path, table):
    path = tmp_path / "sheets.pdf"
    save([table, Drawing(100, 50), table], path)
    reader = read(path.read_bytes())
    widths = [round(float(page.mediabox.width) * POINT) for page in reader.pages]
    assert widths == [round(table.width), 100, round(table.width)]
    assert "Quilting table" in reader.pages[2].extract_text()
    with pytest.raises(ExportError, match=re.escape("several sheets go into one file only as .pdf")):
        save([table, table], tmp_path / "sheets.svg")
    assert [item.name for item in tmp_path.iterdir()] == ["sheets.pdf"]


def test_without_the_package_one_sentence_says_what_is_missing(monkeypatch, tmp_path):
    real = builtins.__import__

    def without(name, *rest):
        if name == "pydyf":
            raise ImportError(name)
        return real(name, *rest)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(ExportError, match="needs the Python package pydyf; install it"):
        save(Drawing(10, 10), tmp_path / "sheet.pdf")
    assert not list(tmp_path.iterdir())


def test_command(tmp_path):
    table, pdf = tmp_path / "table.toml", tmp_path / "table.pdf"
    assert main(["new", str(table), "--example", "seed-bench"]) == 0
    assert main(["draw", str(table), "--image", str(pdf), "--size", "A3", "--labels"]) == 0
    (page,) = read(pdf.read_bytes()).pages
    assert [float(one) * POINT for one in page.mediabox[2:]] == pytest.approx([420, 297], abs=1e-4)
    words = page.extract_text()
    assert "Seed-sorting bench" in words
    assert date.today().isoformat() in words
