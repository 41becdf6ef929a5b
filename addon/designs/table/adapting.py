"""What else of a table has to change where one of its parameters does: stow positions, ribs' lines, parts as cut.

What somebody set by hand is kept where it can be; what cannot be kept is chosen anew, and said.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from ...sizes.errors import AsCutError, DryAssemblyError, ParameterError
from ...sizes.units import division, format_given, rounded
from ...sizes.words import listed
from ...wood.dimensions import AsCut
from .build import build
from .design import check
from .layout import lay_out
from .nearest import differing, nearest_to, refusal_of, with_nearest
from .parameters import Stow, Table, key_in_words

SIDE_WORDS: Final = {
    "front": "front (S1)",
    "back": "back (S2)",
    "left": "left side (S3)",
    "right": "right side (S4)",
}

MOST_STEPS: Final = 12
"""How many things are adapted to one change at most."""


def adapted_table(before: Table, wanted: Table) -> tuple[Table, tuple[str, ...]]:
    """A table with what its changed values ask for, and what was done in words; as wanted where nothing helps.

    Parameters
    ----------
    before : that could be built, or else nothing is known to be good
    wanted : the same with some values changed
    """
    own = set(differing(before, wanted))
    after, notes = wanted, list[str]()
    if wanted.stow and len(wanted.stow) != wanted.leaves.count:
        after = _with_positions(wanted)
        notes.append(_said_of_positions(before, after, f"{_leaves(after)}: "))
    if runs_into_legs(after) and not runs_into_legs(before):
        after, note = _clear_of_legs(after)
        notes.append(note or _said_of_positions(before, after, ""))
    for _ in range(MOST_STEPS):
        error = refusal_of(after)
        if error is None:
            break
        step = _step(after, error, own)
        if step is None:
            return wanted, ()
        after, note = step
        notes.append(note or _said_of_positions(before, after, ""))
    else:
        return wanted, ()
    return after, (*notes, *_renamed(before, after))


def refusal(table: Table, error: ParameterError, good: Table | None = None) -> ParameterError:
    """A refusal with the nearest values that can be built; where entries and leaves differ, with what to write.

    Parameters
    ----------
    good : the last table that could be built, where there was one
    """
    told = with_nearest(table, error, good)
    missing = table.leaves.count - len(table.stow)
    if not table.stow or not missing or told.key != "leaves.count" or error.key != "leaves.count":
        return told
    after = _with_positions(table)
    if refusal_of(after) is not None:
        return told
    words = "leave all [[stow]] entries out, so that positions are chosen"
    if after.stow and missing < 0:
        words = f"leave {-missing} of the [[stow]] entries out, or all, so that positions are chosen"
    elif after.stow:
        entries = " and ".join(_entry(table, stow) for stow in after.stow[-missing:])
        words = f"add [[stow]] with {entries}, or {words}"
    return ParameterError(
        told.key, told.value, f"{len(table.stow)}, or {words}", told.reason, told.shown, told.named,
        told.keys, told.nearest,
    )  # fmt: skip


def _entry(table: Table, stow: Stow) -> str:
    return f'side = "{stow.side}", offset = {format_given(stow.offset, table.units)}, tier = "{stow.tier}"'


# -- one thing after the other


def _step(table: Table, error: DryAssemblyError, own: set[str]) -> tuple[Table, str] | None:
    """The table with one thing adapted that an error is about, and what was done; None where nothing can be."""
    if isinstance(error, AsCutError):
        return _without_lost_entry(table)
    if not isinstance(error, ParameterError) or error.key in own:
        return None
    if error.key in ("ribs.through_at", "ribs.rows_at"):
        return _without_rib(table, error)
    if error.key.startswith("stow[") and table.stow:
        moved = nearest_to(table, error.key) if error.key.endswith(".offset") else None
        if moved is not None and set(moved) == {error.key}:
            index = int(error.key[len("stow[") : error.key.index("]")])
            stows = list(table.stow)
            stows[index] = replace(stows[index], offset=moved[error.key])
            where = format_given(stows[index].offset, table.units)
            return replace(
                table, stow=tuple(stows)
            ), f"L{index + 1} moved to {where} from the middle of its side"
        return replace(table, stow=()), ""
    return None


def _without_rib(table: Table, error: ParameterError) -> tuple[Table, str] | None:
    name = error.key.partition(".")[2]
    lines = getattr(table.ribs, name)
    kept = tuple(line for line in lines if line != error.value)
    if len(kept) == len(lines):
        return None
    ribs = replace(table.ribs, **{name: kept or None})
    left = f"{key_in_words(error.key)} = {error.shown} left out, where {error.reason}"
    return replace(table, ribs=ribs), left if kept else f"{left}; ribs stand beside the leaves' ways"


def _without_lost_entry(table: Table) -> tuple[Table, str] | None:
    """Without the first entry that names a part or a dimension that is no more."""
    for index, entry in enumerate(table.as_cut):
        if isinstance(refusal_of(replace(table, as_cut=(entry,))), AsCutError):
            kept = (*table.as_cut[:index], *table.as_cut[index + 1 :])
            what = f"{entry.part}'s {entry.dimension}" if entry.dimension else entry.part
            return replace(table, as_cut=kept), f"{what} as cut left out: there is none any more"
    return None


# -- positions


def runs_into_legs(table: Table) -> bool:
    """Whether a leaf with a stow position of its own runs into a leg on its way."""
    if not table.stow or not table.legs.fitted:
        return False
    try:
        layout = lay_out(table)
    except DryAssemblyError:
        return False
    return any(
        max(-lane.passage[0], lane.passage[1]) > layout.inner[1 - lane.axis] - table.legs.width
        for lane in layout.lanes
    )


def _clear_of_legs(table: Table) -> tuple[Table, str]:
    """The table with leaves moved out of the legs' way, as far as the rule shows, and what was done.

    Where that cannot be built all positions are chosen anew, which is said by "".
    """
    layout, step = lay_out(table), table.limits.rule_division
    stows, moved = list(table.stow), list[str]()
    for lane in layout.lanes:
        most = layout.inner[1 - lane.axis] - table.legs.width - (lane.passage[1] - lane.passage[0]) / 2
        if abs(lane.center) > most:
            place = rounded(max(most, 0.0), table.units, division(step), "down")
            stows[lane.index] = replace(stows[lane.index], offset=place if lane.center > 0 else -place)
            moved.append(f"{lane.leaf} moved to {format_given(stows[lane.index].offset, table.units)}")
    kept, anew = replace(table, stow=tuple(stows)), replace(table, stow=())
    if refusal_of(kept) is None and _grade(kept) <= _grade(anew):
        return kept, f"{listed(moved)} from the middle of the side, clear of the legs"
    return anew, ""


def _with_positions(table: Table) -> Table:
    """A table with as many positions as leaves: those that it has, and what is free, or all chosen anew.

    What is kept has to build and to be no worse than what would be chosen.
    """
    anew = replace(table, stow=())
    kept = replace(table, stow=table.stow[: table.leaves.count])
    chosen = _stows(anew)
    for stow in chosen * (table.leaves.count - len(kept.stow) > 0):
        if len(kept.stow) == table.leaves.count:
            break
        more = replace(kept, stow=(*kept.stow, stow))
        if _fit(more):
            kept = more
    if len(kept.stow) != table.leaves.count or refusal_of(kept) is not None:
        return anew
    return kept if not chosen or _grade(kept) <= _grade(anew) else anew


def _stows(table: Table) -> tuple[Stow, ...]:
    """Where the leaves are stowed, as entries of a table file; () where it cannot be laid out."""
    try:
        lanes = lay_out(table).lanes
    except DryAssemblyError:
        return ()
    return tuple(Stow(side=lane.side, offset=lane.center, tier=lane.tier) for lane in lanes)


def _fit(table: Table) -> bool:
    """Whether the leaves that have positions would find room, as many as they are."""
    error = refusal_of(table)
    return error is None or (isinstance(error, ParameterError) and error.key == "leaves.count")


def _grade(table: Table) -> tuple[int, int]:
    """How bad a table is: as drawn, and by hand; 0 is good."""
    try:
        report = check(table)
    except DryAssemblyError:
        return 3, 3
    told = report.answers.table
    return (
        ("clear", "tight", "blocked").index(told.as_drawn.verdict),
        ("guides-itself", "needs-steering", "does-not-pass").index(told.by_hand.verdict),
    )


# -- words


def _leaves(table: Table) -> str:
    return "1 leaf" if table.leaves.count == 1 else f"{table.leaves.count} leaves"


def _said_of_positions(before: Table, after: Table, start: str) -> str:
    """``3 leaves: positions chosen anew; L2 goes in through the left side (S3) now``."""
    old, new = _stows(before), _stows(after)
    others = [
        f"L{number} goes in through the {SIDE_WORDS[now.side]} now"
        for number, (was, now) in enumerate(zip(old, new, strict=False), 1)
        if was.side != now.side
    ]
    kept = bool(after.stow) and all(stow in before.stow for stow in after.stow[: len(before.stow)])
    added = [
        f"L{number} goes in through the {SIDE_WORDS[stow.side]}"
        for number, stow in enumerate(new, 1)
        if number > len(old)
    ]
    if kept:
        return start + "; ".join(["positions kept", *added])
    return start + "; ".join(["positions chosen anew", *others, *added])


def _renamed(before: Table, after: Table) -> list[str]:
    """What was entered as cut of parts that are others now."""
    if not after.as_cut:
        return []
    try:
        old, new = (build(replace(table, as_cut=())).by_label for table in (before, after))
    except DryAssemblyError:
        return []

    def is_other(label: str) -> bool:
        was, now = old.get(label), new.get(label)
        return (
            was is not None
            and now is not None
            and (was.kind, was.of, was.which) != (now.kind, now.of, now.which)
        )

    labels = _in_order(entry.part for entry in _kept(after.as_cut) if is_other(entry.part))
    if not labels:
        return []
    return [
        f"{listed(labels)} {'is another part' if len(labels) == 1 else 'are other parts'} now: see As Cut"
    ]


def _kept(entries: Sequence[AsCut]) -> Iterable[AsCut]:
    return (entry for entry in entries if entry.part)


def _in_order(labels: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(labels))
