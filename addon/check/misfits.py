"""Which leaf does not fit which slot, as advice: the matrix of leaves and places in sentences."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from ..sizes.units import format_amount
from .findings import Finding, Remedy
from .matrix import TURNS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ..sizes.units import Units
    from .matrix import Matrix, MatrixCell


def matrix_findings(matrix: Matrix, units: Units) -> list[Finding]:
    """A note for each leaf that does not fit its own place other than as drawn, or those of the others.

    Advice alone. How a leaf goes into its own place as drawn is for the check to judge, and so is a place in which
    no leaf ends where it should.
    """
    sound = {cell.place for cell in matrix.cells if cell.stops_home}
    return [finding for leaf in matrix.leaves for finding in _of_leaf(matrix, leaf, sound, units)]


def _of_leaf(matrix: Matrix, leaf: str, sound: set[str], units: Units) -> Iterator[Finding]:
    """`sound` are the places in which some leaf ends where it should."""
    others = [
        cell
        for place in matrix.leaves
        for cell in matrix.ways_round(leaf, place)
        if (cell.place, cell.turn) != (leaf, "as drawn")
    ]
    stuck = [cell for cell in others if cell.verdict != "clear"]
    stray = [
        cell for cell in others if cell.verdict == "clear" and not cell.stops_home and cell.place in sound
    ]
    if not stuck and not stray:
        return
    words = []
    if stuck:
        worst = min(stuck, key=lambda cell: cell.clearance)
        words.append(f"does not fit {_places(stuck)}: {_worst_of(worst, units)}")
    if stray:
        farthest = max(stray, key=lambda cell: cell.outer_end)
        where = format_amount(abs(farthest.outer_end), units)
        side = f"out of {farthest.side}" if farthest.outer_end > 0 else f"inside {farthest.side}"
        words.append(
            f"does not end where it should in {_places(stray)}: its outer end is up to {where} {side}"
        )
    worst = min(stuck or stray, key=lambda cell: cell.clearance)
    amount = max(-worst.clearance, 0.0) if stuck else abs(worst.outer_end)
    yield Finding(
        "leaf-elsewhere", "note", (leaf, worst.against), worst.at, amount, f"{leaf} {', and '.join(words)}.",
        Remedy(f"Mark {leaf}, its slot and its outer end, and stow it there"), leaf, worst.travel,
    )  # fmt: skip


def _worst_of(cell: MatrixCell, units: Units) -> str:
    amount = format_amount(abs(cell.clearance), units)
    if cell.verdict == "blocked":
        return f"{cell.against} ({cell.near}) stands up to {amount} in its way"
    return f"it passes {cell.against} ({cell.near}) with {amount}"


def _places(cells: Sequence[MatrixCell]) -> str:
    """The places of some cells of one leaf; those with the same ways round together."""
    ways = [(_ways(group), place) for place, group in _by_place(cells)]
    phrases = []
    for way in dict.fromkeys(way for way, _ in ways):
        places = [place for other, place in ways if other == way]
        if places == [cells[0].leaf]:
            phrases.append(f"its own slot {way}")
        else:
            slots = "slot" if len(places) == 1 else "slots"
            phrases.append(f"the {slots} of {_listed(places)} {way}")
    return ", ".join(phrases)


def _by_place(cells: Sequence[MatrixCell]) -> list[tuple[str, list[MatrixCell]]]:
    return [(place, list(group)) for place, group in groupby(cells, key=lambda cell: cell.place)]


def _ways(cells: Sequence[MatrixCell]) -> str:
    if len(cells) == len(TURNS):
        return "any way round"
    words = ["turned both ways" if cell.turn == "both" else cell.turn for cell in cells]
    if len(cells) == len(TURNS) - 1 and "as drawn" not in words:
        return "otherwise than as drawn"
    return _listed(words, "or")


def _listed(words: Sequence[str], last: str = "and") -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"
