"""How many cases a test tries: a fixed sample, or with ``--large`` all that it was made for (scripts/large_runs.py).

A sample keeps every kind of case and every reference; only how many there are of each kind differs.
"""

from __future__ import annotations

import os
from typing import Final, TypeVar

LARGE: Final = "LARGE_RUNS" in os.environ
"""Set by the option ``--large`` before tests are collected."""

Cases = TypeVar("Cases")


def sampled(few: Cases, all_of_them: Cases) -> Cases:
    """A count, or the cases themselves: few of them, or in a large run all."""
    return all_of_them if LARGE else few
