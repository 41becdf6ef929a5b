"""The slide proof in words and as data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from ..fit.slide_words import VERDICT_WORDS, held_text, mouth_text
from ..model.units import format_amount
from .report import finding_document

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..fit.findings import Finding
    from ..fit.row.mouths import MouthProof, Pose
    from ..fit.row.of_table import View
    from ..fit.row.proof import RowProof
    from ..fit.slide_proof import LeafProof, ViewProof
    from ..model.units import Units

CAUTION: Final = (
    "Model result from your sizes: rigid boards, no dust, no swelling. Measure and dry-fit before glue."
)
"""What stands under every result of a slide."""


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


def row_text(proof: RowProof, view: View, units: Units) -> str:
    """One row for the screen."""

    def length(mm: float) -> str:
        return format_amount(round(mm, 4) + 0.0, units)

    lines = [f"The leaf {VERDICT_WORDS[proof.verdict]}."]
    if proof.fit_margin is not None and proof.fit is not None:
        where = f"with the nose at {length(proof.fit.travel)}"
        if proof.fit_margin < 0:
            lines.append(
                f"It lacks {length(-2 * proof.fit_margin)} {where}, between {held_text(proof, units)}."
            )
        else:
            lines.append(f"At its tightest it has {length(proof.fit_margin)} a side, {where}.")
    for number, (one, mouth) in enumerate(zip(proof.row.openings, proof.mouths, strict=True), 1):
        words = mouth_text(mouth, view, units)
        if words:
            lines.append(f"{one.label or f'Opening {number}'}, at {length(one.face)}: {words}.")
    return "\n".join(lines)


def table_document(name: str, proofs: Sequence[LeafProof], findings: Sequence[Finding]) -> dict[str, Any]:
    """The proof of all leaves for `--json`; lengths in mm, angles in radians."""
    return {
        "table": name,
        "units": "mm",
        "leaves": [
            {
                "leaf": proof.leaf,
                "verdict": proof.verdict,
                **{
                    view.of.view: {"openings_of": _labels(view), **row_document(view.proof)}
                    for view in proof.views
                },
            }
            for proof in proofs
        ],
        "findings": [finding_document(finding) for finding in findings],
    }


def _labels(view: ViewProof) -> list[str]:
    return [one.label for one in view.of.row.openings]


def table_text(proofs: Sequence[LeafProof], findings: Sequence[Finding], units: Units) -> str:
    """The proof of all leaves for the screen."""
    lines = []
    for proof in proofs:
        lines.append(f"{proof.leaf} {VERDICT_WORDS[proof.verdict]}.")
        for view in proof.views:
            lines.append(f"  seen {'from the side' if view.of.view == 'side' else 'from above'}:")
            lines += [f"    {line}" for line in row_text(view.proof, view.of.view, units).splitlines()[1:]]
    for finding in findings:
        if finding.remedy is not None:
            lines.append(f"{finding.leaf}: {finding.remedy.text}.")
    lines.append(CAUTION)
    return "\n".join(lines)
