"""Colors with a meaning stay apart from each other, from what they stand on and from Blender's selection, for all eyes.

Color deficiency: Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of color vision
deficiency" (2009), their matrices for full severity, on linear RGB (from memory). Differences: CIEDE2000 (CIE 142-2001,
from memory; Sharma, Wu and Dalal, 2005, for the pairs that the formula is tried with). About 2 is just seen; side by
side on a screen, 10 is plain (common practice, no source).
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from addon.paper.sheet import palette

APART = 12.0
VISIONS = {
    "typical": np.eye(3),
    "protan": np.array([
        [0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998],
    ]),
    "deutan": np.array([
        [0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881],
    ]),
    "tritan": np.array([
        [1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900],
    ]),
}  # fmt: skip
MEANINGS = {
    "good": palette.GOOD,
    "act by hand": palette.BY_HAND,
    "blocked": palette.BLOCKED,
    "note": palette.NOTE,
}
SELECTION = {
    "selected, dark theme": "#ED5700", "active, dark theme": "#FFA028",
    "selected, light theme": "#F15800", "active, light theme": "#FFAA40",
}  # fmt: skip
"""As Blender's themes have them; tests/blender/test_showing.py asks them."""
GROUNDS = {"dark theme": "#3D3D3D", "light theme": "#646464", "paper": "#FFFFFF"}


def linear(color: str) -> np.ndarray:
    """Linear RGB (IEC 61966-2-1)."""
    parts = np.array([int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIELAB under D65 (ISO/CIE 11664-4, from memory)."""
    to_xyz = np.array([
        [0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041],
    ])  # fmt: skip
    x, y, z = (
        np.cbrt(one) if one > 216 / 24389 else (24389 / 27 * one + 16) / 116
        for one in to_xyz @ np.clip(rgb, 0.0, 1.0) / [0.95047, 1.0, 1.08883]
    )
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def difference(one: np.ndarray, other: np.ndarray) -> float:
    """CIEDE2000 of two CIELAB colors."""
    (l1, a1, b1), (l2, a2, b2) = one.tolist(), other.tolist()
    chroma = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2
    more = 1.5 - 0.5 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7))
    c1, c2 = np.hypot(more * a1, b1), np.hypot(more * a2, b2)
    h1, h2 = (np.degrees(np.arctan2(b, more * a)) % 360 for a, b in ((a1, b1), (a2, b2)))
    turn = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    hue = h1 + h2 if c1 * c2 == 0 else (h1 + turn / 2) % 360
    light, strong = (l1 + l2) / 2, (c1 + c2) / 2
    weight = 1.0
    for share, times, off in ((-0.17, 1, -30), (0.24, 2, 0), (0.32, 3, 6), (-0.20, 4, -63)):
        weight += share * np.cos(np.radians(times * hue + off))
    dl = (l2 - l1) / (1 + 0.015 * (light - 50) ** 2 / np.sqrt(20 + (light - 50) ** 2))
    dc = (c2 - c1) / (1 + 0.045 * strong)
    dh = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2)) / (1 + 0.015 * strong * weight)
    rotation = -2 * np.sqrt(strong**7 / (strong**7 + 25.0**7))
    rotation *= np.sin(np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2))))
    return float(np.sqrt(dl**2 + dc**2 + dh**2 + rotation * dc * dh))


def least(one: str, other: str) -> float:
    """Over all visions."""
    pairs = ((linear(one) @ seen.T, linear(other) @ seen.T) for seen in VISIONS.values())
    return min(difference(lab(some), lab(others)) for some, others in pairs)


@pytest.mark.parametrize(
    ("one", "other", "wanted"),
    [
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ],
)
def test_the_formula_has_the_published_differences(one, other, wanted) -> None:
    assert difference(np.array(one), np.array(other)) == pytest.approx(wanted, abs=1e-4)


def test_who_sees_no_red_takes_red_for_a_dark_yellow() -> None:
    """What the simulation is for: red and green of one lightness come near each other for two of the three."""
    red, green = "#C00000", "#00700A"
    apart = {
        name: difference(*(lab(linear(one) @ seen.T) for one in (red, green)))
        for name, seen in VISIONS.items()
    }
    assert apart["typical"] > 60 > apart["tritan"] > 40
    assert max(apart["protan"], apart["deutan"]) < 30


@pytest.mark.parametrize(("one", "other"), list(combinations(MEANINGS, 2)))
def test_meanings_are_told_apart_by_everyone(one: str, other: str) -> None:
    assert least(MEANINGS[one], MEANINGS[other]) > APART


@pytest.mark.parametrize("meaning", MEANINGS)
def test_no_meaning_looks_like_what_is_selected_or_like_its_ground(meaning: str) -> None:
    for color in (*SELECTION.values(), *GROUNDS.values()):
        assert least(MEANINGS[meaning], color) > APART, color


def test_verdicts_have_the_colors_of_their_meanings() -> None:
    assert {
        "guides-itself": MEANINGS["good"],
        "needs-steering": MEANINGS["act by hand"],
        "does-not-pass": MEANINGS["blocked"],
    } == palette.VERDICT_COLORS
    assert palette.rgb("#FF8000") == (1.0, 128 / 255, 0.0)
