"""The table that advice is for: its parameters, what was built of them, and what all advisers need."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from ....sizes.tolerances import CONTACT
from ....sizes.units import CALIPER, division, format_amount, format_given, format_size, rounded
from ....sizes.words import listed
from ....wood.as_cut import drawn_dimension
from ....wood.assembly import Assembly
from ....wood.dimensions import AsCut
from ....wood.fasteners import Body, Fastener
from ....wood.part import Part
from ....wood.roles import FOOT, LEG
from ...findings import Candidate, Change, Option, Remedy
from ..parameters import Table

MARGIN: Final = 1e-3
"""A remedy that is no matter of size aims this far past the limit, mm, so that rounding on the way does not undo it."""


class Advice:
    """One sentence, and what is worth trying, the best first; a candidate that there is none of is None."""

    def __init__(self, message: str, *candidates: Candidate | None) -> None:
        self.message = message
        self.candidates = tuple(one for one in candidates if one is not None)


class Cut(NamedTuple):
    """An `as_cut` entry that differs from the drawing: its number in the file, and by how much, mm."""

    number: int
    entry: AsCut
    off: float


@dataclass(frozen=True, eq=False)
class Case:
    """A table as it was checked.

    Parameters
    ----------
    options : ways that were found to make leaves guide themselves; None where nobody looked
    """

    table: Table
    assembly: Assembly
    options: Sequence[Option] | None = None

    def is_of_leg(self, body: Body) -> bool:
        """Whether something is a leg, stands under one or holds one, so that narrower legs make way with it."""
        if isinstance(body, Fastener):
            # A bolt comes with the leg under its head; what else goes into legs has an entry or a place of its own.
            return body.kind == "bolt" and self.assembly.by_label[body.joins[0]].role == LEG
        return body.role in (LEG, FOOT) or (bool(body.of) and self.assembly.body[body.of].role == LEG)

    # -- words
    # --------------------------------------------------------------------------------------------------------

    def words(self, amount: float) -> str:
        """A clearance, a deviation or an overlap, in the table's unit."""
        return format_amount(amount, self.table.units)

    def place(self, mm: float) -> str:
        """A size or a position, in the table's unit."""
        return format_size(mm, self.table.units)

    def given(self, value: float) -> str:
        """A size to be cut, or a value for the table file, in its unit."""
        return format_given(value, self.table.units)

    def until_glued(self, labels: Iterable[str]) -> str:
        """``, if R2 is not glued yet``, for what can be done to parts no longer once glue holds them; "" where none
        does."""
        held = {label for one in self.assembly.joints if one.fastening == "glue" for label in (one.a, one.b)}
        parts = [label for label in dict.fromkeys(labels) if label in held]
        if not parts:
            return ""
        return f", if {listed(parts)} {'is' if len(parts) == 1 else 'are'} not glued yet"

    # -- sizes
    # --------------------------------------------------------------------------------------------------------

    def more(self, least: float) -> float:
        """A size that is enough and that the maker's rule shows."""
        return rounded(least, self.table.units, division(self.table.limits.rule_division), "up")

    def less(self, most: float) -> float:
        """A size that is not too much and that the maker's rule shows."""
        return rounded(most, self.table.units, division(self.table.limits.rule_division), "down")

    def finely(self, mm: float) -> float:
        """A length without what arithmetic alone made of it: on a line of the maker's rule where it is that, else as
        fine as a caliper reads."""
        units = self.table.units
        line = rounded(mm, units, division(self.table.limits.rule_division), "nearest")
        return line if abs(line - mm) <= CONTACT else rounded(mm, units, CALIPER, "nearest")

    # -- parts that were cut
    # --------------------------------------------------------------------------------------------------------

    def cuts(self, labels: Iterable[str]) -> list[Cut]:
        """The `as_cut` entries of some parts that differ from the drawing by a length."""
        wanted = set(labels)
        return [
            Cut(number, entry, self.deviation(entry))
            for number, entry in enumerate(self.table.as_cut)
            if entry.part in wanted and entry.degrees is None and self.deviates(entry)
        ]

    def deviates(self, entry: AsCut) -> bool:
        """Whether an entry says anything but the drawing."""
        return not entry.missing and self.deviation(entry) != 0

    def deviation(self, entry: AsCut) -> float:
        """Measured less drawn, mm or degrees."""
        if entry.deviation is not None:
            return entry.deviation
        measured = entry.value if entry.degrees is None else entry.degrees
        return (measured or 0.0) - drawn_dimension(self.assembly.by_label[entry.part], entry)

    def reset(self, index: int, entry: AsCut) -> tuple[Change, ...]:
        """What makes an entry say the drawing; one of a part that is missing says that its length is as drawn."""
        key = f"as_cut[{index}]"
        if entry.missing and entry.dimension:
            return (Change(f"{key}.missing", False), *self.reset(index, replace(entry, missing=False)))
        if entry.missing:
            as_drawn = {"missing": False, "dimension": "length", "deviation": 0.0}
            return tuple(Change(f"{key}.{name}", value) for name, value in as_drawn.items())
        if entry.deviation is not None:
            return (Change(f"{key}.deviation", 0.0),)
        name = "value" if entry.degrees is None else "degrees"
        return (Change(f"{key}.{name}", drawn_dimension(self._part(entry.part), entry)),)

    def _part(self, label: str) -> Part:
        """A part, though it may be missing."""
        found = self.assembly.by_label.get(label)
        return found or next(part for part in self.assembly.missing if part.label == label)


def both(one: Remedy, other: Remedy) -> Remedy:
    """Two remedies as one."""
    text = other.text[0].lower() + other.text[1:]
    return Remedy(f"{one.text}, and {text}", (*one.set, *other.set))
