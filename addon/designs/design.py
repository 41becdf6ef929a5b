"""What a design is: parameters, how they become parts, and what it says to the facts of a check."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol, TypeVar

from ..check.facts import Fact
from ..check.progress import Steps
from ..check.slide.proof import LeafProof
from ..sizes.units import Units
from ..wood.assembly import Assembly
from .acceptance import Accepted
from .findings import Change, Finding, Option


class Parameters(Protocol):
    """What every design's parameters have."""

    @property
    def name(self) -> str:
        """Name of what is built."""
        ...

    @property
    def units(self) -> Units:
        """Unit of the sentences."""
        ...

    @property
    def accepted(self) -> tuple[Accepted, ...]:
        """Findings that the maker accepts."""
        ...


P = TypeVar("P", bound=Parameters)


class Design(Protocol[P]):
    """A kind of furniture that can be built and checked. The check itself knows of none."""

    @property
    def name(self) -> str:
        """What it is called: ``table``."""
        ...

    def build(self, parameters: P) -> Assembly:
        """The parts with their joints, ways and limits.

        Raises ParameterError for what cannot be built and AsCutError for an entry that names no part or dimension.
        """
        ...

    def advise(
        self,
        parameters: P,
        assembly: Assembly,
        facts: Iterable[Fact],
        options: Sequence[Option] | None = None,
    ) -> list[Finding]:
        """One finding for one cause: what is wrong in a sentence, and what is worth trying about it.

        Parameters
        ----------
        options : ways that were found to make leaves guide themselves; None where nobody looked
        """
        ...

    def changed(self, parameters: P, changes: Sequence[Change]) -> P:
        """The parameters with new values for some keys; an entry after the last of a list is added to it.

        What was measured has the keys of its entries: ``as_cut[0].deviation``.

        Raises ParameterError for a value that the parameters cannot take.
        """
        ...

    def cost(self, before: P, after: P) -> str:
        """What else it costs to go from one to the other, in words: ``2 mm of knee clearance``; "" for nothing."""
        ...

    def option_steps(self, parameters: P, proofs: Sequence[LeafProof]) -> Steps[Sequence[Option]]:
        """Ways to make leaves guide themselves that have to be steered, step by step, the least work first."""
        ...
