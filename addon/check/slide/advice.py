"""The slide proof as findings. They are advice: none of them changes the verdict of the check."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..findings import Finding, Remedy
from ..progress import run_through
from ..remedies import in_words
from .remedies import bays_to_steer, option_steps
from .words import held_text, steering_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ...designs.table.parameters import Table
    from ..progress import Steps
    from ..row.openings import MouthProof
    from .proof import LeafProof, ViewProof
    from .remedies import Option


def advise(table: Table, proofs: Sequence[LeafProof], *, remedies: bool = True) -> list[Finding]:
    """One note for each leaf that does not go in whichever way it is held.

    Parameters
    ----------
    remedies : look for what would make leaves guide themselves; that builds the table several times
    """
    return run_through(advice_steps(table, proofs, remedies=remedies))


def advice_steps(table: Table, proofs: Sequence[LeafProof], *, remedies: bool = True) -> Steps[list[Finding]]:
    """`advise`, step by step."""
    found = (yield from option_steps(table, proofs)) if remedies else []
    notes: list[Finding] = []
    for proof in proofs:
        if proof.verdict == "needs-steering":
            notes.append(_steer(table, proof, _remedy(proof, found) if remedies else None))
        elif proof.verdict == "does-not-pass":
            notes += _held(table, proof)
    return notes


def worst_mouth(proof: LeafProof) -> tuple[ViewProof, int] | None:
    """The view and the number of the mouth that a leaf misses by the most; None where it misses none."""
    found = [
        (miss(view, number), -place, view, number)
        for place, view in enumerate(proof.views)
        for number, mouth in enumerate(view.proof.mouths)
        if mouth.verdict == "needs-steering"
    ]
    if not found:
        return None
    _, _, view, number = max(found, key=lambda one: one[:2])
    return view, number


def miss(view: ViewProof, number: int) -> float:
    """By how much the worst pose misses a mouth, mm."""
    mouth: MouthProof = view.proof.mouths[number]
    if mouth.margin is not None:
        return max(-mouth.margin, 0.0)
    assert mouth.snag is not None
    low, high = mouth.catch_low, mouth.catch_high
    below = 0.0 if low is None else low - mouth.snag.height
    above = 0.0 if high is None else mouth.snag.height + view.of.row.thickness - high
    return max(below, above)


def _steer(table: Table, proof: LeafProof, remedy: Remedy | None) -> Finding:
    worst = worst_mouth(proof)
    assert worst is not None
    view, number = worst
    opening = view.of.row.openings[number]
    ways = [
        f"{name}, {words}"
        for name, one in (("seen from the side", proof.side), ("seen from above", proof.plan))
        if (words := steering_text(one.proof, one.of.view, table.units))
    ]
    message = f"{proof.leaf} has to be steered. {_sentences(ways)}"
    edge = opening.sill if opening.sill is not None else opening.head
    return Finding(
        "leaf-steer", "note", (opening.label, proof.leaf), view.of.place(opening.face, edge or 0.0),
        miss(view, number), message, remedy, proof.leaf, opening.face,
    )  # fmt: skip


def _sentences(clauses: list[str]) -> str:
    return " ".join(f"{clause[0].upper()}{clause[1:]}." for clause in clauses)


def _remedy(proof: LeafProof, found: Sequence[Option]) -> Remedy:
    """The first option that helps the leaf; else where strips would carry it, in words."""
    for option in found:
        if proof.leaf in option.leaves:
            return option.remedy
    bays = bays_to_steer(proof)
    places = "; ".join(f"{strip} between {before} and {after}" for strip, before, after in bays)
    return Remedy(
        f"No chamfer that the boards can hold is enough; what would help, where there is room: {places}"
    )


def _held(table: Table, proof: LeafProof) -> Iterator[Finding]:
    """A leaf that no tilt brings past three edges."""
    for view in proof.views:
        row = view.proof
        if row.verdict != "does-not-pass" or row.fit_margin is None or row.fit is None or row.fit_margin >= 0:
            continue
        lacks = -2 * row.fit_margin
        message = (
            f"{proof.leaf} does not pass, however it is tilted: it lacks {in_words(table, lacks)}"
            f" between {held_text(row, table.units)}."
        )
        labels = tuple(dict.fromkeys(view.of.row.openings[edge.opening].label for edge in row.edges))
        place = view.of.place(row.fit.travel, row.fit.height)
        yield Finding(
            "leaf-held",
            "note",
            (*labels, proof.leaf),
            place,
            lacks,
            message,
            None,
            proof.leaf,
            row.fit.travel,
        )
