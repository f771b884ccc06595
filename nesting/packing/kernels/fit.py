"""Filling a strip of fixed length as full as it goes, niche by niche."""

from __future__ import annotations

from nesting.packing.kernels.numbers import Ints, draw
from nesting.packing.kernels.skyline import fitness, joined, laid, leans_left


def fit_pass(
    W: int,
    length: int,
    order: Ints,
    kind: Ints,
    wide: Ints,
    long: Ints,
    R: int,
    phase: Ints,
    rule: int,
    most: int,
    px: Ints,
    py: Ints,
    pw: Ints,
    later: Ints,
    head: Ints,
    after: Ints,
    sx: Ints,
    sy: Ints,
    sw: Ints,
) -> int:
    """Fill the lowest niche with the part that fits it best, never past ``length``; the cloth given up.

    ``kind, wide, long`` describe the ways parts may lie, by width; one with a ``phase`` of 0 or more begins
    there modulo ``R`` only, and where none may begin yet the niche is raised to where one may. ``order``
    lists kinds, one entry for each copy, and decides ties. ``pw`` becomes the way of each entry, -1 where it
    found no place. The pass ends early, with a value above ``most``, once more cloth than that is given up.
    -1: every part has its place.

    References
    ----------
    Zhang, Wei, Leung, Chen, INFORMS J. Computing 25 (2013) 332-345 (a strip of fixed length, filled as full
    as it goes); Wei, Hu, Leung, Zhang, Computers & Operations Research 80 (2017) 113-127 (the scores).
    """
    n = len(order)
    ways = len(kind)
    for k in range(len(head)):
        head[k] = n
    for i in range(n - 1, -1, -1):
        later[i] = head[order[i]]
        head[order[i]] = i
        pw[i] = -1
    # The ways still open, by width, as a chain; after[ways] is its beginning.
    for v in range(ways):
        after[v] = v + 1
    after[ways] = 0
    segments, placed, waste = 1, 0, 0
    sx[0], sy[0], sw[0] = 0, 0, W
    while placed < n:
        at = 0
        for i in range(1, segments):
            if sy[i] < sy[at]:
                at = i
        gap, y = sw[at], sy[at]
        room = length - y
        if room <= 0:
            break
        lw = sy[at - 1] - y if at > 0 else room
        rw = sy[at + 1] - y if at + 1 < segments else room
        best, best_score, best_way, wait = -1, -1, 0, room
        before = ways
        v = after[ways]
        while v < ways:
            w = wide[v]
            if w > gap:
                break
            i = head[kind[v]]
            if i >= n:
                after[before] = after[v]
                v = after[v]
                continue
            h = long[v]
            late = (phase[v] - y) % R if phase[v] >= 0 else 0
            if late > 0:
                if late + h <= room and late < wait:
                    wait = late
            elif h <= room:
                score = fitness(rule, w, h, gap, lw, rw)
                if score > best_score or (score == best_score and i < best):
                    best, best_score, best_way = i, score, v
            before = v
            v = after[v]
        if best < 0:
            up = min(lw, rw)
            if segments == 1:
                up = room
            elif at == 0:
                up = rw
            elif at == segments - 1:
                up = lw
            up = min(up, wait)
            if segments == 1 and up == room:
                break
            waste += gap * up
            if waste > most:
                return int(waste)
            sy[at] = y + up
            segments = joined(at, segments, sx, sy, sw)
        else:
            w, h = wide[best_way], long[best_way]
            head[kind[best_way]] = later[best]
            placed += 1
            to_left = leans_left(w, h, gap, lw, rw)
            x = sx[at] if to_left else sx[at] + gap - w
            px[best], py[best], pw[best] = x, y, best_way
            segments = laid(at, segments, w, y + h, to_left, sx, sy, sw)
    if placed == n:
        return -1
    for i in range(segments):
        waste += sw[i] * (length - sy[i])
    return int(waste)


def fit_search(
    W: int,
    length: int,
    order: Ints,
    kind: Ints,
    wide: Ints,
    long: Ints,
    R: int,
    phase: Ints,
    rule: int,
    current: int,
    rounds: int,
    state: Ints,
    px: Ints,
    py: Ints,
    pw: Ints,
    later: Ints,
    head: Ints,
    after: Ints,
    sx: Ints,
    sy: Ints,
    sw: Ints,
) -> int:
    """Exchange or move parts of the order, keep what gives up no more cloth; the cloth given up at the end.

    ``order`` is changed in place. Ends at once with -1 when every part has its place, ``px, py, pw`` then
    being that layout.
    """
    n = len(order)
    for _ in range(rounds):
        i, j = draw(state, n), draw(state, n)
        if order[i] == order[j]:
            continue
        moved = draw(state, 2) == 1
        taken = order[i]
        if moved:
            if i < j:
                for k in range(i, j):
                    order[k] = order[k + 1]
            else:
                for k in range(i, j, -1):
                    order[k] = order[k - 1]
        else:
            order[i] = order[j]
        order[j] = taken
        waste = fit_pass(
            W, length, order, kind, wide, long, R, phase, rule, current, px, py, pw, later, head, after, sx,
            sy, sw,
        )  # fmt: skip
        if waste <= current:
            current = waste
            if waste < 0:
                break
            continue
        taken = order[j]
        if moved:
            if i < j:
                for k in range(j, i, -1):
                    order[k] = order[k - 1]
            else:
                for k in range(j, i):
                    order[k] = order[k + 1]
        else:
            order[j] = order[i]
        order[i] = taken
    return int(current)
