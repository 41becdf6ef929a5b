"""Any leaf, any slot, any way round: as a table for the shop and as data for JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from ..check.matrix import TURNS
from ..check.matrix_words import TURN_WORDS, cell_clause
from ..sizes.units import format_length
from .check import number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..check.matrix import Matrix, MatrixCell
    from ..sizes.units import Units

ANY: Final = "any way round"
MARKS: Final = {"clear": "", "tight": "~", "blocked": "x"}
STRAY: Final = "!"
"""Mark of a leaf that passes but does not come to rest where it should."""


def matrix_text(matrix: Matrix) -> str:
    """A table of fixed width, one row a leaf and way round, one column a place; what is amiss is said below it."""
    rows = [
        ["", "", *(f"place of {place}" for place in matrix.leaves)],
        ["Leaf", "Way round", *(f"through {matrix.cell(place, place).side}" for place in matrix.leaves)],
    ]
    marks: set[str] = set()
    for leaf in matrix.leaves:
        for place, (words, cells) in enumerate(_rows_of(matrix, leaf)):
            shown = [_shown(cell, matrix.units) for cell in cells]
            marks |= {text[-1] for text in shown if not text[-1].isdigit()}
            rows.append([leaf if place == 0 else "", words, *shown])
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    table = [
        "  ".join(
            text.ljust(width) if column < 2 else text.rjust(width)
            for column, (text, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
    lines = [f"{matrix.table}: any leaf, any slot, any way round (smallest clearance, {matrix.units})", ""]
    lines += [*table[:2], "-" * (sum(widths) + 2 * (len(widths) - 1)), *table[2:], "", *_legend(marks)]
    return "\n".join([*lines, *_amiss(matrix)])


def _rows_of(matrix: Matrix, leaf: str) -> list[tuple[str, list[MatrixCell]]]:
    """Ways round in words and the cells of each; a single row where all four are the same everywhere."""
    rows = [(TURN_WORDS[turn], [matrix.cell(leaf, place, turn) for place in matrix.leaves]) for turn in TURNS]
    shown = [[_shown(cell, matrix.units) for cell in cells] for _, cells in rows]
    return [(ANY, rows[0][1])] if all(row == shown[0] for row in shown) else rows


def _shown(cell: MatrixCell, units: Units) -> str:
    mark = MARKS[cell.verdict] or ("" if cell.stops_home else STRAY)
    return f"{format_length(cell.clearance, units)} {mark}".rstrip()


def _legend(marks: set[str]) -> list[str]:
    words = {
        "x": "x blocked: negative is how far something stands in the way",
        "~": "~ tight: less than the least clearance",
        STRAY: f"{STRAY} passes, but does not come to rest where it should",
    }
    if not marks:
        return ["Every leaf fits every place, whichever way round."]
    return [text for mark, text in words.items() if mark in marks]


def _amiss(matrix: Matrix) -> list[str]:
    """A line for each leaf, place and group of like cells that are not clear or do not end stowed."""
    lines: list[str] = []
    for leaf in matrix.leaves:
        for place in matrix.leaves:
            groups: dict[str, list[str]] = {}
            for cell in matrix.ways_round(leaf, place):
                what = cell_clause(cell, matrix.units)
                if what:
                    groups.setdefault(what, []).append(TURN_WORDS[cell.turn])
            lines += [
                f"  {leaf} in place of {place}, {_ways(words)}: {what}" for what, words in groups.items()
            ]
    return ["", *lines] if lines else []


def _ways(words: Sequence[str]) -> str:
    return ANY if len(words) == len(TURNS) else " or ".join(words)


def matrix_document(matrix: Matrix) -> dict[str, Any]:
    """The same as plain data for JSON; lengths in mm."""
    return {
        "table": matrix.table,
        "units": "mm",
        "shown_in": matrix.units,
        "interchangeable": matrix.interchangeable,
        "leaves": list(matrix.leaves),
        "cells": [_cell(cell) for cell in matrix.cells],
    }


def _cell(cell: MatrixCell) -> dict[str, Any]:
    return {
        "leaf": cell.leaf,
        "place": cell.place,
        "slot": cell.side,
        "turn": cell.turn,
        "verdict": cell.verdict,
        "clearance_mm": number(cell.clearance),
        "against": cell.against,
        "near": cell.near,
        "travel_mm": number(cell.travel),
        "at": [number(value) for value in cell.at],
        "proud_mm": number(cell.proud),
        "end_gap_mm": None if cell.end_gap is None else number(cell.end_gap),
        "stops_at": cell.stops_at,
        "outer_end_mm": number(cell.outer_end),
        "stops_home": cell.stops_home,
    }
