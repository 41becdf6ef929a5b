"""What a restructuring renamed on purpose, and how the older results are put into today's words."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from comparing import Lines

_LABEL = re.compile(r"\b[A-Z]+\d+\b")


@dataclass(frozen=True)
class Renames:
    """What is called otherwise in the newer checkout; all of it is applied to what the older one says.

    Parameters
    ----------
    keys : of JSON documents, old → new
    settings : keys of the table file as remedies name them ("legs.width"), old → new
    labels : (pattern, replacement) for whole labels; the first pattern that fits the whole of a label counts
    words : (pattern, replacement) for every other string and for keys that are no fixed words, in this order
    skipped : what is not compared: JSON keys wherever they stand, or paths such as "slide.leaves[].side.openings_of";
        new names
    """

    keys: dict[str, str] = field(default_factory=dict)
    settings: dict[str, str] = field(default_factory=dict)
    labels: tuple[tuple[str, str], ...] = ()
    words: tuple[tuple[str, str], ...] = ()
    skipped: frozenset[str] = frozenset()


RENAMES = Renames(
    keys={
        "guided_at_home_mm": "guided_stowed_mm",
        "offset_at_home_mm": "offset_stowed_mm",
        "places": "positions",
    },
    settings={
        "sides.roof": "sides.wood_above_slots",
        "sides.rail": "sides.wood_below_slots",
        "ribs.post": "ribs.wood_beside_window",
        "ribs.least_post": "ribs.least_wood_beside_window",
        "leaves.lie": "leaves.direction",
        "stowing.recess": "stowing.set_back",
    },
    labels=(
        (r"F(\d+)", r"B\1"),
        (r"P(\d+)", r"LEG\1"),
        (r"D(\d+)", r"LEDG\1"),
        (r"E(\d+)", r"STOP\1"),
        (r"K(\d+)", r"KICK\1"),
        (r"N(\d+)", r"RUN\1"),
        (r"G(\d+)", r"GUIDE\1"),
        (r"T(\d+)", r"TOP\1"),
    ),
    words=(
        (r"\bfloor\b", "bottom"),
        (r"\bFloor\b", "Bottom"),
        (r"^(entry|exit) mouth$", r"\1 face"),
    ),
    # Sentences, whose wording is no result; "title" and "texts" are also those of pictures. Remedies set values that a
    # tape or a feeler gauge reads, rounded to the side that is enough.
    skipped=frozenset(
        {
            "slide.positions.cells[].place",  # an edge has its place as before
            "slide.positions.cells[].position",
            "message",
            "text",
            "words",
            "title",
            "note",
            "error",
            "texts",
        }
        | {f"{verb}.findings[].remedy.set[].value" for verb in ("check", "slide")}
    ),
)


class Translator:
    """Applies renames to a document."""

    def __init__(self, renames: Renames) -> None:
        self.renames = renames
        self.string = lru_cache(maxsize=100_000)(self._string)

    def document(self, value: Any, key: str = "") -> Any:
        """A document, or what stands under a key of one."""
        if isinstance(value, str):
            return self.renames.settings.get(value, value) if key == "key" else self.string(value)
        if isinstance(value, Lines):
            return value
        if isinstance(value, list):
            return [self.document(one, key) for one in value]
        if isinstance(value, dict):
            keys = self.renames.keys
            return {
                keys[name] if name in keys else self.string(name): self.document(one, name)
                for name, one in value.items()
            }
        return value

    def _string(self, text: str) -> str:
        text = _LABEL.sub(lambda found: self._label(found[0]), text)
        for pattern, replacement in self.renames.words:
            text = re.sub(pattern, replacement, text)
        return text

    def _label(self, label: str) -> str:
        for pattern, replacement in self.renames.labels:
            found = re.fullmatch(pattern, label)
            if found:
                return found.expand(replacement)
        return label
