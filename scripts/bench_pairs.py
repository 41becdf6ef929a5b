"""Times of this checkout beside those of another, measured in turn: what ``bench.py --base CHECKOUT`` prints.

Both checkouts run their own `bench`, so that names that were moved since do no harm, and rows are told by what they
measure. Only one runs at a time, and after every single run of a measurement it is the other's turn: what else the
machine does slows both alike. What counts is processor time, the least of all runs.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import environment

WORSE = 1.1
"""Ratio beyond which a figure is worse."""

UNITS = ("ms", "s", "MB")
"""Of the figures that are compared; ratios and verdicts are not."""

PROGRAM = """
import gc, json, os, sys, time, types
out, root, repeat = os.fdopen(os.dup(1), "w"), sys.argv[1], int(sys.argv[2])
os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
sys.path[:0] = [root, root + "/scripts"]
import bench

def say(what):
    out.write(json.dumps(what) + "\\n")
    out.flush()
    sys.stdin.readline()

def best(run, repeat):
    times = []
    for _ in range(repeat):
        say(None)
        gc.collect()
        gc.disable()
        start = time.process_time()
        run()
        times.append(time.process_time() - start)
        gc.enable()
    return min(times)

bench.best = best
bench.time = types.SimpleNamespace(perf_counter=time.process_time)
bench._large = lambda: []
say(None)
rows = bench.measure(repeat)
if sys.argv[3] == "all":
    rows += bench.measure_blender(repeat)
say(rows)
os._exit(0)
"""
"""Run for a checkout: its root, runs of each short measurement, ``all`` or ``numbers`` (without Blender).

It says a line whenever it is the other's turn, the last with its rows, and leaves without Blender's tidying-up.
"""


class Bench:
    """The bench of a checkout, in a process of its own that waits for its turn."""

    def __init__(self, root: str, repeat: int, extent: str) -> None:
        self.root = root
        self.rows: list[list[str]] | None = None
        self._process = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, root, str(repeat), extent],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self._wait()

    def turn(self) -> None:
        """Have it go on until it is the other's turn, or it is done."""
        assert self._process.stdin is not None
        self._process.stdin.write("\n")
        self._process.stdin.flush()
        self._wait()

    def _wait(self) -> None:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        if not line:
            environment.fail("the bench of %s failed" % self.root)
        self.rows = json.loads(line)

    def figures(self) -> dict[str, tuple[float, str]]:
        """What was measured → amount and unit."""
        found, above = {}, ""
        for what, measured, _ in self.rows or ():
            above = what if not what.startswith(" ") else above
            number, _, unit = measured.partition(" ")
            if unit in UNITS:
                found[what if what == above else above + ", " + what.strip(" .")] = (float(number), unit)
        return found


def compare(base: str, repeat: int, extent: str) -> bool:
    """Print each figure of both checkouts with their ratio; whether any is worse by more than a tenth.

    Ends the script where the bench of either fails.
    """
    both = [Bench(root, repeat, extent) for root in (str(environment.ROOT), str(Path(base).resolve()))]
    while any(one.rows is None for one in both):
        for one in both:
            if one.rows is None:
                one.turn()
    here, there = (one.figures() for one in both)
    print("%-66s %12s %12s %7s" % ("processor time", "here", "base", "ratio"))
    worse = False
    for what, (amount, unit) in here.items():
        if what not in there:
            print("%-66s %9.2f %-2s %12s" % (what, amount, unit, "new"))
            continue
        ratio = amount / max(there[what][0], 1e-9)
        worse |= ratio > WORSE
        mark = "  worse" if ratio > WORSE else ""
        print("%-66s %9.2f %-2s %9.2f %-2s %6.2f%s" % (what, amount, unit, *there[what], ratio, mark))
    return worse
