"""Runs the linters, all of them even if one fails: ``python3 scripts/lint.py [--fix]``."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys

import environment

LINT_IMPORTS = "from importlinter.cli import lint_imports_command; lint_imports_command()"


def main() -> None:
    """Lint the project; exit status 1 if a linter found something."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fix", action="store_true", help="format, and mend what ruff can mend, first")
    options = parser.parse_args()
    environment.enter("lint")
    os.chdir(environment.ROOT)
    python = sys.executable
    linters = {
        "ruff check": [python, "-m", "ruff", "check", "."],
        "ruff format --check": [python, "-m", "ruff", "format", "--check", "."],
        "pyright": [python, "-m", "pyright", "--project", ".pyrightconfig.json", "--pythonpath", python],
        "lint-imports": [python, "-c", LINT_IMPORTS, "--no-logo", "--no-cache"],
    }
    if options.fix:
        subprocess.run([*linters["ruff check"], "--fix"], check=False)
        subprocess.run([python, "-m", "ruff", "format", "."], check=True)
    failed = []
    for name, command in linters.items():
        print("== " + name, flush=True)
        if subprocess.run(command, check=False).returncode:
            failed.append(name)
    print("failed: " + ", ".join(failed) if failed else "all linters passed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
