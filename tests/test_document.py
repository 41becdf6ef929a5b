"""JSON: one rounding for all documents."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from addon.command_line import main
from addon.files.examples import EXAMPLES
from addon.files.saving import document_text, plain


@dataclass(frozen=True)
class Share:
    """As in the documents of the tolerances."""

    count: int
    value: float


def test_numbers_are_rounded_once_and_are_numbers() -> None:
    assert plain(0.1 + 0.2) == 0.3
    assert plain(1.23456789012345) == 1.23456789
    assert str(plain(-0.0)) == str(plain(-1e-12)) == "0.0"
    assert plain(4.3e-14) == 0.0
    assert plain([float("inf"), float("nan"), -float("inf")]) == [None, None, None]
    assert plain(np.float64(0.5)) == 0.5
    assert plain(np.array([[1.0, -0.0], [0.1 + 0.2, 2.0]])) == [[1.0, 0.0], [0.3, 2.0]]
    assert plain(np.array([1.0, np.inf])) == [1.0, None]
    assert plain((True, 3, "text", None, np.int64(4))) == [True, 3, "text", None, 4]
    assert plain({"share": Share(2, 1 / 3)}) == {"share": {"count": 2, "value": 0.333333333}}
    assert document_text({"a": (1, 2.0)}) == '{"a": [1, 2.0]}\n'


def numbers(value: object) -> Iterator[float]:
    """All numbers with a point in plain data."""
    if isinstance(value, dict):
        for one in value.values():
            yield from numbers(one)
    elif isinstance(value, list):
        for one in value:
            yield from numbers(one)
    elif isinstance(value, float):
        yield value


@pytest.mark.parametrize(
    "words",
    [
        ["check"],
        ["slide"],
        ["tolerance", "--count", "100"],
        ["steps"],
        ["compare", "--variant", "legs.width = 3"],
        ["export", "--dir", "parts"],
    ],
    ids=lambda words: words[0],
)
def test_every_document_has_the_same_rounding(
    words: list[str], capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Widths of inch tables divided by leaves, sines and square roots: without rounding 17 digits."""
    monkeypatch.chdir(tmp_path)
    verb, *options = words
    text = (
        EXAMPLES["seed-bench"].text()
        + '\n[[as_cut]]\npart = "R3"\ndimension = "length"\ndeviation = 0.1234567\n'
    )
    Path("table.toml").write_text(text, encoding="utf-8")
    main([verb, "table.toml", "--json", *options])
    document = json.loads(capsys.readouterr().out)
    if verb == "export":
        document = json.loads(Path("parts/assembly.json").read_bytes())
    found = list(numbers(document))
    assert found or verb == "steps"
    assert all(round(number, 9) == number and str(number) != "-0.0" for number in found)
