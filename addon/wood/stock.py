"""Sheet goods: what the shop sells, what the caliper says, how much it varies.

Defaults are those of sanded birch plywood, from a birch plywood maker's datasheet: 13 ply "18 mm" is 17.7 mm in the
mean (17.1 to 18.1) at 685 kg/m³; 9 ply "12 mm" 12.0 (11.5 to 12.5) at 695 kg/m³; sheets 1220 x 2440 mm. Thickness
may vary by 0.6 mm within one sheet of 4 to 24 mm (a plywood mill's size page).
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass
from typing import Final, NamedTuple

from ..sizes import declare
from ..sizes.units import Units, parse_length


@dataclass(frozen=True)
class Stock:
    """A sheet material."""

    name: str = declare.text(MISSING, "Name", "What the sheet is called; parts refer to it by this name")
    nominal: float = declare.length(
        MISSING, "Nominal Thickness", "Thickness that the sheet is sold as", low=1, high=60
    )
    measured: float | None = declare.length(
        None,
        "Measured Thickness",
        "Thickness by the caliper: mean of eight places about 50 mm from the edges. All geometry uses it; "
        "without it the nominal thickness has to do",
        low=1,
        high=60,
    )
    spread_within: float = declare.length(
        0.6, "Spread Within a Sheet", "Greatest difference of thickness within one sheet", high=5, inch=0.024
    )
    spread_between: float = declare.length(
        1.0,
        "Spread Between Sheets",
        "Greatest difference of mean thickness between sheets",
        high=5,
        inch=0.04,
    )
    bow: float = declare.length(
        0.0, "Bow", "Rise of the sheet's middle over its length when it lies free", high=50
    )
    twist: float = declare.length(
        0.0, "Twist", "Rise of one corner of the sheet when the other three lie flat", high=50
    )
    front_sanding: float = declare.length(
        0.0, "Sanding of the Front", "Wood that sanding takes off the front face", high=2
    )
    back_sanding: float = declare.length(
        0.0, "Sanding of the Back", "Wood that sanding takes off the back face", high=2
    )
    front_finish: float = declare.length(
        0.0, "Finish on the Front", "Thickness of the finish on the front face", high=2
    )
    back_finish: float = declare.length(
        0.0, "Finish on the Back", "Thickness of the finish on the back face", high=2
    )
    edge_banding: float = declare.length(
        0.0, "Edge Banding", "Thickness of the band glued to cut edges", high=5
    )
    sheet_length: float = declare.length(2440.0, "Sheet Length", "Length of a full sheet", low=100, inch=96)
    sheet_width: float = declare.length(1220.0, "Sheet Width", "Width of a full sheet", low=100, inch=48)
    grain: str = declare.choice(
        "length",
        "Grain",
        "Direction of the face grain on the sheet",
        length="along the sheet's length",
        width="across the sheet",
        none="no grain to mind",
    )
    density: float = declare.number(685.0, "Density", "Mass per volume", "kg/m³", 100, 2000, inch=43)
    modulus_along: float | None = declare.number(
        None,
        "Modulus Along the Grain",
        "Modulus of elasticity in bending along the face grain; left out, that of birch plywood of its thickness",
        "N/mm²",
        500,
        50_000,
    )
    modulus_across: float | None = declare.number(
        None,
        "Modulus Across the Grain",
        "Modulus of elasticity in bending across the face grain; left out, that of birch plywood of its thickness",
        "N/mm²",
        100,
        50_000,
    )

    @property
    def sheet_thickness(self) -> float:
        """What the caliper says, or for want of that what the shop says, mm."""
        return self.nominal if self.measured is None else self.measured

    @property
    def thickness(self) -> float:
        """Thickness of a finished part, mm: the sheet less sanding plus finish."""
        sanded = self.sheet_thickness - self.front_sanding - self.back_sanding
        return sanded + self.front_finish + self.back_finish


class ThicknessLimits(NamedTuple):
    """Least and greatest thickness a sanded sheet may have, mm."""

    low: float
    high: float


def sanded_limits(nominal: float) -> ThicknessLimits:
    """Limits of a sanded sheet of nominal thickness t, mm: t + (0.2 + 0.03 t), t - (0.4 + 0.03 t).

    EN 315:2000, from memory; GB/T 9846 prints the same rule.
    """
    return ThicknessLimits(nominal - (0.4 + 0.03 * nominal), nominal + (0.2 + 0.03 * nominal))


def thickness_limits(stock: Stock) -> ThicknessLimits:
    """How thin and how thick a finished part of a sheet may be anywhere, mm.

    Of a sheet that was measured the mean is known, and it varies within; of others only what the standard allows.
    """
    if stock.measured is None:
        return sanded_limits(stock.nominal)
    return ThicknessLimits(
        stock.thickness - stock.spread_within / 2, stock.thickness + stock.spread_within / 2
    )


# -- sheets where nobody names any

BOARD: Final = "18 mm birch plywood"
PANEL: Final = "12 mm birch plywood"
INCH_BOARD: Final = "3/4 in birch plywood"
INCH_PANEL: Final = "1/2 in birch plywood"


def standard_stock(units: Units = "mm") -> tuple[Stock, ...]:
    """The sheets of what is made where its file names none: 18 and 12 mm birch plywood, or 3/4 and 1/2 in.

    What is sold as 3/4 in is usually 23/32 in thick, as 1/2 in 15/32 in (general articles; measure yours).
    """
    if units == "mm":
        return Stock(BOARD, 18.0, 17.7, density=685.0), Stock(PANEL, 12.0, 12.0, density=695.0)
    sheets = ((INCH_BOARD, "3/4", "23/32"), (INCH_PANEL, "1/2", "15/32"))
    return tuple(
        Stock(
            **{**declare.defaults_in(Stock, "in"), "name": name, "nominal": parse_length(nominal, "in")},
            measured=parse_length(measured, "in"),
        )
        for name, nominal, measured in sheets
    )
