"""The lowest free place for each part, holes, flaws and the pattern considered."""

from __future__ import annotations

from typing import NamedTuple

from nesting.packing.kernels.numbers import Ints, draw
from nesting.packing.kernels.skyline import Sizes, Spots


class Ground(NamedTuple):
    """The strip: its width, repeat length, repeat width, drop in steps, start of the pattern, and flaws.

    ``across`` is 0 where the pattern has no width, ``start`` -1 where it is not known. ``flaws`` holds x, y,
    width, length of each flaw in turn, by y.
    """

    width: int
    repeat: int
    across: int
    step: int
    start: int
    flaws: Ints


class Binding(NamedTuple):
    """What binds kinds: how far they keep from the edges, whether the pattern does, where, and with which.

    ``level`` and ``seam`` number the groups (-1: none); seam group g has the kinds
    ``members[first[g]:first[g + 1]]``.
    """

    from_left: Ints
    from_right: Ints
    matched: Ints
    x: Ints
    y: Ints
    level: Ints
    seam: Ints
    first: Ints
    members: Ints


class Occupied(NamedTuple):
    """Scratch: rectangles taken, by their lower edge, edges to lay against, and phases of groups.

    There is room for all parts and flaws, and for two more.
    """

    low: Ints
    high: Ints
    near: Ints
    far: Ints
    edges: Ints
    lefts: Ints
    phase_x: Ints
    phase_y: Ints


class Orders(NamedTuple):
    """An order that is changed, the best met, and room for one more."""

    now: Ints
    best: Ints
    trial: Ints


def fits_group(seam: int, phase: int, W: int, H: int, wide: Ints, bound: Binding) -> bool:
    """Every width of a seam group has a place across with this phase."""
    from_left, from_right, place_x, first = bound.from_left, bound.from_right, bound.x, bound.first
    for i in range(first[seam], first[seam + 1]):
        k = bound.members[i]
        x = from_left[k] + (phase + place_x[k] - from_left[k]) % H
        if x + wide[2 * k] + from_right[k] > W:
            return False
    return True


def settle(
    x: int,
    width: int,
    length: int,
    phase: int,
    period: int,
    floor: int,
    best: int,
    boxes: int,
    taken: Occupied,
) -> int:
    """The lowest free y from ``floor`` on at ``x``, ``y = phase`` modulo ``period``; -1 past ``best``."""
    low, high, near, far = taken.low, taken.high, taken.near, taken.far
    y = floor + (phase - floor) % period
    if y > best:
        return -1
    right = x + width
    # Boxes come by their lower edge, so one pass settles: those passed lie below y already.
    for i in range(boxes):
        if low[i] >= y + length:
            break
        if high[i] > y and near[i] < right and far[i] > x:
            y = high[i] + (phase - high[i]) % period
            if y > best:
                return -1
    return y


def bare(ground: Ground, taken: Occupied) -> int:
    """Nothing laid yet, no phase settled; how many rectangles the flaws take."""
    flaws, boxes = ground.flaws, 0
    taken.edges[0], taken.lefts[0] = 0, ground.width
    for f in range(len(flaws) // 4):
        taken.near[boxes], taken.low[boxes] = flaws[4 * f], flaws[4 * f + 1]
        taken.far[boxes] = flaws[4 * f] + flaws[4 * f + 2]
        taken.high[boxes] = flaws[4 * f + 1] + flaws[4 * f + 3]
        boxes += 1
        taken.edges[boxes], taken.lefts[boxes] = taken.far[boxes - 1], taken.near[boxes - 1]
    for g in range(len(taken.phase_x)):
        taken.phase_x[g] = -1
    for g in range(len(taken.phase_y)):
        taken.phase_y[g] = -1
    return boxes


def boxed(y: int, top: int, x: int, right: int, boxes: int, taken: Occupied) -> None:
    """Take one rectangle more."""
    low, high, near, far = taken.low, taken.high, taken.near, taken.far
    i = boxes
    while i > 0 and low[i - 1] > y:
        low[i], high[i], near[i], far[i] = low[i - 1], high[i - 1], near[i - 1], far[i - 1]
        i -= 1
    low[i], high[i], near[i], far[i] = y, top, x, right


def noted(value: int, count: int, values: Ints) -> int:
    """Note a value unless it is there already; how many there are then."""
    for i in range(count):
        if values[i] == value:
            return count
    values[count] = value
    return count + 1


def wanted_phase(
    k: int, group: int, which: int, edge: int, ground: Ground, wide: Ints, bound: Binding
) -> int:
    """The phase across by which kind k lies at an edge, or another width of its seam group at its own."""
    place_x = bound.x
    if which == 0:
        return (edge - place_x[k]) % ground.across
    other = bound.members[bound.first[group] + (which - 1) // 2]
    against = bound.from_left[other]
    if which % 2 == 0:
        against = ground.width - bound.from_right[other] - wide[2 * other]
    return (against - place_x[other]) % ground.across


def lowest_place(
    k: int,
    group: int,
    floor: int,
    limit: int,
    counts: tuple[int, int, int],
    ground: Ground,
    sizes: Sizes,
    bound: Binding,
    taken: Occupied,
) -> tuple[int, int, int, int]:
    """The y, x, top and turn of the lowest, then leftmost free place of a kind; y is above the limit: none.

    ``counts`` says how many rectangles are taken, and how many edges to the right and left of which to lie
    there are.
    """
    width, repeat, across, step, start, _ = ground
    wide, long, may = sizes
    from_left, from_right, place_x, phase_x = bound.from_left, bound.from_right, bound.x, taken.phase_x
    boxes, edge_count, left_count = counts
    best_y, best_x, best_top, best_t = limit + 1, 0, 0, 0
    for t in range(2):
        if may[2 * k + t] == 0:
            continue
        w, h = wide[2 * k + t], long[2 * k + t]
        for c in range(edge_count + left_count):
            if c < edge_count:
                edge = max(taken.edges[c], from_left[k])
            else:
                edge = min(taken.lefts[c - edge_count], width - from_right[k]) - w
            if edge < from_left[k] or edge + w + from_right[k] > width:
                continue
            tries = 1
            if group >= 0 and phase_x[group] < 0:
                tries = 1 + 2 * (bound.first[group + 1] - bound.first[group])
            for which in range(tries):
                x = edge
                if group >= 0:
                    want = phase_x[group]
                    if want < 0:
                        want = wanted_phase(k, group, which, edge, ground, wide, bound)
                        if not fits_group(group, want, width, across, wide, bound):
                            continue
                    x = edge + (want + place_x[k] - edge) % across
                    if x + w + from_right[k] > width:
                        continue
                phase, period = 0, 1
                if bound.matched[k] != 0 and (start >= 0 or taken.phase_y[bound.level[k]] >= 0):
                    column = (x - place_x[k]) // across if across > 0 else 0
                    phase = -start if start >= 0 else taken.phase_y[bound.level[k]]
                    phase += bound.y[k] + column * step
                    period = repeat
                y = settle(x, w, h, phase, period, floor, best_y, boxes, taken)
                if y < 0 or y + h > limit:
                    continue
                better = y < best_y
                if y == best_y:
                    better = x < best_x or (x == best_x and y + h < best_top)
                if better:
                    best_y, best_x, best_top, best_t = y, x, y + h, t
    return best_y, best_x, best_top, best_t


def fill_pass(
    ground: Ground,
    order: Ints,
    sizes: Sizes,
    bound: Binding,
    limit: int,
    majors: int,
    reach: int,
    most: int,
    spots: Spots,
    taken: Occupied,
    score: Ints,
) -> int:
    """Each part of the order in the lowest, then leftmost free place; the length, or ``limit`` + 1.

    The compiled twin of `nesting.packing.searches.construct.fill`. The first ``majors`` entries of the order
    decide: when they reach ``reach`` or beyond with a sum of width x top above ``most``, the rest is not laid
    and the pass is past its limit. ``score`` becomes that sum and their length.
    """
    n, across = len(order), ground.across
    px, py, pt = spots
    phase_x, phase_y = taken.phase_x, taken.phase_y
    boxes = bare(ground, taken)
    edge_count = left_count = boxes + 1
    length, moment, before, floor = 0, 0, -1, 0
    for at in range(n):
        k = order[at]
        # An equal part laid just before has the lowest place; the next cannot lie lower.
        if k != before:
            floor = 0
        before = k
        group = bound.seam[k] if bound.matched[k] != 0 and across > 0 else -1
        counts = boxes, edge_count, left_count
        y, x, top, turn = lowest_place(k, group, floor, limit, counts, ground, sizes, bound, taken)
        if y > limit:
            return limit + 1
        w = sizes.wide[2 * k + turn]
        px[at], py[at], pt[at] = x, y, turn
        floor = y
        length = max(length, top)
        moment += w * top
        boxed(y, top, x, x + w, boxes, taken)
        boxes += 1
        edge_count = noted(x + w, edge_count, taken.edges)
        left_count = noted(x, left_count, taken.lefts)
        if bound.matched[k] != 0:
            column = (x - bound.x[k]) // across if across > 0 else 0
            if phase_y[bound.level[k]] < 0:
                phase_y[bound.level[k]] = (y - bound.y[k] - column * ground.step) % ground.repeat
            if group >= 0 and phase_x[group] < 0:
                phase_x[group] = (x - bound.x[k]) % across
        if at + 1 == majors:
            score[0], score[1] = moment, length
            if length >= reach and moment > most:
                return limit + 1
    return length


def fill_search(
    ground: Ground,
    orders: Orders,
    sizes: Sizes,
    bound: Binding,
    current: int,
    majors: int,
    target: int,
    rounds: int,
    state: Ints,
    spots: Spots,
    taken: Occupied,
    score: Ints,
) -> int:
    """Exchange or move parts of the order, keep what is not worse; the length reached.

    Not worse: shorter, or as long with the sum of width x top of the first ``majors`` no larger. That sum and
    their length are in ``score``, at the start and at the end. Seven changes of eight are among them.
    Otherwise as `skyline_search`.
    """
    order, best_order, trial = orders
    n, moment, reach = len(order), score[0], score[1]
    best = current
    for i in range(n):
        best_order[i] = order[i]
    for _ in range(rounds):
        if best <= target:
            break
        among = majors if draw(state, 8) > 0 else n
        i, j = draw(state, among), draw(state, among)
        if order[i] == order[j]:
            continue
        for k in range(n):
            trial[k] = order[k]
        if draw(state, 2) == 0:
            trial[i], trial[j] = order[j], order[i]
        elif i < j:
            for k in range(i, j):
                trial[k] = order[k + 1]
            trial[j] = order[i]
        else:
            for k in range(j, i):
                trial[k + 1] = order[k]
            trial[j] = order[i]
        length = fill_pass(ground, trial, sizes, bound, current, majors, reach, moment, spots, taken, score)
        if length > current or (length == current and score[0] > moment):
            continue
        current, moment, reach = length, score[0], score[1]
        for k in range(n):
            order[k] = trial[k]
        if length < best:
            best = length
            for k in range(n):
                best_order[k] = order[k]
    score[0], score[1] = moment, reach
    return best
