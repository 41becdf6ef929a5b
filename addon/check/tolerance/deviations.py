"""What may be off in an assembly: one deviation for each dimension that is cut, set out or bought."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...wood.assembly import Assembly
from ...wood.dimensions import chosen
from ...wood.features import Tolerance
from ...wood.part import Part

Kind = Tolerance | Literal["part place", "sheet thickness", "squareness", "bow", "twist"]

ROUTED: Final[frozenset[Kind]] = frozenset({"opening size", "opening place", "groove size", "groove place"})
"""Kinds that the router makes."""

UNEVEN: Final[frozenset[Kind]] = frozenset({"bow", "twist"})
"""Kinds that say how far a part is from flat."""

Form = dict[int, float]
"""A sum of deviations: number of the deviation → coefficient."""

_LIMITS: Final[dict[Kind, str]] = {
    "opening size": "opening_size",
    "opening place": "opening_place",
    "groove place": "groove_place",
    "groove size": "opening_size",
    "sawn size": "sawn_size",
    "part place": "part_place",
}
"""The parameter that holds the tolerance of a kind of dimension."""


@dataclass(frozen=True)
class Deviation:
    """One dimension and how far it may be off.

    Parameters
    ----------
    name : in words, such as "R3, window for L4: sill height"
    kind : what it is a dimension of, and so which tolerance applies
    part : label; of a sheet's mean thickness that all its parts share, empty
    tolerance : half-width of the deviation, mm
    one_sided : only how much it is matters, not which way: it is drawn from 0 to the tolerance
    """

    name: str
    kind: Kind
    part: str
    tolerance: float
    one_sided: bool = False

    @property
    def routed(self) -> bool:
        """Whether the router makes it."""
        return self.kind in ROUTED


@dataclass
class Register:
    """The deviations of an assembly, numbered as they are asked for; a dimension that was measured has none.

    Besides its dimensions, a part may be off in its ``place``, where it is put across its own plane, and its ``level``,
    how high it is put.
    """

    assembly: Assembly
    found: list[Deviation] = field(default_factory=list)
    _numbers: dict[tuple[str, str, str], int] = field(default_factory=dict)

    def dimension(self, part: Part, name: str, leaf: str | None = None) -> Form:
        """A dimension of a part; of a slot or window, that of a leaf. Raises AsCutError where it has none such."""
        if self._measured(part.label, name, leaf):
            return {}
        all_such = chosen(part, name, leaf)
        found = next((one for one in all_such if one.leaf == leaf), all_such[0])
        words = f"{part.label}, {found.words}" if found.of else f"{part.label}: {found.words}"
        key = (part.label, name, leaf or "")
        return self._one(key, words, found.tolerance, part.label, self._limit(found.tolerance))

    def placed(self, part: Part, which: Literal["place", "level"]) -> Form:
        """Where a part is put."""
        if self._measured(part.label, "place_up" if which == "level" else "place_across"):
            return {}
        key, name = (part.label, which, ""), f"{part.label}: {which}"
        return self._one(key, name, "part place", part.label, self._limit("part place"))

    def thickness(self, part: Part) -> Form:
        """Thickness of a part: what is its own, and what its sheet has in common."""
        if self._measured(part.label, "thickness"):
            return {}
        stock = part.stock
        own = self._one(
            (part.label, "thickness", ""),
            f"{part.label}: thickness",
            "thickness",
            part.label,
            stock.spread_within / 2,
        )
        one_sheet = self.assembly.tolerances.sheets == "one"
        sheet = self._one(
            ("" if one_sheet else part.label, "sheet", stock.name),
            f"{stock.name}: mean thickness" + ("" if one_sheet else f" of the sheet of {part.label}"),
            "sheet thickness",
            "" if one_sheet else part.label,
            stock.spread_between / 2,
        )
        return added((own, 1.0), (sheet, 1.0))

    def squareness(self, leaf: Part) -> Form:
        """By how much one diagonal of a leaf is longer than the other."""
        limit = self.assembly.tolerances.squareness
        name = f"{leaf.label}: difference of its diagonals"
        return self._one(
            (leaf.label, "squareness", ""), name, "squareness", leaf.label, limit, one_sided=True
        )

    def bow(self, part: Part, length: float, *, one_sided: bool = False) -> Form:
        """How far a leaf's middle is off the line of its ends, or a rib's between two places that hold it: its share
        of its sheet's bow, one way or the other.

        A sheet that rises by b over its length L rises by b·(l/L)² over a part l long, mm. `one_sided` : what it is
        bowed across matters alike whichever way.
        """
        limit = part.stock.bow * (length / part.stock.sheet_length) ** 2
        key, name = (part.label, "bow", ""), f"{part.label}: bow"
        return self._one(key, name, "bow", part.label, limit, one_sided=one_sided)

    def twist(self, leaf: Part) -> Form:
        """How far a corner of a leaf stands up when its other three lie flat: z = t·x·y/(L·W) of its sheet."""
        length, width, _ = leaf.shape.size
        stock = leaf.stock
        limit = stock.twist * length * width / (stock.sheet_length * stock.sheet_width)
        key, name = (leaf.label, "twist", ""), f"{leaf.label}: twist"
        return self._one(key, name, "twist", leaf.label, limit, one_sided=True)

    @property
    def tolerances(self) -> Floats:
        """(deviations,) float, mm"""
        return np.array([one.tolerance for one in self.found])

    @property
    def routed(self) -> NDArray[np.bool_]:
        """(deviations,) bool"""
        return np.array([one.routed for one in self.found], dtype=bool)

    def _limit(self, kind: Kind) -> float:
        return float(getattr(self.assembly.tolerances, _LIMITS[kind]))

    def _measured(self, part: str, dimension: str, leaf: str | None = None) -> bool:
        return any(name == dimension and own in (None, leaf) for name, own in self._measured_of.get(part, ()))

    @cached_property
    def _measured_of(self) -> dict[str, list[tuple[str, str | None]]]:
        """Part → names of its dimensions that were measured, each with the leaf that it is of, if of one alone."""
        found: dict[str, list[tuple[str, str | None]]] = {}
        for entry in self.assembly.as_cut:
            own = found.setdefault(entry.part, [])
            own.append((entry.dimension, entry.leaf))
            if any(letter.isdigit() for letter in entry.dimension) and entry.part in self.assembly.by_label:
                only = chosen(self.assembly.by_label[entry.part], entry.dimension)[0]
                own.append((only.name, only.leaf))
        return found

    def _one(
        self,
        key: tuple[str, str, str],
        name: str,
        kind: Kind,
        part: str,
        tolerance: float,
        *,
        one_sided: bool = False,
    ) -> Form:
        if tolerance == 0:
            return {}
        if key not in self._numbers:
            self._numbers[key] = len(self.found)
            self.found.append(Deviation(name, kind, part, tolerance, one_sided))
        return {self._numbers[key]: 1.0}


def added(*forms: tuple[Form, float]) -> Form:
    """The sum of forms, each times its factor."""
    total: Form = {}
    for form, factor in forms:
        for number, coefficient in form.items():
            total[number] = total.get(number, 0.0) + factor * coefficient
    return {number: coefficient for number, coefficient in total.items() if coefficient}


def as_matrix(forms: list[Form], count: int) -> Floats:
    """(forms, count) float: coefficients of all deviations in each form."""
    matrix = np.zeros((len(forms), count))
    for row, form in enumerate(forms):
        for number, coefficient in form.items():
            matrix[row, number] = coefficient
    return matrix
