"""Jobs of shop sets for tests: the shipped tables are rounded and checked once, whatever tools the shop has."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from addon.check.progress import run_through
from addon.designs.table import build
from addon.designs.table.parameters import Table
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.shop.job import Job, job_steps

DATE = "2030-01-02"


def job_for(table: Table) -> Job:
    """The job of a table."""
    return run_through(job_steps(table, build(table), DATE))


@cache
def _job(name: str) -> Job:
    return job_for(parse_table(EXAMPLES[name].text(), f"{name}.toml"))


@cache
def job_of(name: str, **shop: object) -> Job:
    """The job of an example, with other parameters of the shop, which neither rounding nor check look at."""
    job = _job(name)
    return replace(job, table=replace(job.table, shop=replace(job.table.shop, **shop)))
