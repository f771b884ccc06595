"""The text of a file of the set, read strictly: what is not understood is refused, with place and remedy."""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Sequence
from fractions import Fraction
from typing import Any, NoReturn

from nesting.errors import ProblemError
from nesting.packing import Choice, Flaw, Match, Part, Placement, Problem, Repeat, Strip
from tests.benchmarks.set_entries import FORM, TICK, Claim, Entry, Family, Goal, Known, Run

#: What a packed text may unfold to, in bytes.
UNFOLDED = 50_000_000


def parsed(text: str, place: str) -> Family:
    """The family that a text holds; ``place`` begins what is raised."""
    form = _Node(place, _json(text, place))
    form.only("form", "family", "tick", "about", "cut", "instances")
    if form.text("form") != FORM:
        form.at("form").refuse(f'"{FORM}"')
    if form.text("tick") != TICK:
        form.at("tick").refuse(f'"{TICK}"')
    across = form.one_of("cut", ("free", "across-first")) == "across-first"
    name = form.text("family")
    entries = tuple(_entry(each, name, across) for each in form.each("instances"))
    names = [entry.name for entry in entries]
    for at, each in enumerate(names):
        if each in names[:at]:
            form.at("instances").at(at).at("name").refuse("a name of its own")
    return Family(name, form.text("about"), entries)


def _json(text: str, place: str) -> Any:
    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        keys = [key for key, _ in pairs]
        for key in keys:
            if keys.count(key) > 1:
                raise ProblemError(f'{place}: "{key}" stands twice in one object: leave one of them')
        return dict(pairs)

    def no_number(word: str) -> NoReturn:
        raise ProblemError(f"{place}: {word}: expected a number of JSON")

    try:
        return json.loads(text, object_pairs_hook=once, parse_constant=no_number)
    except ProblemError:
        raise
    except json.JSONDecodeError as error:
        raise ProblemError(f"{place}, line {error.lineno}: {error.msg}: expected JSON") from error
    except (RecursionError, ValueError) as error:
        raise ProblemError(f"{place}: it nests too deep, or has a number too long: expected JSON") from error


class _Node:
    """A value of the file with its place, asked for what it must be."""

    def __init__(self, place: str, value: Any) -> None:
        self.place, self.value = place, value

    def refuse(self, expected: str) -> NoReturn:
        said = "nothing" if self.value is None else json.dumps(self.value, ensure_ascii=False)
        raise ProblemError(
            f"{self.place} = {said if len(said) <= 60 else said[:57] + '...'}: expected {expected}"
        )

    def only(self, *keys: str) -> None:
        if not isinstance(self.value, dict):
            self.refuse(f"an object with {', '.join(keys)}")
        for key in self.value:
            if key not in keys:
                self.at(key).refuse(f"none of this name, but of {', '.join(keys)}: leave it out")

    def at(self, key: str | int) -> _Node:
        if isinstance(key, str):
            return _Node(f"{self.place}: {key}", self.value.get(key))
        return _Node(f"{self.place}[{key}]", self.value[key])

    def has(self, key: str) -> bool:
        return key in self.value

    def items(self, least: int = 0, most: int | None = None) -> list[_Node]:
        if not isinstance(self.value, list) or not least <= len(self.value) <= (most or len(self.value)):
            self.refuse("a list" if not least else f"a list of {least} to {most or 'any number of'} values")
        return [self.at(number) for number in range(len(self.value))]

    def each(self, key: str) -> list[_Node]:
        return self.at(key).items()

    def whole(self, least: int | None = 0) -> int:
        if type(self.value) is not int or (least is not None and self.value < least) or self.value > 2**53:
            self.refuse("a whole number" + ("" if least is None else f" of {least} or more"))
        return int(self.value)

    def number(self, key: str, least: int | None = 0) -> int:
        return self.at(key).whole(least)

    def number_or_none(self, key: str, least: int | None = 0) -> int | None:
        return self.number(key, least) if self.has(key) else None

    def text(self, key: str) -> str:
        found = self.at(key)
        if not isinstance(found.value, str) or not found.value:
            found.refuse("words")
        return str(found.value)

    def one_of(self, key: str, words: Sequence[str]) -> str:
        found = self.text(key)
        if found not in words:
            self.at(key).refuse(" or ".join(f'"{word}"' for word in words))
        return found

    def group(self, key: str) -> str | None:
        """The number of a group, as the problem names it."""
        return str(self.number(key, 1)) if self.has(key) else None

    def day(self, key: str) -> str:
        found = self.text(key)
        parts = found.split("-")
        if [len(part) for part in parts] != [4, 2, 2] or not all(p.isascii() and p.isdigit() for p in parts):
            self.at(key).refuse("a day such as 2026-12-01")
        return found

    def unfolded(self, key: str | int) -> Any:
        """What stands there, or what it unfolds to where it is a packed text."""
        found = self.at(key)
        if not isinstance(found.value, str):
            return found.value
        try:
            opened = zlib.decompressobj()
            data = opened.decompress(base64.b85decode(found.value), UNFOLDED)
            if opened.unconsumed_tail or not opened.eof:
                found.refuse(f"what unfolds to {UNFOLDED} bytes at most")
            return _json(data.decode(), f"{found.place}, unfolded")
        except (ValueError, zlib.error):
            found.refuse("JSON, or JSON packed by zlib and written in base85")


def _entry(node: _Node, family: str, across: bool) -> Entry:
    node.only(
        "name", "windows", "sold_by", "measured_in", "rule_of_thumb", "strips", "parts", "choices", "known",
        "bounds", "runs",
    )  # fmt: skip
    node = _Node(f'{node.place} "{node.text("name")}"', node.value)
    problem = _problem(node)
    return Entry(
        family,
        node.text("name"),
        problem,
        node.number("windows", 1),
        node.number("sold_by", 1),
        node.one_of("measured_in", ("in", "cm")),
        node.number_or_none("rule_of_thumb", 1),
        across,
        _known(node.at("known"), problem) if node.has("known") else None,
        tuple(map(_claim, node.at("bounds").items(0, 2))) if node.has("bounds") else (),
        tuple(map(_run, node.each("runs"))) if node.has("runs") else (),
    )


def _problem(node: _Node) -> Problem:
    parts = tuple(_part(each, number) for number, each in enumerate(node.each("parts"), 1))
    choices, taken = list[Choice](), set[int]()
    for number, choice in enumerate(node.each("choices") if node.has("choices") else (), 1):
        options = list[tuple[int, ...]]()
        for option in choice.items(1):
            for member in option.items():
                if member.whole() >= len(parts) or member.whole() in taken:
                    member.refuse(f"the number of a part below {len(parts)} that no other choice has")
            options.append(tuple(member.whole() for member in option.items()))
        taken |= {member for option in options for member in option}
        choices.append(Choice(str(number), tuple(options)))
    try:
        return Problem(tuple(map(_strip, node.each("strips"))), parts, tuple(choices))
    except ProblemError as error:
        raise ProblemError(f"{node.place}: {error}") from error


def _strip(node: _Node) -> Strip:
    node.only("width", "length", "repeat", "flaws", "lot", "start")
    flaws = list[Flaw]()
    for each in node.each("flaws") if node.has("flaws") else ():
        x, y, width, length = (one.whole() for one in each.items(4, 4))
        flaws.append(Flaw(x, y, width, length))
    try:
        return Strip(
            node.number("width", 1),
            node.number_or_none("length", 1),
            _repeat(node.at("repeat")) if node.has("repeat") else None,
            tuple(flaws),
            node.group("lot"),
            node.number_or_none("start", None),
        )
    except ProblemError as error:
        raise ProblemError(f"{node.place}: {error}") from error


def _repeat(node: _Node) -> Repeat:
    node.only("length", "width", "drop")
    drop = Fraction(0)
    if node.has("drop"):
        over, under = node.at("drop").items(2, 2)
        drop = Fraction(over.whole(), under.whole(1))
    return Repeat(node.number("length", 1), node.number_or_none("width", 1), drop)


def _part(node: _Node, number: int) -> Part:
    node.only(
        "width", "length", "copies", "turnable", "level", "seam", "place", "arrow", "lot", "value", "bundle",
        "spare", "clear",
    )  # fmt: skip
    for key in ("turnable", "spare"):
        if node.has(key) and node.at(key).value is not True:
            node.at(key).refuse("true; leave it out where it is not so")
    match = None
    if node.has("level"):
        x, y = (one.whole(None) for one in node.at("place").items(2, 2))
        match = Match(str(node.number("level", 1)), node.group("seam"), x, y)
    elif node.has("place") or node.has("seam"):
        node.at("level").refuse("the number of the level group of a part that has a place in the pattern")
    left, right = (one.whole() for one in node.at("clear").items(2, 2)) if node.has("clear") else (0, 0)
    try:
        return Part(
            str(number),
            node.number("width", 1),
            node.number("length", 1),
            node.number("copies", 1) if node.has("copies") else 1,
            node.has("turnable"),
            match,
            node.group("arrow"),
            node.group("lot"),
            node.number_or_none("value"),
            node.group("bundle"),
            node.has("spare"),
            (left, right),
        )
    except ProblemError as error:
        raise ProblemError(f"{node.place}: {error}") from error


def _known(node: _Node, problem: Problem) -> Known:
    node.only("length", "layout", "by", "found", "work", "seed", "goals")
    layout, placements = _Node(f"{node.place}: layout", node.unfolded("layout")), list[Placement]()
    rows = layout.items(len(problem.parts), len(problem.parts) or None)
    for part, row in enumerate(rows):
        for copy, spot in enumerate(row.items(), 1):
            x, y, turned, strip = ([one.whole() for one in spot.items(2, 4)] + [0, 0])[:4]
            if turned > 1:
                spot.refuse("[x, y], [x, y, turned] or [x, y, turned, strip], turned being 0 or 1")
            placements.append(Placement(part, copy, x, y, bool(turned), strip))
    goals = list[Goal]()
    for each in node.each("goals") if node.has("goals") else ():
        name, value, bound, by, *_ = each.items(4, 5)
        if not isinstance(name.value, str) or not isinstance(by.value, str):
            each.refuse("[name, value, bound, what proved the bound, its certificate if there is one]")
        certificate = each.unfolded(4) if len(each.value) == 5 else None
        if len(each.value) == 5 and not isinstance(certificate, dict):
            each.at(4).refuse("an object with a rule")
        goals.append(Goal(name.value, value.whole(), bound.whole(), by.value, certificate))
    return Known(
        node.number("length"),
        tuple(placements),
        node.text("by"),
        node.day("found"),
        _work(node),
        node.number("seed"),
        tuple(goals),
    )


def _work(node: _Node) -> float:
    found = node.at("work")
    if type(found.value) not in (int, float) or not 0 < found.value < 10**6:
        found.refuse("units of work above 0")
    return float(found.value)


def _claim(node: _Node) -> Claim:
    node.only("length", "by", "rests_on", "found", "certificate", "left_out")
    certificate = node.unfolded("certificate") if node.has("certificate") else None
    if certificate is not None and not isinstance(certificate, dict):
        node.at("certificate").refuse("an object with a rule")
    return Claim(
        node.number("length"),
        node.text("by"),
        node.text("rests_on"),
        node.day("found"),
        certificate,
        node.text("left_out") if node.has("left_out") else "",
    )


def _run(node: _Node) -> Run:
    node.only("work", "seed", "day", "length", "bound")
    return Run(
        _work(node),
        node.number("seed"),
        node.day("day"),
        node.number_or_none("length"),
        node.number_or_none("bound") or 0,
    )
