"""Beams: handbook values, and virtual work by scipy's quadrature."""

from __future__ import annotations

from random import Random

import pytest
from scipy.integrate import quad

from addon.check.forces.beams import FACTORS, Overhang, deflection, second_moment

STRIP = 1e4 * 145_800.0
"""N·mm²: 300 x 18 mm at 10 000 N/mm²."""


def virtual_work(moment, unit_moment, ends, stiffness, cuts=()) -> float:
    """Deflection as the integral of M·m / EI, m being the moment of a unit load there (textbook)."""
    return quad(lambda x: moment(x) * unit_moment(x), *ends, points=sorted(cuts), limit=200)[0] / stiffness


def test_strip():
    """b h³ / 12, worked out by hand."""
    assert second_moment(300.0, 18.0) == 145_800.0


@pytest.mark.parametrize(
    ("case", "load", "length", "expected"),
    [
        ("simple, uniform", 100.0, 1000.0, 0.89306),
        ("simple, middle", 100.0, 1000.0, 1.42890),
        ("cantilever, uniform", 30.0, 300.0, 0.069444),
        ("cantilever, end", 100.0, 300.0, 0.617284),
    ],
)
def test_deflection_of_a_strip(case, load, length, expected):
    """5wL⁴/384EI, PL³/48EI, wL⁴/8EI, PL³/3EI (any text on strength of materials), worked out by hand."""
    assert deflection(case, load, length, STRIP) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(("case", "load", "length", "share"), [
    ("simple, uniform", 100.0, 1000.0, 0.00448), ("cantilever, end", 100.0, 300.0, 0.01075)
])  # fmt: skip
def test_share_of_shear(case, load, length, share):
    """W L / (G·A') with A' = 5/6 of the area and G = 620 N/mm² (USDA Wood Handbook, Eq. 9-2), worked out by hand."""
    shear = 620 * 5 / 6 * 300 * 18
    assert deflection(case, load, length, STRIP, shear) - deflection(
        case, load, length, STRIP
    ) == pytest.approx(share, abs=6e-6)


@pytest.mark.parametrize("case", FACTORS)
def test_factors_by_virtual_work(case):
    """USDA Wood Handbook, Table 9-1 (from memory): bending by M·m / EI, shear by V·v / GA', with all of
    W, L, EI, GA' 1."""
    kind, where = case.split(", ")
    uniform = where == "uniform"
    if kind == "cantilever":  # clamped at 0, deflection at 1
        loaded, unit = (lambda x: (1 - x) ** 2 / 2) if uniform else (lambda x: 1 - x), lambda x: 1 - x
        forces, unit_force, ends = (lambda x: 1 - x) if uniform else (lambda x: 1.0), lambda x: 1.0, (0, 1)
    else:  # the left half, twice
        fixed = {"simple": 0.0, "clamped": -1 / 12 if uniform else -1 / 8}[kind]
        loaded = (lambda x: fixed + x / 2 - x**2 / 2) if uniform else (lambda x: fixed + x / 2)
        unit = lambda x: x / 2 - (1 / 8 if kind == "clamped" else 0.0)  # noqa: E731
        forces, unit_force, ends = (
            (lambda x: 0.5 - x) if uniform else (lambda x: 0.5),
            lambda x: 0.5,
            (0, 0.5),
        )
    halves = 1 if kind == "cantilever" else 2
    assert FACTORS[case] == pytest.approx(
        (halves * virtual_work(loaded, unit, ends, 1.0), halves * virtual_work(forces, unit_force, ends, 1.0))
    )


def test_overhang_of_beam_tables():
    """Load at the tip: P a² (L + a) / 3EI, up between the supports P a L² / (9 sqrt 3 EI) (mechengcalculations.com);
    load on the overhang: w a³ (4L + 3a) / 24EI, up 0.03208 w a² L² / EI, R1 = w a² / 2L downward,
    R2 = w a (2L + a) / 2L (piping-designer.com); over the whole length: w a (4a²L - L³ + 3a³) / 24EI (AISC, from
    memory)."""
    span, nose, load, w, e = 400.0, 250.0, 90.0, 0.07, STRIP
    tip = Overhang(span, nose, e, at_tip=load)
    assert tip.droop == pytest.approx(load * nose**2 * (span + nose) / (3 * e))
    assert tip.rise == pytest.approx(load * nose * span**2 / (9 * 3**0.5 * e))
    on_nose = Overhang(span, nose, e, on_nose=w)
    assert on_nose.droop == pytest.approx(w * nose**3 * (4 * span + 3 * nose) / (24 * e))
    assert on_nose.rise == pytest.approx(0.03208 * w * nose**2 * span**2 / e, rel=2e-4)
    assert on_nose.reactions == pytest.approx(
        (-w * nose**2 / (2 * span), w * nose * (2 * span + nose) / (2 * span))
    )
    whole = Overhang(span, nose, e, w, w)
    assert whole.droop == pytest.approx(w * nose * (4 * nose**2 * span - span**3 + 3 * nose**3) / (24 * e))


@pytest.mark.parametrize("seed", range(6))
def test_overhang_with_a_tail_by_virtual_work(seed):
    random = Random(seed)
    span, nose, tail = (random.uniform(20, 500) for _ in range(3))
    on_span, on_nose, on_tail = (random.uniform(0, 0.2) for _ in range(3))
    beam = Overhang(span, nose, STRIP, on_span, on_nose, random.uniform(0, 50), tail, on_tail)
    first, second = beam.reactions
    weight = on_span * span + on_nose * nose + on_tail * tail + beam.at_tip
    about_first = on_span * span**2 / 2 + on_nose * nose * (span + nose / 2) - on_tail * tail**2 / 2
    assert first + second == pytest.approx(weight)
    assert second * span == pytest.approx(about_first + beam.at_tip * (span + nose))

    def moment(x):  # hogging, x from the first support
        if x > span:
            return on_nose * (span + nose - x) ** 2 / 2 + beam.at_tip * (span + nose - x)
        return on_tail * (tail + x) ** 2 / 2 - on_tail * x**2 / 2 - first * x + on_span * x**2 / 2

    def unit(x):
        return span + nose - x if x > span else nose * x / span

    work = virtual_work(moment, unit, (0, span + nose), STRIP, [span])
    assert beam.droop == pytest.approx(work, rel=1e-8)
