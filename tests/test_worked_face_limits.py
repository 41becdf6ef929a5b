"""Leaves with a rim, a tray recess or a pull: what cannot be built, and how they are drawn out stowed."""

from __future__ import annotations

import pytest

from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.editing import Changes, set_values
from addon.sizes.errors import ParameterError
from addon.wood.sound import check_features
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()
TRAY = {"leaves.tray_depth": 6, "leaves.tray_border": 55}
RIM = {"leaves.rim_height": 8, "leaves.rim_width": 15}
PULL = {"leaves.pull_length": 90, "leaves.pull_width": 22, "leaves.pull_inset": 60, "leaves.tray_border": 90}
OPEN_PULL = {"leaves.finger_hole": 0, "leaves.pull_length": 90, "leaves.pull_inset": 0}

REFUSALS: list[tuple[Changes, str, str, str, Changes]] = [
    ({"leaves.tray_depth": 14}, "leaves.tray_depth", "at most 13.7 mm", "must stay under the tray recess",
     {"leaves.tray_depth": 13.7}),
    ({"leaves.tray_depth": 0.05}, "leaves.tray_depth", "at least 0.1 mm", "holds nothing", {"leaves.tray_depth": 0}),
    ({"leaves.tray_depth": 5, "leaves.tray_border": 3}, "leaves.tray_border", "at least 4 mm",
     "run into the eased edges", {"leaves.tray_border": 4}),
    ({"leaves.tray_depth": 5, "leaves.tray_border": 3, "leaves.edge_radius": 0, "leaves.lead_chamfer": 5},
     "leaves.tray_border", "at least 6 mm", "run into the eased edges", {"leaves.tray_border": 6}),
    ({**RIM, "leaves.tray_depth": 5, "leaves.tray_border": 14}, "leaves.tray_border", "at least 15 mm",
     "run into the rim", {"leaves.tray_border": 15}),
    ({"leaves.tray_depth": 5, "leaves.tray_border": 180}, "leaves.tray_border", "at most 177.4",
     "nothing would be left", {"leaves.tray_border": 177.45}),
    ({"leaves.tray_depth": 5, "leaves.tray_border": 30}, "leaves.finger_hole_inset",
     "at most 16.5 mm, or at least 43.5 mm", "run into the edge of the tray recess",
     {"leaves.finger_hole_inset": 43.5}),
    ({**RIM, "leaves.rim_width": 3.5}, "leaves.rim_width", "at least 4 mm", "would take the rim away",
     {"leaves.rim_width": 4}),
    ({**RIM, "leaves.rim_width": 180}, "leaves.rim_width", "at most 177.4", "strips of both edges would meet",
     {"leaves.rim_width": 160, "leaves.finger_hole_inset": 200}),
    ({**RIM, "leaves.rim_width": 30}, "leaves.finger_hole_inset", "at least 43.5 mm", "run into the rim",
     {"leaves.finger_hole_inset": 43.5}),
    ({**RIM, "leaves.rim_height": 0.05}, "leaves.rim_height", "at least 0.1 mm", "0 leaves it out",
     {"leaves.rim_height": 0.1}),
    ({**RIM, "leaves.face": "lower", "leaves.cover_length": 1300}, "leaves.face", "'upper', or leaves that cover all",
     "above the fixed top boards", {"leaves.face": "upper"}),
    ({**PULL, "leaves.pull_depth": 14}, "leaves.pull_depth", "at most 13.7 mm", "must stay under the pull",
     {"leaves.pull_depth": 13.7}),
    ({**PULL, "leaves.pull_length": 4}, "leaves.pull_length", "at least 10 mm", "no finger gets into it",
     {"leaves.pull_length": 0}),
    ({**PULL, "leaves.pull_length": 360}, "leaves.pull_length", "at most 356.9 mm", "run into the eased edges",
     {"leaves.pull_length": 356.9}),
    ({**PULL, "leaves.pull_inset": 40}, "leaves.pull_inset", "at least 48.5 mm", "run into the finger hole",
     {"leaves.pull_inset": 48.5}),
    ({**PULL, "leaves.pull_width": 20, "leaves.pull_inset": 5}, "leaves.pull_inset",
     "at most 1.5 mm, or at least 48.5 mm", "run into the finger hole", {"leaves.pull_inset": 1.5}),
    ({**PULL, **TRAY, "leaves.tray_border": 80}, "leaves.tray_border", "at least 83 mm",
     "the pull would run into the tray recess", {"leaves.tray_border": 83}),
    ({**OPEN_PULL, "leaves.pull_inset": 0.4}, "leaves.pull_inset", "0, or at least 1 mm", "too little wood",
     {"leaves.pull_inset": 1}),
    ({**OPEN_PULL, **RIM}, "leaves.pull_inset", "at least 15 mm", "run into the rim", {"leaves.pull_inset": 15}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "key", "allowed_words", "why", "cure"),
    REFUSALS,
    ids=[f"{case[1]} {case[2]}" for case in REFUSALS],
)
def test_what_a_leaf_cannot_hold_is_refused_in_one_sentence(
    changes: Changes, key: str, allowed_words: str, why: str, cure: Changes
) -> None:
    table = set_values(QUILTING, changes)
    with pytest.raises(ParameterError) as refused:
        build(table)
    error = refused.value
    assert error.key == key
    assert allowed_words in error.allowed
    assert why in error.reason
    assert str(error).startswith(f"{key} = ")
    assert str(error).count(".\n") == 0
    for leaf in build(set_values(table, cure)).with_role("leaf"):
        check_features(leaf.shape, leaf.label)


# -- fingers
# ------------------------------------------------------------------------------------------------------------

BELOW: Changes = {"leaves.finger_hole": 0, "leaves.pull_length": 90, "leaves.face": "lower"}


def findings_of(table: Table) -> list[tuple[str, str]]:
    return [(one.rule, one.leaf) for one in check(table).findings if one.rule != "thin-wood"]


@pytest.mark.parametrize(
    "changes", [BELOW, {**BELOW, "leaves.face": "upper", "leaves.turned_over": True}], ids=["below", "turned"]
)
def test_a_pull_that_is_below_at_home_serves_as_a_finger_hole(changes: Changes) -> None:
    assert findings_of(set_values(QUILTING, changes)) == []


@pytest.mark.parametrize(
    ("changes", "rule", "amount"),
    [
        ({**BELOW, "leaves.face": "upper"}, "finger-hole", 20.0),
        ({**BELOW, "leaves.turned_over": True}, "finger-hole", 20.0),
        ({**BELOW, "leaves.pull_width": 12}, "finger-hole", 8.0),
        # the pull's middle is 19.2 + 40 + 25 / 2 inside the side's outer face
        ({**BELOW, "leaves.pull_inset": 40}, "finger-reach", 19.2 + 52.5 - 60),
        ({**BELOW, "leaves.pull_inset": 40, **RIM}, "finger-reach", 19.2 + 52.5 - 60),
    ],
)
def test_a_pull_that_does_not_serve_is_found_and_its_remedy_helps(
    changes: Changes, rule: str, amount: float
) -> None:
    table = set_values(QUILTING, changes)
    (found,) = [finding for finding in check(table, remedies=True).findings if finding.rule == rule]
    assert [place.leaf for place in found.places] == ["L1", "L2", "L3", "L4"]
    assert [place.amount for place in found.places] == [pytest.approx(amount)] * 4
    assert found.severity == "error"
    assert found.remedies
    for remedy in found.remedies:
        cured = set_values(table, {one.key: one.value for one in remedy.set})
        assert rule not in {left for left, _ in findings_of(cured)}


@pytest.mark.parametrize(
    "other", [{"leaves.tray_depth": 6, "leaves.tray_border": 55}, {**RIM, "leaves.rim_width": 19}]
)
@pytest.mark.parametrize("hole", [{"leaves.finger_hole": 0}, {"leaves.finger_hole": 12}])
def test_remedies_for_the_finger_hole_keep_clear_of_rim_and_tray(other: Changes, hole: Changes) -> None:
    table = set_values(QUILTING, {**other, **hole})
    found = [finding for finding in check(table, remedies=True).findings if finding.rule == "finger-hole"]
    assert found
    remedy = found[0].remedy
    assert remedy is not None
    cured = set_values(table, {one.key: one.value for one in remedy.set})
    assert "finger-hole" not in {rule for rule, _ in findings_of(cured)}
