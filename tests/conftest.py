"""Set-up for all tests: the scripts importable, and a safe end of the process when Blender was loaded.

Blender's tests live in ``tests/blender``; all others run without it.
"""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path

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
