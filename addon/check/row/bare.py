"""Rows from bare numbers, without a table: one JSON object a row, or a list of them. Lengths in mm."""

from __future__ import annotations

from typing import Any, Final

from ...sizes.bare import number_of, object_of, one_or_several
from ...sizes.bounds import MOST_OPENINGS, MOST_ROWS
from ...sizes.errors import RowError
from ...sizes.units import format_given
from .profile import SQUARE, Chamfer, Row, RowOpening

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
    found, several = one_or_several(text, where, MOST_ROWS, "row")
    return [read_row(*one) for one in found], several


def read_row(data: Any, where: str) -> Row:
    """One row from its JSON object. Raises RowError."""
    row = object_of(data, where, {"leaf", "openings", "travel"}, {"hand"})
    leaf = object_of(row["leaf"], f"{where}: leaf", {"length", "thickness"}, {"lead_edge"})
    length = number_of(leaf["length"], f"{where}: leaf.length", above=0)
    thickness = number_of(leaf["thickness"], f"{where}: leaf.thickness", above=0)
    lead = SQUARE
    if leaf.get("lead_edge") is not None:
        at = f"{where}: leaf.lead_edge"
        edge = object_of(leaf["lead_edge"], at, {"run", "rise"}, ())
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
    travel = number_of(row["travel"], f"{where}: travel")
    first = min(one.face for one in openings)
    if travel < first:
        raise RowError(
            f"{where}: travel = {_mm(travel)} ends before the first opening: use {_mm(first)} or more."
        )
    hand = None if row.get("hand") is None else number_of(row["hand"], f"{where}: hand", least=0)
    return Row(length, thickness, openings, travel, lead, hand=hand)


def _opening(data: Any, where: str) -> RowOpening:
    opening = object_of(_with_edges(data, where), where, {"face", "board", "sill", "head"}, {"entry", "exit"})
    face = number_of(opening["face"], f"{where}.face")
    board = number_of(opening["board"], f"{where}.board", above=0)
    sill, head = (
        None if opening[key] is None else number_of(opening[key], f"{where}.{key}") for key in _EDGES
    )
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
    run, rise = (number_of(value, where, least=0) for value in data)
    if run == 0 and rise > 0:
        raise RowError(f"{where} rises by {_mm(rise)} over no run: give its run along the travel.")
    return Chamfer(run, rise)
