"""Figures: what is printed for the shop, each with the length that it stands for and what it is a dimension of."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final, Literal

from ..sizes.tolerances import CONTACT
from ..sizes.units import CALIPER, Reading, Rounding, Units, division, format_number, rounded, tape
from ..wood.part import Part

PageKind = Literal[
    "drawing",
    "shopping-list",
    "sheets",
    "cut-list",
    "part-sheet",
    "set-up",
    "story-stick",
    "layout",
    "steps",
    "cautions",
]
"""Kinds of page, as JSON has them."""


_FINER: Final = (
    tape(64),
    CALIPER,
    *(
        Reading(Fraction(1, 10**digits), Fraction(1, 10 ** (digits + 1)), (1, digits), fractions=False)
        for digits in (3, 4)
    ),
)
"""How finely lengths are read that no rule shows, the coarsest first."""


@dataclass(frozen=True)
class Figure:
    """One number on a page.

    Parameters
    ----------
    name : what it is on that page: ``length``, ``window for L4: sill height``
    value : as printed, mm or degrees
    printed : the text as it stands on the paper, without the unit
    part : label of the part that it is a size of; "" where it is of none
    feature : which of the part's features, in words; "" for the board itself
    dimension : the name by which ``[[as_cut]]`` sets it; "" where it is no dimension of a part
    leaf : the leaf whose slot or window it is of, where ``[[as_cut]]`` needs that to choose it
    unit : of the value
    """

    name: str
    value: float
    printed: str
    part: str = ""
    feature: str = ""
    dimension: str = ""
    leaf: str | None = None
    unit: Literal["mm", "°"] = "mm"

    @property
    def document(self) -> dict[str, Any]:
        """As JSON has it."""
        found: dict[str, Any] = {"name": self.name, "mm" if self.unit == "mm" else "degrees": self.value}
        found |= {
            "printed": self.printed,
            "part": self.part,
            "feature": self.feature,
            "dimension": self.dimension,
        }
        if self.leaf is not None:
            found["leaf"] = self.leaf
        return found


Sizes = Literal["heights", "length", "width", "cuts"]
"""Heights of all boards that hold or carry the bottom panel, and of what is cut into these, which go together; other
sizes of the boards of one role, and of what is cut into them."""


@dataclass(frozen=True)
class Rule:
    """What the maker's rule and the saw's fence show.

    Parameters
    ----------
    units : of all that is printed
    division : the finest division, mm
    finer : role of parts (none of heights) and which of their sizes → a finer division for these, mm
    """

    units: Units
    division: float
    finer: tuple[tuple[tuple[str, Sizes], float], ...] = ()

    def of(self, part: Part, sizes: Sizes) -> Rule:
        """The rule for some of a part's sizes."""
        finer = dict(self.finer).get(("" if sizes == "heights" else part.role.word, sizes))
        return self if finer is None else Rule(self.units, finer)

    def rounded(self, mm: float, rounding: Rounding = "nearest") -> float:
        """A length as the rule shows it, mm; what arithmetic alone put over a division is not rounded up."""
        return rounded(mm, self.units, division(self.division), rounding)

    def text(self, mm: float) -> str:
        """A rounded length as it is printed, without the unit: ``924.5``, ``36 13/32``."""
        return format_number(mm, self.units, division(self.division))

    def shows(self, mm: float) -> bool:
        """Whether a length is a whole number of divisions."""
        return abs(self.rounded(mm) - mm) <= CONTACT

    def fitting(self, room: float, allowance: float) -> float:
        """The length of what is cut to fit, mm: the room itself where the rule shows it, else as nearly as it takes.

        It is read to 0.1 mm or 1/64 in where a joint then stays open by no more than the allowance, else more finely;
        never more than the room.
        """
        if self.shows(room):
            return self.rounded(room)
        for reading in _FINER:
            size = rounded(room, self.units, reading, "down")
            if room - size <= allowance + CONTACT:
                return size
        return room

    def exact(self, mm: float) -> str:
        """A length that is not rounded to the rule, as it is printed: as coarsely as shows all of it."""
        for reading in (division(self.division), *_FINER):
            if abs(rounded(mm, self.units, reading, "nearest") - mm) <= CONTACT:
                return format_number(mm, self.units, reading)
        return format_number(mm, self.units, CALIPER)

    def figure(self, name: str, mm: float, rounding: Rounding = "nearest") -> Figure:
        """A length that is no dimension of a part, rounded."""
        shown = self.rounded(mm, rounding)
        return Figure(name, shown, self.text(shown))

    def measured(self, name: str, mm: float) -> Figure:
        """A length that is set from the wood by a caliper or a feeler, and is not rounded to the rule."""
        return Figure(
            name, rounded(mm, self.units, CALIPER, "nearest"), format_number(mm, self.units, CALIPER)
        )
