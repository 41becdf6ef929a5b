"""Single deviations: ``python3 scripts/single_deviations.py [--every N] [--json]``.

Enters each dimension of each part of the shipped table as cut too small and too large, and has the table exported and
drawn: each time there has to be a result, or one sentence that refuses it. Exits with 1 if anything else came of it.
"""

from __future__ import annotations

import environment

if __name__ == "__main__":
    environment.enter("light")

import argparse
import contextlib
import io
import json
import sys
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from addon.command_line import main
from addon.designs.table import build
from addon.files.examples import EXAMPLES

if TYPE_CHECKING:
    from collections.abc import Iterator

AMOUNTS = (-12, -6, -2, 2, 6, 12)
"""mm."""


def deviations() -> Iterator[tuple[str, str, int]]:
    """Part, dimension and amount of each."""
    for part in build(EXAMPLES["quilting"].table()).parts:
        for name in dict.fromkeys(one.name for one in part.shape.dimensions):
            for amount in AMOUNTS:
                yield part.label, name, amount


def entry(part: str, dimension: str, amount: float) -> str:
    """What a table file says of a deviation."""
    return f'\n[[as_cut]]\npart = "{part}"\ndimension = "{dimension}"\ndeviation = {amount}\n'


def ran(arguments: list[str]) -> tuple[int, str]:
    """Exit status of a subcommand and what it said on standard error."""
    said = io.StringIO()
    with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
        return main(arguments), said.getvalue()


def judged(status: int, said: str) -> str:
    """``result``, ``refused``, or else what went wrong."""
    lines = said.strip().splitlines()
    if status == 0 and not lines:
        return "result"
    if status == 2 and len(lines) == 1 and "The program itself went wrong" not in said:
        return "refused"
    return said.strip() or f"status {status}"


def run(every: int, folder: Path) -> dict[str, Counter[str]]:
    """How the deviations went, by subcommand; each `every`-th one alone."""
    text, table = EXAMPLES["quilting"].text(), folder / "table.toml"
    jobs = {"export": ["--dir", str(folder / "parts")], "draw": ["--image", str(folder / "table.svg")]}
    tally: dict[str, Counter[str]] = {name: Counter() for name in jobs}
    for part, dimension, amount in list(deviations())[::every]:
        table.write_text(text + entry(part, dimension, amount), encoding="utf-8")
        for name, options in jobs.items():
            how = judged(*ran([name, str(table), *options]))
            tally[name][how if how in ("result", "refused") else f"{part} {dimension} {amount}: {how}"] += 1
    return tally


def _main() -> int:
    parser = argparse.ArgumentParser(description="Deviations of single dimensions, exported and drawn.")
    parser.add_argument("--every", type=int, default=1, metavar="N", help="each N-th of them alone")
    parser.add_argument("--json", action="store_true", help="one JSON document on standard output")
    options = parser.parse_args()
    with TemporaryDirectory() as folder:
        tally = run(options.every, Path(folder))
    if options.json:
        json.dump(tally, sys.stdout)
        print()
    else:
        for name, counts in tally.items():
            print(name, ", ".join(f"{what}: {number}" for what, number in counts.items()))
    return 1 if any(set(counts) - {"result", "refused"} for counts in tally.values()) else 0


if __name__ == "__main__":
    environment.leave(_main())
