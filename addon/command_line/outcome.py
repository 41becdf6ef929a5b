"""What subcommands give back, and the date on what they draw."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any


@dataclass(frozen=True)
class Outcome:
    """What a subcommand has to say: a document for `--json`, a text for the screen, the exit status."""

    document: dict[str, Any] | list[dict[str, Any]]
    text: str = ""
    status: int = field(default=0)


def today() -> str:
    """The date for title blocks."""
    return date.today().isoformat()
