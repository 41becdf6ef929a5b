"""Which leaf does not fit which slot, and what to mark for that."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from ....check.matrix import TURNS
from ...findings import Remedy
from .case import Advice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ....check.facts import Fact
    from ....check.matrix import MatrixCell
    from ....check.slide.causes import Misfits
    from .case import Case


def misfits(case: Case, fact: Fact, cause: Misfits) -> Advice:
    """A leaf that does not fit its own place other than as drawn, or those of the others."""
    leaf, words = fact.leaf, []
    if cause.stuck:
        words.append(f"does not fit {_places(cause.stuck)}: {_worst_of(case, cause.worst)}")
    if cause.stray:
        farthest = max(cause.stray, key=lambda cell: cell.outer_end)
        where = case.place(abs(farthest.outer_end))
        side = f"out of {farthest.side}" if farthest.outer_end > 0 else f"inside {farthest.side}"
        words.append(
            f"does not end where it should in {_places(cause.stray)}: its outer end is up to {where} {side}"
        )
    return Advice(
        f"{leaf} {', and '.join(words)}.",
        Remedy(f"Mark {leaf}, its slot and its outer end, and stow it there"),
    )


def _worst_of(case: Case, cell: MatrixCell) -> str:
    amount = case.words(abs(cell.clearance))
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
