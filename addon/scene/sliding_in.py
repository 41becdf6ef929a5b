"""The slide proof of a table's leaves, and what friction, weight and changed positions do to them.

It is kept with the table in words, and brought up to date when the user pauses.
"""

from __future__ import annotations

from typing import Final

from ..check.cover import Cover
from ..check.forces.jamming import Jamming
from ..check.matrix import Matrix, MatrixCell
from ..check.progress import Steps, run_through
from ..check.row.leaf_rows import View
from ..check.row.openings import OpeningProof
from ..check.slide.proof import LeafProof, ViewProof, worst_opening
from ..check.slide.study import LeafStudy
from ..designs.findings import SlideReport
from ..designs.table.parameters import Table
from ..designs.words import study as study_words
from ..designs.words.slide import OFF, cell_sentence, opening_text
from ..designs.words.study import amount
from ..sizes.errors import DryAssemblyError
from ..sizes.units import Units, format_amount, format_number, format_size, tape
from . import access, built, findings, seeing
from .description import METERS
from .state.properties import DRY_ASSEMBLY_PG_leaf as LeafState
from .state.properties import DRY_ASSEMBLY_PG_table as TableState
from .state.results import DRY_ASSEMBLY_PG_cover as CoverState
from .state.results import DRY_ASSEMBLY_PG_leaf_study as LeafStudyState
from .state.results import DRY_ASSEMBLY_PG_opening as OpeningState


def store_leaf(item: LeafStudyState, leaf: LeafStudy | None, study: SlideReport, droops: bool) -> None:
    """Keeps how a leaf jams, droops and sags; nothing for one that has no stow position.

    Parameters
    ----------
    study : that the leaf is from, for its units and limits
    droops : whether its nose comes too low for an opening for its weight
    """
    units = study.units
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
    item.sag_words = "" if sag is None else study_words.sag_sentence(sag, study.limits.load, units)


def store_lines(state: TableState, study: SlideReport) -> None:
    """Keeps sliding in, jamming and sag of all leaves in a line each: the worst of them."""
    state.checks.clear()
    leaves = study.leaves
    if not leaves:
        return
    of = len(leaves)
    bad = [leaf for leaf in leaves if leaf.proof.verdict == "does-not-pass"]
    steered = [leaf for leaf in leaves if leaf.proof.verdict == "needs-steering"]
    if bad:
        _line(state, "sliding in", f"{len(bad)} of {of} stopped", "bad")
    elif steered:
        _line(state, "sliding in", f"{len(steered)} of {of} to steer", "watch")
    else:
        _line(state, "sliding in", "each by itself", "good")
    starts = [view.anywhere_from.near for leaf in leaves for view in (leaf.side, leaf.plan)]
    free = [start for start in starts if start is not None]
    if len(free) < len(starts):
        _line(state, "jamming", "may jam stowed", "watch")
    elif free:
        _line(
            state,
            "jamming",
            f"free from {format_number(max(free), study.units, tape(None))} {study.units}",
            "good",
        )
    sags = [leaf.sag for leaf in leaves if leaf.sag is not None]
    if sags:
        words = amount(max(sag.total for sag in sags), study.units)
        _line(state, "sag", words, "good" if all(sag.enough for sag in sags) else "watch")


def _line(state: TableState, name: str, words: str, grade: str) -> None:
    item = state.checks.add()
    item.name, item.short, item.words, item.grade = name, words, words, grade


def store_cover(item: CoverState, cover: Cover | None, units: Units) -> None:
    """Keeps gaps and room of the covering leaves."""

    def band(ends: tuple[float, float]) -> str:
        low, high = (format_number(end, units) for end in ends)
        return f"{low} to {high} {units}"

    lift = None if cover is None else cover.best_lift
    item.gap = "" if cover is None else amount(cover.gap, units)
    item.gap_worst = "" if cover is None else band(cover.gap_worst)
    item.tight = cover is not None and cover.gap_worst[0] < 0
    item.lift = "" if lift is None else study_words.lift_words(lift, units)
    item.held = lift is not None and lift.room < 0


def store_positions(state: TableState, matrix: Matrix, units: Units) -> None:
    """Keeps any leaf in any position, and selects the first cell that is not there any more."""
    state.positions.clear()
    for cell in matrix.cells:
        item = state.positions.add()
        item.name, item.position, item.turn = cell.leaf, cell.position, cell.turn
        item.verdict = verdict_of(cell)
        item.clearance = format_number(cell.clearance, units)
        item.words = cell_sentence(cell, units)
    first = next(iter(matrix.leaves), "")
    if state.guest not in matrix.leaves or state.position not in matrix.leaves:
        state.guest = state.position = first


def verdict_of(cell: MatrixCell) -> str:
    """The verdict of a cell; ``stray`` where the leaf passes clear but does not come to rest where it should."""
    return "stray" if cell.verdict == "clear" and not cell.stops_home else cell.verdict


PAUSE: Final = 0.05
"""Pause after the check before leaves on their way are looked into, s."""

BREATH: Final = 0.01
"""Pause between the steps of a proof, in which the window goes on, s."""

_under_way: tuple[Table, Steps[SlideReport]] | None = None


def prove_now(state: TableState, remedies: bool = False) -> SlideReport:
    """Makes a table's slide proof, keeps it, and lists its notes after the findings of the check.

    Parameters
    ----------
    remedies : look for what would make the leaves guide themselves, which takes seconds

    Raises
    ------
    DryAssemblyError
        Where the table cannot be built; the proof stays as it was, out of date.
    """
    study = run_through(built.study_steps(access.table_in(state), remedies))
    store(state, study, remedies)
    return study


def store(state: TableState, study: SlideReport, remedies: bool) -> None:
    """Keeps a study of a table as it is now; `remedies`: whether its notes say what would help."""
    units = study.units
    of_leaf = {leaf.proof.leaf: leaf for leaf in study.leaves}
    for leaf in state.leaves:
        own = of_leaf.get(leaf.name)
        _store(leaf, None if own is None else own.proof, units)
        leaf.held = _said(study, "leaf-held", leaf.name) or _in_the_way(study, leaf.name)
        store_leaf(leaf.study, own, study, bool(_said(study, "leaf-droop", leaf.name)))
    store_lines(state, study)
    store_cover(state.cover, study.cover, units)
    store_positions(state, study.matrix, units)
    findings.store_notes(state, (*study.findings, *study.accepted), units, remedies)
    seeing.put_back_if_gone(state)
    state.remedies_found = remedies
    state.proof_out_of_date = False


def _said(study: SlideReport, rule: str, leaf: str) -> str:
    said = (*study.findings, *study.accepted)
    return next((one.message for one in said if (one.rule, one.leaf) == (rule, leaf)), "")


def _in_the_way(study: SlideReport, leaf: str) -> str:
    """What the check finds that stops a leaf as drawn, the gravest; "" where nothing does."""
    found = (one for one in study.in_the_way if any(place.leaf == leaf for place in one.places))
    return next((one.message for one in found), "")


def outdate(state: TableState) -> None:
    """Notes that the parameters changed."""
    state.proof_out_of_date = True
    state.remedies_found = False
    state.analysis.out_of_date = True


def is_waiting() -> bool:
    """Whether there are proofs to be made: out of date where the check is not."""
    return bool(_waiting())


def prove_next() -> bool:
    """Makes one step, of some hundredths of a second, of the proofs that are out of date; whether there are more."""
    global _under_way
    for state in _waiting()[:1]:
        try:
            table = access.table_in(state)
            if _under_way is None or _under_way[0] != table:
                _under_way = table, built.study_steps(table, remedies=False)
            next(_under_way[1])
        except StopIteration as end:
            _under_way = None
            store(state, end.value, remedies=False)
        except DryAssemblyError as error:
            _under_way = None
            state.error = str(error)
    return is_waiting()


def _waiting() -> list[TableState]:
    return [
        state
        for state in access.all_tables()
        if state.proof_out_of_date and not state.out_of_date and not state.error
    ]


def _store(leaf: LeafState, proof: LeafProof | None, units: Units) -> None:
    before = len(leaf.openings)
    leaf.openings.clear()
    leaf.slide = "" if proof is None else proof.verdict
    if proof is None:
        return
    shown = [
        (view, number)
        for view in proof.views
        for number, proved in enumerate(view.proof.openings)
        if proved.verdict is not None
    ]
    for view, number in shown:
        _store_opening(leaf.openings.add(), view, number, units)
    if before != len(shown):
        leaf.opening_index = _gravest(proof, shown)


def _gravest(proof: LeafProof, shown: list[tuple[ViewProof, int]]) -> int:
    """Which opening to select at first: the first that the leaf does not reach, or the one that needs steering most."""
    for index, (view, number) in enumerate(shown):
        if view.proof.openings[number].verdict == "does-not-pass":
            return index
    worst = worst_opening(proof)
    return 0 if worst is None else shown.index(worst)


def _store_opening(item: OpeningState, view: ViewProof, number: int, units: Units) -> None:
    row, proved = view.of.row, view.proof.openings[number]
    opening = row.openings[number]
    assert proved.verdict is not None
    item.name, item.view, item.opening = opening.label, view.of.view, number
    item.travel, item.at = opening.face * METERS, format_size(opening.face, units)
    item.verdict, item.has_snag = proved.verdict, proved.snag is not None
    item.margin = (proved.margin or 0.0) * METERS
    item.margin_text = margin_text(proved, units)
    low, high = row.rest, row.rest + row.thickness
    item.nose = _band(proved.nose_low, proved.nose_top, low, high, view.of.view, units)
    item.catch = _band(proved.catch_low, proved.catch_high, low, high, view.of.view, units)
    words = opening_text(proved, view.of.view, units)
    item.words = f"{words[0].upper()}{words[1:]}."


def margin_text(proved: OpeningProof, units: Units) -> str:
    """By how much the nose meets an opening or falls short of it, in two words."""
    if proved.verdict == "does-not-pass":
        return "not reached"
    if proved.margin is None:
        return "held by nothing"
    return f"{format_amount(abs(proved.margin), units)} {'to spare' if proved.verdict == 'guides-itself' else 'short'}"


def _band(low: float | None, high: float | None, lower: float, upper: float, view: View, units: Units) -> str:
    """How far the leaf's lower edge may be off its place on one side, and its upper edge on the other."""

    def off(mm: float) -> str:
        return f"{format_amount(abs(mm), units)} {OFF[view][1 if mm >= 0 else 0]}"

    if low is not None and high is not None:
        return f"{off(low - lower)} to {off(high - upper)}"
    if low is not None:
        return f"from {off(low - lower)}"
    return "anywhere" if high is None else f"up to {off(high - upper)}"
