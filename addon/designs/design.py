"""What a design is: parameters, how they become parts, and what it says to the facts of a check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from ..check.facts import Fact
    from ..check.progress import Steps
    from ..check.slide.proof import LeafProof
    from ..sizes.units import Units
    from ..wood.assembly import Assembly
    from .findings import Finding, Option


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


P = TypeVar("P", bound=Parameters, contravariant=True)


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
        """Each fact in a sentence, with the change of parameters that makes it go away.

        Parameters
        ----------
        options : ways that were found to make leaves guide themselves; None where nobody looked
        """
        ...

    def option_steps(self, parameters: P, proofs: Sequence[LeafProof]) -> Steps[Sequence[Option]]:
        """Ways to make leaves guide themselves that have to be steered, step by step, the least work first."""
        ...
