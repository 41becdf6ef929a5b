"""Parts that came out otherwise than drawn: what stands proud, open, loose or free, and what to do about it."""

from __future__ import annotations

from ....check.as_built.moves import CutOtherwise, Effect, Missing
from ....sizes.tolerances import CONTACT
from ....sizes.words import capital, listed, plural
from ....wood.dimensions import PLACE, AsCut
from ....wood.roles import LEG
from ....wood.seating import as_drawn
from ...findings import Remedy
from .by_hand import edge_words, new_part
from .case import Advice, Case


def cut_otherwise(case: Case, cause: CutOtherwise) -> Advice:
    """All that one part leaves behind, in one sentence."""
    clauses = [*_seated(case, cause.part), *(_clause(case, group) for group in _groups(cause.effects))]
    return Advice(capital("; ".join(clauses)) + ".", *_remedies(case, cause))


def missing(case: Case, cause: Missing) -> Advice:
    """A part that is not there."""
    part = next(part for part in case.assembly.missing if part.label == cause.part)
    free = [
        *cause.frees[:_NAMED],
        *([f"{len(cause.frees) - _NAMED} others"] if len(cause.frees) > _NAMED else []),
    ]
    held = f": it held {listed(free)}" if cause.frees else ""
    index = next(i for i, entry in enumerate(case.table.as_cut) if entry.part == cause.part and entry.missing)
    reset = case.reset(index, case.table.as_cut[index])
    said = f"Put {part.label} in"
    return Advice(f"{part.label} ({part.name}) is missing{held}.", Remedy(said, reset), Remedy(said))


def _seated(case: Case, label: str) -> list[str]:
    """Where a part's slots or windows have gone because it is seated by a face that is not where it was drawn."""
    part = case.assembly.by_label[label]
    if any(entry.part == label and entry.dimension in PLACE for entry in case.table.as_cut):
        return []
    drawn = as_drawn(part)
    off = [
        float(part.placement.origin[2] - drawn.placement.origin[2]) + now.v0 - before.v0
        for now, before in zip(part.shape.openings, drawn.shape.openings, strict=True)
    ]
    seats = {"edge": "glued by its upper edge", "groove": "put on the bottom panel by its groove"}
    if part.role.height not in seats or not off or max(map(abs, off)) <= CONTACT:
        return []
    worst = max(off, key=abs)
    cuts = plural(part.shape.openings[0].kind) if len(off) > 1 else part.shape.openings[0].kind
    way = "higher" if worst > 0 else "lower"
    lacks = " (with its edges flush, the panel does not go in)" if part.role.height == "groove" else ""
    return [
        f"{seats[part.role.height]}, {label} has its {cuts} {case.words(abs(worst))} {way} than drawn{lacks}"
    ]


def _groups(effects: tuple[Effect, ...]) -> list[list[Effect]]:
    """Effects of one kind, face and amount together, as many as read well in a sentence."""
    found: dict[tuple[object, ...], list[Effect]] = {}
    for one in effects:
        found.setdefault(
            (one.kind, one.face, round(one.amount, 2), one.between[0] == one.parts[0]), []
        ).append(one)
    return list(found.values())[:_CLAUSES]


_CLAUSES, _NAMED = 3, 6
"""A sentence with more clauses, or labels in one, is read by nobody."""


def _clause(case: Case, group: list[Effect]) -> str:
    first = group[0]
    amount = case.words(first.amount)
    here, there = (listed(list(dict.fromkeys(one.between[k] for one in group))) for k in (0, 1))
    several, grooves = (len({one.between[k] for one in group}) > 1 for k in (0, 1))
    in_groove = f"the groove{'s' if grooves else ''} of {there}"
    match first.kind:
        case "proud" | "low":
            return _flush(case, first, amount, there)
        case "open":
            return f"{here} and {there} do not meet: {amount} stay open"
        case "loose":
            return f"{here} is loose in {in_groove}: {amount} of play"
        case "thin bearing" | "falls out":
            groove = not case.assembly.by_label[first.between[1]].role.carries_cover
            return _bearing(case, first, here, in_groove if groove else there, several, groove)
        case "rocks":
            return f"the table rocks by {amount}: {first.parts[0]} is the foot that is off"
        case "cover proud":
            return f"{here} {'stand' if several else 'stands'} {amount} proud of {there} in the cover"
        case "cover low":
            return f"{here} {'lie' if several else 'lies'} {amount} below the edge of {there} in the cover"
        case "cover gap":
            return f"the cover has {amount} more room at {here} than drawn"
        case "cover full":
            return f"the leaves do not lie down in the cover: it lacks {amount} of room at {here}"


def _flush(case: Case, one: Effect, amount: str, there: str) -> str:
    """An end or edge that is not flush with what it meets."""
    label, out = one.parts[0], one.kind == "proud"
    if one.face in ("start", "end") and case.assembly.by_label[label].role == LEG:
        way = f"reaches {amount} below" if out else f"ends {amount} above"
        return f"the foot of {label} {way} that of {there}"
    if one.face in ("start", "end"):
        way = f"stands {amount} past" if out else f"ends {amount} short of"
        return f"{label} {way} {there} at its {one.face}"
    way = f"stands {amount} past" if out else f"lies {amount} back from"
    return f"the {one.face} of {label} {way} that of {there}"


def _bearing(case: Case, one: Effect, here: str, where: str, several: bool, groove: bool) -> str:
    if one.kind == "falls out":
        return f"{here} can {'fall out of' if groove else 'slip off'} {where}"
    verb = ("reach" if several else "reaches") if groove else ("lie" if several else "lies")
    left = f"{case.words(one.left)} {'into' if groove else 'on'} {where}"
    return f"{here} {verb} only {left} when pushed to the other side"


# -- remedies
# ------------------------------------------------------------------------------------------------------------


def _remedies(case: Case, cause: CutOtherwise) -> list[Remedy]:
    """What to do to the part: take wood away, put wood on or cut it anew, by what was measured of it."""
    entries = [
        (i, entry)
        for i, entry in enumerate(case.table.as_cut)
        if entry.part == cause.part and case.deviates(entry)
    ]
    if not entries and any(one.kind == "rocks" for one in cause.effects):
        # The foot that hangs free need not be the one that was cut otherwise.
        legs = {part.label for part in case.assembly.with_role(LEG.word)}
        entries = [
            (number, entry)
            for number, entry in enumerate(case.table.as_cut)
            if entry.part in legs and entry.dimension == "length" and case.deviates(entry)
        ]
    if not entries:
        return []
    ways = [_by_hand(case, cause, entry) for _, entry in entries]
    by_hand = ", and ".join(ways)
    if not all(ways):
        said = f"cut {new_part(case, cause.part)}"
    elif any(_lacks_wood(case, entry) for _, entry in entries):
        said = f"cut {new_part(case, cause.part)}, or {by_hand}"
    else:
        said = by_hand
    done = tuple(change for i, entry in entries for change in case.reset(i, entry))
    return [Remedy(capital(said), done), Remedy(capital(said))]


def _lacks_wood(case: Case, entry: AsCut) -> bool:
    """Whether only a new part has what lacks in one piece; a foot is packed."""
    foot = entry.dimension == "length" and case.assembly.by_label[entry.part].role == LEG
    return entry.dimension in ("length", "width") and case.deviation(entry) < 0 and not foot


def _by_hand(case: Case, cause: CutOtherwise, entry: AsCut) -> str:
    """What makes the part that was cut as good as drawn there; "" where only a new one does."""
    label, by = entry.part, case.deviation(entry)
    amount, more = case.words(abs(by)), by > 0
    if entry.dimension in PLACE:
        if entry.dimension == "place_up":
            return f"set {label} {amount} {'lower' if more else 'higher'}, before the glue holds"
        way = "along" if entry.dimension == "place_along" else "across"
        return f"set {label} {amount} back {way} its length, before the glue holds"
    if entry.dimension.startswith("groove"):
        return f"fill the groove of {label} with a glued strip and cut it where it was drawn"
    if entry.dimension not in ("length", "width"):
        return ""
    where, along = _where(case, cause, entry), entry.dimension == "length"
    if more:
        return f"{'cut' if along else 'plane'} {amount} off {where}"
    if case.assembly.by_label[label].role == LEG and along:
        return f"put a pad {amount} thick under {where}"
    return f"glue a {f'block {amount} thick' if along else f'strip {amount} wide'} onto {where}"


def _where(case: Case, cause: CutOtherwise, entry: AsCut) -> str:
    """The end or edge at which the difference stands out: ``the upper edge of R3``."""
    part = case.assembly.by_label[entry.part]
    at_start = entry.end == "start"
    if part.role.slides:
        return edge_words(case, entry.part, entry.dimension, entry.end or "end")
    if part.role == LEG and entry.dimension == "length":
        return f"the foot of {part.label}"
    if entry.dimension == "length":
        backwards = float(part.placement.axes[0].sum()) < 0
        return f"the {'start' if at_start != backwards else 'end'} of {part.label}"
    if abs(part.placement.axes[2][2]) > 0.5:
        return f"an edge of {part.label}"  # of a board that lies flat, none is the upper one
    edges = {one.face for one in cause.effects if one.face in ("lower edge", "upper edge")}
    if len(edges) == 1 and part.role.height != "edge":
        return f"the {edges.pop()} of {part.label}"
    return f"the {'lower' if at_start else 'upper'} edge of {part.label}"
