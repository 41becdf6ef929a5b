"""What the sheets say beside the pictures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...check.slide.words import VERDICT_WORDS, hand_text
from ...sizes.units import format_amount
from .labels import beside

if TYPE_CHECKING:
    from ...check.row.of_table import View
    from ...check.row.proof import RowProof
    from ...sizes.units import Units

VIEW_NAMES: Final[dict[View, str]] = {"side": "Side view", "plan": "Plan view"}

ACROSS: Final[dict[View, str]] = {"side": "heights", "plan": "widths"}
"""What is measured across the travel."""


def amount(mm: float, units: Units) -> str:
    """A length without the dust of its arithmetic, with its unit."""
    return format_amount(round(mm, 4) + 0.0, units)


def scale_name(scale: float) -> str:
    """``1:5``, ``2:1`` (ISO 5455)."""
    return f"1:{1 / scale:g}" if scale < 1 else f"{scale:g}:1"


def name(proof: RowProof, number: int) -> str:
    """What an opening is called."""
    return proof.row.openings[number].label or f"opening {number + 1}"


def heading(proof: RowProof) -> str:
    """Over what there is to do."""
    if proof.verdict == "does-not-pass":
        return "What holds the leaf"
    return "Until the nose is past" if proof.verdict == "needs-steering" else "Nothing to mind"


def notes(proof: RowProof, view: View, units: Units) -> list[str]:
    """What the hand has to do, mouth by mouth, or what holds the leaf; each note one sentence."""
    if proof.verdict == "does-not-pass":
        return _held(proof, units)
    order = sorted(range(len(proof.mouths)), key=lambda one: proof.row.openings[one].face)
    found = [
        f"{name(proof, number)}: {hand_text(proof.mouths[number], view, units)}."
        for number in order
        if proof.mouths[number].verdict == "needs-steering"
    ]
    if proof.verdict == "guides-itself":
        found.append(f"Lead the nose into {name(proof, order[0])} by hand;")
        found.append("from there every opening leads it into the next.")
    found += _beside(proof, units)
    if proof.fit_margin is not None and proof.fit is not None:
        room, at = amount(proof.fit_margin, units), amount(proof.fit.travel, units)
        found.append(f"Tightest: {room} a side, with the nose at {at}.")
    return found


def _beside(proof: RowProof, units: Units) -> list[str]:
    """Of wood beside the way that guides the nose."""
    margins = [proof.mouths[number].margin for number in beside(proof)]
    least = min((one for one in margins if one is not None), default=None)
    if least is None or proof.verdict == "guides-itself":
        return []
    return [f"Wood beside the way guides the nose: {amount(least, units)} or more to spare."]


def _held(proof: RowProof, units: Units) -> list[str]:
    found = [
        f"{number}  {edge.side} edge of {name(proof, edge.opening)}, {edge.station}, at {amount(edge.x, units)}"
        for number, edge in enumerate(proof.edges, 1)
    ]
    lacking = lack(proof)
    if lacking is not None:
        each = (
            " and ".join([", ".join(map(str, range(1, len(found)))), str(len(found))])
            if len(found) > 1
            else "1"
        )
        found.append(f"Between {each} the leaf lacks {amount(lacking, units)}:")
        found.append(f"{amount(lacking / 2, units)} at each, held as well as may be.")
    return found


def lack(proof: RowProof) -> float | None:
    """By how much wider the way would have to be, mm; None where it is wide enough or nothing is known."""
    return None if proof.fit_margin is None or proof.fit_margin >= 0 else -2 * proof.fit_margin


def result(proof: RowProof, units: Units) -> str:
    """The verdict for the title block."""
    lacking = lack(proof)
    words = VERDICT_WORDS[proof.verdict]
    if proof.verdict == "does-not-pass" and lacking is not None:
        return f"{words}: lacks {amount(lacking, units)}"
    return words


def least_to_spare(proof: RowProof, units: Units) -> str:
    """The mouth that guides the leaf by the least, in words; "" where none has to."""
    found = [(one.margin, number) for number, one in enumerate(proof.mouths) if one.margin is not None]
    if not found:
        return ""
    margin, number = min(found)
    return f"least to spare: {amount(margin, units)} at {name(proof, number)}"
