"""Depth-first search along the skyline with little fabric to spare."""

from __future__ import annotations

from typing import NamedTuple

from nesting.packing.kernels.numbers import Ints
from nesting.packing.kernels.skyline import Sky, Spots


class Lying(NamedTuple):
    """The ways parts may lie: kind, size, and where they begin (-1: anywhere) modulo a repeat.

    ``order`` is the order of trial, indices into the rest.
    """

    order: Ints
    kind: Ints
    wide: Ints
    long: Ints
    phase: Ints


class Depths(NamedTuple):
    """Scratch by depth: what may fill the niche (rows of one more than there are ways), and what was tried.

    ``found`` of them may (-1: not asked yet), ``tried`` of them were; ``spare`` fabric is left to give up,
    ``up`` is how far the niche is given up, the skyline has so many ``segments``.
    """

    choice: Ints
    found: Ints
    tried: Ints
    spare: Ints
    up: Ints
    segments: Ints


def lowest_of(base: int, segments: int, sy: Ints) -> int:
    """The lowest segment of the skyline whose row begins at ``base``, the leftmost of several."""
    at = 0
    for i in range(1, segments):
        if sy[base + i] < sy[base + at]:
            at = i
    return at


def choose(
    depth: int, base: int, width: int, length: int, repeat: int, lying: Lying, left: Ints, depths: Depths,
    sky: Sky,
) -> None:  # fmt: skip
    """List what may fill the lowest niche of a depth, the best first, and whether it may be given up."""
    order, kind, wide, long, phase = lying
    choice, _, _, spare, up, segments = depths
    m, row = segments[depth], depth * (len(order) + 1)
    at = lowest_of(base, m, sky.y)
    y, gap = sky.y[base + at], sky.w[base + at]
    room = length - y
    lw = sky.y[base + at - 1] - y if at > 0 else room
    rw = sky.y[base + at + 1] - y if at + 1 < m else room
    narrowest = width + 1
    up[depth] = min(lw, rw)
    for i in range(len(order)):
        v = order[i]
        if left[kind[v]] > 0 and wide[v] <= gap and long[v] <= room:
            narrowest = min(narrowest, wide[v])
            late = (phase[v] - y) % repeat if phase[v] >= 0 else 0
            if late > 0 and late + long[v] <= room:
                up[depth] = min(up[depth], late)
    found = 0
    # Four classes: as wide as the niche and as long as a wall, as wide, as long, the rest.
    for rank in range(4):
        for i in range(len(order)):
            v = order[i]
            if left[kind[v]] == 0 or wide[v] > gap or long[v] > room:
                continue
            if phase[v] >= 0 and (y - phase[v]) % repeat != 0:
                continue
            mine = 0
            if wide[v] != gap:
                mine = 2
            if long[v] != lw and long[v] != rw:
                mine += 1
            if mine != rank:
                continue
            rest = gap - wide[v]
            if 0 < rest < narrowest and rest * min(long[v], rw) > spare[depth]:
                continue
            choice[row + found] = v
            found += 1
    if (m > 1 or up[depth] < room) and gap * up[depth] <= spare[depth]:
        choice[row + found] = -1
        found += 1
    depths.found[depth], depths.tried[depth] = found, 0


def deeper(base: int, below: int, segments: int, at: int, w: int, top: int, sky: Sky) -> int:
    """Write the skyline below: a niche raised over the first w of its width; how many segments it has."""
    sx, sy, sw = sky
    gap, out = sw[base + at], 0
    for i in range(segments):
        pieces = 1
        if i == at and w < gap:
            pieces = 2
        for piece in range(pieces):
            bx, by, bw = sx[base + i], sy[base + i], sw[base + i]
            if i == at:
                if piece == 0:
                    by, bw = top, w
                else:
                    bx, bw = bx + w, gap - w
            if out > 0 and sy[below + out - 1] == by:
                sw[below + out - 1] += bw
            else:
                sx[below + out], sy[below + out], sw[below + out] = bx, by, bw
                out += 1
    return out


def tight_search(
    W: int,
    length: int,
    slack: int,
    R: int,
    lying: Lying,
    left: Ints,
    copies: int,
    nodes: int,
    spots: Spots,
    depths: Depths,
    sky: Sky,
) -> int:
    """Depth-first search for a layout within ``length`` that leaves at most ``slack`` fabric unused.

    At each node the lowest niche (leftmost of several) is filled from its left corner by a part that fits,
    or given up: whole, or as far as a part begins whose way has a phase of 0 or more and so begins there
    modulo ``R`` only. ``spots`` are by depth, ``sky`` has rows of ``copies + 2``, one for each depth.

    Returns
    -------
    int
        1 found (``spots``, their way -1 where a niche was given up), 0 every way tried, -1 the nodes are
        spent.
    """
    choice, found, tried, spare, up, segments = depths
    (sx, sy, sw), (px, py, pw) = sky, spots
    kind = lying.kind
    row, ways = copies + 2, len(lying.order) + 1
    deepest = len(up) - 1
    depth, placed, seen = 0, 0, 0
    sx[0], sy[0], sw[0] = 0, 0, W
    segments[0], spare[0], found[0], tried[0] = 1, slack, -1, 0
    while depth >= 0:
        base = depth * row
        if found[depth] < 0:
            # A node met for the first time: its niche and what may fill it.
            seen += 1
            if seen > nodes:
                return -1
            choose(depth, base, W, length, R, lying, left, depths, sky)
        elif tried[depth] > 0:
            # Back from below: take the last choice back.
            v = choice[depth * ways + tried[depth] - 1]
            if v >= 0:
                left[kind[v]] += 1
                placed -= 1
        if tried[depth] >= found[depth] or depth + 1 >= deepest:
            depth -= 1
            continue
        v = choice[depth * ways + tried[depth]]
        tried[depth] += 1
        at = lowest_of(base, segments[depth], sy)
        x, y, gap = sx[base + at], sy[base + at], sw[base + at]
        if v < 0:
            w, top = gap, y + up[depth]
            spare[depth + 1] = spare[depth] - gap * up[depth]
            pw[depth] = -1
        else:
            w, top = lying.wide[v], y + lying.long[v]
            spare[depth + 1] = spare[depth]
            px[depth], py[depth], pw[depth] = x, y, v
            left[kind[v]] -= 1
            placed += 1
        if placed == copies:
            return 1
        segments[depth + 1] = deeper(base, base + row, segments[depth], at, w, top, sky)
        depth += 1
        found[depth], tried[depth] = -1, 0
    return 0
