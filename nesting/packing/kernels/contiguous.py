"""Rows of parts in one piece: every way to begin parts one after another along the strip."""

from __future__ import annotations

from nesting.packing.kernels.numbers import Ints

#: Prime below 2**31: a product of two numbers below it stays within 64 bits.
PRIME = 2147483647
#: Slots looked at for one case.
PROBES = 4


def contiguous_search(
    W: int,
    longest: int,
    nodes: int,
    wide: Ints,
    long: Ints,
    left: Ints,
    rules: int,
    weight: Ints,
    most: Ints,
    spare: Ints,
    mix: Ints,
    room: int,
    at: Ints,
    started: Ints,
    begun: Ints,
    time: Ints,
    before: Ints,
    gap: Ints,
    running: Ints,
    choice: Ints,
    kind_of: Ints,
    end_of: Ints,
    taken: Ints,
    waste: Ints,
    key: Ints,
    slots: int,
    known: Ints,
) -> int:
    """1: all parts begin so that in no row they are wider than the strip; 0: they cannot; -1: not known yet.

    Parts keep their rows but no place across. They begin in the order of their rows, each where another ends
    or at 0, and never where it could have begun with the row before: any layout can be pushed together so.
    ``left`` are the copies of each kind not begun. Row weights ``weight[m * kinds + k]``, ``m < rules``, add
    up to ``most[m]`` in a row at most, and ``spare[m]`` of them, times length, may go unused in all. Cases met
    before (the same parts left, the same ends to wait for) at the same time or earlier are not gone into
    again; they are told apart by three hash values of 31 bits and more, drawn by ``mix``.

    The search goes on from where it was: ``at`` holds level and parts begun, all zeros at first, when
    ``gap[0]`` must be ``W`` and ``before[0]`` -1. ``known`` has ``slots`` entries of five, all zeros at first.
    The i-th part begun is of kind ``started[i]`` and begins at ``time[begun[i]]``. ``room`` parts at most lie
    side by side.

    References
    ----------
    Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (the contiguous relaxation). Demeulemeester,
    Herroelen, Management Science 38 (1992) 1803-1818 (semi-active timetables, left-shift and cutset rules).
    """
    kinds = len(wide)
    level, count = at[0], at[1]
    total = 0
    for k in range(kinds):
        total += left[k]
    spent = 0
    while spent < nodes:
        now = time[level]
        k = choice[level]
        while k < kinds and (
            left[k] == 0 or wide[k] > gap[level] or wide[k] <= before[level] or now + long[k] > longest
        ):
            k += 1
        if k < kinds:
            spent += 1
            choice[level] = k
            started[count], begun[count] = k, level
            count += 1
            left[k] -= 1
            total -= 1
            r = level * room + running[level]
            kind_of[r], end_of[r] = k, now + long[k]
            running[level] += 1
            gap[level] -= wide[k]
            for m in range(rules):
                taken[level * rules + m] += weight[m * kinds + k]
            if total == 0:
                at[0], at[1] = level, count
                return 1
            continue
        goes_on = choice[level] <= kinds and running[level] > 0
        if goes_on:
            spent += 1
            upper = level + 1
            end = end_of[level * room]
            for r in range(level * room + 1, level * room + running[level]):
                end = min(end, end_of[r])
            for j in range(kinds):
                if left[j] > 0 and end + long[j] > longest:
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
            choice[level] = kinds + 1
            time[upper], before[upper], running[upper], choice[upper] = end, gap[level], 0, 0
            for m in range(rules):
                taken[upper * rules + m] = 0
            a, b, c, free = 0, 0, 0, W
            for j in range(kinds):
                if left[j] > 0:
                    a += (left[j] * mix[6 * j] + mix[6 * j + 1]) % PRIME
                    b += (left[j] * mix[6 * j + 2] + mix[6 * j + 3]) % PRIME
                    c += (left[j] * mix[6 * j + 4] + mix[6 * j + 5]) % PRIME
            for r in range(level * room, level * room + running[level]):
                if end_of[r] > end:
                    j = kind_of[r]
                    to = upper * room + running[upper]
                    kind_of[to], end_of[to] = j, end_of[r]
                    running[upper] += 1
                    free -= wide[j]
                    for m in range(rules):
                        taken[upper * rules + m] += weight[m * kinds + j]
                    d, j = end_of[r] - end, j + kinds
                    a += (d * mix[6 * j] + mix[6 * j + 1]) % PRIME
                    b += (d * mix[6 * j + 2] + mix[6 * j + 3]) % PRIME
                    c += (d * mix[6 * j + 4] + mix[6 * j + 5]) % PRIME
            gap[upper] = free
            key[3 * upper], key[3 * upper + 1], key[3 * upper + 2] = a, b, c
            slot = (a * 31 + b) % slots
            met = False
            for p in range(PROBES):
                i = 5 * ((slot + p) % slots)
                if known[i + 3] > 0 and known[i] == a and known[i + 1] == b and known[i + 2] == c:
                    met = end >= known[i + 3] - 1 and before[upper] >= known[i + 4]
                    break
            if not met:
                level = upper
            continue
        if count > 0 and begun[count - 1] == level:
            count -= 1
            k = started[count]
            left[k] += 1
            total += 1
            running[level] -= 1
            gap[level] += wide[k]
            for m in range(rules):
                taken[level * rules + m] -= weight[m * kinds + k]
            choice[level] = k + 1
            continue
        if level == 0:
            return 0
        a, b, c = key[3 * level], key[3 * level + 1], key[3 * level + 2]
        slot = (a * 31 + b) % slots
        into = 5 * ((slot + (c & 3)) % slots)
        for p in range(PROBES):
            i = 5 * ((slot + p) % slots)
            if known[i + 3] == 0 or (known[i] == a and known[i + 1] == b and known[i + 2] == c):
                into = i
                break
        known[into], known[into + 1], known[into + 2] = a, b, c
        known[into + 3], known[into + 4] = time[level] + 1, before[level]
        level -= 1
    at[0], at[1] = level, count
    return -1
