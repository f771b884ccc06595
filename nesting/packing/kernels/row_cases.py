"""Rows of parts in one piece: every way to begin parts one after another along the strip."""

from __future__ import annotations

from typing import NamedTuple

from nesting.packing.kernels.numbers import Ints

#: Of the hash: a product of two numbers below the prime stays within 64 bits.
PRIME, FACTOR = 2147483647, 48271
#: Kinds that are told apart by the bits of a whole number.
BITS = 62
#: Slots looked at for one case.
PROBES = 4
#: Words of a log; see `RowLog`.
GOES_ON, TOO_LATE, SPENT = 0, 1, 2


class RowWays(NamedTuple):
    """The ways parts may stand on a strip of a width, whose pattern repeats.

    Parts of kind ``part_of[k]`` may stand the way ``k``. A way of the pattern begins at
    ``starts[first[k]:first[k + 1]]`` modulo the repeat only. The ways that share no row with ``k`` are bits
    of ``apart[k * words:(k + 1) * words]``, 62 in each; it may be empty.
    """

    width: int
    repeat: int
    wide: Ints
    long: Ints
    part_of: Ints
    first: Ints
    starts: Ints
    apart: Ints


class RowPrices(NamedTuple):
    """Row weights ``weight[m * ways + k]``, which add up to ``most[m]`` in a row at most.

    ``spare[m]`` of them, times length, may go unused in all. Only the rule ``strict`` (-1: none) is not kept
    by every row no wider than the strip. Of what goes unused each unit of weight costs
    ``after[m * kinds + j]`` where a part of kind ``j`` ends, ``before`` where one begins and ``last[m]`` at
    the end of the strip: prices of waiting, for the first ``priced`` rules. ``next_start`` is scratch.
    """

    strict: int
    priced: int
    weight: Ints
    most: Ints
    spare: Ints
    before: Ints
    after: Ints
    last: Ints
    next_start: Ints


class Begun(NamedTuple):
    """How far the search is: level and parts begun; of each part its way, its level and where it begins."""

    at: Ints
    way: Ints
    level: Ints
    start: Ints


class RowLevels(NamedTuple):
    """Scratch by level, a level being a row in which parts begin; ``room`` parts at most lie side by side.

    Its place, what may not begin (a bit for each of the first 62 ways), ways that share no row with those
    that run, width left, how many run, and the next to try; then of each that runs its way and end; then of
    each rule the weight in this row, and what went unused up to it.
    """

    room: int
    time: Ints
    barred: Ints
    blocked: Ints
    gap: Ints
    running: Ints
    choice: Ints
    way_of: Ints
    end_of: Ints
    taken: Ints
    waste: Ints


class Cases(NamedTuple):
    """Cases met before (the same parts left, the same ends to wait for), and how a case is written.

    In ``case``, by level: the time modulo the repeat; ``digits`` numbers that hold what is left of all kinds,
    kind j in number ``digit[j]`` by ``unit[j]`` for each copy; and what still runs, each a way and how long
    it goes on, in order. So two cases are one where all their numbers agree; a hash only says in which of the
    ``slots`` to look (0: no case is remembered). ``known`` has so many entries, all zeros at first, of two
    numbers and a case: when it was met, plus 1, and what was barred.
    """

    digits: int
    slots: int
    digit: Ints
    unit: Ints
    case: Ints
    known: Ints


class RowLog(NamedTuple):
    """What became of each row when all that may begin in it had begun, for a proof to be replayed.

    ``said`` has room for so many words, none: nothing is written. `GOES_ON`: the next row; `TOO_LATE`: some
    part left ends too late; `SPENT` + m: by rule m too much goes unused; -i: the next row is the i-th case
    gone into, as early and with no more barred. In ``at`` how many words, and how many cases gone into;
    ``number`` is the case of each slot. More words than there is room for end the search.
    """

    at: Ints
    said: Ints
    number: Ints


def say(word: int, log: RowLog) -> None:
    """Write what became of a row."""
    if len(log.said) > 0:
        if log.at[0] < len(log.said):
            log.said[log.at[0]] = word
        log.at[0] += 1


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


def free_to(k: int, level: int, ways: RowWays, prices: RowPrices, levels: RowLevels) -> bool:
    """Whether a way may share its rows with those that run."""
    if len(ways.apart) == 0:
        return True
    n, rules, strict = len(ways.wide), len(prices.most), prices.strict
    words = (n + BITS - 1) // BITS
    if (levels.blocked[level * words + k // BITS] >> k % BITS) & 1 != 0:
        return False
    if strict < 0:
        return True
    return levels.taken[level * rules + strict] + prices.weight[strict * n + k] <= prices.most[strict]


def wait_of(k: int, now: int, ways: RowWays) -> int:
    """How long a way waits for the pattern."""
    if ways.first[k + 1] == ways.first[k]:
        return 0
    wait = ways.repeat
    for i in range(ways.first[k], ways.first[k + 1]):
        wait = min(wait, (ways.starts[i] - now) % ways.repeat)
    return wait


def next_way(
    level: int, longest: int, ways: RowWays, left: Ints, prices: RowPrices, levels: RowLevels
) -> int:
    """The next way that may begin in the row of a level, or as many as there are."""
    n, k = len(ways.wide), levels.choice[level]
    while k < n:
        may = left[ways.part_of[k]] > 0 and ways.wide[k] <= levels.gap[level]
        may = may and (k >= BITS or (levels.barred[level] >> k) & 1 == 0)
        if may and free_to(k, level, ways, prices, levels):
            now = levels.time[level]
            if now + wait_of(k, now, ways) + ways.long[k] <= longest:
                return k
        k += 1
    return k


def begin(
    k: int, wait: int, level: int, count: int, ways: RowWays, left: Ints, prices: RowPrices, begun: Begun,
    levels: RowLevels,
) -> None:  # fmt: skip
    """Begin a part in the row of a level."""
    n, rules, room = len(ways.wide), len(prices.most), levels.room
    start = levels.time[level] + wait
    levels.choice[level] = k
    begun.way[count], begun.level[count], begun.start[count] = k, level, start
    left[ways.part_of[k]] -= 1
    r = level * room + levels.running[level]
    levels.way_of[r], levels.end_of[r] = k, start + ways.long[k]
    levels.running[level] += 1
    levels.gap[level] -= ways.wide[k]
    if len(ways.apart) > 0:
        words = (n + BITS - 1) // BITS
        for i in range(words):
            levels.blocked[level * words + i] |= ways.apart[k * words + i]
    for m in range(rules):
        levels.taken[level * rules + m] += prices.weight[m * n + k]
        levels.waste[level * rules + m] += prices.weight[m * n + k] * wait


def take_back(
    level: int, count: int, ways: RowWays, left: Ints, prices: RowPrices, begun: Begun, levels: RowLevels
) -> None:
    """Undo the last part begun."""
    n, rules, room = len(ways.wide), len(prices.most), levels.room
    k, wait = begun.way[count], begun.start[count] - levels.time[level]
    left[ways.part_of[k]] += 1
    levels.running[level] -= 1
    levels.gap[level] += ways.wide[k]
    if len(ways.apart) > 0:
        words = (n + BITS - 1) // BITS
        for i in range(words):
            levels.blocked[level * words + i] = 0
        for r in range(level * room, level * room + levels.running[level]):
            for i in range(words):
                levels.blocked[level * words + i] |= ways.apart[levels.way_of[r] * words + i]
    for m in range(rules):
        levels.taken[level * rules + m] -= prices.weight[m * n + k]
        levels.waste[level * rules + m] -= prices.weight[m * n + k] * wait
    levels.choice[level] = k + 1


def first_end(
    level: int, longest: int, ways: RowWays, left: Ints, prices: RowPrices, levels: RowLevels
) -> int:
    """Where the first of those that run ends, the next row for others to begin; less than nothing: why none.

    -`TOO_LATE`: it is too late then; -`SPENT` - m: by rule m too much has gone unused.
    """
    rules, room, end_of = len(prices.most), levels.room, levels.end_of
    end = end_of[level * room]
    for r in range(level * room + 1, level * room + levels.running[level]):
        end = min(end, end_of[r])
    for k in range(len(ways.wide)):
        if left[ways.part_of[k]] > 0 and end + ways.long[k] > longest:
            return -TOO_LATE
    for m in range(rules):
        unused = (end - levels.time[level]) * (prices.most[m] - levels.taken[level * rules + m])
        wasted = levels.waste[level * rules + m] + unused
        levels.waste[(level + 1) * rules + m] = wasted
        if wasted > prices.spare[m]:
            return -SPENT - m
    return end


def go_on(
    level: int, end: int, ways: RowWays, left: Ints, prices: RowPrices, levels: RowLevels, cases: Cases
) -> None:
    """Write the next level, which begins where the first part that runs ends, and its case."""
    n, rules, room, upper = len(ways.wide), len(prices.most), levels.room, level + 1
    words, case = (n + BITS - 1) // BITS, cases.case
    size = 1 + cases.digits + room
    mine = upper * size
    levels.choice[level] = n + 1
    levels.time[upper], levels.running[upper], levels.choice[upper] = end, 0, 0
    bars = 0
    for k in range(min(n, BITS)):
        may = left[ways.part_of[k]] > 0 and ways.wide[k] <= levels.gap[level]
        if may and free_to(k, level, ways, prices, levels):
            bars |= 1 << k
    levels.barred[upper] = bars
    for m in range(rules):
        levels.taken[upper * rules + m] = 0
    free = ways.width
    if len(ways.apart) > 0:
        for i in range(upper * words, upper * words + words):
            levels.blocked[i] = 0
    for i in range(mine, mine + size):
        case[i] = 0
    if ways.first[n] > 0:
        case[mine] = end % ways.repeat
    for j in range(len(left)):
        case[mine + 1 + cases.digit[j]] += left[j] * cases.unit[j]
    for r in range(level * room, level * room + levels.running[level]):
        if levels.end_of[r] > end:
            k = levels.way_of[r]
            to = upper * room + levels.running[upper]
            levels.way_of[to], levels.end_of[to] = k, levels.end_of[r]
            levels.running[upper] += 1
            free -= ways.wide[k]
            if len(ways.apart) > 0:
                for i in range(words):
                    levels.blocked[upper * words + i] |= ways.apart[k * words + i]
            for m in range(rules):
                levels.taken[upper * rules + m] += prices.weight[m * n + k]
            # Greater numbers first; 0 is nothing, for what goes on goes on for 1 at least.
            goes = (levels.end_of[r] - end) * n + k
            i = mine + cases.digits + levels.running[upper]
            while i > mine + 1 + cases.digits and case[i - 1] < goes:
                case[i] = case[i - 1]
                i -= 1
            case[i] = goes
    levels.gap[upper] = free


def too_dear(
    upper: int, longest: int, ways: RowWays, left: Ints, prices: RowPrices, levels: RowLevels
) -> int:
    """A rule by which waiting from here on costs more than is left to spare; -1: none."""
    n, kinds, rules, end = len(ways.wide), len(left), len(prices.most), levels.time[upper]
    weight, next_start, room = prices.weight, prices.next_start, levels.room
    if prices.priced == 0:
        return -1
    for j in range(kinds):
        next_start[j] = -1
    for k in range(n):
        j = ways.part_of[k]
        if left[j] > 0:
            soonest = wait_of(k, end, ways)
            if next_start[j] < 0 or soonest < next_start[j]:
                next_start[j] = soonest
    for m in range(prices.priced):
        last, most = prices.last[m], prices.most[m]
        least, due = longest - end - last, levels.waste[upper * rules + m] + most * last
        j = -1
        for k in range(n):
            if ways.part_of[k] != j:
                j = ways.part_of[k]
                if left[j] > 0 and weight[m * n + k] > 0:
                    price = prices.before[m * kinds + j]
                    least = min(least, next_start[j] - price)
                    due += left[j] * weight[m * n + k] * (price + prices.after[m * kinds + j])
        for r in range(upper * room, upper * room + levels.running[upper]):
            k = levels.way_of[r]
            due += weight[m * n + k] * prices.after[m * kinds + ways.part_of[k]]
        if due + (most - levels.taken[upper * rules + m]) * least > prices.spare[m]:
            return m
    return -1


def met_before(level: int, levels: RowLevels, cases: Cases) -> int:
    """The slot of the case of a level, where it was gone into as early and with no more barred; else -1."""
    size = 1 + cases.digits + levels.room
    known, case, mine, bars = cases.known, cases.case, level * size, levels.barred[level]
    if cases.slots == 0:
        return -1
    slot = place_of(case, mine, size)
    for p in range(PROBES):
        at = (slot + p) % cases.slots
        here = at * (size + 2)
        if known[here] == 0:
            return -1
        if agree(known, here + 2, case, mine, size):
            return at if levels.time[level] >= known[here] - 1 and known[here + 1] & ~bars == 0 else -1
    return -1


def remember(level: int, levels: RowLevels, cases: Cases, log: RowLog) -> None:
    """Note that the case of a level leads nowhere."""
    size = 1 + cases.digits + levels.room
    known, case, mine = cases.known, cases.case, level * size
    if cases.slots == 0:
        return
    slot = place_of(case, mine, size)
    into = (slot + slot // 7 % PROBES) % cases.slots * (size + 2)
    for p in range(PROBES):
        here = (slot + p) % cases.slots * (size + 2)
        if known[here] == 0 or agree(known, here + 2, case, mine, size):
            into = here
            break
    known[into], known[into + 1] = levels.time[level] + 1, levels.barred[level]
    for i in range(size):
        known[into + 2 + i] = case[mine + i]
    log.at[1] += 1
    if len(log.number) > 0:
        log.number[into // (size + 2)] = log.at[1]


def contiguous_search(
    longest: int,
    nodes: int,
    ways: RowWays,
    left: Ints,
    prices: RowPrices,
    begun: Begun,
    levels: RowLevels,
    cases: Cases,
    log: RowLog,
) -> int:
    """1: all parts begin so that in no row they are wider than the strip; 0: they cannot; -1: not known yet.

    Parts keep their rows but no place across. They are begun in the order of their rows, each where one ends
    or at 0, and never where it could have begun with the row before: any layout can be pushed together so.
    ``left`` are the copies of each kind not begun. A way of the pattern waits for the next of its starts with
    its width kept free. Cases met before at the same time or earlier (by whole repeats) are not gone into
    again.

    The search goes on from where it was: all of ``begun`` are zeros at first, and all of ``levels`` but the
    gap of the first, which is the strip's width. What it does is written in ``log``.

    References
    ----------
    Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (the contiguous relaxation).
    Demeulemeester, Herroelen, Management Science 38 (1992) 1803-1818 (semi-active timetables, left-shift and
    cutset rules).
    """
    n = len(ways.wide)
    level, count = begun.at[0], begun.at[1]
    total = 0
    for j in range(len(left)):
        total += left[j]
    spent = 0
    while spent < nodes and log.at[0] <= len(log.said):
        k = next_way(level, longest, ways, left, prices, levels)
        if k < n:
            spent += 1
            wait = wait_of(k, levels.time[level], ways)
            begin(k, wait, level, count, ways, left, prices, begun, levels)
            count += 1
            total -= 1
            if total == 0:
                begun.at[0], begun.at[1] = level, count
                return 1
            continue
        if levels.choice[level] <= n and levels.running[level] > 0:
            spent += 1
            end = first_end(level, longest, ways, left, prices, levels)
            if end < 0:
                say(-end, log)
            else:
                go_on(level, end, ways, left, prices, levels, cases)
                lost = too_dear(level + 1, longest, ways, left, prices, levels)
                met = met_before(level + 1, levels, cases) if lost < 0 else -1
                if lost >= 0:
                    say(SPENT + lost, log)
                elif met < 0:
                    say(GOES_ON, log)
                    level += 1
                elif len(log.number) > 0:
                    say(-log.number[met], log)
                continue
        if count > 0 and begun.level[count - 1] == level:
            count -= 1
            total += 1
            take_back(level, count, ways, left, prices, begun, levels)
            continue
        if level == 0:
            return 0
        remember(level, levels, cases, log)
        level -= 1
    begun.at[0], begun.at[1] = level, count
    return -1
