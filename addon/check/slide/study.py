"""All that is known of leaves on their way: tilt, friction, sag, places changed about, and as a cover."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..cover import cover_of
from ..forces.droop import leaf_board, nose_droops, well_sags
from ..forces.jamming import judge
from ..matrix import leaf_matrix
from .notes import notes_of_cover, notes_of_forces, notes_of_places, notes_of_proofs
from .proof import prove_leaves

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..cover import Cover
    from ..facts import Fact
    from ..forces.droop import NoseDroop, Sag
    from ..forces.jamming import Jamming
    from ..matrix import Matrix
    from ..prepared import Prepared
    from ..progress import Steps
    from .proof import LeafProof


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

    def droop_at(self, opening: int) -> float:
        """How far the nose bends down at a mouth of the side view, mm: clamped, or on two supports if that is more."""
        return max(
            (max(one.clamped, one.droop) for one in self.droops if one.opening == opening), default=0.0
        )


@dataclass(frozen=True, eq=False)
class SlideStudy:
    """All leaves of an assembly.

    Parameters
    ----------
    cover : the leaves side by side; None without covering leaves
    matrix : any leaf in any place, any way round
    facts : notes; they never change the check's verdict
    """

    leaves: tuple[LeafStudy, ...]
    cover: Cover | None
    matrix: Matrix
    facts: tuple[Fact, ...]


def study_steps(prepared: Prepared, proofs: Sequence[LeafProof] | None = None) -> Steps[SlideStudy]:
    """Look into everything, step by step.

    Parameters
    ----------
    proofs : of the leaves, where they are there already
    """
    proofs = prove_leaves(prepared) if proofs is None else proofs
    yield 0.2
    sags = well_sags(prepared.assembly)
    leaves = tuple(_leaf(prepared, proof, sags.get(proof.leaf)) for proof in proofs)
    cover = cover_of(prepared.assembly)
    yield 0.5
    matrix = leaf_matrix(prepared)
    facts = [
        *notes_of_proofs(proofs),
        *(note for leaf in leaves for note in notes_of_forces(leaf)),
        *(notes_of_cover(cover) if cover else ()),
        *notes_of_places(matrix),
    ]
    yield 1.0
    return SlideStudy(leaves, cover, matrix, tuple(facts))


def _leaf(prepared: Prepared, proof: LeafProof, sag: Sag | None) -> LeafStudy:
    side, plan = proof.side.of.row, proof.plan.of.row
    leaf, friction = prepared.assembly.by_label[proof.leaf], prepared.assembly.limits.friction
    lengthwise = abs(float(leaf.placement.axes[0] @ proof.side.of.frame[0])) > 0.5
    return LeafStudy(
        proof,
        judge(side, mu=friction),
        judge(plan, mu=friction),
        nose_droops(side, leaf_board(leaf, lengthwise)),
        sag,
    )
