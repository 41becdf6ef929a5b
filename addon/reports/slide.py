"""The slide proof, and any leaf in any position, in words and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

from ..check.answer import Answers, ByHand
from ..check.cover import Cover
from ..check.forces.droop import Sag
from ..check.forces.jamming import Jamming
from ..check.matrix import TURNS, Matrix, MatrixCell
from ..check.row.leaf_rows import View
from ..check.row.openings import OpeningProof, Pose
from ..check.row.proof import RowProof
from ..check.slide.proof import ViewProof
from ..check.slide.study import LeafStudy
from ..designs.findings import SlideReport
from ..designs.words.answer import by_hand_words
from ..designs.words.slide import (
    TURN_WORDS,
    VERDICT_WORDS,
    cell_clause,
    held_text,
    opening_text,
    touch_text,
)
from ..designs.words.study import cover_sentences, droop_sentence, jamming_sentences, sag_sentence
from ..files.saving import plain
from ..sizes.units import Units, format_amount, format_number, format_size
from ..sizes.words import listed
from .check import accepted_document, accepted_lines, finding_document

ANY: Final = "any way round"
MARKS: Final = {"clear": "", "tight": "~", "blocked": "x"}
STRAY: Final = "!"
"""Mark of a leaf that passes but does not come to rest where it should."""

_OFFERED: Final = 2
"""Remedies of a finding that are named where there is room for a few lines alone."""


def matrix_text(matrix: Matrix, name: str, units: Units) -> str:
    """A table of fixed width, one row a leaf and way round, one column a position; what is amiss is said below it."""
    rows = [
        ["", "", *(f"position of {position}" for position in matrix.leaves)],
        [
            "Leaf",
            "Way round",
            *(f"through {matrix.cell(position, position).side}" for position in matrix.leaves),
        ],
    ]
    marks: set[str] = set()
    for leaf in matrix.leaves:
        for number, (words, cells) in enumerate(_rows_of(matrix, leaf, units)):
            shown = [_shown(cell, units) for cell in cells]
            marks |= {text[-1] for text in shown if not text[-1].isdigit()}
            rows.append([leaf if number == 0 else "", words, *shown])
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    table = [
        "  ".join(
            text.ljust(width) if column < 2 else text.rjust(width)
            for column, (text, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
    lines = [f"{name}: any leaf, any slot, any way round (smallest clearance, {units})", ""]
    lines += [*table[:2], "-" * (sum(widths) + 2 * (len(widths) - 1)), *table[2:], "", *_legend(marks)]
    return "\n".join([*lines, *_amiss(matrix, units)])


def _rows_of(matrix: Matrix, leaf: str, units: Units) -> list[tuple[str, list[MatrixCell]]]:
    """Ways round in words and the cells of each; a single row where all four are the same everywhere."""
    rows = [
        (TURN_WORDS[turn], [matrix.cell(leaf, position, turn) for position in matrix.leaves])
        for turn in TURNS
    ]
    shown = [[_shown(cell, units) for cell in cells] for _, cells in rows]
    return [(ANY, rows[0][1])] if all(row == shown[0] for row in shown) else rows


def _shown(cell: MatrixCell, units: Units) -> str:
    mark = MARKS[cell.verdict] or ("" if cell.stops_home else STRAY)
    return f"{format_number(cell.clearance, units)} {mark}".rstrip()


def _legend(marks: set[str]) -> list[str]:
    words = {
        "x": "x blocked: negative is how far something stands in the way",
        "~": "~ tight: less than the minimum clearance",
        STRAY: f"{STRAY} passes, but does not come to rest where it should",
    }
    if not marks:
        return ["Every leaf fits every position, whichever way round."]
    return [text for mark, text in words.items() if mark in marks]


def _amiss(matrix: Matrix, units: Units) -> list[str]:
    """A line for each leaf, position and group of like cells that are not clear or do not end stowed."""
    lines: list[str] = []
    for leaf in matrix.leaves:
        for position in matrix.leaves:
            groups: dict[str, list[str]] = {}
            for cell in matrix.ways_round(leaf, position):
                what = cell_clause(cell, units)
                if what:
                    groups.setdefault(what, []).append(TURN_WORDS[cell.turn])
            lines += [
                f"  {leaf} in the position of {position}, {_ways(words)}: {what}"
                for what, words in groups.items()
            ]
    return ["", *lines] if lines else []


def _ways(words: Sequence[str]) -> str:
    return ANY if len(words) == len(TURNS) else " or ".join(words)


def matrix_document(matrix: Matrix, name: str, units: Units) -> dict[str, Any]:
    """The same as plain data for JSON; lengths in mm."""
    return plain(
        {
            "table": name,
            "units": "mm",
            "shown_in": units,
            "interchangeable": matrix.interchangeable,
            "leaves": list(matrix.leaves),
            "cells": [_cell(cell) for cell in matrix.cells],
        }
    )


def _cell(cell: MatrixCell) -> dict[str, Any]:
    return {
        "leaf": cell.leaf,
        "position": cell.position,
        "slot": cell.side,
        "turn": cell.turn,
        "verdict": cell.verdict,
        "clearance_mm": cell.clearance,
        "against": cell.against,
        "near": cell.near,
        "travel_mm": cell.travel,
        "at": cell.at,
        "proud_mm": cell.proud,
        "end_gap_mm": cell.end_gap,
        "stops_at": cell.stops_at,
        "outer_end_mm": cell.outer_end,
        "stops_home": cell.stops_home,
    }


CAUTION: Final = (
    "Model result from your sizes: rigid boards, no dust, no swelling. Measure and dry-fit before glue."
)
"""What stands under every result of a slide."""


def row_document(proof: RowProof) -> dict[str, Any]:
    """One row for `--json`; lengths in mm, angles in radians."""
    return plain(
        {
            "verdict": proof.verdict,
            "fit_margin_mm": proof.fit_margin,
            "fit_travel_mm": None if proof.fit is None else proof.fit.travel,
            "steer_mm": proof.steer,
            "openings": [opening_document(proved) for proved in proof.openings],
            "counterexample": pose_document(proof.counterexample),
            "edges": [
                {"opening": edge.opening, "edge": edge.side, "place": edge.station, "x": edge.x, "z": edge.z}
                for edge in proof.edges
            ],
        }
    )


def opening_document(proved: OpeningProof) -> dict[str, Any]:
    """One opening for `--json`."""
    return {
        "nose_low": proved.nose_low,
        "nose_high": proved.nose_high,
        "catch_low": proved.catch_low,
        "catch_high": proved.catch_high,
        "margin_mm": proved.margin,
        "verdict": proved.verdict,
        "snag": pose_document(proved.snag),
        "outer_end_mm": None if proved.hand is None else list(proved.hand),
        "steer_mm": proved.steer,
    }


def pose_document(pose: Pose | None) -> dict[str, float] | None:
    """A pose for `--json`."""
    return None if pose is None else {"travel": pose.travel, "height": pose.height, "tilt_rad": pose.tilt}


def row_text(proof: RowProof, view: View, units: Units) -> str:
    """One row for the screen."""

    def length(mm: float) -> str:
        return format_amount(mm, units)

    lines = [f"The leaf {VERDICT_WORDS[proof.verdict]}."]
    if proof.fit_margin is not None and proof.fit is not None:
        where = f"with the nose at {format_size(proof.fit.travel, units)}"
        if proof.fit_margin < 0:
            lines.append(
                f"It lacks {length(-2 * proof.fit_margin)} {where}, between {held_text(proof, units)}."
            )
        else:
            lines.append(f"At its tightest it has {length(proof.fit_margin)} a side, {where}.")
    for count, (one, proved) in enumerate(zip(proof.row.openings, proof.openings, strict=True), 1):
        words = opening_text(proved, view, units)
        if words:
            lines.append(f"{one.label or f'Opening {count}'}, at {format_size(one.face, units)}: {words}.")
    return "\n".join(lines)


def study_document(study: SlideReport) -> dict[str, Any]:
    """Everything about a table's leaves for `--json`; lengths in mm, angles in radians."""
    return plain(
        {
            "table": study.name,
            "units": "mm",
            "friction": study.limits.friction,
            "hand_mm": study.limits.hand,
            "by_hand": _by_hand(study.answers.table.by_hand),
            "leaves": [_leaf_document(leaf, study.answers) for leaf in study.leaves],
            "cover": None if study.cover is None else _cover_document(study.cover),
            "positions": matrix_document(study.matrix, study.name, study.units),
            "findings": [finding_document(one) for one in (*study.in_the_way, *study.findings)],
            "accepted": [accepted_document(one) for one in study.accepted],
        }
    )


def _by_hand(line: ByHand) -> dict[str, Any]:
    """As in the report of the check; in how many random tables it is so stands there."""
    return {"verdict": line.verdict, "steer_mm": line.steer}


def _leaf_document(leaf: LeafStudy, answers: Answers) -> dict[str, Any]:
    side, plan = leaf.proof.views
    return {
        "leaf": leaf.proof.leaf,
        "by_hand": _by_hand(answers.leaves[leaf.proof.leaf].by_hand),
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
        "guided_stowed_mm": jamming.home_length,
        "offset_stowed_mm": list(vars(jamming.home_offset).values()),
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


def study_text(study: SlideReport, details: bool = False) -> str:
    """What to do with a table's leaves, for the screen: the hand first, then wood.

    Parameters
    ----------
    details : also every opening, friction, weight, cover and position
    """
    units = study.units
    lines = [f"{study.name}: by hand {by_hand_words(study.answers.table.by_hand, units)}"]
    lines += [f"{leaf.proof.leaf}: {_what_to_do(study, leaf)}." for leaf in study.leaves]
    for finding in study.in_the_way:
        lines += [finding.message, *(f"Remedy: {one.text}." for one in finding.remedies[:_OFFERED])]
    for finding in study.findings:
        # What the hand does stands with each leaf.
        steered = finding.rule == "leaf-steer"
        ways = [one for one in finding.remedies if one.set or not steered]
        lines += [] if steered else [finding.message]
        lines += [f"Or: {remedy.text}." for remedy in ways[:_OFFERED]]
    lines += accepted_lines(study.accepted, units)
    if details:
        lines += ["", *_details(study)]
    return "\n".join([*lines, CAUTION])


def _what_to_do(study: SlideReport, leaf: LeafStudy) -> str:
    """What the hand does with one leaf, as a clause."""
    hand, units = study.answers.leaves[leaf.proof.leaf].by_hand, study.units
    others = listed(list(dict.fromkeys(_in_the_way(study, leaf.proof.leaf))))
    if hand.verdict == "does-not-pass" or leaf.proof.verdict != "needs-steering":
        return by_hand_words(hand, units) + (f", {others} in its way" if others else "")
    return (f"{others} in its way as drawn: " if others else "") + touch_text(leaf.proof, units)


def _in_the_way(study: SlideReport, leaf: str) -> Iterator[str]:
    """Parts that stop a leaf as drawn."""
    for finding in study.in_the_way:
        for place in finding.places:
            if place.leaf == leaf and (place.rule or finding.rule) == "leaf-blocked":
                yield from (part for part in place.parts if part != leaf)


def _details(study: SlideReport) -> list[str]:
    """Everything about a table's leaves, opening by opening."""
    units, lines = study.units, []
    for leaf in study.leaves:
        lines.append(f"{leaf.proof.leaf} {VERDICT_WORDS[leaf.proof.verdict]}.")
        for view, jamming in zip(leaf.proof.views, (leaf.side, leaf.plan), strict=True):
            lines.append(f"  seen {'from the side' if view.of.view == 'side' else 'from above'}:")
            lines += [f"    {line}" for line in row_text(view.proof, view.of.view, units).splitlines()[1:]]
            lines += [f"    {line}" for line in jamming_sentences(jamming, units)]
        lines.append(f"  {droop_sentence(leaf, units)}")
        if leaf.sag is not None:
            lines.append(f"  {sag_sentence(leaf.sag, study.limits.load, units)}")
    if study.cover is not None:
        lines += ["", *cover_sentences(study.cover, units)]
    return [*lines, "", matrix_text(study.matrix, study.name, units), ""]
