"""Any leaf in any position, in words: one cell."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...sizes.units import format_amount, format_size

if TYPE_CHECKING:
    from ...check.matrix import MatrixCell, Turn
    from ...sizes.units import Units

TURN_WORDS: Final[dict[Turn, str]] = {
    "as drawn": "as drawn",
    "turned over": "turned over",
    "end for end": "end for end",
    "both": "turned both ways",
}


def cell_clause(cell: MatrixCell, units: Units) -> str:
    """What is wrong in a cell, as a clause; empty for nothing."""
    amount = format_amount(abs(cell.clearance), units)
    travel = format_size(cell.travel, units)
    if cell.verdict == "blocked":
        return f"{cell.against} ({cell.near}) stands {amount} in the way at {travel} of its travel"
    said = []
    if cell.verdict == "tight":
        said.append(f"passes {cell.against} ({cell.near}) with {amount} at {travel} of its travel")
    if not cell.stops_home:
        said.append(_rest(cell, units))
    return ", ".join(said)


def cell_sentence(cell: MatrixCell, units: Units) -> str:
    """All about one cell."""
    said = cell_clause(cell, units)
    if not said:
        room = format_amount(cell.clearance, units)
        said = f"passes clear, {room} from {cell.against} ({cell.near}) at its tightest"
    return (
        f"{cell.leaf} in the position of {cell.place} through {cell.side}, {TURN_WORDS[cell.turn]}: {said}."
    )


def _rest(cell: MatrixCell, units: Units) -> str:
    if cell.end_gap is None:
        return "nothing stops it stowed"
    where = format_size(abs(cell.outer_end), units)
    if cell.outer_end > 0:
        return f"comes to rest with its outer end {where} out of {cell.side}"
    return f"slides {format_size(cell.end_gap, units)} past its position until {cell.stops_at}"
