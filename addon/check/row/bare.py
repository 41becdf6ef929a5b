"""Rows from bare numbers, without a table: one JSON object a row, or a list of them. Lengths in mm."""

from __future__ import annotations

import json
import math
from collections.abc import Collection
from typing import Any, Final

from ...sizes.bounds import MOST_OPENINGS, MOST_ROWS
from ...sizes.errors import RowError
from ...sizes.units import format_given
from .profile import SQUARE, Chamfer, Row, RowOpening

_NAMES: Final = ("name", "label", "comment")
"""Keys that may stand anywhere, for the reader's own use."""


_EDGES: Final = {"sill": "bottom", "head": "top"}
"""Edges of an opening across the travel → what they were called before, which is still read."""


def read_rows(text: str, where: str) -> tuple[list[Row], bool]:
    """The rows of a JSON text, and whether it is a list of them.

    Parameters
    ----------
    where : name of the file, for the words of an error

    Raises
    ------
    RowError
        For what is no JSON, lacks a key, has one too many, or a value that no leaf or opening can have, and for more
        rows or openings than are taken on.
    """
    try:
        data = json.loads(text.removeprefix("\ufeff"))
    except json.JSONDecodeError as error:
        raise RowError(f"{where} is no JSON: {error}; mend it there.") from None
    except RecursionError:
        raise RowError(f"{where} is nested too deeply: write rows, or a list of them.") from None
    except ValueError:
        raise RowError(f"{where} holds a number of far too many digits: write a shorter one.") from None
    if isinstance(data, list):
        if not 1 <= len(data) <= MOST_ROWS:
            raise RowError(f"{where} has {len(data):,} rows: write 1 to {MOST_ROWS}.")
        return [read_row(one, f"{where}, row {number}") for number, one in enumerate(data, 1)], True
    return [read_row(data, where)], False


def read_row(data: Any, where: str) -> Row:
    """One row from its JSON object. Raises RowError."""
    row = _object(data, where, {"leaf", "openings", "travel"}, {"hand"})
    leaf = _object(row["leaf"], f"{where}: leaf", {"length", "thickness"}, {"lead_edge"})
    length = _number(leaf["length"], f"{where}: leaf.length", above=0)
    thickness = _number(leaf["thickness"], f"{where}: leaf.thickness", above=0)
    lead = SQUARE
    if leaf.get("lead_edge") is not None:
        at = f"{where}: leaf.lead_edge"
        edge = _object(leaf["lead_edge"], at, {"run", "rise"}, ())
        lead = _chamfer([edge["run"], edge["rise"]], at)
        if lead.run >= length or 2 * lead.rise > thickness:
            raise RowError(f"{at} takes away more than the leaf has: use a smaller run or rise.")
    if not isinstance(row["openings"], list) or not row["openings"]:
        raise RowError(f"{where}: openings has to be a list of at least one opening.")
    if len(row["openings"]) > MOST_OPENINGS:
        raise RowError(f"{where} has {len(row['openings']):,} openings: write at most {MOST_OPENINGS}.")
    openings = tuple(
        _opening(one, f"{where}: openings[{number}]") for number, one in enumerate(row["openings"])
    )
    travel = _number(row["travel"], f"{where}: travel")
    first = min(one.face for one in openings)
    if travel < first:
        raise RowError(
            f"{where}: travel = {_mm(travel)} ends before the first opening: use {_mm(first)} or more."
        )
    hand = None if row.get("hand") is None else _number(row["hand"], f"{where}: hand", least=0)
    return Row(length, thickness, openings, travel, lead, hand=hand)


def _opening(data: Any, where: str) -> RowOpening:
    opening = _object(_with_edges(data, where), where, {"face", "board", "sill", "head"}, {"entry", "exit"})
    face = _number(opening["face"], f"{where}.face")
    board = _number(opening["board"], f"{where}.board", above=0)
    sill, head = (None if opening[key] is None else _number(opening[key], f"{where}.{key}") for key in _EDGES)
    if sill is not None and head is not None and head <= sill:
        raise RowError(f"{where}.head = {_mm(head)} is not above sill = {_mm(sill)}: nothing can pass.")
    entry, leave = (_chamfer(opening.get(key), f"{where}.{key}") for key in ("entry", "exit"))
    if entry.run + leave.run > board:
        raise RowError(
            f"{where}: the chamfers' runs are longer than the board = {_mm(board)}: use smaller ones."
        )
    return RowOpening(face, board, sill, head, entry, leave, str(data.get("label", "")))


def _with_edges(data: Any, where: str) -> Any:
    """An opening's object, its edges across the travel under their names of today."""
    if not isinstance(data, dict):
        return data
    for edge, old in _EDGES.items():
        if edge in data and old in data:
            raise RowError(f"{where} has {edge} and {old}, which are one: leave {old} out.")
    today = {old: edge for edge, old in _EDGES.items()}
    return {today.get(key, key): value for key, value in data.items()}


def _mm(value: float) -> str:
    return format_given(value, "mm")


def _chamfer(data: Any, where: str) -> Chamfer:
    if data is None:
        return SQUARE
    if not isinstance(data, list) or len(data) != 2:
        raise RowError(f"{where} has to be [run, rise] in mm; [0, 0] means none.")
    run, rise = (_number(value, where, least=0) for value in data)
    if run == 0 and rise > 0:
        raise RowError(f"{where} rises by {_mm(rise)} over no run: give its run along the travel.")
    return Chamfer(run, rise)


def _object(data: Any, where: str, needed: Collection[str], optional: Collection[str]) -> dict[str, Any]:
    if not isinstance(data, dict):
        raise RowError(f"{where} has to be an object with {', '.join(sorted(needed))}.")
    missing = sorted(set(needed) - data.keys())
    if missing:
        raise RowError(f"{where} lacks {missing[0]}: add it.")
    unknown = sorted(data.keys() - set(needed) - set(optional) - set(_NAMES))
    if unknown:
        allowed = ", ".join(sorted({*needed, *optional}))
        raise RowError(f'{where} has an unknown key "{unknown[0]}": use {allowed}.')
    return data


def _number(value: Any, where: str, *, above: float | None = None, least: float | None = None) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RowError(f"{where} has to be a number in mm.")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number) or abs(number) > 1e6:
        raise RowError(f"{where} has to be a number in mm, less than a kilometer.")
    if (above is not None and number <= above) or (least is not None and number < least):
        raise RowError(
            f"{where} = {_mm(number)} has to be {'more than' if above is not None else 'at least'} 0."
        )
    return number
