"""Pieces of lines put together: no line is drawn twice, corners are mitered, dashes run round arcs.

What lies on one straight line and meets becomes one; what then meets at its ends becomes a path.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import CONTACT
from .seen import Sorted

_TURN = 1e-7
"""Angle within which two lines have one direction, rad."""

_LINE = 10 * CONTACT
"""Distance within which two lines are one, mm."""


def merged(kinds: Sequence[Floats]) -> list[Floats]:
    """Segments of several kinds, (n, 2, 2) float each, mm, the one that goes over all others first.

    Pieces that overlap or abut on one line are joined, and where one of an earlier kind lies, a later one is left
    away. The length that each kind covers stays the same but for that.
    """
    segments = np.concatenate([np.asarray(one, dtype=float).reshape(-1, 2, 2) for one in kinds])
    kind = np.repeat(np.arange(len(kinds)), [len(one) for one in kinds])
    if not len(segments):
        return [segments for _ in kinds]
    line, along, place, low, high = _on_lines(segments)
    # Ends along each line, those within `_LINE` of each other as one, and how many of each kind begin or end there.
    at, own = np.concatenate([low, high]), np.concatenate([line, line])
    order = np.lexsort((at, own))
    apart = (np.diff(own[order], prepend=-1) != 0) | (np.diff(at[order], prepend=-np.inf) > _LINE)
    node = np.empty(len(at), dtype=np.intp)
    node[order] = np.cumsum(apart) - 1
    first = order[apart]
    step = np.repeat([1.0, -1.0], len(segments))
    both = np.concatenate([kind, kind])
    begun = [np.bincount(node, np.where(both == one, step, 0.0), len(first)) for one in range(len(kinds))]
    covers = np.cumsum(np.array(begun), axis=1) > 0.5
    # From each end to the next: the kind on top, or one more than there are where nothing is.
    top = np.where(covers.any(axis=0), covers.argmax(axis=0), len(kinds))
    starts = np.flatnonzero((np.diff(top, prepend=-1) != 0) | (np.diff(own[first], prepend=-1) != 0))
    starts = starts[top[starts] < len(kinds)]
    changes = np.flatnonzero(np.diff(top) != 0) + 1
    ends = changes[np.searchsorted(changes, starts, side="right")]
    of = first[starts] % len(segments)
    found = (
        place[of][:, None]
        + np.stack([at[first[starts]], at[first[ends]]], axis=1)[:, :, None] * along[of][:, None]
    )
    return [found[top[starts] == one] for one in range(len(kinds))]


def _on_lines(segments: Floats) -> tuple[Ints, Floats, Floats, Floats, Floats]:
    """Of each segment: the number of its line, the line's direction and origin, and from where to where it goes.

    The longest segment of a line gives its direction.
    """
    step = segments[:, 1] - segments[:, 0]
    turn = np.arctan2(step[:, 1], step[:, 0]) % np.pi
    turn[turn > np.pi - _TURN] -= np.pi
    direction = _clusters(turn, _TURN)
    length = np.hypot(step[:, 0], step[:, 1])
    along = np.empty_like(step)
    along[:] = _of_longest(np.stack([np.cos(turn), np.sin(turn)], axis=1), direction, length)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    offset = (segments.mean(axis=1) * across).sum(axis=1)
    order = np.lexsort((offset, direction))
    apart = (np.diff(direction[order], prepend=-1) != 0) | (np.diff(offset[order], prepend=-np.inf) > _LINE)
    line = np.empty(len(segments), dtype=np.intp)
    line[order] = np.cumsum(apart) - 1
    at = np.einsum("ijk,ik->ij", segments, along)
    place = _of_longest(offset[:, None], line, length) * across
    return line, along, place, at.min(axis=1), at.max(axis=1)


def _clusters(values: Floats, within: float) -> Ints:
    """Numbers of runs of values that follow each other within a distance."""
    order = np.argsort(values, kind="stable")
    number = np.empty(len(values), dtype=np.intp)
    number[order] = np.cumsum(np.diff(values[order], prepend=-np.inf) > within) - 1
    return number


def _of_longest(values: Floats, group: Ints, length: Floats) -> Floats:
    """The value of the longest member of each one's group."""
    order = np.lexsort((length, group))
    last = np.flatnonzero(np.diff(group[order], append=-1))
    return values[order[last]][group]


def crowded(segments: Floats, others: Floats, nearer: float, longer: float) -> Floats:
    """The stretches of (n, 2, 2) segments, mm, that run beside others of them or of (m, 2, 2): (k, 2, 2) float.

    Parameters
    ----------
    segments, others : merged, so that no two of them lie on each other
    nearer : distance below which two parallel lines are too near to each other, mm
    longer : length above which that counts, mm
    """
    line, along, _, low, high = _on_lines(np.concatenate([segments, others]))
    start = np.concatenate([segments, others])[:, 0]
    offset = start[:, 1] * along[:, 0] - start[:, 0] * along[:, 1]
    one, two = _close(along, offset, len(segments), nearer)
    first, last = np.maximum(low[one], low[two]), np.minimum(high[one], high[two])
    long = (last - first > longer) & (line[one] != line[two])
    one, both = one[long], np.stack([first[long], last[long]], axis=1)
    base = start[one] - np.einsum("ij,ij->i", start[one], along[one])[:, None] * along[one]
    return base[:, None] + both[:, :, None] * along[one][:, None]


def _close(along: Floats, offset: Floats, count: int, nearer: float) -> tuple[Ints, Ints]:
    """Numbers of the first `count` lines, in order, and of all that run along each of them, nearer than a distance.

    Parameters
    ----------
    along : (n, 2) float; directions, those of parallel lines equal
    offset : (n,) float, mm; across them
    """
    direction = np.unique(along, axis=0, return_inverse=True)[1].reshape(-1)
    found = []
    for which in range(int(direction.max(initial=-1)) + 1):
        own = np.flatnonzero(direction == which)
        own = own[np.argsort(offset[own], kind="stable")]
        mine = own[own < count]
        begin, end = (
            np.searchsorted(offset[own], offset[mine] + side * nearer, side="left" if side > 0 else "right")
            for side in (-1, 1)
        )
        sizes = np.maximum(end - begin, 0)
        at = np.arange(sizes.sum()) + np.repeat(begin - np.cumsum(sizes) + sizes, sizes)
        found.append((np.repeat(mine, sizes), own[at]))
    none = np.zeros(0, dtype=np.intp)
    one, two = (np.concatenate(own) for own in zip((none, none), *found, strict=True))
    order = np.lexsort((two, one))
    return one[order], two[order]


_SAME = 1e-4
"""Distance within which two ends are one point, mm."""


def paths_of(segments: Floats) -> list[Floats]:
    """(n, 2, 2) float segments, mm, as paths, (k, 2) float each; each goes on at its end while a segment does.

    Where several go on, the straightest does.
    """
    points = segments.reshape(-1, 2)
    node = _nodes(points)
    step = segments[:, 1] - segments[:, 0]
    way = step / np.maximum(np.hypot(step[:, 0], step[:, 1]), _SAME)[:, None]
    away = np.stack([way, -way], axis=1).reshape(-1, 2)
    partner = _partners(node, away)
    used = np.zeros(len(segments), dtype=bool)
    loose = np.flatnonzero(partner < 0)
    found = []
    for start in [*loose.tolist(), *range(0, len(points), 2)]:
        if used[start // 2]:
            continue
        path, end = [points[start]], start
        while end >= 0 and not used[end // 2]:
            used[end // 2] = True
            far = end ^ 1
            path.append(points[far])
            end = int(partner[far])
        if end >= 0 and node[end] == node[start] and len(path) > 3:
            path.append(path[1])  # past the corner, so that it is mitered too
        found.append(np.array(path))
    return found


def _nodes(points: Floats) -> NDArray[np.intp]:
    """The same number for ends that are one point."""
    _, node = np.unique(np.round(points / _SAME).astype(np.int64), axis=0, return_inverse=True)
    return node.reshape(-1).astype(np.intp)


def _partners(node: NDArray[np.intp], away: Floats) -> NDArray[np.intp]:
    """The end that each end goes on with, -1 where there is none: pairs at one point, the straightest first."""
    one, two = Sorted(np.arange(len(node)), node).meet(node)
    pair = (one < two) & (one // 2 != two // 2)
    one, two = one[pair], two[pair]
    cosine = np.einsum("ij,ij->i", away[one], away[two])
    partner = np.full(len(node), -1, dtype=np.intp)
    for at in np.argsort(cosine, kind="stable"):
        a, b = one[at], two[at]
        if partner[a] < 0 and partner[b] < 0:
            partner[a], partner[b] = b, a
    return partner


def specks(segments: Floats, size: float) -> NDArray[np.bool_]:
    """Which of (n, 2, 2) segments hang together with others, and with nothing more than `size` mm wide or high."""
    node = _nodes(segments.reshape(-1, 2)).reshape(-1, 2)
    group = np.arange(len(segments))
    least = np.arange(int(node.max(initial=-1)) + 1)
    while True:
        # The least number of each group goes from end to end until all segments of it have it.
        np.minimum.at(least, node.ravel(), np.repeat(group, 2))
        reached = least[node].min(axis=1)
        if (reached == group).all():
            break
        group = reached
    low, high = np.full((len(segments), 2), np.inf), np.full((len(segments), 2), -np.inf)
    np.minimum.at(low, group, segments.min(axis=1))
    np.maximum.at(high, group, segments.max(axis=1))
    several = np.bincount(group, minlength=len(segments)) > 1
    return (several & np.all(high - low < size, axis=1))[group]
