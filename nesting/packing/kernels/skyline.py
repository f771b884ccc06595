"""Filling niches of the skyline, best fit first."""

from __future__ import annotations

from typing import NamedTuple

from nesting.packing.kernels.numbers import Ints, draw

#: The strip's edges are walls higher than any part, whatever length is asked for.
WALL = 1 << 40
#: How parts are scored: the first two one by one, the others the same with rows of copies.
RULES, ROWS = 4, 2


class Sizes(NamedTuple):
    """Of kind k upright at 2k, turned at 2k + 1: its size, and whether it may lie so."""

    wide: Ints
    long: Ints
    may: Ints


class Spots(NamedTuple):
    """The place of each entry of an order, and how it lies: 1 turned, or the number of a way."""

    x: Ints
    y: Ints
    way: Ints


class Queue(NamedTuple):
    """Of each kind the entry of an order that is next, and how many are left; of each entry the one after."""

    later: Ints
    head: Ints
    left: Ints


class Sky(NamedTuple):
    """Segments of a skyline from left to right: their left end, height and width."""

    x: Ints
    y: Ints
    w: Ints


def leans_left(w: int, h: int, gap: int, lw: int, rw: int) -> bool:
    """Whether a part goes to the left wall of its niche: the higher one, or the one as high as itself."""
    if w < gap:
        if h == rw and h != lw:
            return False
        if h == lw:
            return True
    return lw >= rw


def fitness(rule: int, w: int, h: int, gap: int, lw: int, rw: int) -> int:
    """How well a part fits a niche ``gap`` wide between walls ``lw`` and ``rw`` high; more is better.

    By rule 0 a part as wide as the niche and as long as one wall or both counts most, by rule 1 one as wide
    and as long as the higher wall.

    References
    ----------
    Leung, Zhang, Sim, European J. Operational Research 215 (2011) 57-69 (rule 0); Wei, Hu, Leung, Zhang,
    Computers & Operations Research 80 (2017) 113-127 (rule 1).
    """
    if rule == 0:
        if w == gap:
            if h == lw and h == rw:
                return 6
            return 5 if h == lw or h == rw else 3
        return 1 if h == lw or h == rw else 0
    high, low = max(lw, rw), min(lw, rw)
    if w == gap:
        if h == high:
            return 5
        if h == low:
            return 4
        return 3 if h < high else 2
    return 1 if h == high else 0


def joined(at: int, segments: int, sky: Sky) -> int:
    """Join a segment of the skyline with neighbors of its height; how many there are then."""
    sx, sy, sw = sky
    if at + 1 < segments and sy[at + 1] == sy[at]:
        sw[at] += sw[at + 1]
        for j in range(at + 1, segments - 1):
            sx[j], sy[j], sw[j] = sx[j + 1], sy[j + 1], sw[j + 1]
        segments -= 1
    if at > 0 and sy[at - 1] == sy[at]:
        sw[at - 1] += sw[at]
        for j in range(at, segments - 1):
            sx[j], sy[j], sw[j] = sx[j + 1], sy[j + 1], sw[j + 1]
        segments -= 1
    return segments


def laid(at: int, segments: int, w: int, top: int, to_left: bool, sky: Sky) -> int:
    """Raise one side of a niche, ``w`` wide, to ``top``; how many segments the skyline has then."""
    sx, sy, sw = sky
    gap = sw[at]
    if w < gap:
        for j in range(segments, at, -1):
            sx[j], sy[j], sw[j] = sx[j - 1], sy[j - 1], sw[j - 1]
        segments += 1
        if to_left:
            sw[at] = w
            sx[at + 1], sw[at + 1] = sx[at] + w, gap - w
        else:
            sw[at] = gap - w
            sx[at + 1], sw[at + 1] = sx[at] + gap - w, w
            at += 1
    sy[at] = top
    return joined(at, segments, sky)


def lowest(segments: int, sy: Ints) -> int:
    """The lowest segment of a skyline, the leftmost of several."""
    at = 0
    for i in range(1, segments):
        if sy[i] < sy[at]:
            at = i
    return at


def lined_up(order: Ints, queue: Queue) -> None:
    """Of each kind only the copy that comes first in the order matters, and later the next of its kind."""
    later, head, left = queue
    n = len(order)
    for k in range(len(head)):
        head[k], left[k] = n, 0
    for i in range(n - 1, -1, -1):
        later[i] = head[order[i]]
        head[order[i]] = i
        left[order[i]] += 1


def skyline_pass(
    W: int, order: Ints, sizes: Sizes, rule: int, limit: int, spots: Spots, queue: Queue, sky: Sky
) -> int:
    """Fill the lowest niche of the skyline with the part that fits it best; the length, or ``limit`` + 1.

    Among the parts that fit, one as wide as the niche and as long as its walls is best; ties go to the part
    that comes first in the order. ``rule`` varies what counts; from `ROWS` on, as many copies as fit side by
    side count as one part, and are laid so. Holes are never looked back at.

    References
    ----------
    Leung, Zhang, Sim, European J. Operational Research 215 (2011) 57-69 (scoring along the skyline); Wei, Hu,
    Leung, Zhang, Computers & Operations Research 80 (2017) 113-127.
    """
    n = len(order)
    (wide, long, may), (px, py, pt), (later, head, left), (sx, sy, sw) = sizes, spots, queue, sky
    lined_up(order, queue)
    segments, placed, length = 1, 0, 0
    in_rows, rule = rule >= ROWS, rule % ROWS
    row, row_of, row_turn, row_left = 0, 0, 0, False
    sx[0], sy[0], sw[0] = 0, 0, W
    while placed < n:
        at = lowest(segments, sy)
        gap, y = sw[at], sy[at]
        lw = sy[at - 1] - y if at > 0 else WALL
        rw = sy[at + 1] - y if at + 1 < segments else WALL
        best, best_score, best_turn = -1, -1, 0
        first, last = 0, len(head)
        if row > 0:
            # The rest of the niche is the lowest still.
            first, last, best, best_turn = 0, 0, head[row_of], row_turn
        for k in range(first, last):
            i = head[k]
            if i >= n:
                continue
            for t in range(2):
                if may[2 * k + t] == 0 or wide[2 * k + t] > gap:
                    continue
                w, h = wide[2 * k + t], long[2 * k + t]
                if in_rows:
                    w *= min(gap // w, left[k])
                score = fitness(rule, w, h, gap, lw, rw)
                if score > best_score or (score == best_score and i < best):
                    best, best_score, best_turn = i, score, t
        if best < 0:
            if segments == 1:
                return limit + 1
            up = min(lw, rw)
            if at == 0:
                up = rw
            elif at == segments - 1:
                up = lw
            sy[at] = y + up
            segments = joined(at, segments, sky)
        else:
            k = order[best]
            w, h = wide[2 * k + best_turn], long[2 * k + best_turn]
            if y + h > limit:
                return limit + 1
            if row > 0:
                row -= 1
            else:
                if in_rows:
                    row = min(gap // w, left[k]) - 1
                row_of, row_turn = k, best_turn
                row_left = leans_left((row + 1) * w, h, gap, lw, rw)
            to_left = row_left
            head[k] = later[best]
            left[k] -= 1
            placed += 1
            x = sx[at] if to_left else sx[at] + gap - w
            px[best], py[best], pt[best] = x, y, best_turn
            length = max(length, y + h)
            segments = laid(at, segments, w, y + h, to_left, sky)
    return length


def skyline_search(
    W: int,
    order: Ints,
    sizes: Sizes,
    rule: int,
    current: int,
    target: int,
    rounds: int,
    state: Ints,
    best_order: Ints,
    spots: Spots,
    queue: Queue,
    sky: Sky,
) -> int:
    """Exchange two parts of the order, keep what is not longer; the length reached.

    Where rows of copies are laid, as many copies of each are exchanged as stand together, or fewer.

    ``order`` is changed in place. Ends early at ``target``. ``best_order`` holds the order of the shortest
    layout met; a pass over it gives that layout again.
    """
    n = len(order)
    best = current
    for i in range(n):
        best_order[i] = order[i]
    for _ in range(rounds):
        if best <= target:
            break
        i, j = draw(state, n), draw(state, n)
        if order[i] == order[j]:
            continue
        m = 1
        if rule >= ROWS:
            apart = abs(i - j)
            while m < apart and max(i, j) + m < n and order[i + m] == order[i] and order[j + m] == order[j]:
                m += 1
            m = 1 + draw(state, m)
        for t in range(m):
            order[i + t], order[j + t] = order[j + t], order[i + t]
        length = skyline_pass(W, order, sizes, rule, current, spots, queue, sky)
        if length > current:
            for t in range(m):
                order[i + t], order[j + t] = order[j + t], order[i + t]
            continue
        current = length
        if length < best:
            best = length
            for k in range(n):
                best_order[k] = order[k]
    return best
