"""Faults of screws, reserved space and push-up holes in tables, whose advice has to be said in every language."""

from __future__ import annotations

from typing import Any


def _reserved(**values: Any) -> dict[str, Any]:
    return {f"reserved[0].{name}": value for name, value in values.items()}


def _screw(**values: Any) -> dict[str, Any]:
    return {f"fastener[0].{name}": value for name, value in {"kind": "screw", **values}.items()}


_CABLE = {"name": "lamp cable", "form": "cable"}
_STRIP = {"head": "LEDG1", "into": "S1", "along": 100.0}

FAULTS: tuple[dict[str, Any], ...] = (
    {"fastening.sides": "screws"},
    {"limits.driver_length": 600.0, "fastening.ribs": "screws"},
    _screw(**_STRIP, across=10.0, length=40.0, diameter=4.0),
    _screw(**_STRIP, across=2.0, length=30.0, diameter=4.0),
    _screw(**_STRIP, across=10.0, length=12.0, diameter=4.0),
    _screw(head="R1", into="S1", length=60.0, diameter=5.0),
    _reserved(name="pin tray", form="box", x=[-60.0, 60.0], y=[-300.0, -200.0], z=[640.0, 670.0]),
    _reserved(**_CABLE, x=[-650.0, -500.0, -500.0], y=[200.0, 200.0, 100.0], z=[620.0, 620.0, 620.0]),
    _reserved(**_CABLE, x=[-650.0, -600.0, -600.0, -580.0], y=[200.0, 200.0, 210.0, 210.0], z=[620.0] * 4),
    _reserved(**_CABLE, x=[-650.0, -650.0], y=[-300.0, -100.0], z=[660.0, 660.0]),
    _reserved(name="wall", form="wall", side="left", distance=500.0),
)

SELDOM: tuple[str, ...] = (
    "The tip of SCR1 (screw through S1 into R1) comes 5.0 mm out of a face beside it of R1.",
    "Only 2.0 mm of S1 are left ahead of the tip of SCR1 (pocket screw through R1 into S1); 3.0 mm should be.",
    "Only 2.0 mm of S1 are left beside the tip of BRAD1 (brad through R1 into S1); 3.0 mm should be.",
    "SCR1 (screw through S1 into R1) stands 2.0 mm in the groove of S1, 10 mm from its head: the blade or bit meets "
    "steel there.",
    "BRAD1 (brad through S1 into R1) stands 2.0 mm in the groove of S1, 10 mm from its head, brads wander: the blade or"
    " bit meets steel there.",
    "SCR1 (screw through S1 into R1) comes within 2.0 mm of the groove of S1; 3.0 mm should be left.",
    "BRAD1 (brad through S1 into R1) comes within 2.0 mm of the groove of S1, brads wander; 3.0 mm should be left.",
    "SCR1 (screw through S1 into R1) is 2.0 mm, 0.50 diameters, from the end of S1; EN 1995-1-1 for solid wood asks "
    "for 7 diameters, 28.0 mm.",
    "So does one more.",
    "Behind SCR1 (screw through S1 into R1) there are only 20 mm to R2; a driver with its bit takes 150 mm.",
    "Behind BOLT1 (bolt through LEG1 into BLK1) there are only 10.2 mm to R1; taking it back with a wrench takes "
    "27.3 mm.",
    "Drive SCR1 before R2 goes in, or use a right-angle driver",
    "Drive BOLT1 before R1 goes in",
    "Glue the legs into their corners, so that they do not come off",
    "Use a shorter screw for SCR1, or put it elsewhere",
    "Use a 3 mm screw for SCR1",
    "Bore the pocket of PSCR1 into the front face of R1",
    "Bore the pocket of PSCR1 into the back face of R1",
    "The lamp cable runs across the way of L4, by 6.0 mm: a leaf passes there on its way home.",
    "The pin tray is where L1 and L2 lies as cover, by 5.0 mm.",
    "The pin tray is in the way of L4, by 5.0 mm: a leaf passes there on its way home. The pin tray is where L1 lies as"
    " cover.",
    "The lamp cable needs a hole of its own in each of R1 and R2.",
    "The lamp cable runs into R1 askew or along the wood: lead it past, or square through.",
    "The lamp cable needs a hole in R1. It runs into R2 askew or along the wood: lead it past, or square through.",
    "Drill 14 mm for it through R1, wide enough for its plug",
    "Take a cable of 4 mm, which bends so",
    "Stand the table 930 mm from the wall",
    "R1 stands in the space of the pin tray, by 3.0 mm.",
    "R1 and R2 stand in the space of the pin tray, by 3.0 mm.",
    "R1 stands in the way of the push-up hole for L1 in B1.",
    "R1 and R2 stand in the way of the push-up hole for L1 in B1.",
    "L3 stowed lies below the push-up hole for L1 in B1.",
    "L3 and L4 stowed lie below the push-up hole for L1 in B1.",
    "Draw L3 out first, then push L1 up",
)
"""What is said where several things come together, written by hand as the advice has it."""
