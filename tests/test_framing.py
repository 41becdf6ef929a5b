"""Cameras that see everything, and labels whose leaders do not cross."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.paper.sheet.dimensions import columns, crosses
from addon.scene.pictures import framing

BOX = np.array([[x, y, z] for x in (-0.75, 0.75) for y in (-0.48, 0.48) for z in (0.0, 0.77)])


@given(st.floats(-60, 80), st.floats(-180, 180))
def test_axes_are_a_right_handed_orthonormal_frame(elevation, azimuth):
    axes = framing.axes_of(elevation, azimuth)
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    assert axes[0, 2] == 0.0  # right is level
    assert np.degrees(np.arcsin(axes[2, 2])) == pytest.approx(elevation, abs=1e-9)


def test_the_eye_at_azimuth_0_looks_from_the_front():
    assert framing.axes_of(0.0, 0.0) == pytest.approx(np.array([[1.0, 0, 0], [0, 0, 1], [0, -1, 0]]))


@given(st.floats(0, 80), st.floats(-180, 180))
def test_a_flat_view_takes_in_just_everything(elevation, azimuth):
    view = framing.fit(BOX, framing.axes_of(elevation, azimuth), (1280, 800), (0.1, 0.2, 0.05, 0.15))
    assert view.height / view.width == pytest.approx(800 / 1280)
    x, y = (view.project(BOX) / [view.width, view.height]).T
    low, high = np.array([x.min() + 0.4, y.min() + 0.45]), np.array([0.3 - x.max(), 0.35 - y.max()])
    assert np.all(low > -1e-9)
    assert np.all(high > -1e-9)
    assert min(*low, *high) == pytest.approx(0.0, abs=1e-9)


@given(st.floats(5, 80), st.floats(-180, 180), st.floats(0.3, 1.2))
def test_a_lens_takes_in_just_everything(elevation, azimuth, angle):
    axes = framing.axes_of(elevation, azimuth)
    eye = framing.eye_for(BOX, axes, (1280, 800), angle, 0.05)
    seen = (BOX - eye) @ axes.T
    assert np.all(seen[:, 2] < 0)
    x = seen[:, 0] / -seen[:, 2] / np.tan(angle / 2)
    y = seen[:, 1] / -seen[:, 2] / np.tan(angle / 2) * 1280 / 800
    assert max(np.abs(x).max(), np.abs(y).max()) == pytest.approx(0.9)


points = st.tuples(st.floats(-0.6, 0.6), st.floats(-0.5, 0.5))


@given(st.lists(points, min_size=1, max_size=9, unique=True))
def test_leaders_do_not_cross_and_labels_do_not_overlap(anchors):
    placed, ends = columns(np.array(anchors), (-1.0, 1.0), 0.1, -0.5, 0.5)
    assert sorted(placed.tolist()) == list(range(len(anchors)))
    for (a, p), (b, q) in combinations(zip(np.array(anchors)[placed], ends, strict=True), 2):
        if p[0] == q[0]:
            assert not crosses(a, p, b, q)
            assert abs(p[1] - q[1]) > 0.1 - 1e-9


def test_crossing_is_told_from_touching():
    a, b, c, d = (np.array(p, dtype=float) for p in ((0, 0), (2, 2), (0, 2), (2, 0)))
    assert crosses(a, b, c, d)
    assert not crosses(a, c, b, d)
    assert not crosses(a, b, b, d)
