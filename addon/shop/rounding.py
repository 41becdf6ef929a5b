"""The table as its papers have it: every size rounded to the rule so that what fits still fits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from ..sizes.errors import AsCutError
from ..sizes.units import CALIPER, Rounding, format_number, rounded
from ..wood.as_cut import apply_as_cut
from ..wood.assembly import Assembly
from ..wood.dimensions import AsCut
from ..wood.features import Dimension
from ..wood.part import Part
from .figures import Figure, Rule

How = Literal["rule", "wood", "gap"]
"""A size is rounded to the rule, set from the wood itself (a groove to its board), or cut to fit a gap."""


@dataclass(frozen=True)
class Printed:
    """How one dimension of one part is printed.

    Parameters
    ----------
    value : mm or degrees
    text : without the unit
    """

    value: float
    text: str
    how: How = "rule"


@dataclass(frozen=True, eq=False)
class Rounded:
    """An assembly whose sizes are those that are printed.

    Parameters
    ----------
    drawn : as the file has it
    assembly : with every dimension as printed, seated
    sizes : (label, number of the feature or None, name of the dimension) → how it is printed
    gaps : label of a part that is cut to fit → labels of the parts between which its length is measured
    """

    drawn: Assembly
    assembly: Assembly
    sizes: dict[tuple[str, int | None, str], Printed]
    gaps: dict[str, tuple[str, ...]]
    rule: Rule

    def figure(self, part: Part, dimension: Dimension, name: str = "") -> Figure:
        """What is printed for a dimension of a part, as drawn."""
        one = self.sizes[part.label, dimension.number, dimension.name]
        return Figure(
            name or dimension.words,
            one.value,
            one.text,
            part.label,
            dimension.of,
            self._numbered[part.label, dimension.number, dimension.name],
            dimension.leaf,
            dimension.unit,
        )

    @cached_property
    def _numbered(self) -> dict[tuple[str, int | None, str], str]:
        """The name by which ``[[as_cut]]`` chooses a dimension among several of that name."""
        found = {}
        for part in self.drawn.parts:
            for dimension in part.shape.dimensions:
                found[part.label, dimension.number, dimension.name] = dimension.name
        return found


def rounded_table(assembly: Assembly, rule: Rule) -> Rounded:
    """Every dimension of an assembly as it is printed, and the assembly with those."""
    sizes: dict[tuple[str, int | None, str], Printed] = {}
    entries: list[AsCut] = []
    for part in assembly.parts:
        for dimension in part.shape.dimensions:
            sizes[part.label, dimension.number, dimension.name] = _printed(dimension, rule)
    cut = assembly
    if entries:
        try:
            cut = replace(apply_as_cut(assembly, tuple(entries)), as_cut=assembly.as_cut)
        except AsCutError:
            raise
    return Rounded(assembly, cut, sizes, {}, rule)


def _printed(dimension: Dimension, rule: Rule) -> Printed:
    if dimension.unit != "mm":
        return Printed(dimension.value, f"{dimension.value:.1f}".removesuffix(".0"))
    if dimension.tolerance == "thickness":
        value = rounded(dimension.value, rule.units, CALIPER, "nearest")
        return Printed(value, format_number(value, rule.units, CALIPER), "wood")
    rounding: Rounding = "nearest"
    value = rule.rounded(dimension.value, rounding)
    return Printed(value, rule.text(value))
