"""Channels of laminated legs against the sides' sheet at both ends of its tolerance, and what helps, in files."""

from __future__ import annotations

import pytest

from addon.designs.findings import Finding
from addon.files.editing import update_text
from addon.files.examples import EXAMPLES
from planted import broken, report_of

pytestmark = pytest.mark.once

LAMINATED = update_text(EXAMPLES["quilting"].text(), {"legs.kind": "laminated"})
CORNERS = 8
"""Two channels, along either side, in each of four corners."""


def findings(**values: object) -> list[Finding]:
    changes = {f"legs.{name}": value for name, value in values.items()}
    return list(report_of(update_text(LAMINATED, changes), remedies=False).findings)


@pytest.mark.parametrize(
    ("channel", "rule", "amount"),
    [
        (17.7, "channel-tight", 0.3),
        (17.99, "channel-tight", 0.01),
        (18.0, "", 0.0),
        (18.2, "", 0.0),
        (18.25, "channel-loose", 0.25),
    ],
)
def test_a_channel_takes_the_side_at_either_end_of_its_tolerance(
    channel: float, rule: str, amount: float
) -> None:
    """The sheet is 17.7 in the mean and varies by 0.6: 18.0 at its thickest; the shop's fit allowance is 0.2 more."""
    found = findings(channel=channel)
    assert [one.rule for one in found] == ([rule] if rule else [])
    for one in found:
        assert one.amount == pytest.approx(amount)
        assert len(one.places) == CORNERS
        assert {label for place in one.places for label in place.parts if label[0] == "S"} == {
            "S1",
            "S2",
            "S3",
            "S4",
        }


def test_the_width_that_is_proposed_takes_every_side() -> None:
    assert findings() == []
    assert [one.rule for one in report_of(EXAMPLES["seed-bench"].text(), remedies=False).findings] == []


@pytest.mark.parametrize("channel", [17.7, 18.6])
def test_leaving_the_width_to_the_sheet_mends_it_in_the_file(channel: float) -> None:
    text = update_text(LAMINATED, {"legs.channel": channel})
    report = report_of(text, remedies=True)
    (found,) = report.findings
    assert found.remedies[0].text == "Make the channels 18.1 mm wide, as the sheet asks for"
    assert [(change.key, change.value) for change in found.remedies[0].set] == [("legs.channel", None)]
    assert list(broken(text, report)) == []


def test_a_narrow_channel_and_a_long_rib_are_two_findings() -> None:
    text = update_text(
        LAMINATED,
        {
            "legs.channel": 17.7,
            "as_cut[0].part": "R1",
            "as_cut[0].dimension": "length",
            "as_cut[0].deviation": 4.0,
        },
    )
    rules = {one.rule for one in report_of(text, remedies=False).findings}
    assert "channel-tight" in rules
    assert rules & {"long-rib", "long-part", "leaf-blocked"}


def test_no_other_kind_of_leg_has_a_channel() -> None:
    for kind in ("corner", "bolted", "plain"):
        assert [one for one in findings(kind=kind, channel=17.0) if "channel" in one.rule] == []
