"""What is known of friction, weight, cover and changed places, kept with a table in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..check.matrix_words import cell_sentence
from ..check.slide import study_words
from ..check.slide.study_words import amount
from ..sizes.units import format_length

if TYPE_CHECKING:
    from ..check.cover import Cover
    from ..check.forces.jamming import Jamming
    from ..check.matrix import Matrix, MatrixCell
    from ..check.slide.study import LeafStudy
    from ..designs.table.parameters import Table
    from ..sizes.units import Units
    from .proof_state import DRY_ASSEMBLY_PG_cover as CoverState
    from .proof_state import DRY_ASSEMBLY_PG_leaf_study as LeafStudyState
    from .state import DRY_ASSEMBLY_PG_table as TableState


def store_leaf(item: LeafStudyState, leaf: LeafStudy | None, table: Table, droops: bool) -> None:
    """Keeps how a leaf jams, droops and sags; nothing for one that has no stow place.

    Parameters
    ----------
    droops : whether its nose misses a mouth for its weight
    """
    units = table.units
    for view in ("side", "plan"):
        jamming: Jamming | None = None if leaf is None else getattr(leaf, view)
        start = None if jamming is None else jamming.anywhere_from.near
        setattr(item, f"{view}_start", "" if start is None else amount(start, units))
        setattr(item, f"{view}_jams", jamming is not None and start is None)
        words = [] if jamming is None else study_words.jamming_sentences(jamming, units)
        setattr(item, f"{view}_words", "\n".join(words))
    droop = None if leaf is None else study_words.nose_droop(leaf)
    item.droop = "" if droop is None else amount(droop[0], units)
    item.droops = droops
    item.droop_words = "" if leaf is None else study_words.droop_sentence(leaf, units)
    sag = None if leaf is None else leaf.sag
    item.sag = "" if sag is None else amount(sag.total, units)
    item.sags = sag is not None and not sag.enough
    item.sag_words = "" if sag is None else study_words.sag_sentence(sag, table)


def store_cover(item: CoverState, cover: Cover | None, units: Units) -> None:
    """Keeps gaps and room of the covering leaves."""

    def band(ends: tuple[float, float]) -> str:
        low, high = (format_length(round(end, 2) + 0.0, units) for end in ends)
        return f"{low} to {high} {units}"

    lift = None if cover is None else study_words.best_lift(cover)
    item.gap = "" if cover is None else amount(cover.gap, units)
    item.gap_worst = "" if cover is None else band(cover.gap_worst)
    item.gap_likely = "" if cover is None else band(cover.gap_rss)
    item.tight = cover is not None and cover.gap_worst[0] < 0
    item.lift = "" if lift is None else study_words.lift_words(lift, units)
    item.held = lift is not None and lift.room < 0


def store_places(state: TableState, matrix: Matrix, units: Units) -> None:
    """Keeps any leaf in any place, and selects the first cell that is not there any more."""
    state.places.clear()
    for cell in matrix.cells:
        item = state.places.add()
        item.name, item.place, item.turn = cell.leaf, cell.place, cell.turn
        item.verdict = verdict_of(cell)
        item.clearance = format_length(round(cell.clearance, 2) + 0.0, units)
        item.words = cell_sentence(cell, units)
    first = next(iter(matrix.leaves), "")
    if state.guest not in matrix.leaves or state.place not in matrix.leaves:
        state.guest = state.place = first


def verdict_of(cell: MatrixCell) -> str:
    """The verdict of a cell; ``stray`` where the leaf passes clear but does not come to rest where it should."""
    return "stray" if cell.verdict == "clear" and not cell.stops_home else cell.verdict
