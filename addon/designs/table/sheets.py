"""The sheets that a table is made of where its file names none: 18 and 12 mm birch plywood, or 3/4 and 1/2 in.

What is sold as 3/4 in is usually 23/32 in thick, as 1/2 in 15/32 in (general articles; measure yours).
"""

from __future__ import annotations

from typing import Final

from ...sizes.declare import defaults_in
from ...sizes.units import Units, parse_length
from ...wood.stock import Stock

BOARD: Final = "18 mm birch plywood"
PANEL: Final = "12 mm birch plywood"
INCH_BOARD: Final = "3/4 in birch plywood"
INCH_PANEL: Final = "1/2 in birch plywood"


def standard_stock(units: Units = "mm") -> tuple[Stock, ...]:
    """The sheets of a table whose file names none."""
    if units == "mm":
        return Stock(BOARD, 18.0, 17.7, density=685.0), Stock(PANEL, 12.0, 12.0, density=695.0)
    sheets = ((INCH_BOARD, "3/4", "23/32"), (INCH_PANEL, "1/2", "15/32"))
    return tuple(
        Stock(
            **{**defaults_in(Stock, "in"), "name": name, "nominal": parse_length(nominal, "in")},
            measured=parse_length(measured, "in"),
        )
        for name, nominal, measured in sheets
    )
