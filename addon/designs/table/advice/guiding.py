"""What would make leaves guide themselves home: a chamfer, an eased leading end, strips, less room.

Each way is tried out on the table built anew, so what it promises holds.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from typing import Final

import numpy as np

from ....check.prepared import prepare
from ....check.progress import Steps, run_through, share_of
from ....check.slide.chamfers import chamfer_steps, lead_steps
from ....check.slide.proof import LeafProof, prove_leaves
from ....sizes.declare import parameters
from ....sizes.errors import DryAssemblyError
from ....sizes.units import CALIPER, TAPE, Units, format_given, rounded
from ....sizes.words import capital
from ...findings import Candidate, Change, Option, Remedy, Sized
from ..build import build
from ..changes import changed
from ..leaf_parameters import Leaves
from ..parameters import Ribs, Table
from .case import MARGIN


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
            self._helped(Remedy(words, base), proofs)
            yield 0.1
        steered = [
            proof for proof in proofs if proof.leaf in self.waiting and proof.verdict == "needs-steering"
        ]
        for number, (key, section, clause, search) in enumerate(_CHAMFERS):
            if not self.waiting or not steered:
                return
            start = 0.1 + 0.45 * number
            sizes = yield from share_of(search(steered), start, start + 0.35)
            limit = most_of(section, key)
            size = _size(limit, sizes, self.table.units)
            if size is None:
                continue
            name = f"{'ribs' if section is Ribs else 'leaves'}.{key}"
            of = partial(
                _chamfered, base, name, f"{words}, and {clause}" if words else clause, self.table.units
            )
            self._helped(Sized(of, size, limit), _built(self.table, of(size).set))
            yield start + 0.45

    def _helped(self, candidate: Candidate, proofs: Sequence[LeafProof]) -> None:
        """Keeps an option if it helps a leaf that waits."""
        good = {proof.leaf for proof in proofs if proof.verdict == "guides-itself"}
        helped = tuple(sorted(self.waiting & good))
        if helped:
            self.found.append(Option(candidate, helped))
            self.waiting -= good


def _chamfered(base: tuple[Change, ...], name: str, words: str, units: Units, size: float) -> Remedy:
    """Strips, and a chamfer of some size, mm."""
    return Remedy(capital(words.format(format_given(size, units))), (*base, Change(name, size)))


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
        if missing and missing != every:
            every = missing
            yield missing, words[0].upper() + words[1:]
    least = rounded(table.limits.min_clearance + MARGIN, table.units, CALIPER, "up")
    names = [
        name
        for name in ("side_clearance", "clearance_above", "clearance_below")
        if getattr(table.stowing, name) > least
    ]
    if names:
        tight = tuple(Change(f"stowing.{name}", least) for name in names)
        words = f"Leave only {format_given(least, table.units)} around the leaves"
        yield (*every, *tight), words + (" along strips on all their sides" if every else "")


def _built(table: Table, changes: tuple[Change, ...]) -> list[LeafProof]:
    try:
        return prove_leaves(prepare(build(changed(table, changes))))
    except DryAssemblyError:
        return []


# -- chamfers
# ------------------------------------------------------------------------------------------------------------


def most_of(section: type[Ribs] | type[Leaves], key: str) -> float:
    """The greatest size that a file may hold, mm."""
    return next(one.high or np.inf for one in parameters(section) if one.name == key)


def _size(limit: float, sizes: Mapping[str, float | None], units: Units) -> float | None:
    """Size of the chamfers that do for all leaves that they can help, mm; None where they help none."""
    found = [rounded(size + MARGIN, units, TAPE, "up") for size in sizes.values() if size is not None]
    return max(found) if found and max(found) <= limit else None


_CHAMFERS: Final = (
    ("window_chamfer", Ribs, "chamfer all windows by {}", chamfer_steps),
    ("lead_chamfer", Leaves, "chamfer the leaves' leading ends by {}", lead_steps),
)
"""Chamfers around all windows, or on the leading ends, as small as will do: key, section, words, search."""
