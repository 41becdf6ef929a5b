"""Findings that their maker accepts, told apart from those that are open.

    [[accepted]]        A finding is accepted where its file says so of each of its places:
    rule                of a kind with what is found there,
    parts               between the same parts,
    severity, amount    no graver, and not by clearly more.
    reason

Facts stay facts: what blocks a table blocks it, accepted or not. What is accepted is only asked of nobody again, until
it has become worse or has come up at another place too. An entry that meets nothing is a note.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from typing import Final, NamedTuple

from ..check.causes import Cause
from ..check.facts import OF_WHAT_IS_LEFT, SEVERITIES, Place, Rule
from ..check.prepared import Prepared
from ..sizes.units import Units, format_amount
from ..sizes.words import listed
from .acceptance import BETWEEN_PLACES, Accepted
from .design import Parameters
from .findings import OF_ANSWER, OF_STUDY, RULE_WORDS, Change, Finding, Remedy, places_text
from .looks import fault_of

LEAST_MORE: Final = 0.1
PART_MORE: Final = 0.1
"""A finding is clearly worse than accepted by more than so many mm, and by more than such a part of its amount."""

_ORIGIN: Final = (0.0, 0.0, 0.0)


class MeetsNothing(Cause):
    """An accepted finding is found no more."""


class Parted(NamedTuple):
    """Findings, those that are open apart from those that are accepted."""

    open: tuple[Finding, ...]
    accepted: tuple[Finding, ...]


Known = tuple[str, frozenset[str]]
"""By what a place is known again: the kind of what is amiss there, and the parts."""


Places = Sequence[tuple[str, ...]]
"""Labels of the parts concerned, place by place, the gravest first."""


def accepting(
    entries: Sequence[Accepted], rule: str, severity: str, places: Places, amount: float, reason: str
) -> dict[str, object]:
    """Changes to a file by key that accept a finding as it is; what it says of the same finding already goes.

    Parameters
    ----------
    entries : that the file has
    amount : of the finding, mm
    """
    values = {
        "rule": rule,
        "parts": BETWEEN_PLACES.join(dict.fromkeys(", ".join(labels) for labels in places)),
        "reason": reason,
        "severity": severity,
        "amount": round(amount, 2),
    }
    key = f"accepted[{len(entries)}]"
    return {**{f"{key}.{name}": value for name, value in values.items()}, **opening(entries, rule, places)}


def opening(entries: Sequence[Accepted], rule: str, places: Places) -> dict[str, object]:
    """Changes by key that make a finding open again."""
    own = {_fault(rule, labels) for labels in places}
    return {f"accepted[{n}]": None for n, one in enumerate(entries) if _known_in(one) & own}


def parted_as_drawn(parameters: Parameters, prepared: Prepared, findings: Iterable[Finding]) -> Parted:
    """What a check finds, with a note for each entry about it that meets nothing."""
    other = OF_ANSWER | OF_STUDY
    entries = {n: one for n, one in enumerate(parameters.accepted) if one.rule not in other}
    return _parted(parameters, prepared, findings, entries)


def parted_of(
    parameters: Parameters, prepared: Prepared, findings: Iterable[Finding], rules: Collection[Rule]
) -> Parted:
    """What else is found out of an assembly, by some rules."""
    entries = {n: one for n, one in enumerate(parameters.accepted) if one.rule in rules}
    return _parted(parameters, prepared, findings, entries)


def _parted(
    parameters: Parameters, prepared: Prepared, findings: Iterable[Finding], entries: dict[int, Accepted]
) -> Parted:
    found = tuple(findings)
    if not parameters.accepted:
        return Parted(found, ())
    judged = [_judged(parameters, one) for one in found]
    told = [
        _meets_nothing(number, entry, found, prepared)
        for number, entry in entries.items()
        if not any(_known_in(entry) & _known_of(one) for one in found)
    ]
    return Parted(
        (*(one for one in judged if not one.reason), *told), tuple(one for one in judged if one.reason)
    )


def _known_of(finding: Finding) -> set[Known]:
    return {_known(finding, place) for place in finding.places}


def _known(finding: Finding, place: Place) -> Known:
    return fault_of(place.rule or finding.rule, place)[:2]


def _known_in(entry: Accepted) -> set[Known]:
    return {_fault(entry.rule, labels) for labels in entry.places}


def _fault(rule: str, labels: tuple[str, ...]) -> Known:
    known: Rule = rule  # type: ignore[assignment]  # the file's reader takes no other
    return fault_of(known, Place(labels, _ORIGIN, 0.0))[:2]


def _judged(parameters: Parameters, finding: Finding) -> Finding:
    """A finding as accepted, or open with what is known of its acceptance."""
    entries = [(one, _known_in(one)) for one in parameters.accepted]
    used: list[Accepted] = []
    new: list[Place] = []
    worse: list[tuple[Place, Accepted]] = []
    for place in finding.places:
        own = [one for one, known in entries if _known(finding, place) in known]
        fitting = [one for one in own if not _is_worse(finding, place, one)]
        used += fitting[:1]
        if not own:
            new.append(place)
        elif not fitting:
            worse.append((place, own[0]))
    if not (used or worse):
        return finding
    if worse:
        place, entry = worse[0]
        graver = place.rule not in (None, entry.rule) or finding.rule != entry.rule
        was = "" if entry.amount is None else f" at {format_amount(entry.amount, parameters.units)}"
        how = "something else" if graver else "worse"
        told = f"It was accepted{was} (“{entry.reason}”), but is {how} now, and so it is open again."
        return replace(finding, message=f"{finding.message} {told}")
    if new:
        where, reasons = places_text(new), _reasons(used)
        told = f"It is accepted elsewhere (“{reasons}”), but new at {where}, and so it is open again."
        return replace(finding, message=f"{finding.message} {told}")
    return replace(finding, reason=_reasons(used), accepted_at=used[0].amount)


def _reasons(entries: Iterable[Accepted]) -> str:
    return "; ".join(dict.fromkeys(one.reason for one in entries))


def _is_worse(finding: Finding, place: Place, entry: Accepted) -> bool:
    """Whether a place of a finding is clearly worse than an entry accepts."""
    if entry.severity is not None:
        was, now = SEVERITIES.index(entry.severity), SEVERITIES.index(finding.severity)
        if was != now:
            return now > was
    if entry.amount is None:
        return False
    rule = place.rule or finding.rule
    more = entry.amount - place.amount if rule in OF_WHAT_IS_LEFT else place.amount - entry.amount
    return more > max(LEAST_MORE, PART_MORE * abs(entry.amount))


def _meets_nothing(
    number: int, entry: Accepted, found: Sequence[Finding], prepared: Prepared
) -> Finding:  # fmt: skip
    """A note: what was accepted is found no more."""
    labels = tuple(dict.fromkeys(label for place in entry.places for label in place))
    there = next((label for label in labels if label in prepared.number), None)
    at = _ORIGIN
    if there is not None:
        low, high = prepared.bounds(there)
        middle = (low + high) / 2
        at = float(middle[0]), float(middle[1]), float(middle[2])
    same = [
        "; ".join(", ".join(place.parts) for place in one.places) for one in found if one.rule == entry.rule
    ]
    near = difflib.get_close_matches(entry.parts, same, 1, 0.0)
    where = f" It is found with parts = “{near[0]}”, which is not accepted." if near else ""
    message = (
        f"{entry.rule} at {listed(labels)} is accepted (“{entry.reason}”), but is found no more.{where}"
    )  # fmt: skip
    remedy = Remedy("Take its entry out of the file", (Change(f"accepted[{number}]", None),))
    return Finding(
        "accepted-gone", "note", labels or ("",), at, 0.0, MeetsNothing(), message=message, remedies=(remedy,)
    )


def accepted_words(finding: Finding, units: Units) -> str:
    """In one sentence: ``Accepted: thin wood, 5.2 mm, R3 (glued to the ledger).``"""
    amount = "" if finding.accepted_at is None else f", {format_amount(finding.accepted_at, units)}"
    blocks = "; it blocks the table all the same" if finding.severity == "error" else ""
    where = places_text(finding.places)
    return f"Accepted: {RULE_WORDS[finding.rule]}{amount}, {where} ({finding.reason}){blocks}."
