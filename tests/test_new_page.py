"""A page that the program does not have, from the function that draws it to SVG, PDF and PNG and a subcommand.

Sizes of the board follow by hand from the quilting table's: R1 reaches between sides of 17.7 across 960, its height
from the bottom panel to the body's lower edge, of a sheet of 17.7. mm.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET

import numpy as np
import pypdf
import pytest
from PIL import Image

from addon.command_line import tasks
from addon.command_line.main import main
from addon.designs.table import build
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.paper.sheet import Drawing
from addon.paper.sheet.save import drawing_bytes
from tests.new_page import board_page, draw_board

QUILTING = set_values(EXAMPLES["quilting"].table(), {"table.width": 960.0})
WORDS = "R1 through rib: 924.6 mm x "


@pytest.fixture(scope="module")
def page() -> Drawing:
    return board_page(build(QUILTING), "R1", "mm", date="2026-11-30")


def test_it_says_what_it_shows_and_carries_a_title_block(page: Drawing) -> None:
    said = [item.text for item, _ in page.texts()]
    assert any(text.startswith(WORDS) and text.endswith(" x 17.7 mm") for text in said)
    assert {"Quilting table", "View from above", "1:5", "2026-11-30"} <= set(said)


def test_the_board_is_to_scale_on_the_paper(page: Drawing) -> None:
    """924.6 at 1:5 are 184.92; at 1:2 they would be 462.3, wider than A4 is."""
    (outlines,) = page.named("outlines")
    points = np.concatenate(outlines.paths)
    assert np.ptp(points[:, 0]) == pytest.approx(924.6 / 5, abs=1e-6)


def test_as_svg_it_is_a_sheet_of_a4(page: Drawing) -> None:
    root = ET.fromstring(drawing_bytes(page, "board.svg"))
    assert (root.get("width"), root.get("height")) == ("297mm", "210mm")


def test_as_pdf_it_is_one_sheet_of_a4_with_words_that_can_be_searched(tmp_path, page: Drawing) -> None:
    (tmp_path / "board.pdf").write_bytes(drawing_bytes(page, "board.pdf"))
    (sheet,) = pypdf.PdfReader(tmp_path / "board.pdf").pages
    size = float(sheet.mediabox.width), float(sheet.mediabox.height)
    assert size == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72), abs=0.01)
    assert WORDS in sheet.extract_text()


def test_as_png_it_has_the_dots_that_were_asked_for(tmp_path, page: Drawing) -> None:
    """297 x 210 at 100 dots an inch."""
    (tmp_path / "board.png").write_bytes(drawing_bytes(page, "board.png", 100.0))
    with Image.open(tmp_path / "board.png") as image:
        assert image.size == (round(297 / 25.4 * 100), round(210 / 25.4 * 100))
        assert np.asarray(image.convert("L")).min() < 64  # ink


def test_a_subcommand_saves_it(tmp_path, monkeypatch, capsys) -> None:
    """In the place of `draw`, whose arguments it has."""
    monkeypatch.setattr(tasks, "draw", draw_board)
    file = tmp_path / "table.toml"
    file.write_text(EXAMPLES["quilting"].text(), encoding="utf-8")
    image = tmp_path / "board.svg"
    assert main(["draw", str(file), "--image", str(image)]) == 0
    assert capsys.readouterr().out == f"{image} written.\n"
    assert image.read_bytes().startswith(b"<?xml")
    file.write_text(
        EXAMPLES["quilting"].text().replace("corner_radius = 3 ", "corner_radius = 99 "), encoding="utf-8"
    )
    assert main(["draw", str(file), "--image", str(image)]) == 2
    assert "corner_radius" in capsys.readouterr().err
