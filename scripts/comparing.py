"""Documents and pictures compared value by value."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from itertools import zip_longest
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

IN_ANY_ORDER: dict[str, tuple[str, ...]] = {"findings": ("rule", "parts", "leaf"), "texts": ()}
"""JSON keys of lists whose order depends on labels → what tells their entries apart; none: the whole entry."""

EQUAL = 1e-6
"""Numbers that differ by no more, absolutely or relatively, are equal."""

EQUAL_ON_PAPER = 1.5e-3
"""The same for a picture's coordinates, mm, which are written to a thousandth."""

_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_NUMBER = re.compile(r"-?\d+\.?\d*")
_INDEX = re.compile(r"\[(?:[^\[\]]|\[[^\]]*\])*\]")


class Lines(list):
    """A picture's lines of one kind, each a tuple of coordinates, in any order."""


def picture_document(svg: str) -> dict[str, Any]:
    """What is compared of a picture: the sheet, what is drawn of the table, texts without their places.

    Lines without a name are frames, and leaders that end where a label's text begins; they and the places of texts
    follow the length of labels.
    """
    root = ElementTree.fromstring(svg)
    texts: list[str] = []
    lines: dict[str, Lines] = defaultdict(Lines)
    title = ""
    for element in root:
        tag, name = element.tag.rpartition("}")[2], "".join(element.itertext())
        if tag == "title":
            title = name
        elif tag == "text" and not _DATE.fullmatch(name):
            texts.append(name)
        elif tag == "path" and name:
            pen = [element.get(key, "") for key in ("stroke", "stroke-width", "stroke-dasharray", "fill")]
            lines[" ".join([name, *filter(None, pen)])] += _lines(element.get("d", ""))
    sheet = [float(_NUMBER.findall(root.get(key, "0"))[0]) for key in ("width", "height")]
    return {"sheet": sheet, "title": title, "texts": texts, "lines": dict(lines)}


def _lines(data: str) -> Iterator[tuple[float, ...]]:
    for line in data.split("M")[1:]:
        yield tuple(float(number) for number in _NUMBER.findall(line))


def unlike(base: Lines, new: Lines) -> tuple[list[tuple[float, ...]], list[tuple[float, ...]]]:
    """The lines of either picture that the other has not."""
    only_base, only_new = Counter(base) - Counter(new), Counter(new) - Counter(base)
    left: dict[int, list[tuple[float, ...]]] = defaultdict(list)
    for line in only_new.elements():
        left[len(line)].append(line)
    missing = []
    for line in only_base.elements():
        alike = left[len(line)]
        for k, other in enumerate(alike):
            if all(abs(a - b) <= EQUAL_ON_PAPER for a, b in zip(line, other)):
                del alike[k]
                break
        else:
            missing.append(line)
    return missing, [line for alike in left.values() for line in alike]


ABSENT = object()
"""Stands where one of the two has nothing."""


class Comparison:
    """Counts what was compared, and keeps the differences: path, older value, newer value."""

    def __init__(self, verb: str, skipped: frozenset[str]) -> None:
        self.verb = verb
        self.skipped = skipped
        self.paths = {entry for entry in skipped if "." in entry}
        self.values = 0
        self.found: list[tuple[str, Any, Any]] = []

    def compare(self, path: str, base: Any, new: Any, key: str = "") -> None:
        """Compare two values, and all that is in them; `key` is the JSON key under which they are."""
        if isinstance(base, dict) and isinstance(new, dict):
            for name in [*base, *(name for name in new if name not in base)]:
                inner = f"{path}.{name}" if path else name
                if not self._is_skipped(name, inner):
                    self.compare(inner, base.get(name, ABSENT), new.get(name, ABSENT), name)
        elif isinstance(base, Lines) and isinstance(new, Lines):
            self._lines(path, base, new)
        elif isinstance(base, list) and isinstance(new, list):
            if key in IN_ANY_ORDER:
                self._in_any_order(path, base, new, IN_ANY_ORDER[key])
            else:
                for k, (one, other) in enumerate(zip_longest(base, new, fillvalue=ABSENT)):
                    self.compare(f"{path}[{k}]", one, other)
        else:
            self.values += 1
            if not _equal(base, new):
                self.found.append((path, base, new))

    def _is_skipped(self, key: str, path: str) -> bool:
        return key in self.skipped or (
            bool(self.paths) and f"{self.verb}.{_INDEX.sub('[]', path)}" in self.paths
        )

    def _lines(self, path: str, base: Lines, new: Lines) -> None:
        self.values += sum(map(len, base))
        only_base, only_new = unlike(base, new)
        if only_base or only_new:
            said = f"{len(only_base)} of {len(base)} lines", f"{len(only_new)} of {len(new)} lines"
            self.found.append((path, [said[0], *only_base[:1]], [said[1], *only_new[:1]]))

    def _in_any_order(self, path: str, base: list[Any], new: list[Any], fields: Sequence[str]) -> None:
        """Compare entries that some of their fields tell apart; of several with equal ones, those that are alike."""
        groups: dict[str, tuple[list[Any], list[Any]]] = {}
        for side, entries in enumerate((base, new)):
            for entry in entries:
                mark = " ".join(str(entry.get(name)) for name in fields) if fields else str(entry)
                groups.setdefault(mark, ([], []))[side].append(entry)
        for mark, (old, now) in groups.items():
            inner = f"{path}[{mark}]"
            rest = [one for one in old if not self._taken(inner, one, now)] if len(now) > 1 else old
            for one, other in zip_longest(rest, now, fillvalue=ABSENT):
                self.compare(inner, one, other)

    def _taken(self, path: str, one: Any, others: list[Any]) -> bool:
        """Whether one of the others is like it, which is then taken away."""
        for k, other in enumerate(others):
            trial = Comparison(self.verb, self.skipped)
            trial.compare(path, one, other)
            if not trial.found:
                self.values += trial.values
                del others[k]
                return True
        return False


def _equal(base: Any, new: Any) -> bool:
    plain = (int, float)
    if isinstance(base, bool) or isinstance(new, bool):
        return base is new
    if isinstance(base, plain) and isinstance(new, plain):
        both_none = math.isnan(base) and math.isnan(new)
        return both_none or math.isclose(base, new, rel_tol=EQUAL, abs_tol=EQUAL)
    return base == new
