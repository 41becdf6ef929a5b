"""Beams and plates: handbook values, a worked problem, and virtual work by scipy's quadrature."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from scipy.integrate import quad

from addon.fit.beams import FACTORS, Overhang, Span, deflection, plate_sag, second_moment

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


def test_worked_timber_beam():
    """amesweb.info, timber beam example: 100 x 200 mm, 3 m, 8 GPa, 10, 5, 10 kN, own weight 117.7 N/m: R = 12676.5 N,
    M = 8882.4 N·m, end slope 0.988 degrees; 15.6624 mm at midspan recomputed outside."""
    beam = Span(
        3000.0, 8000.0 * float(second_moment(100, 200)), 0.1177, ((500, 1e4), (1500, 5e3), (2500, 1e4))
    )
    assert beam.reactions == pytest.approx((12676.55, 12676.55), abs=0.05)
    assert beam.greatest_moment == pytest.approx(8882.41e3, abs=0.01e3)
    assert np.degrees(beam.end_slopes) == pytest.approx([0.98781] * 2, abs=1e-5)
    assert beam.deflection_at(1500.0) == pytest.approx(15.6624, abs=1e-4)
    assert replace(beam, uniform=0.0).deflection_at(1500.0) == pytest.approx(15.4297, abs=1e-4)
    assert replace(beam, loads=()).deflection_at(1500.0) == pytest.approx(0.2328, abs=1e-4)


@pytest.mark.parametrize("seed", range(6))
def test_span_by_virtual_work(seed):
    random = Random(seed)
    length, uniform = random.uniform(300, 2000), random.uniform(0, 0.2)
    loads = tuple((random.uniform(0, length), random.uniform(-50, 200)) for _ in range(3))
    beam = Span(length, STRIP, uniform, loads)
    at = random.uniform(0.1, 0.9) * length

    def moment(x):  # statics, from the left
        first = sum(force * (length - place) / length for place, force in loads) + uniform * length / 2
        return first * x - uniform * x**2 / 2 - sum(force * max(x - place, 0) for place, force in loads)

    def unit(x):
        return (length - at) / length * x - max(x - at, 0)

    cuts = [at, *(place for place, _ in loads)]
    assert beam.deflection_at(at) == pytest.approx(
        virtual_work(moment, unit, (0, length), STRIP, cuts), rel=1e-7
    )
    assert beam.end_slopes == pytest.approx(
        (
            virtual_work(moment, lambda x: 1 - x / length, (0, length), STRIP, cuts),
            virtual_work(moment, lambda x: x / length, (0, length), STRIP, cuts),
        ),
        rel=1e-7,
    )
    x = np.linspace(0, length, 20001)
    assert beam.greatest_moment == pytest.approx(max(moment(one) for one in x), rel=1e-4)
    assert beam.moment_at(at) == pytest.approx(moment(at))


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


@pytest.mark.parametrize(
    ("ratio", "alpha"),
    [(1.0, 0.0444), (1.2, 0.0616), (1.4, 0.0770), (1.6, 0.0906), (1.8, 0.1017), (2.0, 0.1110), (3.0, 0.1335),
     (4.0, 0.1400), (5.0, 0.1417), (1e3, 0.1421)],
)  # fmt: skip
def test_plate_of_the_handbook(ratio, alpha):
    """Roark's Formulas for Stress and Strain, Table 11.4, case 1a: y = alpha q b⁴ / (E t³)."""
    own = plate_sag((600.0 * ratio, 600.0), 18.0, 7000.0, 1e-3)
    assert own.sag == pytest.approx(alpha * 1e-3 * 600**4 / (7000 * 18**3), rel=0.006)
    assert own.small


@pytest.mark.parametrize("sides", [(600.0, 600.0), (350.0, 900.0), (500.0, 420.0)])
def test_plate_by_the_double_series(sides):
    """Navier's double series (Timoshenko and Woinowsky-Krieger), summed far."""
    m = np.arange(1, 400, 2.0)
    sign = (-1) ** ((m - 1) / 2)
    terms = np.outer(sign / m, sign / m) / ((m / sides[0])[:, None] ** 2 + (m / sides[1]) ** 2) ** 2
    rigidity = 7000 * 18**3 / (12 * (1 - 0.3**2))
    navier = 16 * 1e-3 / (np.pi**6 * rigidity) * terms.sum()
    assert plate_sag(sides, 18.0, 7000.0, 1e-3).sag == pytest.approx(navier, rel=1e-7)


def test_plate_worked_out():
    """600 x 600 x 18 mm, E 7000, 0.001 N/mm², by Roark's table: 0.14095 mm."""
    assert plate_sag((600.0, 600.0), 18.0, 7000.0, 1e-3).sag == pytest.approx(0.14095, rel=0.006)


def test_plates_beyond_small_deflections_are_told():
    """Roark, ch. 11: no thicker than a quarter of the short side, sag of at most half the thickness."""
    assert not plate_sag((15.0, 12.0), 0.25, 30e6, 100.0).small
    assert plate_sag((15.0, 12.0), 0.25, 30e6, 10.0).small
    assert not plate_sag((600.0, 60.0), 18.0, 7000.0, 1e-6).small
