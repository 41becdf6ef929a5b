"""What the video and the filmstrip say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...sizes.tolerances import CONTACT
from ..slide_page.words import amount

if TYPE_CHECKING:
    from ...check.running import Running
    from ...sizes.units import Units


def clearance_text(pose: Running, units: Units) -> str:
    """``clearance 1.5 mm to R3``, ``overlaps R3 by 1 mm``, ``touches R3``."""
    if pose.clearance < -CONTACT:
        return f"overlaps {pose.against} by {amount(-pose.clearance, units)}"
    if pose.clearance <= CONTACT:
        return f"touches {pose.against}"
    return f"clearance {amount(pose.clearance, units)} to {pose.against}"


def travel_text(travel: float, units: Units) -> str:
    """``travel 120 mm``; before the slot what is left to it."""
    if travel < -CONTACT:
        return f"{amount(round(-travel, 1), units)} before the slot"
    return f"travel {amount(round(travel, 1), units)}"


def seen(view: str) -> str:
    """From where a section is seen."""
    return "seen from the side" if view == "side" else "seen from above"
