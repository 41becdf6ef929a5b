"""Jobs of shop sets for tests: the shipped tables are rounded and checked once, whatever tools the shop has."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import cast

from addon.check.progress import Steps, run_through
from addon.designs.findings import Report
from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.sheet import Drawing
from addon.paper.shop.page import ShopPage, area_of, sheet_of
from addon.shop.figures import Rule
from addon.shop.job import Job, job_steps
from addon.shop.rounding import rounded_table
from addon.wood.assembly import Assembly
from addon.wood.workshop import Workshop
from tests.page_checks import outside, overlaps, too_small

DATE = "2030-01-02"


_jobs: dict[str, Job] = {}


def remembered_steps(
    table: Table, assembly: Assembly, date: str, division: float | None = None
) -> Steps[Job]:
    """`job_steps`, once for each table and rule: neither rounding nor check look at the date or at the shop's tools."""
    key = repr((replace(table, shop=Workshop()), division or table.limits.rule_division))
    if key not in _jobs:
        _jobs[key] = yield from job_steps(table, assembly, date, division)
    return replace(_jobs[key], table=table, date=date)


def job_for(table: Table) -> Job:
    """The job of a table."""
    return run_through(remembered_steps(table, build(table), DATE))


@cache
def _job(name: str) -> Job:
    return job_for(parse_table(EXAMPLES[name].text(), f"{name}.toml"))


@cache
def job_of(name: str, **shop: object) -> Job:
    """The job of an example, with other parameters of the shop, which neither rounding nor check look at."""
    job = _job(name)
    return replace(job, table=replace(job.table, shop=replace(job.table.shop, **shop)))


def unchecked_job(table: Table, division: float | None = None) -> Job:
    """The job of a table without its check, which pages of sizes alone do not ask."""
    rule = Rule(table.units, table.limits.rule_division if division is None else division)
    return Job(table, rounded_table(build(table), rule), cast("Report", None), DATE)


def checked_job(table: Table, division: float | None = None) -> Job:
    """The job of a table with its check as drawn and by hand, for pages that ask no random tables."""
    job = unchecked_job(table, division)
    told = replace(table, as_cut=(*table.as_cut, *job.rounded.entries))
    return replace(job, report=check(told, job.assembly))


def drawn_legibly(page: ShopPage, job: Job) -> Drawing:
    """What a page puts in its area: nothing over anything else, nothing outside, and every figure in full."""
    sheet = sheet_of(job)
    drawing = Drawing(sheet.width, sheet.height)
    page.draw(drawing, area_of(job))
    assert overlaps(drawing) == [], page.title
    assert outside(drawing, area_of(job)) == [], page.title
    assert too_small(drawing) == [], page.title
    texts = [item.text for item, _ in drawing.texts()]
    for figure in page.figures:
        assert any(figure.printed in text for text in texts), figure
    return drawing
