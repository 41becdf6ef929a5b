"""All that is known of leaves on their way: the slide proof, friction, weight, the cover, any leaf in any position.

What is worth knowing of each becomes a fact; what is behind it is one record for each kind of cause.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from ..causes import Cause, Point
from ..cover import Cover, Lift, cover_of
from ..facts import Fact, Place
from ..forces.droop import NoseDroop, Sag, Step, leaf_board, nose_droops, steps_between, well_sags
from ..forces.jamming import Jamming, judge
from ..matrix import Matrix, MatrixCell, leaf_matrix
from ..prepared import Prepared
from ..progress import Steps
from ..push_holes import push_holes
from .proof import LeafProof, ViewProof, miss, prove_leaves


@dataclass(frozen=True, eq=False)
class NeedsSteering(Cause):
    """Leaves whose noses may miss openings, unless the hand holds them right; the one that misses by the most first."""

    proofs: tuple[LeafProof, ...]


@dataclass(frozen=True, eq=False)
class IsHeld(Cause):
    """Three edges hold a leaf in one view, however it is tilted."""

    view: ViewProof


@dataclass(frozen=True)
class Droops(Cause):
    """A leaf's free nose bends down and misses an opening that a stiff one would meet.

    Parameters
    ----------
    opening : label of the part
    droop : how far the nose bends down, mm
    chamfer : rise of the chamfer at that opening, mm
    """

    opening: str
    droop: float
    chamfer: float


@dataclass(frozen=True)
class Sags(Cause):
    """A covering leaf sags more than allowed."""

    sag: Sag


@dataclass(frozen=True)
class StepsDown(Cause):
    """A covering leaf sinks too far beside its neighbors under the load."""

    step: Step


@dataclass(frozen=True, eq=False)
class Jams(Cause):
    """A leaf may jam even stowed: pushed more than `offset` mm off its middle."""

    jamming: Jamming
    offset: float


@dataclass(frozen=True)
class CoverTight(Cause):
    """In the worst case of the tolerances the covering leaves do not all lie down."""

    cover: Cover


@dataclass(frozen=True)
class NoLift(Cause):
    """No covering leaf can be lifted out by an edge; this one lacks the least."""

    lift: Lift


@dataclass(frozen=True)
class Misfits(Cause):
    """A leaf does not fit its own position other than as drawn, or those of others.

    Parameters
    ----------
    stuck : positions and ways round in which it does not pass clear
    stray : those in which it passes but does not end where it should
    """

    stuck: tuple[MatrixCell, ...]
    stray: tuple[MatrixCell, ...]

    @property
    def worst(self) -> MatrixCell:
        """Where it lacks the most."""
        return min(self.stuck or self.stray, key=lambda cell: cell.clearance)


def notes_of_proofs(proofs: Iterable[LeafProof]) -> Iterator[Fact]:
    """One note for all leaves that need steering, and one for each that does not pass."""
    proofs = list(proofs)
    yield from note_of_steering(proofs)
    for proof in proofs:
        if proof.verdict == "does-not-pass":
            yield from _held(proof)


def note_of_steering(proofs: Iterable[LeafProof]) -> Iterator[Fact]:
    """One note for all leaves that need steering; its places are the openings that they miss, the worst first."""
    steered = [proof for proof in proofs if proof.verdict == "needs-steering"]
    missed = [
        (miss(view, number), proof, view, number)
        for proof in steered
        for view in proof.views
        for number, proved in enumerate(view.proof.openings)
        if proved.verdict == "needs-steering"
    ]
    if missed:
        missed.sort(key=lambda one: -one[0])
        first, *others = (_missed(*one) for one in missed)
        cause = NeedsSteering(tuple(dict.fromkeys(proof for _, proof, _, _ in missed)))
        yield Fact(
            "leaf-steer", "note", first.parts, first.at, first.amount, cause, first.leaf, first.travel,
            others=tuple(others),
        )  # fmt: skip


def _missed(amount: float, proof: LeafProof, view: ViewProof, number: int) -> Place:
    opening = view.of.row.openings[number]
    edge = opening.sill if opening.sill is not None else opening.head
    at = view.of.place(opening.face, edge or 0.0)
    return Place((opening.label, proof.leaf), at, amount, proof.leaf, opening.face)


def _held(proof: LeafProof) -> Iterator[Fact]:
    """A leaf that no tilt brings past three edges."""
    for view in proof.views:
        row = view.proof
        if row.verdict != "does-not-pass" or row.fit_margin is None or row.fit is None or row.fit_margin >= 0:
            continue
        labels = tuple(dict.fromkeys(view.of.row.openings[edge.opening].label for edge in row.edges))
        parts, place = (*labels, proof.leaf), view.of.place(row.fit.travel, row.fit.height)
        lacks = -2 * row.fit_margin
        yield Fact("leaf-held", "note", parts, place, lacks, IsHeld(view), proof.leaf, row.fit.travel)


def notes_of_forces(leaf: LeafStudy) -> Iterator[Fact]:
    """How weight and friction tell on one leaf."""
    label = leaf.proof.leaf
    yield from _droops(leaf)
    if leaf.sag is not None and not leaf.sag.enough:
        over = leaf.sag.total - leaf.sag.allowed
        yield Fact("leaf-sag", "note", (label,), _home(leaf.proof.side), over, Sags(leaf.sag))
    if leaf.step is not None and leaf.step.after > leaf.step.allowed:
        over = leaf.step.after - leaf.step.allowed
        yield Fact("leaf-step", "note", (label,), _home(leaf.proof.side), over, StepsDown(leaf.step))
    if leaf.plan.anywhere_from.near is None:
        offset = max(leaf.plan.home_offset.near or 0.0, 0.0)
        place, over = _home(leaf.proof.plan), leaf.plan.width / 2 - offset
        yield Fact("leaf-jam", "note", (label,), place, over, Jams(leaf.plan, offset))


def _droops(leaf: LeafStudy) -> Iterator[Fact]:
    """Openings that a stiff leaf meets and a bending one misses."""
    view, label = leaf.proof.side, leaf.proof.leaf
    for number, proved in enumerate(view.proof.openings):
        droop = leaf.droop_at(number)
        if proved.verdict != "guides-itself" or proved.nose_low is None or proved.catch_low is None:
            continue
        below = proved.nose_low - proved.catch_low
        if droop > below:
            opening = view.of.row.openings[number]
            place = view.of.place(opening.face, proved.catch_low)
            cause = Droops(opening.label, droop, opening.entry.rise)
            parts = (opening.label, label)
            yield Fact("leaf-droop", "note", parts, place, droop - below, cause, label, opening.face)


def _home(view: ViewProof) -> Point:
    row = view.of.row
    return view.of.place(row.travel - row.length / 2, row.rest + row.thickness / 2)


def notes_of_cover(cover: Cover, pushed_up: bool = False) -> Iterator[Fact]:
    """Covering leaves that may not all lie down, or of which none can be lifted out by an edge.

    Parameters
    ----------
    pushed_up : a hole in the panel lets a finger push one up
    """
    low, _ = cover.gap_worst
    if low < 0:
        lacks = -low * (len(cover.leaves) + 1)
        yield Fact("cover-tight", "note", cover.leaves, cover.middle, lacks, CoverTight(cover))
    best = cover.best_lift
    if best is not None and best.room < 0 and not pushed_up:
        yield Fact("cover-lift", "note", (best.leaf,), cover.middle, -best.room, NoLift(best))


def notes_of_positions(matrix: Matrix) -> Iterator[Fact]:
    """A note for each leaf that does not fit its own position other than as drawn, or those of the others.

    How a leaf goes into its own position as drawn is for the check to judge, and so is a position in which no leaf ends
    where it should. A leaf that is stopped there fits no other one, and no other one its position.
    """
    sound = {cell.position for cell in matrix.cells if cell.stops_home}
    passes = [leaf for leaf in matrix.leaves if matrix.cell(leaf, leaf).verdict != "blocked"]
    for leaf in passes:
        others = [
            cell
            for position in passes
            for cell in matrix.ways_round(leaf, position)
            if (cell.position, cell.turn) != (leaf, "as drawn")
        ]
        stuck = tuple(cell for cell in others if cell.verdict != "clear")
        stray = tuple(
            cell
            for cell in others
            if cell.verdict == "clear" and not cell.stops_home and cell.position in sound
        )
        if stuck or stray:
            cause = Misfits(stuck, stray)
            worst = cause.worst
            amount = max(-worst.clearance, 0.0) if stuck else abs(worst.outer_end)
            parts = (leaf, worst.against)
            yield Fact("leaf-elsewhere", "note", parts, worst.at, amount, cause, leaf, worst.travel)


@dataclass(frozen=True, eq=False)
class LeafStudy:
    """One leaf.

    Parameters
    ----------
    side, plan : how friction may hold it, seen from the side and from above
    droops : of its free nose at each opening and stowed
    sag : as a covering leaf across the well; None where nothing carries it at two ends
    step : beside its neighbors there under the load; None without any
    """

    proof: LeafProof
    side: Jamming
    plan: Jamming
    droops: tuple[NoseDroop, ...]
    sag: Sag | None
    step: Step | None

    def droop_at(self, opening: int) -> float:
        """How far the nose bends down at an opening of the side view, mm: clamped, or on two supports if more."""
        return max(
            (max(one.clamped, one.droop) for one in self.droops if one.opening == opening), default=0.0
        )


@dataclass(frozen=True, eq=False)
class SlideStudy:
    """All leaves of an assembly.

    Parameters
    ----------
    cover : the leaves side by side; None without covering leaves
    matrix : any leaf in any position, any way round
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
    sags, steps = well_sags(prepared.assembly), steps_between(prepared.assembly)
    leaves = tuple(_leaf(prepared, proof, sags.get(proof.leaf), steps.get(proof.leaf)) for proof in proofs)
    cover = cover_of(prepared.assembly)
    yield 0.5
    matrix = leaf_matrix(prepared)
    facts = [
        *notes_of_proofs(proofs),
        *(note for leaf in leaves for note in notes_of_forces(leaf)),
        *(notes_of_cover(cover, bool(push_holes(prepared.assembly))) if cover else ()),
        *notes_of_positions(matrix),
    ]
    yield 1.0
    return SlideStudy(leaves, cover, matrix, tuple(facts))


def _leaf(prepared: Prepared, proof: LeafProof, sag: Sag | None, step: Step | None) -> LeafStudy:
    side, plan = proof.side.of.row, proof.plan.of.row
    leaf, friction = prepared.assembly.by_label[proof.leaf], prepared.assembly.limits.friction
    lengthwise = abs(float(leaf.placement.axes[0] @ proof.side.of.frame[0])) > 0.5
    return LeafStudy(
        proof,
        judge(side, mu=friction),
        judge(plan, mu=friction),
        nose_droops(side, leaf_board(leaf, lengthwise)),
        sag,
        step,
    )
