"""The lowest free place for each part, holes, flaws and the design considered."""

from __future__ import annotations

from nesting.packing.kernels.numbers import Ints, draw


def fits_group(
    seam: int,
    phase: int,
    W: int,
    H: int,
    first: Ints,
    members: Ints,
    wide: Ints,
    from_left: Ints,
    from_right: Ints,
    place_x: Ints,
) -> bool:
    """Every width of a seam group has a place across with this phase."""
    for i in range(first[seam], first[seam + 1]):
        k = members[i]
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
    low: Ints,
    high: Ints,
    near: Ints,
    far: Ints,
) -> int:
    """The lowest free y from ``floor`` on at ``x``, ``y = phase`` modulo ``period``; -1 past ``best``."""
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


def fill_pass(
    W: int,
    R: int,
    H: int,
    step: int,
    start: int,
    order: Ints,
    wide: Ints,
    long: Ints,
    may: Ints,
    from_left: Ints,
    from_right: Ints,
    matched: Ints,
    place_x: Ints,
    place_y: Ints,
    level: Ints,
    seam: Ints,
    first: Ints,
    members: Ints,
    flaws: Ints,
    limit: int,
    majors: int,
    reach: int,
    most: int,
    px: Ints,
    py: Ints,
    pt: Ints,
    low: Ints,
    high: Ints,
    near: Ints,
    far: Ints,
    edges: Ints,
    lefts: Ints,
    phase_x: Ints,
    phase_y: Ints,
    score: Ints,
) -> int:
    """Each part of the order in the lowest, then leftmost free place; the length, or ``limit`` + 1.

    The compiled twin of `nesting.packing.searches.construct.fill`. ``H`` is 0 where the design has no width,
    ``start`` -1 where it is not known. Kinds keep ``from_left``, ``from_right`` of the edges. ``level`` and
    ``seam`` number the groups (-1: none); seam group g has the kinds ``members[first[g]:first[g + 1]]``.
    ``flaws`` holds x, y, width, length of each flaw in turn, by y. The first ``majors`` entries of the order
    decide: when they reach ``reach`` or beyond with a sum of width x top above ``most``, the rest is not laid
    and the pass is past its limit. ``score`` becomes that sum and their length.
    """
    n = len(order)
    boxes, edge_count, left_count = 0, 1, 1
    edges[0], lefts[0] = 0, W
    for f in range(len(flaws) // 4):
        near[boxes], low[boxes] = flaws[4 * f], flaws[4 * f + 1]
        far[boxes], high[boxes] = near[boxes] + flaws[4 * f + 2], low[boxes] + flaws[4 * f + 3]
        edges[edge_count], lefts[left_count] = far[boxes], near[boxes]
        boxes += 1
        edge_count += 1
        left_count += 1
    for g in range(len(phase_x)):
        phase_x[g] = -1
    for g in range(len(phase_y)):
        phase_y[g] = -1
    length, moment, before, floor = 0, 0, -1, 0
    for at in range(n):
        k = order[at]
        # An equal part laid just before has the lowest place; the next cannot lie lower.
        if k != before:
            floor = 0
        before = k
        best_y, best_x, best_top, best_t = limit + 1, 0, 0, 0
        group = seam[k] if matched[k] != 0 and H > 0 else -1
        for t in range(2):
            if may[2 * k + t] == 0:
                continue
            w, h = wide[2 * k + t], long[2 * k + t]
            for c in range(edge_count + left_count):
                if c < edge_count:
                    edge = max(edges[c], from_left[k])
                else:
                    edge = min(lefts[c - edge_count], W - from_right[k]) - w
                if edge < from_left[k] or edge + w + from_right[k] > W:
                    continue
                tries = 1
                if group >= 0 and phase_x[group] < 0:
                    tries = 1 + 2 * (first[group + 1] - first[group])
                for which in range(tries):
                    x = edge
                    if group >= 0:
                        if phase_x[group] >= 0:
                            want = phase_x[group]
                        elif which == 0:
                            want = (edge - place_x[k]) % H
                        else:
                            other = members[first[group] + (which - 1) // 2]
                            against = from_left[other]
                            if which % 2 == 0:
                                against = W - from_right[other] - wide[2 * other]
                            want = (against - place_x[other]) % H
                        if phase_x[group] < 0 and not fits_group(
                            group, want, W, H, first, members, wide, from_left, from_right, place_x
                        ):
                            continue
                        x = edge + (want + place_x[k] - edge) % H
                        if x + w + from_right[k] > W:
                            continue
                    phase, period = 0, 1
                    if matched[k] != 0 and (start >= 0 or phase_y[level[k]] >= 0):
                        column = (x - place_x[k]) // H if H > 0 else 0
                        phase = -start if start >= 0 else phase_y[level[k]]
                        phase += place_y[k] + column * step
                        period = R
                    y = settle(x, w, h, phase, period, floor, best_y, boxes, low, high, near, far)
                    if y < 0 or y + h > limit:
                        continue
                    better = y < best_y
                    if y == best_y:
                        better = x < best_x or (x == best_x and y + h < best_top)
                    if better:
                        best_y, best_x, best_top, best_t = y, x, y + h, t
        if best_y > limit:
            return limit + 1
        w = wide[2 * k + best_t]
        px[at], py[at], pt[at] = best_x, best_y, best_t
        floor = best_y
        length = max(length, best_top)
        moment += w * best_top
        i = boxes
        while i > 0 and low[i - 1] > best_y:
            low[i], high[i], near[i], far[i] = low[i - 1], high[i - 1], near[i - 1], far[i - 1]
            i -= 1
        low[i], high[i], near[i], far[i] = best_y, best_top, best_x, best_x + w
        boxes += 1
        known = False
        for i in range(edge_count):
            if edges[i] == best_x + w:
                known = True
        if not known:
            edges[edge_count] = best_x + w
            edge_count += 1
        known = False
        for i in range(left_count):
            if lefts[i] == best_x:
                known = True
        if not known:
            lefts[left_count] = best_x
            left_count += 1
        if matched[k] != 0:
            column = (best_x - place_x[k]) // H if H > 0 else 0
            if phase_y[level[k]] < 0:
                phase_y[level[k]] = (best_y - place_y[k] - column * step) % R
            if group >= 0 and phase_x[group] < 0:
                phase_x[group] = (best_x - place_x[k]) % H
        if at + 1 == majors:
            score[0], score[1] = moment, length
            if length >= reach and moment > most:
                return limit + 1
    return length


def fill_search(
    W: int,
    R: int,
    H: int,
    step: int,
    start: int,
    order: Ints,
    wide: Ints,
    long: Ints,
    may: Ints,
    from_left: Ints,
    from_right: Ints,
    matched: Ints,
    place_x: Ints,
    place_y: Ints,
    level: Ints,
    seam: Ints,
    first: Ints,
    members: Ints,
    flaws: Ints,
    current: int,
    majors: int,
    reach: int,
    moment: int,
    target: int,
    rounds: int,
    state: Ints,
    px: Ints,
    py: Ints,
    pt: Ints,
    best_order: Ints,
    trial: Ints,
    low: Ints,
    high: Ints,
    near: Ints,
    far: Ints,
    edges: Ints,
    lefts: Ints,
    phase_x: Ints,
    phase_y: Ints,
    score: Ints,
) -> int:
    """Exchange or move parts of the order, keep what is not worse; the length reached.

    Not worse: shorter, or as long with the sum of width x top of the first ``majors`` no larger. ``reach``
    and ``moment`` are their length and sum at the start; at the end they are in ``score``. Seven changes of
    eight are among them. Otherwise as `skyline_search`.
    """
    n = len(order)
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
        length = fill_pass(
            W, R, H, step, start, trial, wide, long, may, from_left, from_right, matched, place_x, place_y,
            level, seam, first, members, flaws, current, majors, reach, moment, px, py, pt, low, high, near,
            far, edges, lefts, phase_x, phase_y, score,
        )  # fmt: skip
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
