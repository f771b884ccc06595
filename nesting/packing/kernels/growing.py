"""Many layouts grown side by side: of each stage of growth the most promising go on."""

from __future__ import annotations

from typing import NamedTuple

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


class Growable(NamedTuple):
    """The ways parts may lie, those of a kind together: kind, size, and 1 where the kind has no other."""

    kind: Ints
    wide: Ints
    long: Ints
    alone: Ints


class RowRules(NamedTuple):
    """Rules of row weights: ``weight[m * ways + v]`` add up to at most ``most[m]`` in a row.

    All parts weigh ``total[m]``, times length.
    """

    weight: Ints
    most: Ints
    total: Ints


class Growth(NamedTuple):
    """How layouts are grown.

    In so many stages, of which so many layouts wait, with so much chance, less so much for each part left;
    and the area of all parts.
    """

    stages: int
    beam: int
    noise: int
    keep: int
    area: int


class Nursery(NamedTuple):
    """The layouts that grow.

    ``node`` holds layouts of ``size`` numbers each, of so many kinds; ``free`` the numbers of those not in
    use; ``trail`` the steps taken; ``waiting, rank`` numbers and estimates of layouts by stage, ``filled``
    how many of each stage.
    """

    size: int
    kinds: int
    node: Ints
    free: Ints
    trail: Ints
    waiting: Ints
    rank: Ints
    filled: Ints


def raised(at: int, segments: int, ways: Growable, rules: RowRules, bed: Nursery, sky: Sky) -> int:
    """Raise niches too narrow for all parts left, count what finished rows lose; segments there are then."""
    kind, wide, weight, most, node = ways.kind, ways.wide, rules.weight, rules.most, bed.node
    left = at + HEAD + len(most)
    ends = left + bed.kinds + 3 * len(sky.x)
    narrowest = WALL
    for v in range(len(kind)):
        if node[left + kind[v]] > 0:
            narrowest = min(narrowest, wide[v])
    while True:
        low = lowest(segments, sky.y)
        if segments == 1 or sky.w[low] >= narrowest:
            break
        up = WALL
        if low > 0:
            up = sky.y[low - 1]
        if low + 1 < segments:
            up = min(up, sky.y[low + 1])
        sky.y[low] = up
        segments = joined(low, segments, sky)
    y, floor, running = node[at + LOWEST], sky.y[low], node[at + RUNNING]
    while y < floor:
        end = floor
        for r in range(running):
            end = min(end, node[ends + 2 * r])
        for m in range(len(most)):
            free = most[m]
            for r in range(running):
                free -= weight[m * len(kind) + node[ends + 2 * r + 1]]
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


def next_parent(stage: int, beam: int, bed: Nursery) -> int:
    """Take out of a stage the layout with the least area, so that none comes too late for its stage."""
    waiting, rank = bed.waiting, bed.rank
    pick, last = stage * beam, stage * beam + bed.filled[stage] - 1
    for i in range(stage * beam + 1, last + 1):
        if bed.node[waiting[i] * bed.size + AREA] < bed.node[waiting[pick] * bed.size + AREA]:
            pick = i
    parent = waiting[pick]
    waiting[pick], rank[pick] = waiting[last], rank[last]
    bed.filled[stage] -= 1
    return parent


def copied(base: int, to: int, rules: int, bed: Nursery, sky: Sky) -> None:
    """Write a layout once more at ``to``, its skyline apart."""
    node, segment = bed.node, HEAD + rules + bed.kinds
    ends = segment + 3 * len(sky.x)
    for i in range(segment):
        node[to + i] = node[base + i]
    for i in range(2 * node[base + RUNNING]):
        node[to + ends + i] = node[base + ends + i]
    for i in range(node[base + SEGMENTS]):
        sky.x[i] = node[base + segment + 3 * i]
        sky.y[i] = node[base + segment + 3 * i + 1]
        sky.w[i] = node[base + segment + 3 * i + 2]


def estimated(to: int, wanted: int, ways: Growable, rules: RowRules, bed: Nursery) -> int:
    """The length, in parts of a step, that rows will have lost by the worst rule; -1: it is too long."""
    node, most, estimate, may = bed.node, rules.most, 0, True
    left = to + HEAD + len(most)
    for m in range(len(most)):
        taken = node[to + HEAD + m] + rules.total[m]
        may = may and taken <= most[m] * wanted
        estimate = max(estimate, FINE * taken // most[m])
    for u in range(len(ways.kind)):
        if ways.alone[u] == 1 and node[left + ways.kind[u]] > 0:
            may = may and node[to + LOWEST] + ways.long[u] <= wanted
    return estimate if may else -1


def queued(
    new: int, segments: int, estimate: int, rules: int, growth: Growth, state: Ints, bed: Nursery, sky: Sky
) -> None:
    """Let a layout wait in its stage, unless one like it does, or as many better ones as may."""
    node, free, waiting, rank, filled = bed.node, bed.free, bed.waiting, bed.rank, bed.filled
    beam, to, left = growth.beam, new * bed.size, new * bed.size + HEAD + rules
    segment = left + bed.kinds
    code = 0
    for i in range(segments):
        code = (code * MIX + sky.x[i] * MIX_X + sky.y[i]) % PRIME
    for i in range(bed.kinds):
        code = (code * MIX + node[left + i]) % PRIME
    node[to + CODE] = code
    then = min(growth.stages - 1, node[to + AREA] * growth.stages // growth.area)
    count, slot = filled[then], then * beam
    worst, met = slot, False
    for i in range(slot, slot + count):
        met = met or node[waiting[i] * bed.size + CODE] == code
        if rank[i] > rank[worst]:
            worst = i
    if met or (count == beam and rank[worst] <= estimate):
        return
    state[FREE] -= 1
    if count < beam:
        worst = slot + count
        filled[then] += 1
    else:
        free[state[FREE]] = waiting[worst]
        state[FREE] += 1
    waiting[worst], rank[worst] = new, estimate
    for i in range(segments):
        node[segment + 3 * i], node[segment + 3 * i + 1] = sky.x[i], sky.y[i]
        node[segment + 3 * i + 2] = sky.w[i]


def grow(
    parent: int, step: int, ways: Growable, rules: RowRules, growth: Growth, random: Ints, state: Ints,
    bed: Nursery, sky: Sky,
) -> None:  # fmt: skip
    """Grow one layout at its lowest niche in every way there is."""
    kind, node, trail = ways.kind, bed.node, bed.trail
    left = HEAD + len(rules.most)
    segment = left + bed.kinds
    ends = segment + 3 * len(sky.x)
    base = parent * bed.size
    segments, running = node[base + SEGMENTS], node[base + RUNNING]
    at = 0
    for i in range(1, segments):
        if node[base + segment + 3 * i + 1] < node[base + segment + 3 * at + 1]:
            at = i
    niche = base + segment + 3 * at
    y, gap = node[niche + 1], node[niche + 2]
    lw = node[niche - 2] - y if at > 0 else WALL
    rw = node[niche + 4] - y if at + 1 < segments else WALL
    for choice in range(2 * len(kind) + 1):
        v, row, w, h = choice // 2, 1, gap, min(lw, rw)
        if v < len(kind):
            copies = node[base + left + kind[v]]
            if copies == 0 or ways.wide[v] > gap or y + ways.long[v] > state[WANTED]:
                continue
            if choice % 2 == 1:
                row = min(gap // ways.wide[v], copies)
                if row == 1:
                    continue
            w, h = row * ways.wide[v], ways.long[v]
        elif segments == 1:
            continue
        new = bed.free[state[FREE] - 1]
        to = new * bed.size
        copied(base, to, len(rules.most), bed, sky)
        to_left = leans_left(w, h, gap, lw, rw)
        node[to + BEFORE], node[to + WAY], node[to + ROW] = step, -1, 0
        fit = 0
        if v < len(kind):
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
        grown = raised(to, laid(at, segments, w, y + h, to_left, sky), ways, rules, bed, sky)
        node[to + SEGMENTS] = grown
        estimate = estimated(to, state[WANTED], ways, rules, bed)
        if estimate >= 0:
            estimate += draw(random, growth.noise) - fit - growth.keep * node[to + LEFT]
            queued(new, grown, estimate, len(rules.most), growth, state, bed, sky)


def beam_search(
    ways: Growable,
    rules: RowRules,
    growth: Growth,
    steps: int,
    random: Ints,
    state: Ints,
    bed: Nursery,
    sky: Sky,
) -> int:
    """Grow ``steps`` layouts further, from the squared end; 1 when all are grown that may be, else 0.

    A layout grows at its lowest niche: by one part, by as many copies as fit side by side, or by leaving it
    empty. Layouts with about the same area laid, of so many stages, are compared, and a beam of them waits to
    go on: those with the least estimate. That is the length which their rows will have lost by the worst of
    the rules, less something for each part left, for a layout that has small parts left ends better; and more
    or less by chance. ``state`` is described above. At first layout 0, of no parts, waits in stage 0.

    References
    ----------
    Lowerre, "The Harpy speech recognition system", PhD thesis, Carnegie Mellon University (1976) (beam
    search). Bennell, Song, J. Heuristics 16 (2010) 167-188 (for layouts).
    """
    stages, beam, free, filled = growth.stages, growth.beam, bed.free, bed.filled
    state[UNUSED] = steps
    while state[STAGE] < stages:
        stage = state[STAGE]
        if filled[stage] == 0 or state[GROWN] >= GROWTH * beam:
            for i in range(filled[stage]):
                free[state[FREE]] = bed.waiting[stage * beam + i]
                state[FREE] += 1
            filled[stage] = 0
            state[STAGE], state[GROWN] = stage + 1, 0
            continue
        if state[UNUSED] == 0:
            return 0
        state[UNUSED] -= 1
        state[GROWN] += 1
        parent = next_parent(stage, beam, bed)
        step = state[TRAIL]
        state[TRAIL] += 1
        for i in range(STEP):
            bed.trail[STEP * step + i] = bed.node[parent * bed.size + BEFORE + i]
        grow(parent, step, ways, rules, growth, random, state, bed, sky)
        free[state[FREE]] = parent
        state[FREE] += 1
    return 1
