"""What the sheet says: at every opening, at the parts, and beside the pictures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from ...check.row.leaf_rows import View
from ...check.row.openings import OpeningProof, Verdict
from ...check.row.proof import RowProof
from ...designs.words.slide import VERDICT_WORDS, edge_words, hand_text
from ...sizes.units import Units, format_amount
from ..section import Panel, amount, hidden_from, woods
from ..sheet import Drawing
from ..sheet.dimensions import LETTERS, THIN, leader, spread
from ..sheet.lettering import shortened, text_width
from ..sheet.palette import verdict_mark
from .bands import Band
from .strips import Strips

VIEW_NAMES: Final[dict[View, str]] = {"side": "Side view", "plan": "Plan view"}

ACROSS: Final[dict[View, str]] = {"side": "heights", "plan": "widths"}
"""What is measured across the travel."""


def name(proof: RowProof, number: int) -> str:
    """What an opening is called."""
    return proof.row.openings[number].label or f"opening {number + 1}"


def heading(proof: RowProof) -> str:
    """Over what there is to do."""
    if proof.verdict == "does-not-pass":
        return "What holds the leaf"
    return "Until the nose is past" if proof.verdict == "needs-steering" else "Nothing to mind"


def notes(proof: RowProof, view: View, units: Units) -> list[str]:
    """What the hand has to do, opening by opening, or what holds the leaf; each note one sentence."""
    if proof.verdict == "does-not-pass":
        return _held(proof, units)
    order = sorted(range(len(proof.openings)), key=lambda one: proof.row.openings[one].face)
    found = [
        f"{name(proof, number)}: {hand_text(proof.openings[number], view, units)}."
        for number in order
        if proof.openings[number].verdict == "needs-steering"
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
    margins = [proof.openings[number].margin for number in beside(proof)]
    least = min((one for one in margins if one is not None), default=None)
    if least is None or proof.verdict == "guides-itself":
        return []
    return [f"Wood beside the way guides the nose: {amount(least, units)} or more to spare."]


def _held(proof: RowProof, units: Units) -> list[str]:
    found = [
        f"{number}  {edge_words(proof, edge)}, {edge.station}, at {amount(edge.x, units)}"
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
    """The opening that guides the leaf by the least, in words; "" where none has to."""
    found = [(one.margin, number) for number, one in enumerate(proof.openings) if one.margin is not None]
    if not found:
        return ""
    margin, number = min(found)
    return f"least to spare: {amount(margin, units)} at {name(proof, number)}"


_LINE: Final = 3.9
"""From one line of lettering to the next, mm."""

_MARK: Final = 3.4
"""Size of a verdict's mark, mm."""

LABELS_LEFT: Final = 8.0
"""How far labels may stand left of the pictures, mm."""

_LONGEST: Final = 30.0
"""Room for a part's name, mm."""

_FARTHEST: Final = 30.0
"""How far a label may be moved aside from its opening, mm: leaders that lie too flat are hard to follow."""

LEADERS: Final = 5.5
"""Height that leaders below the labels take, mm."""


@dataclass(frozen=True)
class OpeningLabel:
    """What is said at one opening."""

    number: int
    verdict: Verdict | None
    lines: tuple[str, ...]

    def width(self, upright: bool) -> float:
        """What it takes along the travel, mm."""
        if upright:
            return (len(self.lines) - 1) * _LINE + LETTERS + 2.4
        name, *rest = (text_width(line, LETTERS) for line in self.lines)
        return max(name + _MARK + 1.4, *rest) + 3.0


@dataclass(frozen=True)
class LabelRow:
    """All labels, lying or standing on end."""

    labels: tuple[OpeningLabel, ...]
    upright: bool

    @property
    def height(self) -> float:
        """With the leaders below, mm."""
        if self.upright:
            return (
                max(text_width(line, LETTERS) for one in self.labels for line in one.lines)
                + _MARK
                + 2
                + LEADERS
            )
        return _LINE * max(len(one.lines) for one in self.labels) + LEADERS


def label_rows(proof: RowProof, units: Units, along: float, first: float, room: float) -> Iterator[LabelRow]:
    """Ways to label the openings that have room, the best first.

    All that are judged, and the first; else without wood beside the way that guides the nose, of which the notes
    tell; else these on end.

    Parameters
    ----------
    along : scale of the travel
    first : travel at the left end of the room, mm
    room : width on the sheet, mm
    """
    every = _labels(proof, units)
    few = tuple(one for one in every if _matters(proof, one.number))
    for labels, upright in ((every, False), (few, False), (few, True)):
        widths = np.array([one.width(upright) for one in labels])
        wanted = np.array([(proof.row.openings[one.number].face - first) * along for one in labels])
        moved = np.abs(spread(wanted, widths, 0.0, room) - wanted).max(initial=0.0)
        if widths.sum() <= room and (moved <= _FARTHEST or upright):
            yield LabelRow(labels, upright)


def _matters(proof: RowProof, number: int) -> bool:
    opening, proved = proof.row.openings[number], proof.openings[number]
    return opening.window or proved.verdict != "guides-itself"


def beside(proof: RowProof) -> list[int]:
    """Wood beside the way that guides the nose: openings that may have no label."""
    judged = [number for number, proved in enumerate(proof.openings) if proved.verdict is not None]
    return [number for number in judged if not _matters(proof, number)]


def _labels(proof: RowProof, units: Units) -> tuple[OpeningLabel, ...]:
    order = sorted(range(len(proof.openings)), key=lambda number: proof.row.openings[number].face)
    labels = []
    for number in order:
        proved, opening = proof.openings[number], proof.row.openings[number]
        if proved.verdict is None and opening.face > proof.row.first:
            continue
        name = shortened(opening.label or f"opening {number + 1}", LETTERS, _LONGEST)
        labels.append(OpeningLabel(number, proved.verdict, (name, *_said(proved, units))))
    return tuple(labels)


def _said(proved: OpeningProof, units: Units) -> Iterator[str]:
    if proved.verdict is None:
        yield "lead in by hand"
        return
    yield VERDICT_WORDS[proved.verdict]
    if proved.verdict == "does-not-pass":
        return
    if proved.margin is None:
        yield "nothing holds it"
        return
    amount = format_amount(abs(proved.margin), units)
    yield f"{amount} to spare" if proved.verdict == "guides-itself" else f"{amount} short"


def draw_labels(
    drawing: Drawing, row: LabelRow, proof: RowProof, strips: Strips, bands: list[Band], bottom: float
) -> None:  # fmt: skip
    """The labels, and a leader from each to its band.

    Parameters
    ----------
    bottom : of the leaders, mm on the sheet: the upper border of the stretched picture
    """
    panel = strips.panels[0]
    by_number = {band.number: band for band in bands}
    targets = []
    for one in row.labels:
        band = by_number.get(one.number)
        face = panel.along_at(proof.row.openings[one.number].face)
        targets.append(face if band is None else (band.left + band.right) / 2)
    widths = np.array([one.width(row.upright) for one in row.labels])
    middles = spread(np.array(targets), widths, panel.box[0] - LABELS_LEFT, panel.box[2])
    for one, target, middle in zip(row.labels, targets, middles.tolist(), strict=True):
        band = by_number.get(one.number)
        end = bottom if band is None or band.top > bottom - 1.0 else max(band.top, bottom - 60.0)
        path = [(middle, bottom + LEADERS - 1.0), (target, bottom + 1.0), (target, end)]
        leader(drawing, path, "none", THIN)
        _draw_label(drawing, one, row.upright, middle, bottom + LEADERS)


def _draw_label(drawing: Drawing, one: OpeningLabel, upright: bool, middle: float, bottom: float) -> None:
    if upright:
        first = middle - (len(one.lines) - 1) * _LINE / 2 + LETTERS / 2
        verdict_mark(drawing, middle, bottom + _MARK / 2, _MARK, one.verdict)
        for place, line in enumerate(one.lines):
            weight = 0.15 if place == 0 else 0.1
            drawing.text(line, first + place * _LINE, bottom + _MARK + 1.5, LETTERS, angle=90, weight=weight)
        return
    top = bottom + _LINE * (len(one.lines) - 1)
    name = text_width(one.lines[0], LETTERS)
    left = middle - (name + _MARK + 1.4) / 2
    verdict_mark(drawing, left + _MARK / 2, top + LETTERS / 2, _MARK, one.verdict)
    drawing.text(one.lines[0], left + _MARK + 1.4, top, LETTERS, weight=0.15)
    for place, line in enumerate(one.lines[1:], 1):
        drawing.text(line, middle, top - place * _LINE, LETTERS, "middle")


def draw_names(drawing: Drawing, proof: RowProof, panel: Panel, reach: tuple[float, float]) -> None:
    """The parts' names above and below the row, with leaders into their wood.

    Parameters
    ----------
    reach : heights at which wood is cut off, mm
    """
    every = woods(proof.row)
    for side, edge, y in ((1, panel.box[3], panel.box[3] + 2.6), (-1, panel.box[1], panel.box[1] - 2.6)):
        named = []
        for wood in every:
            both = wood.opening.sill is not None and wood.opening.head is not None
            if wood.side != side or not wood.opening.label or (both and side < 0):
                continue
            left, right = max(wood.opening.face, panel.x), min(wood.opening.end, panel.x_right)
            if left < right:
                # Beside the middle, where a cut may have its zigzag.
                share = 0.35 if (right - left) * panel.along > 10.0 else 0.5
                words = shortened(wood.opening.label, LETTERS, _LONGEST)
                named.append((wood, words, left + share * (right - left)))
        named.sort(key=lambda one: one[2])
        widths = np.array([text_width(words, LETTERS) + 2.4 for _, words, _ in named])
        wanted = np.array([panel.along_at(x) for _, _, x in named])
        places = spread(wanted, widths, panel.box[0], panel.box[2] + 4.0)
        for (wood, words, x), place in zip(named, places.tolist(), strict=True):
            far = reach[0] if side < 0 else reach[1]
            hidden = hidden_from(wood, every, x)
            end = far if hidden is None or side * (far - hidden) < 0 else hidden
            at = panel.across_at((wood.edge + end) / 2 if side * (end - wood.edge) > 0 else wood.edge)
            leader(
                drawing, [(place, y - side * 0.6), (panel.along_at(x), edge), (panel.along_at(x), at)], "dot"
            )
            vertical = "base" if side > 0 else "top"
            drawing.text(words, place, y, LETTERS, "middle", vertical=vertical)
