"""A design's parameters built, checked, and said in its own words."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from ..check import check as engine
from ..check.prepared import prepare
from ..check.progress import run_through, share_of
from ..check.slide import study as on_the_way
from ..check.slide.proof import prove_leaves
from .findings import Report, SlideReport

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..check.prepared import Prepared
    from ..check.progress import Steps
    from ..check.slide.proof import LeafProof
    from ..wood.assembly import Assembly
    from .design import Design, Parameters

P = TypeVar("P", bound="Parameters")


def check(design: Design[P], parameters: P, assembly: Assembly | None = None) -> Report:
    """Slide every leaf home, look for overlaps and gaps, and say what to change.

    Parameters
    ----------
    assembly : where it has been built already

    Raises
    ------
    ParameterError, AsCutError, PartError : for what cannot be built
    """
    return check_prepared(design, parameters, prepare(assembly or design.build(parameters)))


def check_prepared(design: Design[P], parameters: P, prepared: Prepared) -> Report:
    """`check` of parameters whose parts are built and ready."""
    result = engine.check_prepared(prepared)
    findings = design.advise(parameters, prepared.assembly, result.facts)
    return Report(parameters.name, parameters.units, result.verdict, result.leaves, tuple(findings))


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
    remedies : look for what would make leaves guide themselves; that builds the design several times
    """
    return run_through(study_steps(design, parameters, prepared, proofs, remedies=remedies))


def study_steps(
    design: Design[P],
    parameters: P,
    prepared: Prepared,
    proofs: Sequence[LeafProof] | None = None,
    *,
    remedies: bool = True,
) -> Steps[SlideReport]:
    """`study`, step by step."""
    proofs = prove_leaves(prepared) if proofs is None else proofs
    found = yield from share_of(on_the_way.study_steps(prepared, proofs), 0.0, 0.1)
    options = None
    if remedies:
        options = yield from share_of(design.option_steps(parameters, proofs), 0.1, 1.0)
    findings = design.advise(parameters, prepared.assembly, found.facts, options)
    return SlideReport(
        parameters.name,
        parameters.units,
        prepared.assembly.limits,
        found.leaves,
        found.cover,
        found.matrix,
        tuple(findings),
    )
