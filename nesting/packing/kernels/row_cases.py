"""Rows of parts in one piece: every way to begin parts one after another along the strip."""

from __future__ import annotations

from nesting.packing.kernels.numbers import Ints

#: Of the hash: a product of two numbers below the prime stays within 64 bits.
PRIME, FACTOR = 2147483647, 48271
#: Kinds that are told apart by the bits of a whole number.
BITS = 62
#: Slots looked at for one case.
PROBES = 4


def place_of(case: Ints, mine: int, size: int) -> int:
    """Where to look for a case: a hash, by which nothing is decided."""
    found = 0
    for i in range(mine, mine + size):
        found = (found * FACTOR + case[i] + 1) % PRIME
    return found


def agree(known: Ints, here: int, case: Ints, mine: int, size: int) -> bool:
    """Whether two cases are the same, number by number."""
    for i in range(size):  # noqa: SIM110 - the compiler takes no generators
        if known[here + i] != case[mine + i]:
            return False
    return True


def contiguous_search(
    W: int,
    longest: int,
    nodes: int,
    wide: Ints,
    long: Ints,
    part_of: Ints,
    left: Ints,
    R: int,
    first: Ints,
    starts: Ints,
    apart: Ints,
    rules: int,
    strict: int,
    priced: int,
    weight: Ints,
    most: Ints,
    spare: Ints,
    before: Ints,
    after: Ints,
    last: Ints,
    next_start: Ints,
    room: int,
    at: Ints,
    started: Ints,
    begun: Ints,
    start: Ints,
    time: Ints,
    barred: Ints,
    blocked: Ints,
    gap: Ints,
    running: Ints,
    choice: Ints,
    way_of: Ints,
    end_of: Ints,
    taken: Ints,
    waste: Ints,
    digit: Ints,
    unit: Ints,
    digits: int,
    case: Ints,
    slots: int,
    known: Ints,
) -> int:
    """1: all parts begin so that in no row they are wider than the strip; 0: they cannot; -1: not known yet.

    Parts keep their rows but no place across. They are begun in the order of their rows, each where one ends
    or at 0, and never where it could have begun with the row before (``barred``, a bit for each of the first
    62 ways): any layout can be pushed together so. ``wide, long`` describe the ways parts may stand; parts of
    kind ``part_of[k]`` may stand the way ``k``, and ``left`` are the copies of each kind not begun. The ways
    that share no row with ``k`` are bits of ``apart[k * words:(k + 1) * words]``, 62 in each; ``apart`` may
    be empty. A way of the pattern begins at ``starts[first[k]:first[k + 1]]`` modulo ``R`` only: it waits for
    the next of them with its width kept free.

    Row weights ``weight[m * ways + k]``, ``m < rules``, add up to ``most[m]`` in a row at most, and
    ``spare[m]`` of them, times length, may go unused in all. Only the rule ``strict`` (-1: none) is not kept
    by every row no wider than the strip. Of what goes unused each unit of weight costs
    ``after[m * kinds + j]`` where a part of kind ``j`` ends, ``before`` where one begins and ``last[m]`` at
    the end of the strip: prices of waiting, for the first ``priced`` rules.

    Cases met before (the same parts left, the same ends to wait for) at the same time or earlier (by whole
    repeats) are not gone into again. A case is written out in ``case``: the time modulo ``R``; ``digits``
    numbers that hold what is left of all kinds, kind j in number ``digit[j]`` by ``unit[j]`` for each copy;
    and what still runs, each a way and how long it goes on, in order. So two cases are one where all their
    numbers agree; a hash only says in which of the ``slots`` to look (0: no case is remembered).

    The search goes on from where it was: ``at`` holds level and parts begun, all zeros at first, when
    ``gap[0]`` must be ``W``. ``known`` has ``slots`` entries, all zeros at first, of two numbers and a case:
    when it was met, plus 1, and what was barred. The i-th part begun
    stands the way ``started[i]`` and begins at ``start[i]``. ``room`` parts at most lie side by side.

    References
    ----------
    Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (the contiguous relaxation).
    Demeulemeester, Herroelen, Management Science 38 (1992) 1803-1818 (semi-active timetables, left-shift and
    cutset rules).
    """
    ways, kinds = len(wide), len(left)
    words = (ways + BITS - 1) // BITS
    size = 1 + digits + room
    entry = size + 2
    matched, exclusive = first[ways] > 0, len(apart) > 0
    level, count = at[0], at[1]
    total = 0
    for k in range(kinds):
        total += left[k]
    spent = 0
    while spent < nodes:
        now = time[level]
        k = choice[level]
        wait = 0
        while k < ways:
            may = left[part_of[k]] > 0 and wide[k] <= gap[level]
            may = may and (k >= BITS or (barred[level] >> k) & 1 == 0)
            if may and exclusive:
                may = (blocked[level * words + k // BITS] >> k % BITS) & 1 == 0
                if strict >= 0:
                    taken_by = taken[level * rules + strict] + weight[strict * ways + k]
                    may = may and taken_by <= most[strict]
            if may:
                wait = 0
                if first[k + 1] > first[k]:
                    wait = R
                    for i in range(first[k], first[k + 1]):
                        wait = min(wait, (starts[i] - now) % R)
                if now + wait + long[k] <= longest:
                    break
            k += 1
        if k < ways:
            spent += 1
            choice[level] = k
            started[count], begun[count], start[count] = k, level, now + wait
            count += 1
            left[part_of[k]] -= 1
            total -= 1
            r = level * room + running[level]
            way_of[r], end_of[r] = k, now + wait + long[k]
            running[level] += 1
            gap[level] -= wide[k]
            if exclusive:
                for i in range(words):
                    blocked[level * words + i] |= apart[k * words + i]
            for m in range(rules):
                taken[level * rules + m] += weight[m * ways + k]
                waste[level * rules + m] += weight[m * ways + k] * wait
            if total == 0:
                at[0], at[1] = level, count
                return 1
            continue
        goes_on = choice[level] <= ways and running[level] > 0
        if goes_on:
            spent += 1
            upper = level + 1
            end = end_of[level * room]
            for r in range(level * room + 1, level * room + running[level]):
                end = min(end, end_of[r])
            for j in range(ways):
                if left[part_of[j]] > 0 and end + long[j] > longest:
                    goes_on = False
                    break
            if goes_on:
                for m in range(rules):
                    unused = (end - now) * (most[m] - taken[level * rules + m])
                    waste[upper * rules + m] = waste[level * rules + m] + unused
                    if waste[upper * rules + m] > spare[m]:
                        goes_on = False
                        break
        if goes_on:
            choice[level] = ways + 1
            time[upper], running[upper], choice[upper] = end, 0, 0
            bars = 0
            for j in range(min(ways, BITS)):
                if left[part_of[j]] > 0 and wide[j] <= gap[level]:
                    fits = True
                    if exclusive:
                        fits = (blocked[level * words + j // BITS] >> j % BITS) & 1 == 0
                        if strict >= 0:
                            taken_by = taken[level * rules + strict] + weight[strict * ways + j]
                            fits = fits and taken_by <= most[strict]
                    if fits:
                        bars |= 1 << j
            barred[upper] = bars
            for m in range(rules):
                taken[upper * rules + m] = 0
            free = W
            if exclusive:
                for i in range(upper * words, upper * words + words):
                    blocked[i] = 0
            mine = upper * size
            for i in range(mine, mine + size):
                case[i] = 0
            if matched:
                case[mine] = end % R
            for j in range(kinds):
                case[mine + 1 + digit[j]] += left[j] * unit[j]
            for r in range(level * room, level * room + running[level]):
                if end_of[r] > end:
                    j = way_of[r]
                    to = upper * room + running[upper]
                    way_of[to], end_of[to] = j, end_of[r]
                    running[upper] += 1
                    free -= wide[j]
                    if exclusive:
                        for i in range(words):
                            blocked[upper * words + i] |= apart[j * words + i]
                    for m in range(rules):
                        taken[upper * rules + m] += weight[m * ways + j]
                    # Greater numbers first; 0 is nothing, for what goes on goes on for 1 at least.
                    goes = (end_of[r] - end) * ways + j
                    i = mine + digits + running[upper]
                    while i > mine + 1 + digits and case[i - 1] < goes:
                        case[i] = case[i - 1]
                        i -= 1
                    case[i] = goes
            gap[upper] = free
            lost = False
            if priced > 0:
                for k in range(kinds):
                    next_start[k] = -1
                for k in range(ways):
                    j = part_of[k]
                    if left[j] > 0:
                        soonest = 0
                        if first[k + 1] > first[k]:
                            soonest = R
                            for i in range(first[k], first[k + 1]):
                                soonest = min(soonest, (starts[i] - end) % R)
                        if next_start[j] < 0 or soonest < next_start[j]:
                            next_start[j] = soonest
                for m in range(priced):
                    least, due = longest - end - last[m], waste[upper * rules + m] + most[m] * last[m]
                    j = -1
                    for k in range(ways):
                        if part_of[k] != j:
                            j = part_of[k]
                            if left[j] > 0 and weight[m * ways + k] > 0:
                                price = before[m * kinds + j]
                                least = min(least, next_start[j] - price)
                                due += left[j] * weight[m * ways + k] * (price + after[m * kinds + j])
                    for r in range(upper * room, upper * room + running[upper]):
                        k = way_of[r]
                        due += weight[m * ways + k] * after[m * kinds + part_of[k]]
                    if due + (most[m] - taken[upper * rules + m]) * least > spare[m]:
                        lost = True
                        break
            met = lost
            if slots > 0 and not met:
                slot = place_of(case, mine, size)
                for p in range(PROBES):
                    here = (slot + p) % slots * entry
                    if known[here] == 0:
                        break
                    if agree(known, here + 2, case, mine, size):
                        met = end >= known[here] - 1 and known[here + 1] & ~bars == 0
                        break
            if not met:
                level = upper
            continue
        if count > 0 and begun[count - 1] == level:
            count -= 1
            k = started[count]
            left[part_of[k]] += 1
            total += 1
            running[level] -= 1
            gap[level] += wide[k]
            if exclusive:
                for i in range(words):
                    blocked[level * words + i] = 0
                for r in range(level * room, level * room + running[level]):
                    for i in range(words):
                        blocked[level * words + i] |= apart[way_of[r] * words + i]
            for m in range(rules):
                taken[level * rules + m] -= weight[m * ways + k]
                waste[level * rules + m] -= weight[m * ways + k] * (start[count] - now)
            choice[level] = k + 1
            continue
        if level == 0:
            return 0
        if slots > 0:
            mine = level * size
            slot = place_of(case, mine, size)
            into = (slot + slot // 7 % PROBES) % slots * entry
            for p in range(PROBES):
                here = (slot + p) % slots * entry
                if known[here] == 0 or agree(known, here + 2, case, mine, size):
                    into = here
                    break
            known[into], known[into + 1] = time[level] + 1, barred[level]
            for i in range(size):
                known[into + 2 + i] = case[mine + i]
        level -= 1
    at[0], at[1] = level, count
    return -1
