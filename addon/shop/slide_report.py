"""The slide proof in words and as data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from ..model.units import format_amount

if TYPE_CHECKING:
    from ..fit.row.mouths import MouthProof, Pose
    from ..fit.row.proof import RowProof
    from ..model.units import Units

VERDICT_WORDS: Final = {
    "guides-itself": "guides itself",
    "needs-steering": "passes if steered",
    "does-not-pass": "does not pass",
}


def row_document(proof: RowProof) -> dict[str, Any]:
    """One row for `--json`; lengths in mm, angles in radians."""
    return {
        "verdict": proof.verdict,
        "fit_margin_mm": proof.fit_margin,
        "fit_travel_mm": None if proof.fit is None else proof.fit.travel,
        "openings": [mouth_document(mouth) for mouth in proof.mouths],
        "counterexample": pose_document(proof.counterexample),
        "edges": [
            {"opening": edge.opening, "edge": edge.side, "place": edge.station, "x": edge.x, "z": edge.z}
            for edge in proof.edges
        ],
    }


def mouth_document(mouth: MouthProof) -> dict[str, Any]:
    """One mouth for `--json`."""
    return {
        "nose_low": mouth.nose_low,
        "nose_high": mouth.nose_high,
        "catch_low": mouth.catch_low,
        "catch_high": mouth.catch_high,
        "margin_mm": mouth.margin,
        "verdict": mouth.verdict,
        "snag": pose_document(mouth.snag),
        "outer_end_mm": None if mouth.hand is None else list(mouth.hand),
    }


def pose_document(pose: Pose | None) -> dict[str, float] | None:
    """A pose for `--json`."""
    return None if pose is None else {"travel": pose.travel, "height": pose.height, "tilt_rad": pose.tilt}


def row_text(proof: RowProof, units: Units) -> str:
    """One row for the screen."""

    def length(mm: float | None) -> str:
        return "-" if mm is None else format_amount(mm, units)

    lines = [f"The leaf {VERDICT_WORDS[proof.verdict]}."]
    if proof.fit_margin is not None and proof.fit is not None:
        lines.append(
            f"Room at its tightest: {length(proof.fit_margin)} a side, with the nose at {length(proof.fit.travel)}."
        )
    if proof.verdict == "does-not-pass":
        held = " and ".join(f"the {edge.side} edge at {length(edge.x)}" for edge in proof.edges)
        lines.append(f"It is held by {held}.")
    for number, mouth in enumerate(proof.mouths, 1):
        if mouth.verdict is None:
            continue
        lines.append(f"Opening {number}: {mouth_text(mouth, units)}")
    return "\n".join(lines)


def mouth_text(mouth: MouthProof, units: Units) -> str:
    """What can happen at one mouth, in words."""

    def length(mm: float) -> str:
        return format_amount(abs(mm), units)

    if mouth.verdict == "does-not-pass":
        return "the leaf does not come as far as this."
    if mouth.margin is None:
        return "nothing holds the leaf before it; lead its nose in by hand."
    if mouth.verdict == "guides-itself":
        return f"guides itself, {length(mouth.margin)} to spare."
    return f"the nose can miss it by {length(mouth.margin)}; {hand_text(mouth, units)}."


def hand_text(mouth: MouthProof, units: Units) -> str:
    """How the hand steers the nose into a mouth, as a clause."""

    def off(mm: float) -> str:
        return f"{format_amount(abs(mm), units)} {'high' if mm >= 0 else 'low'}"

    if mouth.hand is None:
        return "lead its nose in by hand"
    least, most = mouth.hand
    if least is not None and most is not None:
        return f"keep the outer end between {off(least)} and {off(most)}"
    if most is not None:
        return f"keep the outer end no more than {off(most)}"
    return f"keep the outer end at least {off(least)}" if least is not None else "it takes care"
