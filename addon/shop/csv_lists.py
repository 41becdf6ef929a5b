"""The cut list and the hardware as comma-separated values (RFC 4180), sizes as printed, in the set's unit."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from .cut_list import cut_list
from .hardware import hardware
from .job import Job


def cut_list_csv(job: Job) -> str:
    """One row for each line of the cut list."""
    unit = job.units
    head = (
        "stock", "labels", "count", "name", f"length {unit}", f"width {unit}", f"thickness {unit}",
        f"saw first to {unit}", "edges that show",
    )  # fmt: skip
    rows = (
        (
            stock.stock.name,
            " ".join(line.labels),
            str(line.count),
            line.name,
            line.length.printed,
            line.width.printed,
            line.thickness.printed,
            line.rough.printed if line.rough else "",
            line.edges,
        )
        for stock in cut_list(job)
        for line in stock.lines
    )
    return _text(head, rows)


def hardware_csv(job: Job) -> str:
    """One row for each kind of screw, and for glue and finish."""
    rows = (
        (
            item.name,
            "" if item.count is None else str(item.count),
            item.size,
            item.length.printed if item.length else "",
            item.amount,
            item.note,
        )
        for item in hardware(job)
    )
    return _text(("hardware", "count", "size", f"length {job.units}", "amount", "for"), rows)


def _text(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue()
