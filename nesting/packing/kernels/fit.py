"""Filling a strip of fixed length as full as it goes, niche by niche."""

from __future__ import annotations

from typing import NamedTuple

from nesting.packing.kernels.numbers import Ints, draw
from nesting.packing.kernels.skyline import (
    Queue,
    Sky,
    Spots,
    fitness,
    joined,
    laid,
    leans_left,
    lined_up,
    lowest,
)


class Choices(NamedTuple):
    """The ways parts may lie, by width: kind, size, and where they begin (-1: anywhere) modulo a repeat.

    ``after`` is scratch: the ways still open as a chain, its beginning at the end.
    """

    kind: Ints
    wide: Ints
    long: Ints
    phase: Ints
    after: Ints


def opened(choices: Choices) -> None:
    """Make all ways open."""
    after, ways = choices.after, len(choices.kind)
    for v in range(ways):
        after[v] = v + 1
    after[ways] = 0


def fit_pass(
    W: int,
    length: int,
    order: Ints,
    choices: Choices,
    R: int,
    rule: int,
    most: int,
    spots: Spots,
    queue: Queue,
    sky: Sky,
) -> int:
    """Fill the lowest niche with the part that fits it best, never past ``length``; the fabric given up.

    A way with a phase begins there modulo ``R`` only, and where none may begin yet the niche is raised to
    where one may. ``order`` lists kinds, one entry for each copy, and decides ties. The way of an entry that
    found no place becomes -1. The pass ends early, with a value above ``most``, once more fabric than that is
    given up. -1: every part has its place.

    References
    ----------
    Zhang, Wei, Leung, Chen, INFORMS J. Computing 25 (2013) 332-345 (a strip of fixed length, filled as full
    as it goes); Wei, Hu, Leung, Zhang, Computers & Operations Research 80 (2017) 113-127 (the scores).
    """
    n, ways = len(order), len(choices.kind)
    (kind, wide, long, phase, after), (px, py, pw) = choices, spots
    (later, head, _), (sx, sy, sw) = queue, sky
    for i in range(n):
        pw[i] = -1
    lined_up(order, queue)
    opened(choices)
    segments, placed, waste = 1, 0, 0
    sx[0], sy[0], sw[0] = 0, 0, W
    while placed < n:
        at = lowest(segments, sy)
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
                return waste
            sy[at] = y + up
            segments = joined(at, segments, sky)
        else:
            w, h = wide[best_way], long[best_way]
            head[kind[best_way]] = later[best]
            placed += 1
            to_left = leans_left(w, h, gap, lw, rw)
            x = sx[at] if to_left else sx[at] + gap - w
            px[best], py[best], pw[best] = x, y, best_way
            segments = laid(at, segments, w, y + h, to_left, sky)
    if placed == n:
        return -1
    for i in range(segments):
        waste += sw[i] * (length - sy[i])
    return waste


def fit_search(
    W: int,
    length: int,
    order: Ints,
    choices: Choices,
    R: int,
    rule: int,
    current: int,
    rounds: int,
    state: Ints,
    spots: Spots,
    queue: Queue,
    sky: Sky,
) -> int:
    """Exchange or move parts of the order, keep what gives up no more fabric; the fabric given up at the end.

    ``order`` is changed in place. Ends at once with -1 when every part has its place, ``spots`` then being
    that layout.
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
        waste = fit_pass(W, length, order, choices, R, rule, current, spots, queue, sky)
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
    return current
