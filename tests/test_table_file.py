"""Reading table files: what is valid is read, what is not is refused with one sentence."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.designs.table.parameters import AsCut, Stow, Table
from addon.files.keys import declared_parameters, parameter_of
from addon.files.table_file import parse_table, read_table
from addon.sizes.errors import TableFileError


def refusal(text: str) -> str:
    with pytest.raises(TableFileError) as caught:
        parse_table(text, "bench.toml")
    return str(caught.value)


def fault(text: str) -> str | None:
    """The sentence that refuses a text, or None where it is read; any other exception goes through."""
    try:
        parse_table(text, "bench.toml")
    except TableFileError as error:
        return str(error)
    return None


def test_a_file_that_says_its_format_alone_is_the_default_table() -> None:
    assert parse_table("format = 4", "bench.toml") == Table()
    assert parse_table("\ufeff# nothing\r\nformat = 4\r\n", "bench.toml") == Table()


def test_all_kinds_are_read() -> None:
    table = parse_table(
        """
        name = "Bench"
        units = "in"
        leaves.count = 2
        stock = []
        [table]
        length = 60
        width = "27 1/2"
        height = "860 mm"
        [ribs]
        through_at = ["-4 1/2", 4.5]
        [stowing]
        runners = true
        [[stow]]
        side = "front"
        offset = "-10 3/4"
        [[as_cut]]
        part = "R1"
        dimension = "length"
        deviation = "1/8"
        end = "start"
        """
    )
    assert (table.name, table.units, table.leaves.count, table.stowing.runners) == ("Bench", "in", 2, True)
    assert (table.table.length, table.table.width, table.table.height) == (1524.0, 698.5, 860.0)
    assert table.ribs.through_at == (-114.3, 114.3)
    assert table.stow == (Stow("front", -273.05),)
    assert table.as_cut == (AsCut("R1", "length", deviation=3.175, end="start"),)
    assert table.stock == Table().stock, "an empty list keeps the standard stock"


def test_the_ends_of_a_range_are_allowed() -> None:
    table = parse_table("[table]\nlength = 300\nwidth = 3000\n[leaves]\ncount = 8\n")
    assert (table.table.length, table.table.width, table.leaves.count) == (300.0, 3000.0, 8)


def test_given_stock_replaces_the_standard_one() -> None:
    stocks = ["sides", "ribs", "leaves", "legs", "bottom"]
    text = '[[stock]]\nname = "ply"\nnominal = 18\n' + "".join(
        f'[{name}]\nstock = "ply"\n' for name in stocks
    )
    table = parse_table(text + '[well]\nledger_stock = "ply"\n')
    assert [stock.name for stock in table.stock] == ["ply"]
    assert table.stock[0].thickness == 18.0


HOW = 'write a number, "23 3/4", "18 mm" or "23/32 in".'
PLY = 'use "18 mm birch plywood" or "12 mm birch plywood".'
TEXT = "use a text of 1 to 120 characters in quotes."


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            "[table]\nlenght = 5",
            "table.lenght is not a parameter; use table.length or leave it out.",
        ),
        ("nmae = 'x'", "nmae is not a parameter; use name or leave it out."),
        ("length = 5", "length stands outside its section; move it below [table]."),
        ("part = 'R1'", "part stands outside its section; move it below [[as_cut]]."),
        ("[tabel]\nlength = 5", "tabel is not a section; use [table]."),
        ("[[stows]]", "stows is not a section; use [[stow]]."),
        (
            "[sides]\nlength = 5",
            "sides.length is not a parameter; use table.length or leave it out.",
        ),
        (
            "[[stow]]\nside = 'front'\noffset = 1\ntear = 'upper'",
            "L1's tear (1st [[stow]]) is not a parameter; use L1's tier or leave it out.",
        ),
        (
            "[[stow]]\nside = 'front'\noffset = 1\n[[stow]]\nside = 'back'\noffset = 5000",
            "L2's offset (2nd [[stow]]) = 5000 lies outside the allowed range; use -2000 to 2000 mm.",
        ),
        (
            "[[stow]]\nside = 'front'",
            "L1's offset (1st [[stow]]) is missing; add it, -2000 to 2000 mm.",
        ),
        (
            "[stowing]\nside_clearance = -1",
            "stowing.side_clearance = -1 is negative; use 0 to 50 mm.",
        ),
        (
            "[table]\nlength = 299.9",
            "table.length = 299.9 lies outside the allowed range; use 300 to 4000 mm.",
        ),
        (
            "[table]\nlength = 4000.0001",
            "table.length = 4000.0001 lies outside the allowed range; use 300 to 4000 mm.",
        ),
        (
            "units = 'in'\n[table]\nlength = '11 3/4'",
            'table.length = "11 3/4" lies outside the allowed range; use 11 13/16 to 157 7/16 in.',
        ),
        (
            "[table]\nlength = nan",
            "table.length = nan is not a finite number; " + HOW,
        ),
        (
            "[[stock]]\nname = 'x'\nnominal = 18\ndensity = inf",
            "stock[0].density (1st [[stock]]) = inf is not a finite number; use 100 to 2000 kg/m³.",
        ),
        (
            "[[stock]]\nname = 'x'\nnominal = 18\ndensity = 'heavy'",
            'stock[0].density (1st [[stock]]) = "heavy" is not a number; use 100 to 2000 kg/m³.',
        ),
        (
            "[table]\nlength = 'long'",
            'table.length = "long" is not a length; ' + HOW,
        ),
        (
            "[table]\nlength = true",
            "table.length = true is yes or no, not a length; " + HOW,
        ),
        (
            "[table.length]\nx = 1",
            "table.length = a section is not a length; " + HOW,
        ),
        (
            "[ribs]\nrows_at = 5",
            "ribs.rows_at = 5 is not a list; write [100, 200] or leave it out.",
        ),
        (
            "[ribs]\nrows_at = [1, 20000]",
            "ribs.rows_at[1] = 20000 lies outside the allowed range; use -10000 to 10000 mm.",
        ),
        (
            "[leaves]\ncount = 9",
            "leaves.count = 9 lies outside the allowed range; use a whole number from 1 to 8.",
        ),
        (
            "[leaves]\ncount = 4.0",
            "leaves.count = 4.0 is not a whole number; use a whole number from 1 to 8.",
        ),
        (
            "[leaves]\ndirection = 'acros'",
            'leaves.direction = "acros" is none of the choices; use "across" or "along".',
        ),
        (
            "[stowing]\nrunners = 'yes'",
            'stowing.runners = "yes" is neither yes nor no; use true or false, without quotes.',
        ),
        ("name = 5", "name = 5 is not a text; " + TEXT),
        ("name = ' '", 'name = " " is empty; ' + TEXT),
        (
            "name = 1979-05-27",
            "name = 1979-05-27 is not a text; " + TEXT,
        ),
        (
            'name = "a\\nb"',
            'name = "a?b" holds a line break or control character; write it on one line.',
        ),
        ("units = 'cm'", 'units = "cm" is none of the choices; use "mm" or "in".'),
        ("table = 5", "table = 5 is not one section; write [table]."),
        ("[[table]]", "table is not one section; write [table]."),
        ("[stow]", "stow is not a list of sections; write [[stow]] for each entry."),
        ("stow = [1]", "L1 (1st [[stow]]) = 1 is not a section; write [[stow]]."),
        (
            "[sides]\nstock = 'oak'",
            'sides.stock = "oak" names no entry of [[stock]]; ' + PLY,
        ),
        (
            "[well]\nledger_stock = 'oak'",
            'well.ledger_stock = "oak" names no entry of [[stock]]; ' + PLY,
        ),
        (
            "[[stock]]\nname = 'ply'\nnominal = 18",
            'sides.stock = "18 mm birch plywood" is its default, but no entry of [[stock]]; use "ply".',
        ),
        (
            "[[stock]]\nname = 'ply'\nnominal = 18\n[[stock]]\nname = 'ply'\nnominal = 12",
            'stock[1].name (2nd [[stock]]) = "ply" is given twice; use another name.',
        ),
        (
            "[[stock]]\nname = 'ply'\nnominal = 1\nfront_sanding = 1",
            "stock[0].front_sanding (1st [[stock]]) and back_sanding take off more than "
            "the sheet's thickness; use smaller ones.",
        ),
        (
            "[[as_cut]]\npart = 'R1'\ndimension = 'length'",
            "as_cut[0] (1st [[as_cut]]) has neither value nor deviation; give one of the two.",
        ),
        (
            "[[as_cut]]\npart = 'R1'\ndimension = 'length'\nvalue = 3\ndeviation = 3",
            "as_cut[0] (1st [[as_cut]]) has both value and deviation; give one of the two.",
        ),
        (
            "[table",
            "is not valid TOML at its end: expected ']' at the end of a table declaration; mend it there.",
        ),
        (
            "name = 'x'\n[table]\nlength = 23 x",
            "is not valid TOML at line 3, column 13: "
            "expected newline or end of document after a statement; mend it there.",
        ),
    ],
)
def test_refusals(text: str, sentence: str) -> None:
    assert (
        refusal(text) == ("bench.toml " if sentence.startswith("is not valid") else "bench.toml: ") + sentence
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[table]\nlength = 35 1/2", 'line 2: 35 1/2 is not a number in TOML; write "35 1/2".'),
        ("[sides]\nslot_chamfer = 1/8  # in", 'line 2: 1/8 is not a number in TOML; write "1/8".'),
        ("[table]\nlength = 35-1/2 in", 'line 2: 35-1/2 in is not a number in TOML; write "35-1/2 in".'),
        ("[table]\nlength = 1500 mm", 'line 2: 1500 mm is not a number in TOML; write "1500 mm".'),
        ('ribs.rows_at = [ "1/2",\n  4 1/2 ]', 'line 2: 4 1/2 is not a number in TOML; write "4 1/2".'),
        ("a = [1, -3/4]", 'line 1: -3/4 is not a number in TOML; write "-3/4".'),
    ],
)
def test_a_length_without_quotes_is_told_to_wear_them(text: str, said: str) -> None:
    assert refusal(text) == f"bench.toml, {said}"


def test_lengths_in_quotes_and_comments_are_not_to_blame() -> None:
    assert refusal('x = "1/2" y').startswith("bench.toml is not valid TOML at line 1")
    assert refusal("x = y # 1/2").startswith("bench.toml is not valid TOML at line 1")


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "[" * 5000,
        "[table]\nlength = " + "9" * 5000,
        "[table]\nlength = 0x" + "f" * 5000,
        "[leaves]\ncount = 0x" + "f" * 5000,
        "[table]\nlength = 1e999",
        "name = '" + "x" * 200 + "'",
    ],
)
def test_oversized_values_are_refused_briefly(text: str) -> None:
    assert len(refusal(text)) < 250


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    binary = tmp_path / "latin.toml"
    binary.write_bytes(b"name = '\xe9'")
    for path, words in [
        (tmp_path / "none.toml", "cannot be read: No such file or directory"),
        (tmp_path, "cannot be read"),
        (Path("a\0b"), "is not the name of a file"),
        (binary, "latin.toml is not UTF-8 text; save it as UTF-8."),
    ]:
        with pytest.raises(TableFileError, match=re.escape(words)):
            read_table(path)


def test_a_file_is_named_in_its_fault(tmp_path: Path) -> None:
    path = tmp_path / "my bench.toml"
    path.write_text("nme = 1", encoding="utf-8")
    with pytest.raises(TableFileError, match=r"^my bench\.toml: nme is not a parameter"):
        read_table(path)


keys = st.sampled_from([key for key, _ in declared_parameters()])
scraps = st.one_of(
    st.integers().map(str),
    st.floats().map(str),
    st.sampled_from(['"23 3/4"', '"x"', "true", "[1, 2]", "{}", "[]", '""', "1979-05-27", "'18 mm'", "[{}]"]),
)


@given(st.lists(st.tuples(keys, scraps), max_size=4))
def test_any_value_is_read_or_refused_in_one_sentence(items: list[tuple[str, str]]) -> None:
    lines = []
    for key, scrap in items:
        section, _, name = key.rpartition(".")
        header = (
            f"[[{section.removesuffix('[]')}]]\n" if "[]" in section else f"[{section}]\n" if section else ""
        )
        lines.insert(0 if not section else len(lines), f"{header}{name} = {scrap}\n")
    message = fault("".join(lines))
    assert message is None or re.fullmatch(r"bench\.toml[^\n]+\.", message)


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    message = fault(text)
    assert message is None or re.match(r"bench\.toml", message)


def test_parameters_by_key() -> None:
    assert parameter_of("table.length").high == 4000
    assert parameter_of("stow[1].offset").label == "Offset"
    assert parameter_of("stow[].offset") == parameter_of("stow[7].offset")
    assert parameter_of("units").choices[0][0] == "mm"
    for key, parameter in declared_parameters():
        assert parameter_of(key) == parameter
    for key in [
        "table.lenght",
        "stow.offset",
        "table[0].length",
        "stow[0]",
        "",
        "table",
        "a.b.c",
        "stow[-1].offset",
    ]:
        with pytest.raises(TableFileError):
            parameter_of(key)
    with pytest.raises(TableFileError, match=r"use table\.length"):
        parameter_of("table.lenght")
