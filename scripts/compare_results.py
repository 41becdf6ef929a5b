"""Whether a restructuring left all results as they were: ``python3 scripts/compare_results.py --base CHECKOUT``.

CHECKOUT is the project as it was before. Its code draws random tables (``--tables``, ``--seed``), every other one with
parts cut otherwise than drawn, and writes their files. The command line of both checkouts then works on each file, and
exit statuses, JSON documents and exploded views are compared, save for what `renames` declares. Exits with 1 where
anything differs; the table files concerned go to ``--out``, numbered as in the list of differences.
"""

from __future__ import annotations

import environment

if __name__ == "__main__":
    environment.enter("light")

import argparse
import importlib
import io
import json
import os
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter, defaultdict
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field, replace
from pathlib import Path
from queue import Queue
from random import Random
from threading import Thread
from typing import TYPE_CHECKING, Any

from comparing import ABSENT, Comparison, picture_document
from renames import RENAMES, Renames, Translator

if TYPE_CHECKING:
    from collections.abc import Sequence


MODULES = {
    "run": (("addon.command_line.main", "main"),),
    "sound_table": (("random_tables", "sound_table"),),
    "kinds": (("defects", "KINDS"),),
    "plain_table": (("plain_boxes", "PlainTable"),),
    "table_text": (("addon.files.writer", "new_table_text"), ("addon.model.table_writer", "new_table_text")),
}
"""Where a checkout has what is used of it, module and name; the first place that is there counts. Only `run` is used
of the newer one."""

VERBS: dict[str, tuple[str, ...]] = {
    "check": (),
    "slide": (),
    "tolerance": ("--count", "200", "--seed", "1"),
    "steps": (),
    "draw": ("--exploded",),
}
"""Subcommands that are compared, with what they are given beside the file and --json."""

SHOWN = 20
"""Differences that are listed."""

# -- one checkout at work, in a process of its own
# ----------------------------------------------------------------------------------------------------------


def work(checkout: Path, folder: Path, options: argparse.Namespace) -> None:
    """Print a line of JSON with the answers to each table file in the folder's parent; first draw them, if asked."""
    own = {Path(environment.ROOT), Path(environment.ROOT) / "scripts"}
    others = [entry for entry in sys.path if Path(entry).resolve() not in own]
    sys.path[:] = [str(checkout), str(checkout / "scripts"), *others]
    os.chdir(checkout)
    run = _part_of("run")
    home = Path(str(importlib.import_module("addon").__file__)).resolve()
    if checkout not in home.parents:
        environment.fail("%s runs the add-on in %s" % (checkout, home.parent))
    files = [_file(folder.parent, number) for number in range(options.tables)]
    if options.draw:
        for number, file in enumerate(files):
            file.write_text(_table_text(options.seed, number), encoding="utf-8")
        print(json.dumps({"drawn": len(files)}), flush=True)
    for file in files:
        answers = {verb: _answer(run, verb, file, folder / "picture.svg") for verb in options.verbs}
        print(json.dumps(answers), flush=True)


def _part_of(what: str) -> Any:
    """Something of the checkout at work."""
    for module, name in MODULES[what]:
        try:
            return getattr(importlib.import_module(module), name)
        except ModuleNotFoundError as error:
            if error.name is None or not (module + ".").startswith(error.name + "."):
                raise
    raise ModuleNotFoundError("%s has none of %s" % (Path.cwd(), MODULES[what]))


def _file(folder: Path, number: int) -> Path:
    return folder / ("table-%04d.toml" % number)


def _table_text(seed: int, number: int) -> str:
    """The file of a random table; every other one has parts that are cut otherwise than drawn."""
    table, drawn = _part_of("sound_table")(f"{seed}/{number}")
    if number % 2:
        random, boxes = Random(f"{seed}/{number}/as cut"), _part_of("plain_table")(drawn)
        kinds = random.sample([kind for kind in _part_of("kinds") if kind.dimension], 6)
        cases = (kind.inject(random, table, drawn, boxes) for kind in kinds)
        entries = [entry for case in cases if case is not None for entry in case.table.as_cut]
        table = replace(table, as_cut=tuple(entries[: random.randint(1, 3)]))
    return _part_of("table_text")(table)


def _answer(run: Any, verb: str, file: Path, picture: Path) -> dict[str, Any]:
    """Exit status and standard output of one subcommand, or the picture that it drew."""
    argv = [verb, str(file), "--json", *VERBS[verb]]
    if verb == "draw":
        picture.unlink(missing_ok=True)
        argv += ["--image", str(picture)]
    said = io.StringIO()
    try:
        with redirect_stdout(said), redirect_stderr(io.StringIO()):
            status = run(argv)
    except Exception:
        return {"status": "crash", "said": json.dumps({"crash": traceback.format_exc().splitlines()[-1]})}
    if verb == "draw" and picture.exists():
        return {"status": status, "picture": picture.read_text(encoding="utf-8")}
    return {"status": status, "said": said.getvalue()}


class Worker:
    """A checkout at work: what it says is read as it comes, so that it never waits."""

    def __init__(self, checkout: Path, scratch: Path, options: argparse.Namespace, draws: bool) -> None:
        folder = scratch / ("base" if draws else "new")
        folder.mkdir()
        what = ["--tables", str(options.tables), "--seed", str(options.seed), "--verbs", *options.verbs]
        command = [sys.executable, str(Path(__file__).resolve()), "--base", str(checkout), *what]
        command += ["--work-in", str(folder), *(["--draw"] if draws else [])]
        # Two processes side by side need one thread each; sets in the same order each time make runs repeatable.
        one = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
        self.checkout = checkout
        self.process = subprocess.Popen(
            command, cwd=checkout, env={**os.environ, **one, "PYTHONHASHSEED": "0"}, stdout=subprocess.PIPE
        )
        self.lines: Queue[bytes] = Queue()
        Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.lines.put(line)
        self.lines.put(b"")

    def next(self) -> dict[str, Any]:
        """The next line, waited for."""
        line = self.lines.get()
        if not line:
            environment.fail("%s ended with status %s" % (self.checkout, self.process.wait()))
        return json.loads(line)

    def __enter__(self) -> Worker:
        return self

    def __exit__(self, *exception: object) -> None:
        self.process.kill()
        self.process.wait()


@dataclass
class Tally:
    """How the comparison of one subcommand went."""

    values: int = 0
    differences: int = 0
    tables: int = 0
    """Tables with a difference."""
    statuses: Counter[str] = field(default_factory=Counter)
    """Exit statuses of the older checkout."""


@dataclass
class Result:
    """How all went; `listed` are the first differences, a line each."""

    tallies: dict[str, Tally] = field(default_factory=lambda: defaultdict(Tally))
    listed: list[str] = field(default_factory=list)
    failing: list[int] = field(default_factory=list)

    def add(self, number: int, verb: str, comparison: Comparison, status: object) -> None:
        """Note what came of one subcommand on one table."""
        tally = self.tallies[verb]
        tally.values += comparison.values
        tally.differences += len(comparison.found)
        tally.tables += bool(comparison.found)
        tally.statuses[str(status)] += 1
        if comparison.found and number not in self.failing[-1:]:
            self.failing.append(number)
        for path, base, new in comparison.found[: SHOWN - len(self.listed)]:
            self.listed.append(f"{number:5}  {verb:9}  {path}  {_shown(base)}  {_shown(new)}")

    def text(self) -> str:
        """Counts by subcommand, and the differences."""
        lines = ["%-10s %12s %12s %8s   %s" % ("", "values", "differences", "tables", "exit statuses")]
        for verb, tally in self.tallies.items():
            statuses = ", ".join(f"{status}: {count}" for status, count in sorted(tally.statuses.items()))
            lines.append(f"{verb:10} {tally.values:12} {tally.differences:12} {tally.tables:8}   {statuses}")
        if self.listed:
            lines += ["", "table  verb       path  before  now", *self.listed]
        return "\n".join(lines)


def _shown(value: Any) -> str:
    """A value on one line."""
    text = "(nothing)" if value is ABSENT else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 80 else text[:77] + "..."


def compare_checkouts(base: Path, scratch: Path, options: argparse.Namespace) -> Result:
    """Both checkouts side by side on all tables."""
    renames = Renames() if options.no_renames else RENAMES
    translator, result = Translator(renames), Result()
    with Worker(base, scratch, options, draws=True) as older:
        older.next()
        with Worker(Path(environment.ROOT), scratch, options, draws=False) as newer:
            for number in range(options.tables):
                before, now = older.next(), newer.next()
                for verb in options.verbs:
                    comparison = Comparison(verb, renames.skipped)
                    comparison.compare("exit status", before[verb]["status"], now[verb]["status"])
                    said = translator.document(_document(before[verb]))
                    comparison.compare("", said, _document(now[verb]))
                    result.add(number, verb, comparison, before[verb]["status"])
                if (number + 1) % 20 == 0:
                    environment.progress("%d of %d tables" % (number + 1, options.tables))
    return result


def _document(answer: dict[str, Any]) -> Any:
    """What a subcommand said or drew, as data."""
    if "picture" in answer:
        return picture_document(answer["picture"])
    try:
        return json.loads(answer["said"])
    except json.JSONDecodeError:
        return {"no JSON": answer["said"]}


def keep_tables(numbers: Sequence[int], scratch: Path, out: Path) -> None:
    """Save the files of tables."""
    out.mkdir(parents=True, exist_ok=True)
    for number in numbers:
        text = _file(scratch, number).read_text(encoding="utf-8")
        _file(out, number).write_text(text, encoding="utf-8")


def main() -> int:
    """Compare; exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--base", type=Path, required=True, metavar="CHECKOUT", help="the project as it was")
    parser.add_argument("--tables", type=int, default=300, metavar="N", help="random tables (300)")
    parser.add_argument("--seed", type=int, default=1, metavar="S", help="another seed, other tables (1)")
    out = Path(environment.ROOT) / "out" / "compare_results"
    parser.add_argument(
        "--out",
        type=Path,
        default=out,
        metavar="DIR",
        help="for tables with differences (out/compare_results)",
    )
    parser.add_argument(
        "--no-renames", action="store_true", help="nothing may be called otherwise, and sentences count too"
    )
    parser.add_argument(
        "--verbs", nargs="+", choices=VERBS, default=list(VERBS), metavar="SUB", help="of %(choices)s (all)"
    )
    parser.add_argument("--work-in", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--draw", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    base = options.base.resolve()
    if options.work_in is not None:
        work(base, options.work_in, options)
        return 0
    if not (base / "addon").is_dir():
        parser.error("%s is no checkout of this project" % options.base)
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as name:
        result = compare_checkouts(base, Path(name), options)
        if result.failing:
            keep_tables(result.failing, Path(name), options.out)
    print(result.text())
    print("\n%d tables, %.0f s" % (options.tables, time.perf_counter() - start))
    if result.failing:
        print("%d tables differ, saved to %s" % (len(result.failing), options.out))
    return int(bool(result.failing))


if __name__ == "__main__":
    sys.exit(main())
