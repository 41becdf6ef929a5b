"""The slide proof in words and as data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from ..check.slide.study_words import cover_sentences, droop_sentence, jamming_sentences, sag_sentence
from ..check.slide.words import VERDICT_WORDS, held_text, mouth_text
from ..sizes.units import format_amount
from .check import finding_document
from .matrix import matrix_document, matrix_text

if TYPE_CHECKING:
    from ..check.cover import Cover
    from ..check.forces.droop import Sag
    from ..check.forces.jamming import Jamming
    from ..check.row.of_table import View
    from ..check.row.openings import MouthProof, Pose
    from ..check.row.proof import RowProof
    from ..check.slide.proof import ViewProof
    from ..check.slide.study import LeafStudy, SlideStudy
    from ..sizes.units import Units

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


def study_document(study: SlideStudy) -> dict[str, Any]:
    """Everything about a table's leaves for `--json`; lengths in mm, angles in radians."""
    return {
        "table": study.table.name,
        "units": "mm",
        "friction": study.table.limits.friction,
        "leaves": [_leaf_document(leaf) for leaf in study.leaves],
        "cover": None if study.cover is None else _cover_document(study.cover),
        "places": matrix_document(study.matrix),
        "findings": [finding_document(finding) for finding in study.findings],
    }


def _leaf_document(leaf: LeafStudy) -> dict[str, Any]:
    side, plan = leaf.proof.views
    return {
        "leaf": leaf.proof.leaf,
        "verdict": leaf.proof.verdict,
        "side": {**_view_document(side), "jamming": _jamming_document(leaf.side)},
        "plan": {**_view_document(plan), "jamming": _jamming_document(leaf.plan)},
        "nose_droop": [
            {"travel": one.travel, "opening": one.opening, "free_mm": one.free, "droop_mm": one.droop}
            for one in leaf.droops
        ],
        "sag": None if leaf.sag is None else _sag_document(leaf.sag),
    }


def _view_document(view: ViewProof) -> dict[str, Any]:
    return {"openings_of": [one.label for one in view.of.row.openings], **row_document(view.proof)}


def _jamming_document(jamming: Jamming) -> dict[str, Any]:
    """See `fit.forces.jamming.Jamming`; three margins each: the bare rule's, near the wedging limit, a clear margin."""
    return {
        "push_anywhere_from_mm": list(vars(jamming.anywhere_from).values()),
        "guided_at_home_mm": jamming.home_length,
        "offset_at_home_mm": list(vars(jamming.home_offset).values()),
        "handle_offset_mm": list(vars(jamming.offset).values()),
        "wedging_up_to_mm": jamming.wedging_length,
        "wedging_mm": [list(stretch) for stretch in jamming.wedging],
        "climbs": [None if not climb.climbs else climb.factor for climb in jamming.climbs],
    }


def _sag_document(sag: Sag) -> dict[str, Any]:
    return {
        "span_mm": sag.span, "own_mm": sag.own, "own_final_mm": sag.own_final, "load_mm": sag.load,
        "total_mm": sag.total, "allowed_mm": sag.allowed,
    }  # fmt: skip


def _cover_document(cover: Cover) -> dict[str, Any]:
    return {
        "leaves": list(cover.leaves),
        "opening_mm": cover.opening.nominal,
        "play_mm": cover.play.nominal,
        "gap_mm": cover.gap,
        "gap_worst_mm": list(cover.gap_worst),
        "gap_rss_mm": list(cover.gap_rss),
        "lift": {
            leaf.leaf: {"by_side_mm": leaf.room, "by_end_mm": end.room}
            for leaf, end in zip(cover.by_side, cover.by_end, strict=True)
        },
    }


def study_text(study: SlideStudy) -> str:
    """Everything about a table's leaves for the screen."""
    units = study.table.units
    lines = []
    for leaf in study.leaves:
        lines.append(f"{leaf.proof.leaf} {VERDICT_WORDS[leaf.proof.verdict]}.")
        for view, jamming in zip(leaf.proof.views, (leaf.side, leaf.plan), strict=True):
            lines.append(f"  seen {'from the side' if view.of.view == 'side' else 'from above'}:")
            lines += [f"    {line}" for line in row_text(view.proof, view.of.view, units).splitlines()[1:]]
            lines += [f"    {line}" for line in jamming_sentences(jamming, units)]
        lines.append(f"  {droop_sentence(leaf, units)}")
        if leaf.sag is not None:
            lines.append(f"  {sag_sentence(leaf.sag, study.table)}")
    if study.cover is not None:
        lines += ["", *cover_sentences(study.cover, units)]
    lines += ["", matrix_text(study.matrix), ""]
    for finding in study.findings:
        if finding.remedy is not None:
            lines.append(f"{', '.join(finding.parts)}: {finding.remedy.text}.")
    lines.append(CAUTION)
    return "\n".join(lines)
