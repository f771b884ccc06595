"""Writes down why some parts have no rows within a length, so that it can be replayed without the search.

The search of `nesting.packing.bounds.row_search` is gone through once more at one length, its kernel writing
a word for each row it gives up; under a repeat for one case of phases after another
(`nesting.packing.bounds.settling`). `nesting.check.proof_rows` replays what comes out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from nesting.packing.bounds.lengthwise import LONGEST, across
from nesting.packing.bounds.row_search import RowRule, RowSearch, kept
from nesting.packing.bounds.settling import Settling, named
from nesting.packing.bounds.standing import can_stand, few_standings
from nesting.packing.certificates.case_log import CaseLog, LoggedCase, LoggedPrices, LoggedRule, packed_cases
from nesting.packing.kernels.row_cases import SPENT
from nesting.packing.problem import Problem
from nesting.packing.race import Race
from nesting.packing.reduce import Core, reduce
from nesting.packing.turn import Budget, Goal, Turn

#: So many words are written at most where nothing else is said, which take half a second to replay; and so
#: many cases of phases.
WORDS, CASES = 100_000, 20_000
#: More ranges of places, places on a wider strip, or columns of more steps together are not replayed.
RANGES, STEPS, COLUMNS = 400, 200_000, 40_000_000
#: Phases of which some are open are given up after so many nodes; then one more group is settled.
LOOK = 5_000
#: Searches are tried for these shares of the time, one after another, until one refutes the length.
SHARES = (0.03, 0.15, 1.0)


@dataclass(frozen=True, slots=True)
class RowsAsked:
    """Which kinds to look at, and how."""

    core: Core
    kinds: tuple[int, ...]
    standing: bool = False
    columns: bool = False


def questions(core: Core, length: int) -> Iterator[RowsAsked]:
    """Ever more kinds; rows, rows with places across, then columns."""
    for kinds in kept(core):
        yield RowsAsked(core, kinds)
        if few_standings(core, kinds):
            yield RowsAsked(core, kinds, standing=True)
    if 0 < length <= LONGEST and all(kind.match is None for kind in core.kinds):
        turned = across(core, length)
        for kinds in kept(turned) if all(kind.width <= length for kind in turned.kinds) else ():
            yield RowsAsked(turned, kinds, columns=True)


def written_down(core: Core, length: int, turn: Turn, words: int = WORDS) -> CaseLog | None:
    """Why no layout of the core is as short as ``length`` steps, where rows in one piece tell it in time.

    Parameters
    ----------
    core
        The problem, all arrow groups decided.
    length
        In steps, lone rows left out.
    turn
        Ends the search.
    words
        A longer log is none.
    """
    if not can_stand(core, range(len(core.kinds))):
        return None
    writing = dict[int, _Writing | None]()
    for share in SHARES:
        for number, question in enumerate(questions(core, length)):
            if turn.over():
                return None
            if number not in writing:
                writing[number] = _Writing(core, question, length, turn, words)
            mine = writing[number]
            log = mine is None or mine.log(turn.part(share))
            if isinstance(log, CaseLog):
                return log
            if log:
                writing[number] = None
    return None


def written_of(core: Core, question: RowsAsked, length: int, turn: Turn) -> CaseLog | None:
    """The same by one question only."""
    log = _Writing(core, question, length, turn, WORDS).log(turn)
    return log if isinstance(log, CaseLog) else None


class _Writing:
    """One question, gone through at one length."""

    def __init__(self, core: Core, question: RowsAsked, length: int, turn: Turn, words: int) -> None:
        self._core, self._question, self._length = core, question, length
        self._search = RowSearch(
            question.core, question.kinds, turn.over, standing=question.standing, words=words
        )
        self._longest = core.width if question.columns else length
        self._rules: dict[LoggedRule, int] = {}
        self._most, self._words = words, 0
        matched = any(question.core.kinds[at].match is not None for at in question.kinds)
        self._settling = Settling(question.core, question.kinds) if matched else None
        #: Cases gone through, phases that are left to go through, and phases met.
        self._found, self._left = list[LoggedCase](), [self._known]
        self._met = {named(self._known)}

    def log(self, turn: Turn) -> CaseLog | bool:
        """The log; False where it did not come to an end, True where it never will."""
        if self._beyond:
            return True
        cases = self._cases(turn)
        if isinstance(cases, bool):
            return cases
        core, search, members = self._core, self._search, self._members()
        numbers = {id(one): at for at, one in enumerate(search.ranges)}
        told = search.standing or search.placed
        kinds = list(search.kinds)
        ways = [
            (group, tuple(tuple(numbers[id(one)] for one in ranges) for ranges in each))
            for group, each in search.stands()
        ]
        return CaseLog(
            refuted=self._length * core.step_y,
            width=core.width,
            columns=self._question.columns,
            lone=tuple(dict.fromkeys(part for kind in core.lone for part, _ in kind.members)),
            kinds=tuple(members),
            groups=tuple(tuple(group) for group in search.ordered),
            stands=tuple((kinds.index(one.kind), one.near, one.far) for one in search.ranges) if told else (),
            dropped=tuple(search.dropped) if told else (),
            ways=tuple(ways) if told else (),
            rules=tuple(self._rules),
            cases=packed_cases(cases),
            anew=self._anew,
        )

    @property
    def _beyond(self) -> bool:
        """Nothing new is asked, or more than is replayed."""
        search = self._search
        if self._question.standing and not search.standing:
            return True
        width, repeat = self._question.core.width, self._question.core.repeat
        if repeat is not None and repeat.width is not None:
            columns = 2 * len(search.kinds) * (width // repeat.width + 2)
            if columns * repeat.width > COLUMNS:
                return True
        placed = search.standing or search.placed
        return placed and (len(search.ranges) > RANGES or width > STEPS)

    def _members(self) -> list[tuple[int, ...]]:
        """The parts of each kind."""
        kinds = self._question.core.kinds
        return [tuple(dict.fromkeys(part for part, _ in kinds[at].members)) for at in self._search.kinds]

    def _cases(self, turn: Turn) -> list[LoggedCase] | bool:
        """A log for each case of phases; as `log` where there are none yet. Asked again it goes on."""
        settling, repeat = self._settling, self._question.core.repeat
        levels = 0 if settling is None else len(settling.levels)
        if settling is not None and not settling.worthwhile:
            return True
        while self._left:
            if turn.over():
                return False
            phases = self._left[-1]
            settled = len(phases) == levels
            if settled:
                longest = self._longest
                if settling is not None and repeat is not None:
                    # The last part ends where a pile on a part of some group does.
                    longest -= min((longest - end) % repeat.length for end in settling.ends(phases))
                answer = self._search.decide(longest, turn, phases)
            else:
                answer = self._search.decide(self._longest, turn.glance(), phases, LOOK)
            if settled and answer is not False:
                return answer is True or self._search.full
            self._left.pop()
            if answer is False:
                self._found.append(self._case(phases))
            elif settling is not None:
                self._found.append(LoggedCase(phases))
                more = [each for each in settling.one_more(phases) if named(each) not in self._met]
                self._met |= set(map(named, more))
                self._left += more
            if self._words > self._most or len(self._met) > CASES:
                return True
        return self._found

    @property
    def _known(self) -> dict[str, int]:
        """The phases where the start of the pattern is known."""
        core = self._question.core
        if self._settling is None or core.start is None or core.repeat is None:
            return {}
        return dict.fromkeys(self._settling.levels, -core.start % core.repeat.length)

    def _case(self, phases: dict[str, int]) -> LoggedCase:
        """What was written of a case, with the rules that it names."""
        rules, words = self._search.written
        self._words += len(words)
        spent = next((at for at, rule in enumerate(rules) if rule.spent), None)
        named_rules = {spent} if spent is not None else {word - SPENT for word in words if word >= SPENT}
        if spent is None:
            named_rules |= {at for at, rule in enumerate(rules) if rule.strict}
        order = sorted(named_rules)
        number = {at: new for new, at in enumerate(order)}
        log = tuple(word if word < SPENT else SPENT + number[word - SPENT] for word in words)
        return LoggedCase(phases, tuple(self._priced(rules[at]) for at in order), log)

    def _priced(self, rule: RowRule) -> LoggedPrices:
        logged = LoggedRule(tuple(rule.weights), rule.most, rule.strict)
        number = self._rules.setdefault(logged, len(self._rules))
        prices = rule.prices
        return LoggedPrices(number, tuple(prices.before), tuple(prices.after), prices.first, prices.last)

    def _anew(self, problem: Problem) -> int:
        """The length proven by the same search of a problem once more; 0 of another problem."""
        core = reduce(problem)
        if core is None or replace(core, lone=()) != replace(self._core, lone=()):
            return 0
        if [kind.members for kind in core.lone] != [kind.members for kind in self._core.lone]:
            return 0
        turn = Turn(Race(Budget(0, math.inf)), Goal(core), math.inf)
        cases = _Writing(core, self._question, self._length, turn, self._most).log(turn)
        return core.ticks(self._length + 1) if isinstance(cases, CaseLog) else 0
