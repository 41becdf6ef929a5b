"""All that is known of a table's leaves on their way: tilt, friction, sag, places changed about, and as a cover."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..cover import cover_of
from ..findings import Change, Finding, Remedy
from ..forces.droop import leaf_board, nose_droops, well_sags
from ..forces.jamming import judge
from ..matrix import leaf_matrix
from ..misfits import matrix_findings
from ..progress import run_through, share_of
from ..remedies import MARGIN, in_words
from .advice import advice_steps
from .proof import prove_leaves

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ...designs.table.parameters import Table
    from ..cover import Cover, Lift
    from ..forces.droop import NoseDroop, Sag
    from ..forces.jamming import Jamming
    from ..matrix import Matrix
    from ..prepared import Prepared
    from ..progress import Steps
    from .proof import LeafProof, ViewProof


@dataclass(frozen=True, eq=False)
class LeafStudy:
    """One leaf.

    Parameters
    ----------
    side, plan : how friction may hold it, seen from the side and from above
    droops : of its free nose at each mouth and stowed
    sag : as a covering leaf across the well; None where nothing carries it at two ends
    """

    proof: LeafProof
    side: Jamming
    plan: Jamming
    droops: tuple[NoseDroop, ...]
    sag: Sag | None


@dataclass(frozen=True, eq=False)
class SlideStudy:
    """All leaves of a table.

    Parameters
    ----------
    cover : the leaves side by side in the well; None for a table without covering leaves
    matrix : any leaf in any place, any way round
    findings : advice; it never changes the check's verdict
    """

    table: Table
    leaves: tuple[LeafStudy, ...]
    cover: Cover | None
    matrix: Matrix
    findings: tuple[Finding, ...]


def study(
    table: Table, prepared: Prepared, proofs: Sequence[LeafProof] | None = None, *, remedies: bool = True
) -> SlideStudy:
    """Look into everything.

    Parameters
    ----------
    proofs : of the table's leaves, where they are there already
    remedies : look for what would make leaves guide themselves; that builds the table several times
    """
    return run_through(study_steps(table, prepared, proofs, remedies=remedies))


def study_steps(
    table: Table, prepared: Prepared, proofs: Sequence[LeafProof] | None = None, *, remedies: bool = True
) -> Steps[SlideStudy]:
    """`study`, step by step."""
    proofs = prove_leaves(prepared) if proofs is None else proofs
    yield 0.02
    sags = well_sags(prepared.assembly)
    leaves = tuple(_leaf(table, prepared, proof, sags.get(proof.leaf)) for proof in proofs)
    cover = cover_of(prepared.assembly)
    yield 0.05
    matrix = leaf_matrix(prepared)
    yield 0.1
    advice = yield from share_of(advice_steps(table, proofs, remedies=remedies), 0.1, 1.0)
    findings = [
        *advice,
        *(finding for leaf in leaves for finding in _of_leaf(table, leaf)),
        *(_of_cover(table, cover) if cover else ()),
        *matrix_findings(matrix, table.units),
    ]
    return SlideStudy(table, leaves, cover, matrix, tuple(findings))


def _leaf(table: Table, prepared: Prepared, proof: LeafProof, sag: Sag | None) -> LeafStudy:
    side, plan = proof.side.of.row, proof.plan.of.row
    leaf = prepared.assembly.by_label[proof.leaf]
    lengthwise = abs(float(leaf.placement.axes[0] @ proof.side.of.frame[0])) > 0.5
    return LeafStudy(
        proof,
        judge(side, mu=table.limits.friction),
        judge(plan, mu=table.limits.friction),
        nose_droops(side, leaf_board(leaf, lengthwise)),
        sag,
    )


def droop_at(leaf: LeafStudy, number: int) -> float:
    """How far the nose bends down at a mouth of the side view, mm: clamped, or on two supports if that is more."""
    return max((max(one.clamped, one.droop) for one in leaf.droops if one.opening == number), default=0.0)


def _of_leaf(table: Table, leaf: LeafStudy) -> Iterator[Finding]:
    yield from _droops(table, leaf)
    if leaf.sag is not None and not leaf.sag.enough:
        over = leaf.sag.total - leaf.sag.allowed
        message = (
            f"{leaf.proof.leaf} sags by {in_words(table, leaf.sag.total)} across the well under"
            f" {table.limits.load:g} N at its middle after years; 1/{table.limits.sag:g} of its span"
            f" is {in_words(table, leaf.sag.allowed)}."
        )
        remedy = Remedy("Cut the leaves from a thicker sheet, or let the grain run across the well")
        yield Finding("leaf-sag", "note", (leaf.proof.leaf,), _home(leaf.proof.side), over, message, remedy)
    if leaf.plan.anywhere_from.near is None:
        offset = max(leaf.plan.home_offset.near or 0.0, 0.0)
        message = (
            f"{leaf.proof.leaf} may jam when it is pushed more than {in_words(table, offset)} off its middle, even at"
            f" home (friction {table.limits.friction:g})."
        )
        amount = leaf.plan.width / 2 - offset
        remedy = Remedy(
            "Push it at its middle, or fit guides along its way", (Change("stowing.guides", True),)
        )
        yield Finding("leaf-jam", "note", (leaf.proof.leaf,), _home(leaf.proof.plan), amount, message, remedy)


def _droops(table: Table, leaf: LeafStudy) -> Iterator[Finding]:
    """Mouths that a stiff leaf meets and a bending one misses."""
    view = leaf.proof.side
    for number, mouth in enumerate(view.proof.mouths):
        droop = droop_at(leaf, number)
        if mouth.verdict != "guides-itself" or mouth.nose_low is None or mouth.catch_low is None:
            continue
        below = mouth.nose_low - mouth.catch_low
        if droop > below:
            opening = view.of.row.openings[number]
            message = (
                f"The free nose of {leaf.proof.leaf} bends down by {in_words(table, droop)} before {opening.label}"
                f" and misses it by {in_words(table, droop - below)}."
            )
            leg = opening.entry.rise + droop - below + MARGIN
            remedy = Remedy(
                f"Chamfer all windows by {in_words(table, leg)}", (Change("ribs.window_chamfer", leg),)
            )
            yield Finding(
                "leaf-droop", "note", (opening.label, leaf.proof.leaf), view.of.place(opening.face, mouth.catch_low),
                droop - below, message, remedy, leaf.proof.leaf, opening.face,
            )  # fmt: skip


def _home(view: ViewProof) -> tuple[float, float, float]:
    row = view.of.row
    return view.of.place(row.travel - row.length / 2, row.rest + row.thickness / 2)


def _of_cover(table: Table, cover: Cover) -> Iterator[Finding]:
    low, _ = cover.gap_worst
    place = (0.0, 0.0, table.table.height)
    if low < 0:
        lacks = -low * (len(cover.leaves) + 1)
        message = (
            f"In the worst case of the tolerances the leaves are {in_words(table, lacks)} wider than the well:"
            " they may not all lie down."
        )
        gap = table.leaves.gap - low + MARGIN
        remedy = Remedy(f"Leave a gap of {in_words(table, gap)} between leaves", (Change("leaves.gap", gap),))
        yield Finding("cover-tight", "note", cover.leaves, place, lacks, message, remedy)
    best = max((*cover.by_side, *cover.by_end), key=lambda one: one.room, default=None)
    if best is not None and best.room < 0:
        yield _no_lift(table, best, place)


def _no_lift(table: Table, lift: Lift, place: tuple[float, float, float]) -> Finding:
    message = (
        f"No leaf can be lifted out by an edge: {lift.leaf} lacks {in_words(table, -lift.room)} of play to tilt; push"
        " it up from below, through the well, or by its finger hole."
    )
    gap = table.leaves.end_gap - lift.room / 2 + MARGIN
    remedy = Remedy(f"Leave {in_words(table, gap)} at the leaves' ends", (Change("leaves.end_gap", gap),))
    return Finding("cover-lift", "note", (lift.leaf,), place, -lift.room, message, remedy)
