"""Remedies tried before they are offered: the design is built anew with each, checked, and held against what it was.

    finding --candidates--> build, check --> is it gone, nothing else amiss? --> share, steering --> offered

A remedy holds if its finding is gone in all its places, nothing as grave has come instead or grown, no leaf asks for
more of the hand, no part that was cut already would have to be another, and the share of tables that work is no lower.
Of remedies that differ in a size, the smallest change is sought with which the shares are what the limits ask for, of
tables that work and of those that guide their leaves, not just enough for the table as drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import ceil
from typing import Final, Generic, Literal

from ..check.facts import SEVERITIES
from ..check.prepared import Prepared, prepare
from ..check.progress import Steps, run_through, share_of
from ..check.tolerance.shop import COUNT, FEW, Shop, in_doubt
from ..check.tolerance.statistics import CONFIDENCE, NORMAL, Share
from ..sizes.errors import DryAssemblyError
from ..sizes.tolerances import CONTACT
from ..sizes.units import CALIPER, TAPE, division, rounded
from ..sizes.words import listed
from .design import Design, P
from .findings import Candidate, Change, Finding, Remedy, Report, Sized, in_words
from .looks import OF_THE_SHOP, Look, as_elsewhere, cut_anew, drawn_otherwise, fault_of, hand_kept

MOST_TRIALS: Final = 12
"""Sizes of one remedy that are tried at most."""

MOST_REMEDIES: Final = 3
"""Remedies for one finding that are offered at most; who would read more?"""

ASKED: Final = 50
"""Random tables that are asked whether they guide their leaves while remedies are tried; of one that holds, all are."""

_MORE: Final = 4
"""Sizes beyond the least that are tried where so few tables did not tell enough."""

_MOST_ANEW: Final = 2
"""Parts that a remedy has cut anew besides, at most."""

_REMEMBERED: Final = 40


def remedied(design: Design[P], parameters: P, prepared: Prepared, report: Report) -> Report:
    """A report with remedies that hold, all of them tried."""
    return run_through(remedy_steps(design, parameters, prepared, report))


def remedy_steps(design: Design[P], parameters: P, prepared: Prepared, report: Report) -> Steps[Report]:
    """`remedied`, step by step, several to a trial."""
    findings = yield from tried_steps(Trials(design, parameters, prepared), report.findings)
    return replace(report, findings=findings)


def tried_steps(trials: Trials[P], findings: Sequence[Finding]) -> Steps[tuple[Finding, ...]]:
    """Findings with those of their candidates that hold.

    What would make leaves guide themselves is looked for first, where they have to be steered.
    """
    found = list(findings)
    # Too few tables work for what else is found, as a rule, and then what mends that mends this.
    last = [number for number, one in enumerate(found) if one.rule in OF_THE_SHOP]
    order = [*(number for number in range(len(found)) if number not in last), *last]
    for turn, number in enumerate(order):
        low, high, finding = turn / len(order), (turn + 1) / len(order), found[number]
        middle = low
        if finding.rule == "leaf-steer":
            middle = low + 0.4 * (high - low)
            finding = yield from share_of(trials.looked_for_guides(finding), low, middle)
        first = [one for other in found for one in other.remedies if one.set] if number in last else []
        remedies = yield from share_of(trials.remedies(finding, first), middle, high)
        found[number] = replace(finding, remedies=remedies)
    for number, finding in enumerate(found):
        if finding.candidates and not any(one.set for one in finding.remedies):
            others = [one for other in found for one in other.remedies if one.set]
            mended = yield from share_of(trials.remedies(replace(finding, candidates=()), others), 1.0, 1.0)
            if not any(one.set for one in mended):
                anew = yield from share_of(trials.with_parts_anew(finding), 1.0, 1.0)
                mended = anew or mended
            # Where words are all there is, they are no makeshift; of a note they come first, which asks for no change.
            own = finding.remedies if in_words(finding.candidates) == finding.candidates else ()
            ways = (*own, *mended) if finding.severity == "note" else (*mended, *own)
            found[number] = replace(finding, remedies=tuple(dict.fromkeys(ways)) or finding.remedies)
    return tuple(found)


def tables_to_tell(wanted: float) -> int:
    """Random tables that, all of them working, leave no doubt that the share is as wanted: n / (n + z²) > wanted.

    Wilson's lower bound of n out of n, see `statistics.wilson`.
    """
    z = NORMAL.inv_cdf((1 + CONFIDENCE) / 2)
    return min(ceil(1.05 * z * z * wanted / (1 - wanted)), COUNT)


Verdict = Literal["refused", "there", "harmful", "less", "good"]
"""Of what was tried: it cannot be built; the finding is still there; something else is worse; fewer tables work, or too
few are told of that were not; it holds."""


class Trials(Generic[P]):
    """A design's parameters as they are, and what comes of them with changes."""

    def __init__(self, design: Design[P], parameters: P, prepared: Prepared) -> None:
        self.design, self.parameters = design, parameters
        self._limits = prepared.assembly.limits
        self._shop = Shop(tables_to_tell(self._limits.share), guided=ASKED)
        self._told, self._many = self._shop.asking(FEW), Shop(COUNT)
        self.now, self._as_told = Look(prepared, self._shop), Look(prepared, self._told)
        self._looks: dict[tuple[Change, ...], Look | None] = {}

    def looked_for_guides(self, finding: Finding) -> Steps[Finding]:
        """A finding about steering with what was found to make its leaves guide themselves among its candidates."""
        options = yield from self.design.option_steps(self.parameters, self.now.proofs)
        (found,) = self.design.advise(self.parameters, self.now.prepared.assembly, [finding], options)
        return found

    def remedies(self, finding: Finding, first: Sequence[Remedy] = ()) -> Steps[tuple[Remedy, ...]]:
        """Those of a finding's candidates that hold; else those in words alone.

        Parameters
        ----------
        first : remedies of other findings; where one of them mends this one too, no others are looked for
        """
        own = [one for one in finding.candidates if isinstance(one, Sized) or one.set]
        candidates: list[Candidate] = [*first, *own]
        found: list[Remedy] = []
        for number, candidate in enumerate(candidates):
            if len(found) == MOST_REMEDIES or (found and len(first) == number):
                break
            steps = self._try(finding, candidate)
            remedy = yield from share_of(steps, number / len(candidates), (number + 1) / len(candidates))
            if remedy is not None and all(remedy.set != other.set for other in found):
                found.append(remedy)
        return tuple(found) or finding.remedies or in_words(finding.candidates)

    def with_parts_anew(self, finding: Finding) -> Steps[tuple[Remedy, ...]]:
        """The first of a finding's candidates that holds if parts are cut anew for it that were cut already."""
        for candidate in finding.candidates:
            anew = self._anew(candidate)
            remedy = None if anew is None else (yield from self._try(finding, anew))
            if remedy is not None:
                return (remedy,)
        return ()

    def _anew(self, candidate: Candidate) -> Candidate | None:
        """A candidate, and parts cut anew that it draws otherwise; None where it draws none so, or too many."""
        first = candidate.of(candidate.need) if isinstance(candidate, Sized) else candidate
        look = self._look(first.set) if first.set else None
        labels = sorted(() if look is None else drawn_otherwise(self.now, look))
        entries = [
            (number, one)
            for number, one in enumerate(self.now.prepared.assembly.as_cut)
            if one.part in labels
        ]
        if not 0 < len(labels) <= _MOST_ANEW or any(one.deviation is None for _, one in entries):
            return None
        reset = tuple(Change(f"as_cut[{number}].deviation", 0.0) for number, _ in entries)

        def anew(remedy: Remedy) -> Remedy:
            return Remedy(f"{remedy.text}, and cut {listed(labels)} anew", (*remedy.set, *reset))

        if not isinstance(candidate, Sized):
            return anew(candidate)
        return Sized(lambda mm: anew(candidate.of(mm)), candidate.need, candidate.most)

    def _try(self, finding: Finding, candidate: Candidate) -> Steps[Remedy | None]:
        """The remedy that holds of a candidate; None where none does."""
        if isinstance(candidate, Sized):
            return (yield from _Search(self, finding, candidate).steps())
        verdict, look = yield from share_of(self.tried(finding, candidate.set), 0.0, 0.6)
        if verdict != "good" or look is None:
            return None
        surely = yield from share_of(self.surely(finding, look), 0.6, 1.0)
        return self.offered(candidate, look) if surely else None

    def surely(self, finding: Finding, look: Look) -> Steps[bool]:
        """Whether what holds still holds by the tables by which a whole answer tells, all of them asked by hand."""
        before, after = self._as_told, Look(look.prepared, self._told)
        yield from share_of(before.shop_steps(), 0.0, 0.4)
        yield from share_of(after.shop_steps(), 0.4, 1.0)
        if not hand_kept(before, after, self._limits.share) or _tells_more(before, after):
            return False
        if finding.rule in OF_THE_SHOP and in_doubt(after.in_shop, self._limits.share):
            after = Look(look.prepared, self._many)
            yield from share_of(after.shop_steps(), 1.0, 1.0)
        return finding.rule not in OF_THE_SHOP or self._is_gone(finding, after)

    def offered(self, remedy: Remedy, look: Look) -> Remedy:
        """A remedy that holds, with what it leads to and costs."""
        cost = self.design.cost(self.parameters, self.design.changed(self.parameters, remedy.set))
        return replace(remedy, share_after=look.shares[""].value, cost=cost)

    # -- whether a remedy holds
    # --------------------------------------------------------------------------------------------------------

    def tried(self, finding: Finding, changes: Sequence[Change]) -> Steps[tuple[Verdict, Look | None]]:
        """What comes of changes, asked no further than it takes to refuse them."""
        look = self._look(changes)
        yield 0.2
        if look is None:
            return "refused", None
        look.result  # noqa: B018
        yield 0.3
        if finding.rule not in OF_THE_SHOP and not self._is_gone(finding, look):
            return "there", look
        if self._does_harm(finding, look) or drawn_otherwise(self.now, look) - cut_anew(self.now, changes):
            return "harmful", look
        yield from share_of(self.now.shop_steps(), 0.3, 0.5)
        yield from share_of(look.shop_steps(), 0.5, 0.9)
        look.proofs  # noqa: B018
        yield 1.0
        if finding.rule in OF_THE_SHOP and not self._is_gone(finding, look):
            return "there", look
        if not hand_kept(self.now, look, self._limits.share):
            return "harmful", look
        # By the same random numbers.
        if look.shares[""].count < self.now.shares[""].count or _tells_more(self.now, look):
            return "less", look
        return "good", look

    def _look(self, changes: Sequence[Change]) -> Look | None:
        """What comes of changes; None where it cannot be built."""
        key = tuple(changes)
        if key not in self._looks:
            if len(self._looks) >= _REMEMBERED:
                del self._looks[next(iter(self._looks))]
            try:
                changed = self.design.changed(self.parameters, changes)
                self._looks[key] = Look(prepare(self.design.build(changed)), self._shop)
            except DryAssemblyError:
                self._looks[key] = None
        return self._looks[key]

    def _is_gone(self, finding: Finding, look: Look) -> bool:
        """Whether nothing is left of a finding in any of its places; of steering, for one of its leaves at least."""
        if finding.rule == "leaf-steer":
            return look.steered < self.now.steered
        own = [fault_of(place.rule or finding.rule, place) for place in finding.places]
        if own[0] in self.now.faults:
            left = [look.faults[fault] for fault in own if fault in look.faults]
            return all(as_elsewhere(self.now, degree, finding, own) for degree in left)
        # Few have to ask for more, which takes longer.
        found = look.told if finding.rule in OF_THE_SHOP else look.studied
        return not any(fault in found for fault in own)

    def _does_harm(self, finding: Finding, look: Look) -> bool:
        """Whether anything as grave came instead or has grown."""
        grave = min(SEVERITIES.index(finding.severity), SEVERITIES.index("warning"))
        return any(
            degree.rank >= grave and degree.worse_than(self.now.faults.get(fault))
            for fault, degree in look.faults.items()
        )

    # -- how well it holds
    # --------------------------------------------------------------------------------------------------------

    def aim(self, finding: Finding, look: Look) -> Share:
        """The share that is to reach what the limits ask for: of tables that work, or, if more, of those that let in
        the leaves that a finding is about; what else is amiss tells on the first alone."""
        leaves = self._concerned(finding, look)
        own = [min((look.shares[leaf] for leaf in leaves), key=lambda one: one.low)] if leaves else []
        return max((look.shares[""], *own), key=lambda one: one.low)

    def guided(self, finding: Finding, look: Look) -> tuple[int, float]:
        """How many of the leaves that a finding is about guide themselves, and in what share of tables the worst."""
        hands = [look.hands[leaf] for leaf in self._led(finding, look)]
        shares = [one.guides.value for one in hands if one.guides is not None]
        return sum(one.verdict == "guides-itself" for one in hands), min(shares, default=1.0)

    def reaches(self, finding: Finding, look: Look) -> bool:
        """Whether the shares are surely what the limits ask for, and by hand as drawn too."""
        number, share = self.guided(finding, look)
        by_hand = number == len(self._led(finding, look)) and share >= self._limits.share
        return by_hand and self.aim(finding, look).low >= self._limits.share

    def _concerned(self, finding: Finding, look: Look) -> set[str]:
        return {place.leaf for place in finding.places} & set(look.shares) - {""}

    def _led(self, finding: Finding, look: Look) -> set[str]:
        """Those leaves of a finding that are to guide themselves with a remedy: of other findings than of steering, not
        those that have to be steered as it is."""
        leaves = self._concerned(finding, look)
        if finding.rule == "leaf-steer":
            return leaves
        steered = {proof.leaf for proof in self.now.proofs if proof.verdict == "needs-steering"}
        return leaves - steered


def _tells_more(before: Look, after: Look) -> bool:
    """Whether an answer has a warning that it had not; of a table that is blocked nothing could be told."""
    if before.whole.as_drawn.verdict == "blocked":
        return False
    return not set(after.told) <= set(before.told)


class _Search(Generic[P]):
    """The smallest change of one size that holds: by doubled steps, then by halves."""

    def __init__(self, trials: Trials[P], finding: Finding, sized: Sized) -> None:
        self.trials, self.finding, self.sized = trials, finding, sized
        self._good: dict[int, tuple[Remedy, Look]] = {}
        """Sizes that hold, by their number."""
        self._last: tuple[float, int, float] = (-1.0, 0, 0.0)
        self._stuck = False

    def steps(self) -> Steps[Remedy | None]:
        """Whatever holds; the least of it with which the shares are what they should be, or as good as they get."""
        limits = self.trials.now.prepared.assembly.limits
        units = self.trials.parameters.units
        for reading in (division(limits.rule_division), TAPE, CALIPER):
            step = float(reading.step(units)) * (25.4 if units == "in" else 1.0)
            up = self.sized.most >= self.sized.need
            first = rounded(self.sized.need, units, reading, "up" if up else "down")
            room = (self.sized.most - first) * (1 if up else -1)
            if room < -CONTACT:
                continue
            sign = step if up else -step
            found = yield from self._among(
                lambda number: rounded(first + number * sign, units, reading, "nearest"),  # noqa: B023
                int((room + CONTACT) / step),
            )
            return found
        return None

    def _among(self, size: Callable[[int], float], last: int) -> Steps[Remedy | None]:
        low, high, best, number = -1, last + 1, None, 0
        for trial in range(MOST_TRIALS):
            own = self._judged(number, size(number))
            verdict = yield from share_of(
                own, trial / (MOST_TRIALS + _MORE), (trial + 1) / (MOST_TRIALS + _MORE)
            )
            if verdict == "enough":
                best = high = number
            elif verdict == "too much":
                high = number
            else:
                low = number
            if high - low <= 1 or (best is None and self._stuck):
                break
            doubled = min(2 * number + 1, last) if high == last + 1 else (low + high) // 2
            number = doubled if doubled > low else (low + high) // 2
        if best is None:
            best = self._best_of_the_rest()
        return None if best is None else (yield from self._made_sure(best, size, last))

    def _made_sure(self, best: int, size: Callable[[int], float], last: int) -> Steps[Remedy | None]:
        """The least size from the best on that holds by all the tables by which a whole answer tells."""
        for more in range(_MORE):
            start = (MOST_TRIALS + more) / (MOST_TRIALS + _MORE)
            if best + more > last:
                return None
            if best + more not in self._good:
                yield from share_of(self._judged(best + more, size(best + more)), start, start)
            if best + more in self._good:
                remedy, look = self._good[best + more]
                if (yield from share_of(self.trials.surely(self.finding, look), start, start)):
                    return self.trials.offered(remedy, look)
        return None

    def _judged(self, number: int, size: float) -> Steps[Literal["too little", "enough", "too much"]]:
        remedy = self.sized.of(size)
        verdict, look = yield from self.trials.tried(self.finding, remedy.set)
        self._stuck = False
        if verdict in ("refused", "harmful") or look is None:
            return "too much"
        if verdict == "there" and self.finding.rule not in OF_THE_SHOP:
            return "too little"
        if verdict == "good":
            self._good[number] = remedy, look
            if self.trials.reaches(self.finding, look):
                return "enough"
        score = self._score(look)
        self._stuck = score <= self._last
        self._last = score
        return "too little"

    def _score(self, look: Look) -> tuple[float, int, float]:
        """How well it goes in the shop, then by hand."""
        return self.trials.aim(self.finding, look).value, *self.trials.guided(self.finding, look)

    def _best_of_the_rest(self) -> int | None:
        """Where no size reaches what is asked for: the least with the best shares."""

        def rank(number: int) -> tuple[float, int, float, int]:
            look = self._good[number][1]
            return look.shares[""].count, *self.trials.guided(self.finding, look), -number

        return max(self._good, key=rank, default=None)
