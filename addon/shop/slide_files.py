"""Pictures of the slide proof and of the tolerances as files: each as SVG for paper and as PNG for the screen."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from ..model.errors import ExportError
from ..model.units import format_amount
from .drawing.save import save
from .slide_pictures import Bar, ranked_bars, side_picture

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ..fit.row.proof import RowProof
    from ..fit.slide.proof import LeafProof
    from ..fit.tolerance.report import RowTolerance, ToleranceReport
    from ..model.parameters import Table
    from ..model.units import Units
    from .drawing import Drawing

SUFFIXES = (".svg", ".png")


def save_slide_pictures(table: Table, proofs: Sequence[LeafProof], folder: Path, date: str) -> list[str]:
    """Two pictures a leaf, `L1-side` and `L1-plan`; the names of all files written. Raises ExportError."""
    return _save(folder, _of_leaves(table, proofs, date))


def save_row_pictures(proofs: Sequence[RowProof], folder: Path, date: str) -> list[str]:
    """One picture a row, `row-1` and on; the names of all files written. Raises ExportError."""
    return _save(folder, _of_rows(proofs, date))


def save_tolerance_pictures(report: ToleranceReport, folder: Path, date: str) -> list[str]:
    """What matters in each view of each leaf, `L1-side-dimensions` and so on; the names of all files written.

    Raises ExportError.
    """
    return _save(folder, _of_dimensions(report, date))


def _of_leaves(table: Table, proofs: Sequence[LeafProof], date: str) -> Iterator[tuple[str, Drawing]]:
    for proof in proofs:
        for view in proof.views:
            name = f"{proof.leaf}-{view.of.view}"
            yield (
                name,
                side_picture(
                    view.proof,
                    table=table.name,
                    leaf=proof.leaf,
                    view=view.of.view,
                    units=table.units,
                    date=date,
                ),
            )


def _of_rows(proofs: Sequence[RowProof], date: str) -> Iterator[tuple[str, Drawing]]:
    for number, proof in enumerate(proofs, 1):
        name = f"row-{number}"
        yield (
            name,
            side_picture(proof, table="Row of openings", leaf=name, view="side", units="mm", date=date),
        )


def _of_dimensions(report: ToleranceReport, date: str) -> Iterator[tuple[str, Drawing]]:
    for leaf in report.leaves:
        for row in (leaf.side, leaf.plan):
            bars = _bars(row, report.units)
            if bars:
                seen = "side view" if row.view == "side" else "plan view"
                yield (
                    f"{leaf.leaf}-{row.view}-dimensions",
                    ranked_bars(
                        bars,
                        title=f"{leaf.leaf}, {seen}: what matters",
                        table=report.table,
                        date=date,
                        note="Shares of the worst case: how much the tolerance of each dimension takes from the room.",
                    ),
                )


def _bars(row: RowTolerance, units: Units) -> list[Bar]:
    if row.governing is None:
        return []
    return [
        Bar(one.name, format_amount(round(one.amount, 3), units), one.of_worst)
        for one in row.governing.effects
        if one.amount > 0
    ]


def _save(folder: Path, drawings: Iterator[tuple[str, Drawing]]) -> list[str]:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ExportError(f"{folder} cannot be made ({error.strerror}): name another folder.") from None
    names = []
    for name, drawing in drawings:
        for suffix in SUFFIXES:
            save(drawing, folder / f"{name}{suffix}")
            names.append(f"{name}{suffix}")
    return names
