"""The slide proof in words: what the hand has to do, what holds a leaf, and how any leaf goes in any position."""

from __future__ import annotations

from typing import Final

from ...check.matrix import MatrixCell, Turn
from ...check.row.leaf_rows import View
from ...check.row.openings import OpeningProof, Verdict
from ...check.row.proof import Edge, RowProof
from ...check.slide.proof import LeafProof, Snag, ViewProof
from ...sizes.units import BY_HAND, Units, format_amount, format_at_least, format_at_most, format_size

VERDICT_WORDS: Final[dict[Verdict, str]] = {
    "guides-itself": "guides itself",
    "needs-steering": "needs steering",
    "does-not-pass": "does not pass",
}

LEAST_STEER: Final = 0.1
"""mm; a hand holds nothing nearer to its line than this, and leads the nose in instead (common practice, no source)."""

OFF: Final[dict[View, tuple[str, str]]] = {"side": ("low", "high"), "plan": ("right", "left")}
"""What lies below and above in each view, right and left as the nose looks: behind a length in a table."""

WAYS: Final[dict[View, tuple[str, str]]] = {
    "side": ("low", "high"),
    "plan": ("to the right", "to the left"),
}
"""The same in a sentence."""

TURN_WORDS: Final[dict[Turn, str]] = {
    "as drawn": "as drawn",
    "turned over": "turned over",
    "end for end": "end for end",
    "both": "turned both ways",
}


def opening_text(proved: OpeningProof, view: View, units: Units) -> str:
    """What can happen at one opening, as a clause; "" where nothing is judged."""
    if proved.verdict is None:
        return ""
    if proved.verdict == "does-not-pass":
        return "the leaf does not come as far as this"
    if proved.margin is None:
        return "nothing holds the leaf before it: lead the nose in by hand"
    amount = format_amount(abs(proved.margin), units)
    if proved.verdict == "guides-itself":
        return f"guides itself, {amount} to spare"
    return f"needs steering, {amount} short: {hand_text(proved, view, units)}"


def hand_text(proved: OpeningProof, view: View, units: Units) -> str:
    """How the hand steers the nose into an opening, as a clause."""

    def off(limit: float, upper: bool) -> str:
        """A limit, rounded to the side where the nose still goes in."""
        shown = format_at_most if (limit >= 0) == upper else format_at_least
        return f"{shown(abs(limit), units, BY_HAND)} {WAYS[view][1 if limit >= 0 else 0]}"

    if proved.hand is None:
        return "lead the nose in by hand"
    least, most = proved.hand
    if least is not None and most is not None:
        return f"keep the outer end between {off(least, upper=False)} and {off(most, upper=True)}"
    limit = most if most is not None else least
    assert limit is not None
    upper = most is not None
    allowed = "no more than" if (limit >= 0) == upper else "at least"
    return f"keep the outer end {allowed} {off(limit, upper)}"


def steer_words(steer: float | None, units: Units) -> str:
    """How true a leaf has to be steered: ``to ±0.9 mm at the outer end``."""
    if not steer or steer < LEAST_STEER:
        return "with a hand at the nose"
    return f"to ±{format_at_most(steer, units, BY_HAND)} at the outer end"


def touch_text(proof: LeafProof, units: Units) -> str:
    """What the hand does with a leaf that needs steering, and until when; a clause.

    Held flat on the sill, against an edge of its slot or straight, it meets every opening that it can miss: where that
    does not help, the nose has to be led in.
    """
    touches = [_touch(view) for view in proof.views if view.proof.verdict == "needs-steering"]
    missed = [
        (one.face, one.label)
        for view in proof.views
        for one, proved in zip(view.of.row.openings, view.proof.openings, strict=True)
        if proved.verdict == "needs-steering"
    ]
    until = f"until its nose is past {max(missed)[1]}"
    held = [touch for touch in touches if touch]
    if len(held) < len(touches):
        return f"lead its nose in with a hand {until}"
    touch = f"{' and '.join(held)} {until}"
    off = proof.steer or 0.0
    if off < LEAST_STEER:
        return touch
    return f"{touch} (outer end within {format_at_most(off, units, BY_HAND)} of its line)"


def _touch(view: ViewProof) -> str:
    """How to hold a leaf in one view so that it meets every opening; "" where no such hold does."""
    row = view.of.row
    first = min(row.openings, key=lambda one: (not one.window, one.face))
    names = _TOUCHES[view.of.view]
    if first.sill is not None and _meets(view, first.sill):
        return names[0].format(first.label)
    if first.head is not None and _meets(view, first.head - row.thickness):
        return names[1].format(first.label)
    return names[2] if _meets(view, row.rest) else ""


def _meets(view: ViewProof, height: float) -> bool:
    """Whether a leaf that goes in straight, its lower edge at a height, mm, meets every opening that it can miss."""
    row = view.of.row
    return all(
        (proved.catch_low is None or height + row.lead.rise >= proved.catch_low)
        and (proved.catch_high is None or height + row.thickness - row.lead.rise <= proved.catch_high)
        for proved in view.proof.openings
        if proved.verdict == "needs-steering"
    )


_TOUCHES: Final[dict[View, tuple[str, str, str]]] = {
    "side": ("press it flat onto the sill of {}", "hold it flat up against the head of {}", "keep it level"),
    "plan": (
        "keep it along the right edge of its slot",
        "keep it along the left edge of its slot",
        "keep it straight",
    ),
}
"""How to hold a leaf in each view: at the edge below, at the one above, between the two."""


def held_text(proof: RowProof, units: Units) -> str:
    """The edges that hold a leaf where it is tightest, as a clause."""

    return ", ".join(
        f"the {edge_words(proof, edge)} ({edge.station}, at {format_size(edge.x, units)})"
        for edge in proof.edges
    )


def edge_words(proof: RowProof, edge: Edge) -> str:
    """What of a part holds a leaf: ``upper edge of S1`` of its slot, ``underside of KICK2`` of wood above it."""
    opening, upper = proof.row.openings[edge.opening], edge.side == "upper"
    if proof.row.wide:
        place = ("right edge", "left edge")[upper] if opening.window else "face"
    elif opening.window:
        place = f"{edge.side} edge"
    else:
        place = ("upper side", "underside")[upper]
    return f"{place} of {opening.label or f'opening {edge.opening + 1}'}"


def snag_lines(snag: Snag, units: Units) -> tuple[str, str]:
    """What happens in the pose of a snag, and by how much."""
    leaf, at = snag.leaf, snag.opening
    if snag.held:
        return f"{leaf} does not pass {at}", f"lacks {format_amount(snag.amount or 0.0, units)}"
    missed = "nothing holds it before"
    if snag.amount is not None:
        missed = f"{format_amount(snag.amount, units)} short of the opening"
    return f"{leaf} needs steering at {at}", missed


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
    return f"{cell.leaf} in the position of {cell.position} through {cell.side}, {TURN_WORDS[cell.turn]}: {said}."


def _rest(cell: MatrixCell, units: Units) -> str:
    if cell.end_gap is None:
        return "nothing stops it stowed"
    where = format_size(abs(cell.outer_end), units)
    if cell.outer_end > 0:
        return f"comes to rest with its outer end {where} out of {cell.side}"
    return f"slides {format_size(cell.end_gap, units)} past its position until {cell.stops_at}"
