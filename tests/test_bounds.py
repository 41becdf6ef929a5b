"""Bounds of what comes in: beyond them one sentence, however large it is; up to them what there was before."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from addon.check.row.bare import read_rows
from addon.command_line import tasks
from addon.files.table_file import parse_table
from addon.sizes import bounds
from tests.command_line_samples import ROW, refused


def many(text: str, number: int) -> str:
    return "".join(text % place for place in range(number))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("# " + "x" * bounds.MOST_BYTES, "larger than 1,000,000 bytes"),
        ("a" + ".a" * 100_000 + " = 1\n", "a key of more than 8 names"),
        ('["a' + '"."a' * 50_000 + '"]\n', "a key of more than 8 names"),
        ("x = {a" + " . a" * 9 + " = 1}\n", "a key of more than 8 names"),
        (
            many('[[stock]]\nname = "s%d"\nnominal = 18\n', 201),
            "stock has 201 entries; leave out all but 200",
        ),
        (
            many('[[stow]]\nside = "front"\noffset = %d\n', 20_000),
            "stow has 20,000 entries; leave out all but 8",  # a table has at most eight leaves
        ),
        (many('[[stow]]\nside = "front"\noffset = %d\n', 9), "stow has 9 entries; leave out all but 8"),
        ("[ribs]\nthrough_at = [" + many("%d, ", 1001) + "]\n", "has 1,001 lengths; leave out all but 1,000"),
        ("[table]\nlength = " + "9" * 5000 + "\n", "far too many digits"),
        ("[table]\nlength = " + "[" * 5000 + "\n", "nested too deeply"),
    ],
)
def test_files_out_of_bounds_are_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, words: str
) -> None:
    path = tmp_path / "table.toml"
    path.write_text(text, encoding="utf-8")
    assert words in refused(capsys, "check", path)


def test_dots_in_texts_and_comments_are_no_keys() -> None:
    dots = "a.b.c.d.e.f.g.h.i.j.k"
    for line in (f'name = "{dots}"', f"name = '{dots}'", f"# {dots}", f'name = "it\'s \\" {dots}" # {dots}'):
        assert parse_table(line + "\n[table]\nlength = 1500\n").table.length == 1500


def test_more_parts_than_are_taken_on_are_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """46 through ribs and 48 rows of segments between them."""
    path = tmp_path / "table.toml"
    through, rows = [60 + 40 * place for place in range(46)], [-960 + 40 * place for place in range(48)]
    size, cover = "[table]\nlength = 4000\nwidth = 2000\n", "[leaves]\ncount = 1\ncover_length = 100\n"
    path.write_text(f"{size}{cover}[ribs]\nthrough_at = {through}\nrows_at = {rows}\n", encoding="utf-8")
    assert "more than 2,000 parts" in refused(capsys, "check", path)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ([], "has 0 rows: write 1 to 200"),
        ([ROW] * 201, "has 201 rows"),
        ({**ROW, "openings": ROW["openings"] * 201}, "has 201 openings: write at most 200"),
        ({**ROW, "travel": 10**4500}, "far too many digits"),
    ],
)
def test_rows_out_of_bounds_are_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], data: object, words: str
) -> None:
    path = tmp_path / "row.json"
    limit = sys.get_int_max_str_digits()
    sys.set_int_max_str_digits(0)
    path.write_text(json.dumps(data), encoding="utf-8")
    sys.set_int_max_str_digits(limit)
    assert words in refused(capsys, "slide", path)


def test_rows_in_turn_are_what_they_are_at_once() -> None:
    rows, _ = read_rows(
        json.dumps([{**ROW, "openings": ROW["openings"] * count} for count in (120, 170, 1, 2, 190)]), ""
    )
    groups = list(tasks._in_turn(rows))
    assert [row for some in groups for row in some] == rows
    assert [len(some) for some in groups] == [1, 3, 1]
