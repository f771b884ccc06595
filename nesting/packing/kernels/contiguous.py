"""Rows of parts in one piece: every way to begin parts one after another along the strip."""

from __future__ import annotations

from nesting.packing.kernels.numbers import Ints

#: Prime below 2**31: a product of two numbers below it stays within 64 bits.
PRIME = 2147483647
#: Kinds that are told apart by the bits of a whole number.
BITS = 62
#: Slots looked at for one case.
PROBES = 4


def contiguous_search(
    W: int,
    longest: int,
    nodes: int,
    wide: Ints,
    long: Ints,
    left: Ints,
    R: int,
    first: Ints,
    starts: Ints,
    apart: Ints,
    rules: int,
    weight: Ints,
    most: Ints,
    spare: Ints,
    mix: Ints,
    room: int,
    at: Ints,
    started: Ints,
    begun: Ints,
    start: Ints,
    time: Ints,
    barred: Ints,
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

    Parts keep their rows but no place across. They are begun in the order of their rows, each where one ends
    or at 0, and never where it could have begun with the row before (``barred``, a bit for each of the first
    62 kinds): any layout can be pushed together so. Kinds with ``apart[k * kinds + j]`` above 0 share no row;
    ``apart`` may be empty. A kind of the design begins at ``starts[first[k]:first[k + 1]]`` modulo ``R``
    only: it waits for the next of them with its width kept free. ``left`` are the copies of each kind not
    begun. Row weights ``weight[m * kinds + k]``, ``m < rules``, add up to ``most[m]`` in a row at most, and
    ``spare[m]`` of them, times length, may go unused in all. Cases met before (the same parts left, the same
    ends to wait for) at the same time or earlier (by whole repeats) are not gone into again; they are told
    apart by three hash values of 31 bits and more, drawn by ``mix``.

    The search goes on from where it was: ``at`` holds level and parts begun, all zeros at first, when
    ``gap[0]`` must be ``W``. ``known`` has ``slots`` entries of five, all zeros at first. The i-th part begun
    is of kind ``started[i]`` and begins at ``start[i]``. ``room`` parts at most lie side by side.

    References
    ----------
    Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (the contiguous relaxation).
    Demeulemeester, Herroelen, Management Science 38 (1992) 1803-1818 (semi-active timetables, left-shift and
    cutset rules).
    """
    kinds = len(wide)
    matched, exclusive = first[kinds] > 0, len(apart) > 0
    level, count = at[0], at[1]
    total = 0
    for k in range(kinds):
        total += left[k]
    spent = 0
    while spent < nodes:
        now = time[level]
        k = choice[level]
        wait = 0
        while k < kinds:
            may = left[k] > 0 and wide[k] <= gap[level] and (k >= BITS or (barred[level] >> k) & 1 == 0)
            if may and exclusive:
                for m in range(rules):
                    may = may and taken[level * rules + m] + weight[m * kinds + k] <= most[m]
                for r in range(level * room, level * room + running[level]):
                    may = may and apart[k * kinds + kind_of[r]] == 0
            if may:
                wait = 0
                if first[k + 1] > first[k]:
                    wait = R
                    for i in range(first[k], first[k + 1]):
                        wait = min(wait, (starts[i] - now) % R)
                if now + wait + long[k] <= longest:
                    break
            k += 1
        if k < kinds:
            spent += 1
            choice[level] = k
            started[count], begun[count], start[count] = k, level, now + wait
            count += 1
            left[k] -= 1
            total -= 1
            r = level * room + running[level]
            kind_of[r], end_of[r] = k, now + wait + long[k]
            running[level] += 1
            gap[level] -= wide[k]
            for m in range(rules):
                taken[level * rules + m] += weight[m * kinds + k]
                waste[level * rules + m] += weight[m * kinds + k] * wait
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
            time[upper], running[upper], choice[upper] = end, 0, 0
            bars = 0
            for j in range(min(kinds, BITS)):
                if left[j] > 0 and wide[j] <= gap[level]:
                    fits = True
                    if exclusive:
                        for m in range(rules):
                            fits = fits and taken[level * rules + m] + weight[m * kinds + j] <= most[m]
                        for r in range(level * room, level * room + running[level]):
                            fits = fits and apart[j * kinds + kind_of[r]] == 0
                    if fits:
                        bars |= 1 << j
            barred[upper] = bars
            for m in range(rules):
                taken[upper * rules + m] = 0
            a, b, c, free = 0, 0, 0, W
            if matched:
                a = ((end % R + 1) * mix[12 * kinds] + mix[12 * kinds + 1]) % PRIME
                b = ((end % R + 1) * mix[12 * kinds + 2] + mix[12 * kinds + 3]) % PRIME
                c = ((end % R + 1) * mix[12 * kinds + 4] + mix[12 * kinds + 5]) % PRIME
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
                    met = end >= known[i + 3] - 1 and known[i + 4] & ~bars == 0
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
                waste[level * rules + m] -= weight[m * kinds + k] * (start[count] - now)
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
        known[into + 3], known[into + 4] = time[level] + 1, barred[level]
        level -= 1
    at[0], at[1] = level, count
    return -1
