"""The enlarged detail: the nose and the opening that it does not find by itself, or where the leaf is held."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from ...check.row.openings import Pose
from ...check.row.proof import RowProof
from ...designs.words.slide import VERDICT_WORDS
from ...sizes.tolerances import WELD
from ...sizes.units import Units
from ..section import Panel, amount, draw_leaf, draw_overlaps, draw_wood, leaf_ring, woods
from ..sheet import Drawing
from ..sheet.clip import Rectangle, clip_path
from ..sheet.dimensions import LARGE_LETTERS, LETTERS, THIN, fitted, upright_dimension
from ..sheet.lettering import text_width
from ..sheet.palette import verdict_mark
from ..sheet.sheet import SCALES, scale_name
from .labels import least_to_spare, name

_PLAIN: Final = 4.0
"""How large what is missed should be at least, mm on the sheet, before the detail is enlarged ever more."""

_USUAL: Final = 10.0
"""Scale up to which the opening is seen around it."""

_MOST: Final = 0.36
"""Share of the box's height that it may take at most."""


@dataclass(frozen=True)
class _Miss:
    """A corner or edge of the leaf and the wood that it does not clear; (x, z) mm in the row."""

    pose: Pose
    leaf: tuple[float, float]
    wood: tuple[float, float]
    amount: float | None
    opening: int
    edge: int | None
    """Number of the edge that the leaf is in; None where the nose is beside the opening."""
    side: Literal[-1, 1] = -1
    """Where there is no wood for the dimension to lie on: -1 before it, 1 behind it."""


def draw_detail(drawing: Drawing, proof: RowProof, box: Rectangle, units: Units) -> float | None:
    """The detail in a box, mm; its scale, or None where there is nothing to enlarge and the verdict stands there."""
    drawing.rectangle(box, None, THIN)
    found = _miss(proof)
    if found is None:
        _draw_verdict(drawing, proof, box, units)
        return None
    left, bottom, right, top = box
    inner = (left + 2.5, bottom + 2.5, right - 2.5, top - 9.0)
    scale = _scale(found, inner[3] - inner[1])
    words = _heading(found, proof, scale, units)
    size = fitted(words, LETTERS, right - left - 4.0)
    drawing.text(words, left + 2.0, top - 2.2, size, vertical="top", weight=0.13)
    middle_x, middle_z = found.wood[0], (found.leaf[1] + found.wood[1]) / 2
    panel = Panel(inner, middle_x - (inner[2] - inner[0]) / 2 / scale,
                  middle_z - (inner[3] - inner[1]) / 2 / scale, scale, scale)  # fmt: skip
    draw_leaf(drawing, panel, proof.row, found.pose, "leaf in the detail")
    draw_wood(drawing, panel, proof.row, (-np.inf, np.inf), ", enlarged")
    if found.edge is not None:
        draw_overlaps(drawing, panel, proof.row, found.pose, "overlap in the detail")
    draw_leaf(drawing, panel, proof.row, found.pose, "", other=True)
    if found.amount is not None:
        points = [(float(x), float(y)) for x, y in (panel.place(found.leaf), panel.place(found.wood))]
        low, high = sorted(points, key=lambda point: point[1])
        x = panel.along_at(found.wood[0]) + 13.0 * found.side
        text = amount(found.amount, units)
        at = _clear_height(proof, panel, found, (x, low[1], high[1]), text_width(text, LETTERS) + 2.4)
        upright_dimension(drawing, x, low, high, text, found.side, at)
    return scale


def _heading(found: _Miss, proof: RowProof, scale: float, units: Units) -> str:
    where = name(proof, found.opening)
    size = "" if found.amount is None else amount(found.amount, units)
    if found.edge is not None:
        words = f"edge {found.edge} of {where}, {size} too far in"
    else:
        words = f"nose {size} short of {where}" if size else f"nothing holds the nose before {where}"
    return f"Detail {scale_name(scale)}: {words}"


def _scale(found: _Miss, height: float) -> float:
    """The largest scale that has room for it, and that leaves the opening to be seen around it."""
    size = found.amount
    if size is None:
        return 1.0
    room = [one for one in SCALES if size * one <= _MOST * height] or [SCALES[0]]
    usual = [one for one in room if one <= _USUAL]
    if usual and size * usual[-1] >= _PLAIN:
        return usual[-1]
    return next((one for one in room if size * one >= _PLAIN), room[-1])


def _clear_height(
    proof: RowProof, panel: Panel, found: _Miss, line: tuple[float, float, float], width: float
) -> float | None:
    """Where lettering beside a dimension line crosses no outline, as near to its middle as may be; None if nowhere.

    Parameters
    ----------
    line : x, lower and upper end of the dimension, mm on the sheet
    """
    x, low, high = line
    rings = [panel.place(leaf_ring(proof.row, found.pose))]
    for wood in woods(proof.row):
        rings.append(panel.place(wood.ring(panel.z - 1e3 if wood.side < 0 else panel.z_top + 1e3)))
    extensions = [np.array([(x - 9.0, y), (x + 9.0, y)]) for y in (low, high)]
    for step in np.arange(0.0, (panel.box[3] - panel.box[1]) / 2, 0.5).tolist():
        for at in ((low + high) / 2 + step, (low + high) / 2 - step):
            half = LETTERS / 2 + 0.5
            near, far = x + 0.6 * found.side, x + width * found.side
            box = (min(near, far), at - half, max(near, far), at + half)
            if box[1] < panel.box[1] or box[3] > panel.box[3]:
                continue
            if any(clip_path(ring, box, closed=True) for ring in rings):
                continue
            if not any(clip_path(extension, box) for extension in extensions):
                return at
    return None


def _miss(proof: RowProof) -> _Miss | None:
    worst = proof.worst_opening
    if proof.counterexample is not None and worst is not None:
        return _missed_opening(proof, worst, proof.counterexample)
    if (
        proof.verdict == "does-not-pass"
        and proof.fit is not None
        and proof.edges
        and proof.fit_margin is not None
    ):
        return _held_edge(proof, proof.fit, -proof.fit_margin)
    return None


def _missed_opening(proof: RowProof, number: int, pose: Pose) -> _Miss:
    proved, opening = proof.openings[number], proof.row.openings[number]
    below = -np.inf if proved.nose_low is None else proved.nose_low
    above = np.inf if proved.nose_top is None else proved.nose_top
    low = np.inf if proved.catch_low is None else below - proved.catch_low
    high = np.inf if proved.catch_high is None else proved.catch_high - above
    rise, t = proof.row.lead.rise, proof.row.thickness
    side: Literal["low", "high"] = "low" if low <= high + WELD else "high"
    corner = _on_front(pose, rise if side == "low" else t - rise)
    caught = proved.catch_low if side == "low" else proved.catch_high
    assert caught is not None
    missed = None if proved.margin is None else -proved.margin
    return _Miss(pose, corner, (opening.face, caught), missed, number, None)


def _on_front(pose: Pose, across: float) -> tuple[float, float]:
    """A point of the leaf's leading end, `across` mm from its lower corner."""
    return (
        pose.travel - across * float(np.sin(pose.tilt)),
        pose.height + across * float(np.cos(pose.tilt)),
    )


def _held_edge(proof: RowProof, pose: Pose, each: float) -> _Miss:
    """The middle one of the edges that hold the leaf."""
    number = len(proof.edges) // 2
    edge = proof.edges[number]
    slope = float(np.tan(pose.tilt))
    line = pose.height + slope * (edge.x - pose.travel)
    if edge.side == "upper":
        line += proof.row.thickness * float(np.hypot(1.0, slope))
    side: Literal[-1, 1] = -1 if edge.station in ("entry face", "land start") else 1
    return _Miss(pose, (edge.x, line), (edge.x, edge.z), each, edge.opening, number + 1, side)


def _draw_verdict(drawing: Drawing, proof: RowProof, box: Rectangle, units: Units) -> None:
    """The verdict, large."""
    middle, height = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    verdict_mark(drawing, middle, height + 7.0, 18.0, proof.verdict)
    drawing.text(VERDICT_WORDS[proof.verdict], middle, height - 9.5, LARGE_LETTERS, "middle", weight=0.14)
    drawing.text(least_to_spare(proof, units), middle, height - 15.0, LETTERS, "middle")
