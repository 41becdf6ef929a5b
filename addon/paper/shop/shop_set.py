"""The shop set: all pages in the order of the work, as one PDF, each alone, and as JSON.

This is the one place where a kind of page is added.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, replace
from fnmatch import fnmatch
from pathlib import Path
from typing import Any, Final

from ...check.progress import Steps, share_of
from ...designs.table.parameters import Table
from ...files.saving import whole_folder, write
from ...reports.check import answer_document
from ...shop.csv_lists import cut_list_csv, hardware_csv
from ...shop.figures import PageKind
from ...shop.job import Job, job_steps
from ...shop.plans import plans
from ...shop.template_plans import template_plans
from ...sizes.errors import ExportError
from ...wood.assembly import Assembly
from ...wood.dimensions import AsCut
from ..sheet import Drawing
from ..sheet.pdf import pdf_bytes
from . import cautions, cut_list, drawing, layout, part_sheet, set_ups, sheets, shopping, steps, sticks
from .contents import contents
from .dxf import dxf_text
from .page import ShopPage, document_of, finished
from .plan_svg import svg_plan

Maker = Callable[[Job], Iterator[ShopPage]]

MAKERS: Final[tuple[tuple[PageKind, Maker], ...]] = (
    ("drawing", drawing.pages),
    ("shopping-list", shopping.pages),
    ("sheets", sheets.pages),
    ("cut-list", cut_list.pages),
    ("part-sheet", part_sheet.pages),
    ("set-up", set_ups.pages),
    ("story-stick", sticks.pages),
    ("layout", layout.pages),
    ("steps", steps.pages),
    ("cautions", cautions.pages),
)
"""Kinds of page in the order of the work, and what makes them."""

_OURS: Final = (
    "*.pdf",
    "part-*.dxf",
    "part-*.svg",
    "template-*.dxf",
    "template-*.svg",
    "cut-list.csv",
    "hardware.csv",
)
"""Names of all that a set writes."""

SET: Final = "shop-set.pdf"
"""Name of the file with all pages."""


def kinds_of(text: str | None) -> tuple[str, ...]:
    """Kinds of page by their names between commas; none for None. Raises ExportError for a name of none."""
    if text is None:
        return ()
    asked, known = tuple(text.split(",")), [kind for kind, _ in MAKERS]
    for one in asked:
        if one not in known:
            raise ExportError(f"--pages {one} is no kind of page: use {', '.join(known)}.")
    return asked


def shop_set_steps(
    table: Table,
    assembly: Assembly,
    *,
    date: str,
    division: float | None = None,
    kinds: Sequence[str] = (),
) -> Steps[tuple[dict[str, bytes], dict[str, Any]]]:
    """A shop set, step by step: name of each file → what is in it, and the document that lists every figure.

    Parameters
    ----------
    date : ISO 8601
    division : of the rule, mm; by default `limits.rule_division`
    kinds : of the pages that are wanted; all where none is named

    Raises
    ------
    ExportError : where no kind that is wanted has a page
    """
    job, pages, drawings = yield from share_of(
        shop_pages_steps(table, assembly, date=date, division=division, kinds=kinds), 0.0, 0.9
    )
    files = {SET: pdf_bytes(drawings)}
    for place, (page, drawn) in enumerate(zip(pages, drawings, strict=True), 1):
        files[f"{place:02d}-{page.name}.pdf"] = pdf_bytes([drawn])
        yield 0.9 + 0.1 * place / len(pages)
    if not kinds or {kind for kind, _ in MAKERS} <= set(kinds):
        files |= drawing_files(job)
    return files, set_document(job, pages)


def shop_pages_steps(
    table: Table,
    assembly: Assembly,
    *,
    date: str,
    division: float | None = None,
    kinds: Sequence[str] = (),
) -> Steps[tuple[Job, list[ShopPage], list[Drawing]]]:
    """The pages of a shop set and how they are drawn, step by step; parameters and errors as of `shop_set_steps`."""
    job = yield from share_of(job_steps(table, assembly, date, division), 0.0, 0.4)
    pages: list[ShopPage] = []
    makers = [maker for kind, maker in MAKERS if not kinds or kind in kinds]
    for number, maker in enumerate(makers):
        for page in maker(job):
            pages.append(page)
            yield 0.4 + 0.1 * number / len(makers)
    if pages and pages[0].kind == "drawing":
        pages[1:1] = contents(job, pages)
    if not pages:
        raise ExportError("No page of these kinds is needed for this table: choose others.")
    drawings = []
    for place, page in enumerate(pages, 1):
        drawings.append(finished(page, job, place, len(pages)))
        yield 0.5 + 0.5 * place / len(pages)
    return job, pages, drawings


def drawing_files(job: Job) -> dict[str, bytes]:
    """Name of each file that other programs read → what is in it: parts and templates as DXF and SVG, lists as
    CSV."""
    files = {"cut-list.csv": cut_list_csv(job).encode(), "hardware.csv": hardware_csv(job).encode()}
    drawn = [(f"part-{plan.name}", plan) for plan in plans(job)]
    drawn += [(f"template-{plan.name}", plan) for plan in template_plans(job)]
    for name, plan in drawn:
        files[f"{name}.dxf"] = dxf_text(plan).encode("ascii")
        files[f"{name}.svg"] = svg_plan(plan).encode()
    return files


def set_document(job: Job, pages: Sequence[ShopPage]) -> dict[str, Any]:
    """Every printed figure, the check of the table as rounded, and the ``[[as_cut]]`` entries that make it, places of
    parts among them; lengths in mm."""
    return {
        "table": job.table.name,
        "units": job.units,
        "fingerprint": job.fingerprint,
        "pages": [document_of(_for_all(job, page), place) for place, page in enumerate(pages, 1)],
        "rounded_check": answer_document(job.report.answers.table),
        "passes": job.passes,
        "rounding": job.rounding_words,
        "as_cut": [_entry(one) for one in job.rounded.entries],
    }


def _for_all(job: Job, page: ShopPage) -> ShopPage:
    """A part sheet with its figures once for each part that it serves, under that part's own label, and leaf.

    Of a part that is drawn turned, places that count from its other end are left out: they are not printed.
    """
    if page.kind != "part-sheet":
        return page
    figures = list(page.figures)
    for kind in job.kinds:
        first, *others = (job.drawn.by_label[label] for (label,) in kind.members)
        said = {(one.dimension, one.printed) for one in page.figures if one.part == first.label}
        figures += [
            one for other in others for one in job.figures_of(other) if (one.dimension, one.printed) in said
        ]
    return replace(page, figures=tuple(figures))


def _entry(one: AsCut) -> dict[str, Any]:
    return {name: value for name, value in asdict(one).items() if value is not None and name != "missing"}


def save_set(files: dict[str, bytes], folder: Path) -> list[str]:
    """Saves a set's files in a folder of their own, whole or not at all; returns their names. Raises ExportError."""
    with whole_folder(folder, _ours) as scratch:
        for name, content in files.items():
            write(scratch / name, content)
    return list(files)


def _ours(folder: Path) -> set[str]:
    return {
        one.name
        for one in folder.iterdir()
        if one.is_file() and any(fnmatch(one.name.lower(), pattern) for pattern in _OURS)
    }
