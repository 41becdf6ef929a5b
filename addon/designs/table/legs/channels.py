"""How wide the channel of a laminated leg is, and what it has to take."""

from __future__ import annotations

from ....wood.stock import thickness_limits
from ..lanes import Layout


def channel_width(layout: Layout) -> float:
    """As given, or what takes the sides where their sheet is thickest, and half the fit allowance, mm."""
    table = layout.table
    if table.legs.channel is not None:
        return table.legs.channel
    stock = layout.stocks[table.sides.stock]
    return thickness_limits(stock).high + table.limits.fit_allowance / 2
