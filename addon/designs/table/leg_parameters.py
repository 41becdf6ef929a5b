"""Parameters of the legs: which kind, of what, how wide; tapers, eased edges, leveling feet."""

from __future__ import annotations

from dataclasses import dataclass

from ...sizes import declare
from ...wood.stock import BOARD, INCH_BOARD


@dataclass(frozen=True)
class Legs:
    """The legs, one in each corner of the body."""

    fitted: bool = declare.flag(True, "Legs", "Fit a leg in each inner corner")
    kind: str = declare.choice(
        "corner",
        "Kind",
        "How the legs are made, and what holds them",
        corner="two boards in each inner corner, an L in plan, glued to the sides",
        bolted="the same L, held by two bolts in a corner block, so that it comes off",
        laminated="strips glued up to a channel that slides up over the corner of the body and shows outside",
        plain="a square leg of solid wood in each inner corner, glued and screwed from outside",
    )
    stock: str = declare.text(BOARD, "Stock", "Sheet that the legs are cut from", INCH_BOARD)
    width: float = declare.length(
        60.0,
        "Width",
        "How far a leg reaches from the sides' inner faces: the arms of an L, or the size of a plain leg",
        low=20,
        high=400,
        inch=2.5,
    )
    channel: float | None = declare.length(
        None,
        "Channel",
        "Width of the channel of laminated legs; left out, what takes the sides where their sheet is thickest, and half"
        " the fit allowance",
        low=3,
        high=60,
    )
    taper: str = declare.choice(
        "none",
        "Taper",
        "Which faces of a leg run together toward the foot",
        none="none, the leg is as wide below as above",
        two="the two inner ones, or the inner edges of an L's arms",
        four="these and the two outer ones",
    )
    taper_length: float = declare.length(
        400.0, "Taper Length", "From the foot to where the taper begins", low=10, high=2000, inch=16
    )
    taper_amount: float = declare.length(
        12.0, "Taper Amount", "What the taper takes off each face at the foot", low=0.5, high=200, inch=1 / 2
    )
    edge: str = declare.choice(
        "square",
        "Long Edges",
        "What is done to a leg's long edges that are touched",
        square="nothing but a stroke of sandpaper",
        **{"chamfer": "a chamfer", "round-over": "a round-over"},
    )
    edge_size: float = declare.length(
        3.0, "Edge Size", "Size of the chamfer, or radius of the round-over", low=0.5, high=20, inch=1 / 8
    )
    leveling_feet: bool = declare.flag(
        False,
        "Leveling Feet",
        "A foot that screws in and out of a block in each leg, for floors that are uneven",
    )
    foot_height: float = declare.length(
        15.0, "Foot Height", "From the room's floor to the leg, in the middle of the foot's travel", low=3, high=80,
        inch=5 / 8,
    )  # fmt: skip


def used(kind: str, taper: str, edge: str, *, leveling_feet: bool) -> tuple[str, ...]:
    """The parameters that legs as chosen use, in order: the others change nothing."""
    unused = {
        "stock": kind == "plain",
        "channel": kind != "laminated",
        "taper_length": taper == "none",
        "taper_amount": taper == "none",
        "edge_size": edge == "square",
        "foot_height": not leveling_feet,
    }
    return tuple(item.name for item in declare.parameters(Legs) if not unused.get(item.name, False))
