"""Variants beside each other as text for the screen and as data for JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ...reports.check import number
from .variants import differences

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .variants import Variant


def comparison_text(variants: Sequence[Variant]) -> str:
    """A column a variant, a line a figure that differs."""
    rows = differences(variants)
    table = [("", *(variant.name for variant in variants)), *((row.name, *row.values) for row in rows)]
    widths = [max(len(row[column]) for row in table) for column in range(len(variants) + 1)]
    lines = [
        "  ".join(
            [row[0].ljust(widths[0]), *(word.rjust(w) for word, w in zip(row[1:], widths[1:], strict=True))]
        )
        for row in table
    ]
    lines.insert(1, "-" * len(lines[0]))
    return "\n".join([variants[0].table.name, "", *lines])


def comparison_document(variants: Sequence[Variant]) -> dict[str, Any]:
    """Plain data for JSON.

    `differences` holds what differs in words, parameters with their `key`; `variants` all figures of each: lengths in
    mm, areas in m², masses in kg.
    """
    return {
        "table": variants[0].table.name,
        "differences": [
            {"name": row.name, "key": row.key or None, "values": list(row.values)}
            for row in differences(variants)
        ],
        "variants": [
            {
                "name": variant.name,
                "figures": {
                    figure.name: figure.value if isinstance(figure.value, str) else number(figure.value)
                    for figure in variant.figures
                },
            }
            for variant in variants
        ],
    }
