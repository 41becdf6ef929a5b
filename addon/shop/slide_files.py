"""Pictures of the slide proof and of the tolerances as files: each as SVG for paper and as PNG for the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..fit.steps import run_through
from ..model.units import format_amount
from .drawing.save import drawing_bytes, save_files
from .slide_pictures import Bar, ranked_bars, side_picture

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from ..fit.row.proof import RowProof
    from ..fit.slide.proof import LeafProof
    from ..fit.steps import Steps
    from ..fit.tolerance.report import RowTolerance, ToleranceReport
    from ..model.parameters import Table
    from ..model.units import Units
    from .drawing import Drawing

SUFFIXES = (".svg", ".png")


def slide_files(table: Table, proofs: Sequence[LeafProof], date: str) -> Steps[dict[str, bytes]]:
    """Two pictures a leaf, `L1-side` and `L1-plan`: name of a file → what is in it."""
    found: dict[str, bytes] = {}
    for number, proof in enumerate(proofs):
        for half, picture in enumerate(_of_leaf(table, proof, date)):
            found |= _files([picture])
            yield (number + (half + 1) / len(proof.views)) / len(proofs)
    return found


def save_slide_pictures(table: Table, proofs: Sequence[LeafProof], folder: Path, date: str) -> list[str]:
    """Saves the files of `slide_files`; their names. Raises ExportError."""
    return save_files(run_through(slide_files(table, proofs, date)), folder)


def save_row_pictures(proofs: Sequence[RowProof], folder: Path, date: str) -> list[str]:
    """One picture a row, `row-1` and on; the names of all files written. Raises ExportError."""
    return save_files(_files(_of_rows(proofs, date)), folder)


def save_tolerance_pictures(report: ToleranceReport, folder: Path, date: str) -> list[str]:
    """What matters in each view of each leaf, `L1-side-dimensions` and so on; the names of all files written.

    Raises ExportError.
    """
    return save_files(_files(_of_dimensions(report, date)), folder)


def _of_leaf(table: Table, proof: LeafProof, date: str) -> Iterator[tuple[str, Drawing]]:
    for view in proof.views:
        drawing = side_picture(
            view.proof, table=table.name, leaf=proof.leaf, view=view.of.view, units=table.units, date=date
        )
        yield f"{proof.leaf}-{view.of.view}", drawing


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


def _files(drawings: Iterable[tuple[str, Drawing]]) -> dict[str, bytes]:
    return {
        name + suffix: drawing_bytes(drawing, name + suffix)
        for name, drawing in drawings
        for suffix in SUFFIXES
    }
