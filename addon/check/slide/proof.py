"""Every leaf through its openings, whichever way it is held: seen from the side and from above."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..row.leaf_rows import leaf_rows
from ..row.openings import VERDICTS
from ..row.proof import prove

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..prepared import Prepared
    from ..row.leaf_rows import LeafRow
    from ..row.openings import Verdict
    from ..row.proof import RowProof


@dataclass(frozen=True, eq=False)
class ViewProof:
    """A leaf in one view: where its row lies in the table, and what is proven of it."""

    of: LeafRow
    proof: RowProof


@dataclass(frozen=True, eq=False)
class LeafProof:
    """A leaf in both views; the worse one decides."""

    leaf: str
    side: ViewProof
    plan: ViewProof

    @property
    def views(self) -> tuple[ViewProof, ViewProof]:
        """Both views, from the side first."""
        return self.side, self.plan

    @property
    def verdict(self) -> Verdict:
        """The worse of both views'."""
        return VERDICTS[max(VERDICTS.index(view.proof.verdict) for view in self.views)]


def prove_leaves(prepared: Prepared) -> list[LeafProof]:
    """The proof of every leaf that has a stow path, in their order."""
    return together(leaf_rows(prepared))


def together(rows: Sequence[LeafRow]) -> list[LeafProof]:
    """The proofs of rows that come in pairs, the side view of each leaf before its plan view."""
    views = [ViewProof(row, proof) for row, proof in zip(rows, prove([one.row for one in rows]), strict=True)]
    return [LeafProof(side.of.leaf, side, plan) for side, plan in zip(views[::2], views[1::2], strict=True)]
