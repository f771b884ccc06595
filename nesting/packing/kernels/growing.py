"""Many layouts grown side by side: of each stage of growth the most promising go on."""

from __future__ import annotations

from nesting.packing.kernels.numbers import Ints, draw
from nesting.packing.kernels.skyline import WALL, Sky, joined, laid, leans_left, lowest

#: Where in a layout that grows stand: the step of the trail before the last; the last step, its way (-1:
#: none), how many copies in a row, their place; area, length, lowest height; parts left, segments of the
#: skyline, parts that reach beyond the lowest height, a code of all that counts. After these what each rule
#: has lost, the copies left of each kind, the segments (x, y, width), and end and way of each part that
#: reaches beyond.
BEFORE, WAY, ROW, X, Y, AREA, LENGTH, LOWEST, LEFT, SEGMENTS, RUNNING, CODE, HEAD = range(13)
#: Numbers of a step of the trail: BEFORE to Y.
STEP = 5
#: What the search goes on from: the stage, layouts grown in it, steps of the trail, 1 once a layout is found
#: (step 0 of the trail is then its last), the length still wanted, numbers of layouts free to be used, steps
#: that were not needed.
STAGE, GROWN, TRAIL, FOUND, WANTED, FREE, UNUSED, STATE = range(8)
#: An estimated length is compared in so many parts of a step.
FINE = 512
#: In a stage so many times as many layouts are grown as wait at once.
GROWTH = 12
#: To tell layouts apart: a prime below 2**31, and multipliers.
PRIME, MIX, MIX_X = 2147483647, 48271, 65537


def raised(
    node: Ints, at: int, kinds: int, rules: int, segments: int, kind: Ints, wide: Ints, weight: Ints,
    most: Ints, sky: Sky,
) -> int:  # fmt: skip
    """Raise niches too narrow for all parts left, count what finished rows lose; segments there are then."""
    ways, left = len(kind), at + HEAD + rules
    sx, sy, sw = sky
    ends = left + kinds + 3 * len(sx)
    narrowest = WALL
    for v in range(ways):
        if node[left + kind[v]] > 0:
            narrowest = min(narrowest, wide[v])
    while True:
        low = lowest(segments, sy)
        if segments == 1 or sw[low] >= narrowest:
            break
        up = WALL
        if low > 0:
            up = sy[low - 1]
        if low + 1 < segments:
            up = min(up, sy[low + 1])
        sy[low] = up
        segments = joined(low, segments, sky)
    y, floor, running = node[at + LOWEST], sy[low], node[at + RUNNING]
    while y < floor:
        end = floor
        for r in range(running):
            end = min(end, node[ends + 2 * r])
        for m in range(rules):
            free = most[m]
            for r in range(running):
                free -= weight[m * ways + node[ends + 2 * r + 1]]
            node[at + HEAD + m] += free * (end - y)
        y = end
        kept = 0
        for r in range(running):
            if node[ends + 2 * r] > y:
                node[ends + 2 * kept], node[ends + 2 * kept + 1] = node[ends + 2 * r], node[ends + 2 * r + 1]
                kept += 1
        running = kept
    node[at + LOWEST], node[at + RUNNING] = floor, running
    return segments


def beam_search(
    W: int,
    kind: Ints,
    wide: Ints,
    long: Ints,
    alone: Ints,
    rules: int,
    weight: Ints,
    most: Ints,
    total: Ints,
    area: int,
    stages: int,
    beam: int,
    noise: int,
    keep: int,
    steps: int,
    random: Ints,
    state: Ints,
    node: Ints,
    size: int,
    kinds: int,
    free: Ints,
    trail: Ints,
    waiting: Ints,
    rank: Ints,
    filled: Ints,
    sky: Sky,
) -> int:
    """Grow ``steps`` layouts further, from the squared end; 1 when all are grown that may be, else 0.

    ``kind, wide, long`` describe the ways parts may lie, those of a kind together, ``alone[v]`` is 1 where
    there is no other. A layout grows at its lowest niche: by one part, by as many copies as fit side by side,
    or by leaving it empty. Layouts with about the same area laid, of ``stages``, are compared, and ``beam``
    of them wait to go on: those with the least estimate. That is the length which their rows will have lost
    by the worst of the ``rules`` (row weights ``weight[m * ways + v]`` add up to at most ``most[m]`` in a
    row, all parts to ``total[m]``, times length), less ``keep`` for each part left, for a layout that has
    small parts left ends better; and up to ``noise`` by chance. ``area`` is that of all parts.

    ``state`` is described above; ``node`` holds layouts of ``size`` numbers each, ``waiting, rank`` their
    numbers and estimates by stage, ``filled`` how many, ``free`` the numbers of those not in use. At first
    layout 0, of no parts, waits in stage 0.

    References
    ----------
    Lowerre, "The Harpy speech recognition system", PhD thesis, Carnegie Mellon University (1976) (beam
    search). Bennell, Song, J. Heuristics 16 (2010) 167-188 (for layouts).
    """
    ways, left, segment = len(kind), HEAD + rules, HEAD + rules + kinds
    sx, sy, sw = sky
    ends = segment + 3 * len(sx)
    state[UNUSED] = steps
    while state[STAGE] < stages:
        stage = state[STAGE]
        if filled[stage] == 0 or state[GROWN] >= GROWTH * beam:
            for i in range(filled[stage]):
                free[state[FREE]] = waiting[stage * beam + i]
                state[FREE] += 1
            filled[stage] = 0
            state[STAGE], state[GROWN] = stage + 1, 0
            continue
        if state[UNUSED] == 0:
            return 0
        state[UNUSED] -= 1
        state[GROWN] += 1
        # The one with the least area first, so that none comes too late for its stage.
        pick, last = stage * beam, stage * beam + filled[stage] - 1
        for i in range(stage * beam + 1, last + 1):
            if node[waiting[i] * size + AREA] < node[waiting[pick] * size + AREA]:
                pick = i
        parent = waiting[pick]
        waiting[pick], rank[pick] = waiting[last], rank[last]
        filled[stage] -= 1
        base = parent * size
        step = state[TRAIL]
        state[TRAIL] += 1
        for i in range(STEP):
            trail[STEP * step + i] = node[base + BEFORE + i]
        segments = node[base + SEGMENTS]
        at = 0
        for i in range(1, segments):
            if node[base + segment + 3 * i + 1] < node[base + segment + 3 * at + 1]:
                at = i
        niche = base + segment + 3 * at
        y, gap = node[niche + 1], node[niche + 2]
        lw = node[niche - 2] - y if at > 0 else WALL
        rw = node[niche + 4] - y if at + 1 < segments else WALL
        for choice in range(2 * ways + 1):
            v, row, w, h = choice // 2, 1, gap, min(lw, rw)
            if v < ways:
                copies = node[base + left + kind[v]]
                if copies == 0 or wide[v] > gap or y + long[v] > state[WANTED]:
                    continue
                if choice % 2 == 1:
                    row = min(gap // wide[v], copies)
                    if row == 1:
                        continue
                w, h = row * wide[v], long[v]
            elif segments == 1:
                continue
            new = free[state[FREE] - 1]
            to = new * size
            for i in range(segment):
                node[to + i] = node[base + i]
            running = node[base + RUNNING]
            for i in range(2 * running):
                node[to + ends + i] = node[base + ends + i]
            for i in range(segments):
                sx[i] = node[base + segment + 3 * i]
                sy[i] = node[base + segment + 3 * i + 1]
                sw[i] = node[base + segment + 3 * i + 2]
            to_left = leans_left(w, h, gap, lw, rw)
            node[to + BEFORE], node[to + WAY], node[to + ROW] = step, -1, 0
            fit = 0
            if v < ways:
                node[to + WAY], node[to + ROW], node[to + Y] = v, row, y
                node[to + X] = node[niche] if to_left else node[niche] + gap - w
                node[to + AREA] += w * h
                node[to + LENGTH] = max(node[to + LENGTH], y + h)
                node[to + LEFT] -= row
                node[to + left + kind[v]] -= row
                for i in range(running, running + row):
                    node[to + ends + 2 * i], node[to + ends + 2 * i + 1] = y + h, v
                node[to + RUNNING] += row
                if w == gap:
                    fit = 2
                if h == lw:
                    fit += 1
                if h == rw:
                    fit += 1
            if node[to + LENGTH] > state[WANTED]:
                # It waited while a shorter one was found.
                continue
            if node[to + LEFT] == 0:
                state[FOUND], state[WANTED] = 1, node[to + LENGTH] - 1
                for i in range(STEP):
                    trail[i] = node[to + BEFORE + i]
                continue
            grown = laid(at, segments, w, y + h, to_left, sky)
            grown = raised(node, to, kinds, rules, grown, kind, wide, weight, most, sky)
            node[to + SEGMENTS] = grown
            estimate, may = 0, True
            for m in range(rules):
                taken = node[to + HEAD + m] + total[m]
                may = may and taken <= most[m] * state[WANTED]
                estimate = max(estimate, FINE * taken // most[m])
            for u in range(ways):
                if alone[u] == 1 and node[to + left + kind[u]] > 0:
                    may = may and node[to + LOWEST] + long[u] <= state[WANTED]
            if not may:
                continue
            code = 0
            for i in range(grown):
                code = (code * MIX + sx[i] * MIX_X + sy[i]) % PRIME
            for i in range(kinds):
                code = (code * MIX + node[to + left + i]) % PRIME
            node[to + CODE] = code
            then = min(stages - 1, node[to + AREA] * stages // area)
            count, slot = filled[then], then * beam
            worst, met = slot, False
            for i in range(slot, slot + count):
                met = met or node[waiting[i] * size + CODE] == code
                if rank[i] > rank[worst]:
                    worst = i
            estimate += draw(random, noise) - fit - keep * node[to + LEFT]
            if met or (count == beam and rank[worst] <= estimate):
                continue
            state[FREE] -= 1
            if count < beam:
                worst = slot + count
                filled[then] += 1
            else:
                free[state[FREE]] = waiting[worst]
                state[FREE] += 1
            waiting[worst], rank[worst] = new, estimate
            for i in range(grown):
                node[to + segment + 3 * i], node[to + segment + 3 * i + 1] = sx[i], sy[i]
                node[to + segment + 3 * i + 2] = sw[i]
        free[state[FREE]] = parent
        state[FREE] += 1
    return 1
