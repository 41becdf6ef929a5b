"""A part's plan as SVG at full size (SVG 1.1, from memory): one group for each layer, arcs as arcs."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from ...shop.plans import OUTLINE, TEXT, WORDS, Arc, Line, Plan
from ...wood.features.base import Point

_MARGIN: Final = 10.0
_LETTERS: Final = 5.0
"""Height of a line of lettering, mm."""


def svg_plan(plan: Plan) -> str:
    """A plan's file; its user unit is a millimeter, or an inch."""
    blank, unit = plan.blank, plan.per_unit
    below = 1.6 * _LETTERS * len(plan.words) + _MARGIN
    left, top = blank.low[0] - _MARGIN, blank.high[1] + _MARGIN
    width = (max(blank.high[0] - blank.low[0], WORDS) + 2 * _MARGIN) / unit
    height = (blank.high[1] - blank.low[1] + _MARGIN + below) / unit

    def place(point: Point) -> str:
        return f"{_number((point[0] - left) / unit)} {_number((top - point[1]) / unit)}"

    rows = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_number(width)}{plan.units}" '
        f'height="{_number(height)}{plan.units}" viewBox="0 0 {_number(width)} {_number(height)}">',
        f"<title>{escape(plan.words[0])}</title>",
    ]
    for layer in plan.layers:
        lines = [one for one in plan.lines if one.layer == layer]
        arcs = [one for one in plan.arcs if one.layer == layer]
        if not lines and not arcs:
            continue
        stroke = (0.5 if layer == OUTLINE else 0.25) / unit
        rows.append(
            f'<g id={quoteattr(layer)} fill="none" stroke="#000000" stroke-width="{_number(stroke)}">'
        )
        rows += [_line(one, place) for one in lines]
        rows += [_arc(one, place, unit) for one in arcs]
        rows.append("</g>")
    rows.append(f'<g id="{TEXT}" font-family="sans-serif" font-size="{_number(1.4 * _LETTERS / unit)}">')
    for number, words in enumerate(plan.words, 1):
        x, y = place((blank.low[0], blank.low[1] - 1.6 * _LETTERS * number)).split(" ")
        rows.append(f'<text x="{x}" y="{y}">{escape(words)}</text>')
    rows += ["</g>", "</svg>", ""]
    return "\n".join(rows)


def _line(line: Line, place: Callable[[Point], str]) -> str:
    return f'<path d="M {place(line.start)} L {place(line.end)}"/>'


def _arc(arc: Arc, place: Callable[[Point], str], unit: float) -> str:
    radius = _number(arc.radius / unit)
    if arc.whole:
        x, y = place(arc.center).split(" ")
        return f'<circle cx="{x}" cy="{y}" r="{radius}"/>'
    start, end = (_on(arc, angle) for angle in (arc.first, arc.last))
    large = int(arc.last - arc.first > 180.0)
    # Downward y turns counter-clockwise into the sweep that SVG calls negative.
    return f'<path d="M {place(start)} A {radius} {radius} 0 {large} 0 {place(end)}"/>'


def _on(arc: Arc, angle: float) -> Point:
    turn = radians(angle)
    return arc.center[0] + arc.radius * cos(turn), arc.center[1] + arc.radius * sin(turn)


def _number(value: float) -> str:
    return f"{round(value, 5):.10g}"
