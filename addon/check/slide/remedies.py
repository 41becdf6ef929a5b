"""What makes leaves guide themselves home: the smallest chamfer, an eased leading end, strips, less room."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from ...designs.table import build
from ...designs.table.leaf_parameters import Leaves
from ...designs.table.parameters import Ribs
from ...sizes.declare import parameters
from ...sizes.errors import DryAssemblyError
from ..findings import Change, Remedy
from ..prepared import prepare
from ..progress import run_through, share_of
from ..remedies import MARGIN, in_words
from ..row.openings import least_margins
from ..row.profile import Chamfer, profiles
from .proof import prove_leaves

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from ...designs.table.parameters import Table
    from ..progress import Steps
    from ..row.openings import MouthProof
    from ..row.profile import Row
    from .proof import LeafProof, ViewProof

    Floats = NDArray[np.float64]

LEAST_LAND: Final = 2.0
"""mm; what chamfers on both faces leave of a board between them (common practice, no source)."""

_STEPS: Final = 12
_CLOSE: Final = 1e-2
"""mm; how near to the smallest size a search goes."""

_ROUND: Final = 0.1
"""mm; sizes of chamfers are rounded up to this."""


@dataclass(frozen=True)
class Option:
    """One way to make leaves guide themselves.

    Parameters
    ----------
    remedy : in words and as changes to the table file
    leaves : labels of those that guide themselves with it
    """

    remedy: Remedy
    leaves: tuple[str, ...]


def options(table: Table, proofs: Sequence[LeafProof]) -> list[Option]:
    """Ways that help a leaf that must be steered, the least work first, until every such leaf has one.

    Each is tried out on the table built anew, so what it promises holds.
    """
    return run_through(option_steps(table, proofs))


def option_steps(table: Table, proofs: Sequence[LeafProof]) -> Steps[list[Option]]:
    """`options`, step by step: each set of strips as it is, then with the chamfers that leaves still need there."""
    search = _Search(table, {proof.leaf for proof in proofs if proof.verdict == "needs-steering"})
    bases = list(_bases(table))
    for number, (base, words) in enumerate(bases):
        if not search.waiting:
            break
        yield from share_of(search.steps(proofs, base, words), number / len(bases), (number + 1) / len(bases))
    return search.found


class _Search:
    """Options found, and the leaves that still have none."""

    def __init__(self, table: Table, waiting: set[str]) -> None:
        self.table, self.waiting = table, waiting
        self.found: list[Option] = []

    def steps(self, proofs: Sequence[LeafProof], base: tuple[Change, ...], words: str) -> Steps[None]:
        """Tries a set of strips, which no longer are `proofs` of the table as it is, and chamfers on top of it."""
        if base:
            proofs = _built(self.table, base)
            self._helped(base, words, proofs)
            yield 0.1
        steered = [
            proof for proof in proofs if proof.leaf in self.waiting and proof.verdict == "needs-steering"
        ]
        for number, (key, section, clause, search) in enumerate(_CHAMFERS):
            if not self.waiting or not steered:
                return
            start = 0.1 + 0.45 * number
            sizes = yield from share_of(search(steered), start, start + 0.35)
            leg = _leg(key, section, sizes)
            if leg is None:
                continue
            changes = (*base, Change(f"{'ribs' if section is Ribs else 'leaves'}.{key}", leg))
            chamfered = clause.format(in_words(self.table, leg))
            said = f"{words}, and {chamfered}" if words else chamfered[0].upper() + chamfered[1:]
            self._helped(changes, said, _built(self.table, changes))
            yield start + 0.45

    def _helped(self, changes: tuple[Change, ...], words: str, proofs: Sequence[LeafProof]) -> None:
        """Keeps an option if it helps a leaf that waits."""
        good = {proof.leaf for proof in proofs if proof.verdict == "guides-itself"}
        helped = tuple(sorted(self.waiting & good))
        if helped:
            self.found.append(Option(Remedy(words, changes), helped))
            self.waiting -= good


_STRIPS: Final = {
    ("runners", "kickers"): "fit runners under and kickers above the leaves' ways",
    ("guides",): "fit guides beside the leaves' ways",
    ("runners", "kickers", "guides"): "fit runners, kickers and guides along the leaves' ways",
}
"""Sets of strips, and what to do with them in words."""


def _bases(table: Table) -> Iterator[tuple[tuple[Change, ...], str]]:
    """Nothing; strips; all strips with the least room that the check calls enough."""
    yield (), ""
    every: tuple[Change, ...] = ()
    for flags, words in _STRIPS.items():
        missing = tuple(Change(f"stowing.{flag}", True) for flag in flags if not getattr(table.stowing, flag))
        if missing:
            every = missing
            yield missing, words[0].upper() + words[1:]
    least = table.limits.min_clearance + MARGIN
    names = [
        name
        for name in ("side_clearance", "clearance_above", "clearance_below")
        if getattr(table.stowing, name) > least
    ]
    if names:
        tight = tuple(Change(f"stowing.{name}", least) for name in names)
        words = f"Leave only {in_words(table, table.limits.min_clearance)} around the leaves"
        yield (*every, *tight), words + (" along strips on all their sides" if every else "")


def _built(table: Table, changes: tuple[Change, ...]) -> list[LeafProof]:
    try:
        return prove_leaves(prepare(build(changed(table, changes))))
    except DryAssemblyError:
        return []


def changed(table: Table, changes: Sequence[Change]) -> Table:
    """The table with new values for keys of its sections."""
    for change in changes:
        section, name = change.key.split(".")
        table = replace(table, **{section: replace(getattr(table, section), **{name: change.value})})
    return table


# -- chamfers
# ------------------------------------------------------------------------------------------------------------


def _leg(key: str, section: type[Ribs] | type[Leaves], sizes: Mapping[str, float | None]) -> float | None:
    """Leg of the chamfers that do for all leaves that they can help, mm; None where they help none."""
    limit = next(one.high or np.inf for one in parameters(section) if one.name == key)
    legs = [_rounded_up(size) for size in sizes.values() if size is not None]
    return max(legs) if legs and max(legs) <= limit else None


def _rounded_up(size: float) -> float:
    return round(float(np.ceil((size + MARGIN) / _ROUND)) * _ROUND, 6)


def smallest_chamfers(proofs: Sequence[LeafProof]) -> dict[str, float | None]:
    """Leaf label → smallest leg of the chamfers around its windows with which it guides itself, mm.

    None where no chamfer that the boards can hold suffices. Slots keep theirs.
    """
    return run_through(_chamfer_steps(proofs))


def _chamfer_steps(proofs: Sequence[LeafProof]) -> Steps[dict[str, float | None]]:
    now = np.array(
        [max((row.openings[one].entry.rise for row, one in _windows(proof)), default=0.0) for proof in proofs]
    )
    boards = np.array(
        [min((row.openings[one].board for row, one in _windows(proof)), default=0.0) for proof in proofs]
    )
    return _smallest(proofs, now, np.maximum((boards - LEAST_LAND) / 2, now), _with_window_chamfer)


def smallest_leads(proofs: Sequence[LeafProof]) -> dict[str, float | None]:
    """Leaf label → smallest leg of a chamfer on its leading end with which it guides itself, mm; None: none does."""
    return run_through(_lead_steps(proofs))


def _lead_steps(proofs: Sequence[LeafProof]) -> Steps[dict[str, float | None]]:
    now = np.array([proof.side.of.row.lead.rise for proof in proofs])
    most = np.array([(proof.side.of.row.thickness - LEAST_LAND) / 2 for proof in proofs])
    return _smallest(proofs, now, np.maximum(most, now), _with_lead)


_CHAMFERS: Final = (
    ("window_chamfer", Ribs, "chamfer all windows by {}", _chamfer_steps),
    ("lead_chamfer", Leaves, "chamfer the leaves' leading ends by {}", _lead_steps),
)
"""Chamfers around all windows, or on the leading ends, as small as will do: key, section, words, search."""


def _windows(proof: LeafProof) -> list[tuple[Row, int]]:
    return [(view.of.row, number) for view in proof.views for number in _windows_of(view.of.row)]


def _windows_of(row: Row) -> list[int]:
    return [number for number, one in enumerate(row.openings) if one.window and one.face > row.first]


def _with_window_chamfer(view: ViewProof, leg: float) -> Row:
    row = view.of.row
    openings = list(row.openings)
    for number in _windows_of(row):
        openings[number] = replace(openings[number], entry=Chamfer(leg, leg), exit=Chamfer(leg, leg))
    return replace(row, openings=tuple(openings))


def _with_lead(view: ViewProof, leg: float) -> Row:
    return replace(view.of.row, lead=Chamfer(leg, leg)) if view.of.view == "side" else view.of.row


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


# -- where strips would go
# ------------------------------------------------------------------------------------------------------------


def bays_to_steer(proof: LeafProof) -> list[tuple[str, str, str]]:
    """(strip, label, label): strips that would carry or guide a leaf, and the boards between which."""
    found = []
    for view in proof.views:
        boards = [
            (one.label, mouth)
            for one, mouth in zip(view.of.row.openings, view.proof.mouths, strict=True)
            if one.window
        ]
        for (before, _), (label, mouth) in pairwise(boards):
            if mouth.verdict == "needs-steering":
                found += [(strip, before, label) for strip in _strips_for(view, mouth)]
    return list(dict.fromkeys(found))


def _strips_for(view: ViewProof, mouth: MouthProof) -> list[str]:
    if view.of.view == "plan":
        return ["guide"]
    lowest, highest = mouth.nose_low, mouth.nose_high
    strips = []
    if mouth.catch_low is not None and (lowest is None or lowest < mouth.catch_low):
        strips.append("runner")
    top = None if highest is None else highest + view.of.row.thickness
    if mouth.catch_high is not None and (top is None or top > mouth.catch_high):
        strips.append("kicker")
    return strips
