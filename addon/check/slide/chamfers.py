"""The smallest chamfers with which leaves guide themselves home: around their windows, or on their leading ends."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from ...sizes.arrays import Floats
from ..progress import Steps, run_through
from ..row.openings import least_margins
from ..row.profile import Chamfer, Row, profiles
from .proof import LeafProof, ViewProof

LEAST_LAND: Final = 2.0
"""mm; what chamfers on both faces leave of a board between them (common practice, no source)."""

_STEPS: Final = 12
_CLOSE: Final = 1e-2
"""mm; how near to the smallest size a search goes."""


def smallest_chamfers(proofs: Sequence[LeafProof]) -> dict[str, float | None]:
    """Leaf label → smallest size of the chamfers around its windows with which it guides itself, mm.

    None where no chamfer that the boards can hold suffices. Slots keep theirs.
    """
    return run_through(chamfer_steps(proofs))


def chamfer_steps(proofs: Sequence[LeafProof]) -> Steps[dict[str, float | None]]:
    """`smallest_chamfers`, step by step."""
    now = np.array(
        [max((row.openings[one].entry.rise for row, one in _windows(proof)), default=0.0) for proof in proofs]
    )
    boards = np.array(
        [min((row.openings[one].board for row, one in _windows(proof)), default=0.0) for proof in proofs]
    )
    return _smallest(proofs, now, np.maximum((boards - LEAST_LAND) / 2, now), _with_window_chamfer)


def smallest_leads(proofs: Sequence[LeafProof]) -> dict[str, float | None]:
    """Leaf label → smallest size of a chamfer on its leading end with which it guides itself, mm; None: none does."""
    return run_through(lead_steps(proofs))


def lead_steps(proofs: Sequence[LeafProof]) -> Steps[dict[str, float | None]]:
    """`smallest_leads`, step by step."""
    now = np.array([proof.side.of.row.lead.rise for proof in proofs])
    most = np.array([(proof.side.of.row.thickness - LEAST_LAND) / 2 for proof in proofs])
    return _smallest(proofs, now, np.maximum(most, now), _with_lead)


def _windows(proof: LeafProof) -> list[tuple[Row, int]]:
    return [(view.of.row, number) for view in proof.views for number in _windows_of(view.of.row)]


def _windows_of(row: Row) -> list[int]:
    return [number for number, one in enumerate(row.openings) if one.window and one.face > row.first]


def _with_window_chamfer(view: ViewProof, size: float) -> Row:
    row = view.of.row
    openings = list(row.openings)
    for number in _windows_of(row):
        openings[number] = replace(openings[number], entry=Chamfer(size, size), exit=Chamfer(size, size))
    return replace(row, openings=tuple(openings))


def _with_lead(view: ViewProof, size: float) -> Row:
    return replace(view.of.row, lead=Chamfer(size, size)) if view.of.view == "side" else view.of.row


def _smallest(
    proofs: Sequence[LeafProof], least: Floats, most: Floats, change: Callable[[ViewProof, float], Row]
) -> Steps[dict[str, float | None]]:
    """Between sizes that do not do and ones that do, where the line between their margins crosses zero."""

    def margins(sizes: Floats) -> Floats:
        rows = [change(view, size) for proof, size in zip(proofs, sizes, strict=True) for view in proof.views]
        worst = least_margins(profiles(tuple(rows)))
        return np.minimum(worst[::2], worst[1::2])

    low, high = least, most
    at_low = margins(low)
    yield 0.0
    at_high = margins(high)
    possible = at_high >= 0
    for step in range(_STEPS):
        waiting = possible & (at_low < 0) & (high - low > _CLOSE)
        if not waiting.any():
            break
        yield (step + 1) / (_STEPS + 1)
        with np.errstate(all="ignore"):
            line = low - at_low * (high - low) / (at_high - at_low)
        by_line = np.isfinite(line) & (step % 3 != 2)
        size = np.where(by_line, np.clip(line + _CLOSE / 4, low, high), (low + high) / 2)
        at = margins(np.where(waiting, size, high))
        good = waiting & (at >= 0)
        bad = waiting & ~good
        high, at_high = np.where(good, size, high), np.where(good, at, at_high)
        low, at_low = np.where(bad, size, low), np.where(bad, at, at_low)
    found = np.where(at_low >= 0, low, high)
    return {
        proof.leaf: float(size) if does else None
        for proof, size, does in zip(proofs, found, possible, strict=True)
    }
