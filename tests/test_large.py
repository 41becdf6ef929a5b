"""The suite tries a sample, a large run everything."""

from __future__ import annotations

from pathlib import Path

import pytest

import large_runs
from tests.large import sampled


def test_all_cases_are_tried_where_that_is_asked_for(pytestconfig: pytest.Config) -> None:
    assert sampled([1], [1, 2, 3]) == ([1, 2, 3] if pytestconfig.getoption("large") else [1])


def test_a_large_run_takes_the_files_that_have_more_cases() -> None:
    root = Path(__file__).parent.parent
    named = large_runs.files()
    assert "tests/test_polygon.py" in named
    for name in named:
        assert "sampled(" in (root / name).read_text(encoding="utf-8")
    assert "tests/test_units.py" not in named
