"""The large runs: ``python3 scripts/large_runs.py [--blender 4.2] [pytest arguments]``.

Runs the tests that try many random cases with all of them; the suite tries a fixed sample. Without arguments those are
all test files that ask `tests/large.py` how many. Exits with pytest's status.
"""

from __future__ import annotations

import sys
from pathlib import Path

import environment


def files() -> list[str]:
    """The test files that have more cases than the suite tries."""
    tests = Path(environment.ROOT, "tests")
    found = (path for path in sorted(tests.rglob("test_*.py")) if "tests.large" in path.read_text("utf-8"))
    return [str(path.relative_to(environment.ROOT)) for path in found]


def main() -> None:
    """Go on as scripts/test.py."""
    arguments = sys.argv[1:]
    chosen = [one for one in arguments if ".py" in one] or files()
    rest = [one for one in arguments if one not in chosen]
    script = Path(environment.ROOT, "scripts", "test.py")
    environment.replace_process([sys.executable, str(script), "--large", *rest, *chosen])


if __name__ == "__main__":
    main()
