"""Doors: least widths against a search over all angles and a published condition, legs off and on, what helps."""

from __future__ import annotations

from math import hypot, inf, sqrt

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from addon.check.door import least_width
from addon.designs.findings import Finding
from addon.files.editing import update_text
from addon.files.examples import EXAMPLES
from planted import broken, report_of

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].text()


def searched(high: float, wide: float, opening: float) -> float:
    """The least width over angles, on a fine grid and then by SciPy's bounded search around the best."""
    turns = np.linspace(0.0, np.pi / 2, 20001)

    def size(turn: float, low: float, across: float) -> float:
        return float(low * np.cos(turn) + across * np.sin(turn))

    fits = size_of(turns, high, wide) <= opening + 1e-9
    if not fits.any():
        return inf
    best = turns[fits][np.argmin(size_of(turns[fits], wide, high))]

    def cost(turn: float) -> float:
        return size(turn, wide, high) + 1e6 * max(size(turn, high, wide) - opening, 0.0)

    near = minimize_scalar(cost, bounds=(max(best - 1e-3, 0.0), min(best + 1e-3, np.pi / 2)), method="bounded",
                           options={"xatol": 1e-12})  # fmt: skip
    return min(float(near.fun), size(best, wide, high))


def size_of(turns: np.ndarray, low: float, across: float) -> np.ndarray:
    return low * np.cos(turns) + across * np.sin(turns)


@pytest.mark.parametrize("seed", range(12))
def test_the_least_width_is_that_of_a_search_over_all_angles(seed: int) -> None:
    random = np.random.default_rng(seed)
    high, wide = np.sort(random.uniform(100.0, 2500.0, 2))[::-1]
    for opening in (wide * 0.9, (high + wide) / 2, high * 0.98, high * 1.1):
        assert least_width(high, wide, opening) == pytest.approx(searched(high, wide, opening), abs=0.2)


def test_a_rectangle_in_a_rectangle() -> None:
    """W. Carver, The American Mathematical Monthly 64 (1957), from memory: p by q, p > a, goes into a by b if and only
    if q <= b and b >= (2pqa + (p² - q²)·sqrt(p² + q² - a²)) / (p² + q²)."""
    for p, q, a in ((10.0, 1.0, 9.0), (1500.0, 142.0, 1400.0), (2000.0, 960.0, 1990.0)):
        bound = (2 * p * q * a + (p * p - q * q) * sqrt(p * p + q * q - a * a)) / hypot(p, q) ** 2
        assert least_width(p, q, a) == pytest.approx(min(bound, p))


def door(width: float, height: float = 2000.0, **legs: object) -> list[Finding]:
    changes = {"limits.door_width": width, "limits.door_height": height}
    changes |= {f"legs.{name}": value for name, value in legs.items()}
    return list(report_of(update_text(QUILTING, changes), remedies=False).findings)


def test_what_comes_off_is_carried_alone() -> None:
    """1500 by 960: on edge the body is 141.9 wide, from 628.1 to the sides' upper edge at 770; with legs it is 770."""
    assert door(200.0, kind="bolted") == []
    for kind in ("corner", "plain"):
        assert door(770.01, kind=kind) == []
        (found,) = door(765.0, kind=kind)
        assert (found.rule, found.severity, found.amount) == ("no-way-out", "warning", pytest.approx(5.0))


def test_nobody_asks_without_a_door() -> None:
    assert report_of(QUILTING, remedies=False).findings == ()


def test_legs_that_come_off_are_what_helps_and_hold_in_the_file() -> None:
    text = update_text(QUILTING, {"legs.kind": "corner", "limits.door_width": 700.0})
    report = report_of(text, remedies=True)
    (found,) = report.findings
    assert "1500 mm by 960 mm by 770 mm in one piece" in found.message
    assert [(one.key, one.value) for one in found.remedies[0].set] == [("legs.kind", "bolted")]
    assert list(broken(text, report)) == []


def test_a_door_that_is_too_low_for_any_way_says_so() -> None:
    """On edge the body leans under a door of 900, lower than its 960: wider than its 141.9, and no wider than lying."""
    (found,) = door(200.0, 900.0)
    assert 0 < found.amount < 960.0 - 200.0
    assert door(200.0 + found.amount + 0.01, 900.0) == []
