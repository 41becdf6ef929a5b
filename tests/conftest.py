"""Set-up for all tests: the scripts importable, and a safe end of the process when Blender was loaded.

Blender's tests live in ``tests/blender``; all others run without it.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parent.parent
# At the end of the path: scripts/test.py must not hide the standard library's package of that name.
sys.path.append(str(ROOT / "scripts"))


def pytest_addoption(parser: pytest.Parser) -> None:
    """Adds ``--large``."""
    parser.addoption("--large", action="store_true", help="all random cases instead of a sample of them")


def pytest_configure(config: pytest.Config) -> None:
    """Tells `tests.large`, which test modules read while they are collected."""
    if config.getoption("large"):
        os.environ["LARGE_RUNS"] = "1"


@pytest.fixture(scope="module")
def jobs_once() -> Iterator[None]:
    """Papers of a table that had some already take their job from those, so that it is checked once a process."""
    from addon.paper.shop import shop_set
    from tests import shop_jobs

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(shop_set, "job_steps", shop_jobs.remembered_steps)
        yield


_worked_out: dict[tuple[str, ...], Any] = {}
"""What was worked out, which table, and how → the result."""


@pytest.fixture(scope="module")
def worked_out_once() -> Iterator[None]:
    """Answers, remedies and studies that commands ask of equal tables are worked out once a process."""
    from addon.designs import trying
    from addon.designs.table import design

    def answer_steps(table: Any, prepared: Any, *, shop: Any = None, **known: Any) -> Any:
        key = "answer", repr(table)
        if shop is not None or known:
            return (yield from true_answer_steps(table, prepared, shop=shop, **known))
        if key not in _worked_out:
            _worked_out[key] = yield from true_answer_steps(table, prepared)
        return _worked_out[key]

    def remedied(one: Any, table: Any, prepared: Any, report: Any) -> Any:
        key = "remedied", repr(table), repr(report)
        if key not in _worked_out:
            _worked_out[key] = true_remedied(one, table, prepared, report)
        return _worked_out[key]

    def study(table: Any, prepared: Any, proofs: Any = None, *, remedies: bool = True) -> Any:
        key = "study", repr(table), str(remedies)
        if key not in _worked_out:
            _worked_out[key] = true_study(table, prepared, proofs, remedies=remedies)
        return _worked_out[key]

    true_answer_steps, true_remedied, true_study = design.answer_steps, trying.remedied, design.study
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(design, "answer_steps", answer_steps)
        patch.setattr(design, "study", study)
        patch.setattr(trying, "remedied", remedied)
        yield


_exit_status = pytest.StashKey[int]()


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Note the status for the exit below."""
    session.config.stash[_exit_status] = int(exitstatus)


@pytest.hookimpl(trylast=True)
def pytest_unconfigure(config: pytest.Config) -> None:
    """End the process without Blender's own tidying-up.

    At exit Blender 4.2 crashes and 4.5 hangs while operators, property callbacks, timers or handlers are
    registered; 4.2 crashes even after some were unregistered. Everything is reported by now.
    """
    if "bpy" not in sys.modules:
        return
    addon = sys.modules.get("addon")
    if addon is not None:
        with contextlib.suppress(Exception):  # not registered, or half: that is for the tests to judge
            addon.unregister()
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(config.stash.get(_exit_status, 3))
