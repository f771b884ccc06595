"""Depth-first search along the skyline with little cloth to spare."""

from __future__ import annotations

from nesting.packing.kernels.numbers import Ints


def tight_search(
    W: int,
    length: int,
    slack: int,
    ways: Ints,
    wide: Ints,
    long: Ints,
    kind: Ints,
    R: int,
    phase: Ints,
    left: Ints,
    copies: int,
    nodes: int,
    px: Ints,
    py: Ints,
    pw: Ints,
    cand: Ints,
    count: Ints,
    tried: Ints,
    spare: Ints,
    up: Ints,
    segs: Ints,
    sx: Ints,
    sy: Ints,
    sw: Ints,
) -> int:
    """Depth-first search for a layout within ``length`` that leaves at most ``slack`` cloth unused.

    At each node the lowest niche (leftmost of several) is filled from its left corner by a part that fits,
    or given up: whole, or as far as a part begins whose way has a ``phase`` of 0 or more and so begins there
    modulo ``R`` only. ``ways`` is the order of trial: indices into ``wide``, ``long``, ``kind``. Arrays are
    of one row per depth: ``cand`` rows of ``len(ways) + 1``, ``sx, sy, sw`` rows of ``copies + 2``; ``up``
    says how far a niche is given up.

    Returns
    -------
    int
        1 found (``px, py, pw`` by depth, ``pw`` the way, -1 where a niche was given up), 0 every way tried,
        -1 the nodes are spent.
    """
    row = copies + 2
    wide_row = len(ways) + 1
    deepest = len(up) - 1
    depth, placed, seen = 0, 0, 0
    sx[0], sy[0], sw[0] = 0, 0, W
    segs[0], spare[0], count[0], tried[0] = 1, slack, -1, 0
    while depth >= 0:
        base = depth * row
        m = segs[depth]
        if count[depth] < 0:
            # A node met for the first time: its niche and what may fill it.
            seen += 1
            if seen > nodes:
                return -1
            at = 0
            for i in range(1, m):
                if sy[base + i] < sy[base + at]:
                    at = i
            x, y, gap = sx[base + at], sy[base + at], sw[base + at]
            room = length - y
            lw = sy[base + at - 1] - y if at > 0 else room
            rw = sy[base + at + 1] - y if at + 1 < m else room
            narrowest = W + 1
            up[depth] = min(lw, rw)
            for i in range(len(ways)):
                v = ways[i]
                if left[kind[v]] > 0 and wide[v] <= gap and long[v] <= room:
                    narrowest = min(narrowest, wide[v])
                    late = (phase[v] - y) % R if phase[v] >= 0 else 0
                    if late > 0 and late + long[v] <= room:
                        up[depth] = min(up[depth], late)
            found = 0
            # Four classes: as wide as the niche and as long as a wall, as wide, as long, the rest.
            for rank in range(4):
                for i in range(len(ways)):
                    v = ways[i]
                    if left[kind[v]] == 0 or wide[v] > gap or long[v] > room:
                        continue
                    if phase[v] >= 0 and (y - phase[v]) % R != 0:
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
                    cand[depth * wide_row + found] = v
                    found += 1
            if (m > 1 or up[depth] < room) and gap * up[depth] <= spare[depth]:
                cand[depth * wide_row + found] = -1
                found += 1
            count[depth] = found
            tried[depth] = 0
        elif tried[depth] > 0:
            # Back from below: take the last choice back.
            v = cand[depth * wide_row + tried[depth] - 1]
            if v >= 0:
                left[kind[v]] += 1
                placed -= 1
        if tried[depth] >= count[depth] or depth + 1 >= deepest:
            depth -= 1
            continue
        v = cand[depth * wide_row + tried[depth]]
        tried[depth] += 1
        at = 0
        for i in range(1, m):
            if sy[base + i] < sy[base + at]:
                at = i
        x, y, gap = sx[base + at], sy[base + at], sw[base + at]
        below = (depth + 1) * row
        if v < 0:
            w, top = gap, y + up[depth]
            spare[depth + 1] = spare[depth] - gap * up[depth]
            pw[depth] = -1
        else:
            w, top = wide[v], y + long[v]
            spare[depth + 1] = spare[depth]
            px[depth], py[depth], pw[depth] = x, y, v
            left[kind[v]] -= 1
            placed += 1
        if placed == copies:
            return 1
        # The skyline below: the niche raised over the first w of its width, equal neighbours joined.
        out = 0
        for i in range(m):
            first = 1
            if i == at and w < gap:
                first = 2
            for part in range(first):
                bx, by, bw = sx[base + i], sy[base + i], sw[base + i]
                if i == at:
                    if part == 0:
                        by, bw = top, w
                    else:
                        bx, bw = bx + w, gap - w
                if out > 0 and sy[below + out - 1] == by:
                    sw[below + out - 1] += bw
                else:
                    sx[below + out], sy[below + out], sw[below + out] = bx, by, bw
                    out += 1
        segs[depth + 1] = out
        depth += 1
        count[depth] = -1
        tried[depth] = 0
    return 0
