"""A design's parameters built, checked, and said in its own words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

from ..check import check as engine
from ..check.answer import answers, as_drawn, facts_of_shop
from ..check.cover import cover_of
from ..check.facts import SEVERITIES
from ..check.prepared import Prepared, prepare
from ..check.progress import Steps, run_through, share_of
from ..check.slide import study as on_the_way
from ..check.slide.proof import LeafProof, prove_leaves
from ..check.tolerance.shop import COUNT, Shop, facts_about, in_doubt
from ..wood.assembly import Assembly
from .accepting import parted_as_drawn, parted_of
from .design import Design, Parameters
from .findings import OF_ANSWER, OF_STUDY, Drawn, Finding, Report, SlideReport
from .trying import Trials, tried_steps

P = TypeVar("P", bound="Parameters")


def check(design: Design[P], parameters: P, assembly: Assembly | None = None) -> Report:
    """Slide every leaf home, look for overlaps and gaps, and say what to change: as drawn, and by hand.

    Parameters
    ----------
    assembly : where it has been built already

    Raises
    ------
    ParameterError, AsCutError, PartError : for what cannot be built
    """
    return check_prepared(design, parameters, prepare(assembly or design.build(parameters)))


def check_prepared(
    design: Design[P], parameters: P, prepared: Prepared, proofs: Sequence[LeafProof] | None = None
) -> Report:
    """`check` of parameters whose parts are built and ready: as drawn and by hand; its findings are those as drawn.

    Parameters
    ----------
    proofs : of the leaves, where they are there already
    """
    proofs = prove_leaves(prepared) if proofs is None else proofs
    return with_hand(parameters, check_drawn(design, parameters, prepared), proofs)


def check_drawn(design: Design[P], parameters: P, prepared: Prepared) -> Drawn:
    """What `check_prepared` says as drawn, without the slide proof: it is there in a part of the time."""
    result = engine.check_prepared(prepared)
    findings = design.advise(parameters, prepared.assembly, result.facts)
    parted = parted_as_drawn(parameters, prepared, findings)
    limits = prepared.assembly.limits
    return Drawn(parameters.units, limits, as_drawn(result), result, parted.open, parted.accepted)


def with_hand(parameters: Parameters, drawn: Drawn, proofs: Sequence[LeafProof]) -> Report:
    """The report of what is known as drawn, with what the slide proof of the same leaves says."""
    told = answers(drawn.result, proofs)
    return Report(
        parameters.name, drawn.units, drawn.limits, told, drawn.result.leaves, drawn.findings, drawn.accepted
    )


def answer_steps(
    design: Design[P],
    parameters: P,
    prepared: Prepared,
    *,
    shop: Shop | None = None,
    report: Report | None = None,
    proofs: Sequence[LeafProof] | None = None,
) -> Steps[Report]:
    """The whole answer, step by step: what `check_prepared` finds, and then how it goes in the shop.

    Its findings are those as drawn, a share that is too low, and leaves that need steering.

    Parameters
    ----------
    shop : how many random tables, and what is known of them already; by default a few, and as many as it takes to tell
        whether the share that is asked for is met where these leave a doubt
    report, proofs : what `check_prepared` found, and the proofs of the leaves, where they are there already
    """
    proofs = prove_leaves(prepared) if proofs is None else proofs
    report = check_prepared(design, parameters, prepared, proofs) if report is None else report
    yield 0.1
    found = yield from share_of(
        (shop or Shop()).steps(prepared, report.found), 0.1, 0.5 if shop is None else 1.0
    )
    if shop is None and in_doubt(found, report.limits.share):
        found = yield from share_of(Shop(COUNT).steps(prepared, report.found), 0.5, 1.0)
    told = report.answers.with_shop(found)
    cover = cover_of(prepared.assembly)
    facts = [
        *facts_of_shop(told, report.limits.share, proofs, None if cover is None else cover.middle),
        *on_the_way.note_of_steering(proofs),
    ]
    more = design.advise(parameters, prepared.assembly, facts)
    blocked = told.table.as_drawn.verdict == "blocked"  # of such a table nobody asks how often it works
    parted = parted_of(parameters, prepared, more, () if blocked else OF_ANSWER)
    return replace(
        report,
        answers=told,
        findings=gravest_first((*report.findings, *parted.open)),
        accepted=gravest_first((*report.accepted, *parted.accepted)),
    )


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """In the order in which they are told; those of one severity stay in theirs."""
    return tuple(sorted(findings, key=lambda one: -SEVERITIES.index(one.severity)))


def study(
    design: Design[P],
    parameters: P,
    prepared: Prepared,
    proofs: Sequence[LeafProof] | None = None,
    *,
    remedies: bool = True,
) -> SlideReport:
    """Look into all that is known of leaves on their way.

    Parameters
    ----------
    proofs : of the leaves, where they are there already
    remedies : look for what would make leaves guide themselves, and try what may make findings go away; that builds
        the design many times
    """
    return run_through(study_steps(design, parameters, prepared, proofs, remedies=remedies))


def study_steps(
    design: Design[P],
    parameters: P,
    prepared: Prepared,
    proofs: Sequence[LeafProof] | None = None,
    *,
    remedies: bool = True,
    report: Report | None = None,
) -> Steps[SlideReport]:
    """`study`, step by step.

    Parameters
    ----------
    report : what `check_prepared` found, where it is there already; its remedies are not tried then
    """
    proofs = prove_leaves(prepared) if proofs is None else proofs
    told = check_prepared(design, parameters, prepared, proofs) if report is None else report
    found = yield from share_of(on_the_way.study_steps(prepared, proofs), 0.0, 0.1)
    in_the_way = stopping(told)
    stopped = {place.leaf for finding in in_the_way for place in finding.places}
    # What holds a leaf that something stops as drawn is told with that.
    facts = [one for one in found.facts if one.rule != "leaf-held" or one.leaf not in stopped]
    findings, accepted = parted_of(
        parameters, prepared, design.advise(parameters, prepared.assembly, facts), OF_STUDY
    )
    if remedies:
        trials = Trials(design, parameters, prepared)
        if report is None:
            in_the_way = yield from share_of(tried_steps(trials, in_the_way), 0.1, 0.5)
        findings = yield from share_of(tried_steps(trials, findings), 0.5, 1.0)
    return SlideReport(
        parameters.name,
        parameters.units,
        prepared.assembly.limits,
        told.answers,
        found.leaves,
        found.cover,
        found.matrix,
        in_the_way,
        findings,
        accepted,
    )


def stopping(report: Report) -> tuple[Finding, ...]:
    """Errors of a report that concern leaves which do not go in as drawn, or do not pass by hand."""
    stopped = {
        leaf
        for leaf, told in report.answers.leaves.items()
        if told.as_drawn.verdict == "blocked" or told.by_hand.verdict == "does-not-pass"
    }
    return tuple(one for one in report.errors if any(facts_about(leaf, [one]) for leaf in stopped))
