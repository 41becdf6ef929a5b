"""The channels of laminated legs that do not fit the sides' sheet."""

from __future__ import annotations

from collections.abc import Sequence

from ....check.channels import ChannelOff
from ....check.facts import Fact
from ....sizes.words import codes_in_row
from ...findings import Change, Remedy
from .case import Advice, Case


def channel_off(case: Case, group: Sequence[Fact], cause: ChannelOff) -> Advice:
    """All channels are of one width: too narrow where the sides are thickest, or wider than glue fills."""
    sides = codes_in_row(fact.parts[1] for fact in group)
    sheet = (
        f"{sides} may be {case.words(cause.thin)} to {case.words(cause.thick)} thick, the channels of the legs"
        f" that go over {'them' if len({fact.parts[1] for fact in group}) > 1 else 'it'} are"
        f" {case.words(cause.wide)} wide"
    )
    fits = case.words(cause.thick + case.table.limits.fit_allowance / 2)
    if cause.wide < cause.thick:
        said = f"{sheet}: where the sheet is thickest, {case.words(cause.thick - cause.wide)} are lacking."
    else:
        said = f"{sheet}: glue does not fill {case.words(cause.wide - cause.thin)}."
    return Advice(
        said,
        Remedy(f"Make the channels {fits} wide, as the sheet asks for", (Change("legs.channel", None),)),
        Remedy(
            "Glue the legs up round an offcut of the sheet that the sides are sawn from, in a layer of paper"
        ),
    )
