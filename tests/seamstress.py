"""Sews a window from the printed text alone: sizes of the pieces, then the steps one after the other.

Lengths are fractions of the unit of the job. Nothing here knows what was ordered, how the planner reckons, or
of `nesting.sewing`: each sentence is read with a pencil in the hand.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction

#: A length as it is printed.
L = r"(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?) (?:in|cm)"
SIDES = ("left edge", "right edge", "upper edge", "lower edge")


def length(text: str) -> Fraction:
    """A number of ``95 1/2`` or ``242.5``."""
    return sum((Fraction(part) for part in text.split()), Fraction(0))


@dataclass(frozen=True)
class Cut:
    """A row of the piece list: what it is, across and along, how many, its size as printed."""

    name: str
    wide: Fraction
    long: Fraction
    count: int
    said: str


@dataclass
class Steps:
    """The numbered steps of one window."""

    said: list[str]

    @property
    def text(self) -> str:
        return " ".join(self.said)

    def read(self, pattern: str) -> tuple[Fraction, ...]:
        """The lengths in the first text like ``pattern``, where ``#`` stands for one."""
        found = re.search(pattern.replace("#", L), self.text)
        assert found is not None, (pattern, self.text)
        return tuple(length(group) for group in found.groups())

    def step(self, title: str) -> str:
        """The step headed so."""
        return next(one for one in self.said if one.startswith(f"{title}."))

    def before(self, first: str, then: str) -> bool:
        """Whether one step comes before another."""
        return self._at(first) < self._at(then)

    def _at(self, words: str) -> int:
        found = [number for number, step in enumerate(self.said) if re.search(words, step)]
        assert found, (words, self.said)
        return found[0]


@dataclass
class Piece:
    """One thing on the table: how wide and long it is now, what of it is turned back, its chalk lines."""

    wide: Fraction
    long: Fraction
    turned: dict[str, Fraction] = field(default_factory=dict)
    taken: dict[str, Fraction] = field(default_factory=dict)
    lines: dict[str, Fraction] = field(default_factory=dict)
    drawn: Fraction | None = None
    seams: list[Fraction] = field(default_factory=list)
    joined: Fraction | None = None
    first_seams: list[Fraction] = field(default_factory=list)
    gap: Fraction | None = None
    cover: Fraction | None = None
    hung: Fraction | None = None
    deep: Fraction = Fraction(0)
    pleats: Fraction = Fraction(0)


@dataclass
class Table:
    """What lies on the table of one window, by what the steps call it."""

    works: dict[str, Piece]
    parts: dict[str, list[Cut]]
    panels: tuple[str, ...]

    def known(self, subject: str) -> list[str]:
        """Those of the works it names that lie on the table."""
        return [one for one in self.named(subject) if one in self.works]

    def named(self, subject: str) -> list[str]:
        """The works of a heading of a sentence: ``each panel``, ``facing of the left panel``."""
        words = subject.lower()
        layer, _, panel = words.rpartition(" of ")
        tail = f" {layer}" if layer else ""
        for panel_key in ("left", "right"):
            if re.fullmatch(rf"(the )?{panel_key} panel", panel):
                return [f"{panel_key}{tail}"]
        if re.fullmatch(r"(each|left and right) panel", panel):
            return [f"{key}{tail}" for key in self.panels]
        if words == "panel":
            return [self.panels[0]]
        return [words if words in self.works or len(self.panels) > 1 else f"{self.panels[0]} {words}"]


def sew(steps: Steps, parts: dict[str, list[Cut]], panels: tuple[str, ...]) -> Table:
    """All works of a window after its last step.

    ``parts`` holds the cut pieces of each work by what the steps call it: ``left lining``, ``tabs``.
    """
    table = Table({}, dict(parts), panels)
    for name, cuts in parts.items():
        table.works[name] = Piece(cuts[0].wide, cuts[0].long)
    for said in steps.said:
        title, _, rest = said.partition(". ")
        told, _, measure = rest.partition(" Measure: ")
        subjects, touched = table.known(title) or list(panels), list[str]()
        for sentence in re.split(r"(?<=\.) ", told):
            named = re.match(r"([A-Z][\w -]*): (.*)", sentence)
            if named is not None and (works := table.known(named[1])):
                subjects = works
            for subject in subjects:
                if follow(table, subject, sentence):
                    touched.append(subject)
        round_ = re.search(ROUND.replace("#", L), told)
        if round_ is not None:
            for panel in panels:
                _round(table, panel, round_)
            touched += panels
        if title == "Wash first":
            _washed(table, measure)
        elif measure:
            _measured(table, touched, measure)
    return table


def follow(table: Table, name: str, sentence: str) -> bool:
    """One sentence for one work; whether it told anything that changes it."""
    done = False
    for pattern, does in RULES:
        for found in re.finditer(pattern.replace("#", L), sentence):
            does(table, name, found)
            done = True
    return done


def _edges(words: str, name: str = "") -> tuple[str, ...]:
    # The leading edges of a pair meet: the right one of the left panel.
    leading = "right edge" if name == "left" else "left edge"
    words = words.replace("leading edge", leading)
    words = words.replace("outer edge", next(side for side in SIDES[:2] if side != leading))
    if words == "all four edges":
        return SIDES
    if "both side edges" in words:
        return (*SIDES[:2], *(side for side in SIDES[2:] if side in words))
    if words in ("both ends", "each end"):
        return SIDES[2:]
    return tuple(side for side in SIDES if side in words)


def _fold(table: Table, name: str, words: str, *turns: Fraction) -> None:
    piece = table.works[name]
    taken = sum(turns, Fraction(0))
    for edge in _edges(words, name):
        _off(piece, edge, taken)
        piece.turned[edge] = turns[-1]
        piece.taken[edge] = taken
        if edge in piece.lines:
            assert piece.lines[edge] == taken, (edge, piece.lines, turns)


def _off(piece: Piece, edge: str, size: Fraction) -> None:
    if edge in SIDES[:2]:
        piece.wide -= size
        piece.seams = [at - size if edge == "left edge" else at for at in piece.seams]
    else:
        piece.long -= size


def _joined(table: Table, name: str, found: re.Match[str]) -> None:
    seam, cuts = length(found[1]), table.parts[name]
    every = [one.wide for one in cuts for _ in range(one.count)]
    piece = table.works[name]
    assert len({one.long for one in cuts}) == 1
    piece.wide = sum(every, Fraction(0)) - 2 * seam * (len(every) - 1)
    piece.joined = piece.wide
    piece.seams = piece.first_seams = [
        sum(every[: at + 1], Fraction(0)) - 2 * seam * at - seam for at in range(len(every) - 1)
    ]


def _trimmed(table: Table, name: str, found: re.Match[str]) -> None:
    for edge in _edges(found[2], name):
        _off(table.works[name], edge, length(found[1]))


def _chalked(table: Table, name: str, found: re.Match[str]) -> None:
    for edge in _edges(found[2], name):
        table.works[name].lines[edge] = length(found[1])


def _turned_again(table: Table, name: str, found: re.Match[str]) -> None:
    _fold(table, name, found[1], length(found[2]), length(found[3]))


def _turned_under(table: Table, name: str, found: re.Match[str]) -> None:
    _fold(table, name, found[2], length(found[1]), length(found[3]))


def _folded(table: Table, name: str, found: re.Match[str]) -> None:
    tab = name in ("tabs", "tie-backs")
    piece, size = table.works[name], length(found[2])
    if not tab:
        _fold(table, name, found[1], size)
    elif name == "tabs":
        piece.long -= 2 * size
    else:
        piece.wide -= 2 * size


def _around(table: Table, name: str, found: re.Match[str]) -> None:
    assert length(found[1]) == length(found[2])
    _fold(table, name, "upper edge", length(found[1]), length(found[2]))


def _tube(table: Table, name: str, found: re.Match[str]) -> None:
    piece, seam, wide = table.works[name], length(found[1]), length(found[2])
    if name == "tabs":
        piece.wide = (piece.wide - 2 * seam) / 2
        assert piece.wide == wide
    else:
        piece.long = (piece.long - 2 * seam) / 2
        assert piece.long == wide


def _faced(table: Table, name: str, found: re.Match[str]) -> None:
    seam, facing = length(found[1]), table.works[f"{name} facing"]
    assert abs(facing.wide - table.works[name].wide) <= Fraction(1, 8), (facing, table.works[name])
    _off(table.works[name], "upper edge", seam)
    facing.long -= seam
    table.works[name].deep = facing.long


def _looped(table: Table, name: str, found: re.Match[str]) -> None:
    upper, lower = length(found[1]), length(found[2])
    assert lower - upper == table.works["tabs"].long
    # They end inside the facing.
    assert lower + Fraction(1, 2) <= table.works[name].long


def _tucked(table: Table, name: str, found: re.Match[str]) -> None:
    """The lining: from the gap above the hem edge to so far below the top line."""
    panel, lining = table.works[name], table.works[f"{name} lining"]
    panel.gap, said = length(found[1]), length(found[2]) * (1 if found[3] == "below" else -1)
    panel.cover = panel.long - panel.gap - lining.long - panel.lines.get("upper edge", Fraction(0))
    assert panel.cover == said


def _round(table: Table, name: str, found: re.Match[str]) -> None:
    gap, seam, fold, wrap = (length(found[group]) for group in (1, 4, 5, 6))
    said = Fraction(0) if found[2] is None else length(found[2]) * (1 if found[3] == "below" else -1)
    panel, lining = table.works[name], table.works[f"{name} lining"]
    assert wrap == fold - seam
    around = panel.wide + lining.wide - 4 * seam
    panel.wide -= 2 * fold
    panel.seams = [at - fold for at in panel.seams]
    assert around == 2 * panel.wide
    panel.gap = gap
    panel.cover = panel.long - gap - lining.long - panel.lines.get("upper edge", Fraction(0))
    assert panel.cover == said


def _drawn(table: Table, name: str, found: re.Match[str]) -> None:
    table.works[name].drawn = length(found[1])
    assert table.works[name].wide - length(found[2]) == length(found[1])


def _pleated(table: Table, name: str, found: re.Match[str]) -> None:
    number = r"(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)"
    pairs = re.findall(f"{number} to {number}", found[1])
    table.works[name].pleats = sum((length(b) - length(a) for a, b in pairs), Fraction(0))


def _pinched(table: Table, name: str, found: re.Match[str]) -> None:
    piece = table.works[name]
    piece.drawn = piece.wide - piece.pleats
    assert length(found[1]) == piece.turned["upper edge"]


def _washed(table: Table, measure: str) -> None:
    """Every piece is what the tape reads of it after the wash: the size nearest to the one it was cut to."""
    sizes = [(length(wide), length(long)) for wide, long in re.findall(f"about {L} by {L}", measure)]
    assert sizes
    for name, cuts in table.parts.items():
        table.parts[name] = [_nearest(cut, sizes) for cut in cuts]
        table.works[name] = Piece(table.parts[name][0].wide, table.parts[name][0].long)


def _nearest(cut: Cut, sizes: list[tuple[Fraction, Fraction]]) -> Cut:
    wide, long = min(sizes, key=lambda size: abs(size[0] - cut.wide) + abs(size[1] - cut.long))
    return Cut(cut.name, wide, long, cut.count, cut.said)


def _measured(table: Table, touched: list[str], measure: str) -> None:
    """What the tape must read is what the table holds."""
    works = [table.works[name] for name in dict.fromkeys((*touched, *table.panels))]
    for pattern, reads in READINGS:
        for found in re.findall(pattern.replace("#", L), measure):
            size = length(found)
            held = [reads(work) for work in works]
            assert any(one is not None and abs(one - size) <= SAME for one in held), (pattern, size, works)
    for said in re.findall(r"seams? at (.*?) from the left edge", measure):
        sizes = [length(one) for one in re.findall(L, said)]
        assert any(_at(sizes, work) for work in works), (said, works)
    hung = re.search(f"on the rod {L} long", measure) or re.search(f"^{L} from top edge to hem edge", measure)
    if hung is not None:
        for panel in table.panels:
            table.works[panel].hung = length(hung[1])


def _at(sizes: list[Fraction], work: Piece) -> bool:
    """Whether the seams lay there when they were sewn, from one end or the other."""
    if work.joined is None:
        return False
    turned = [work.joined - at for at in reversed(work.first_seams)]
    lies = (
        len(sizes) == len(seams) and all(abs(a - b) <= SAME for a, b in zip(sizes, seams, strict=True))
        for seams in (work.first_seams, turned)
    )
    return any(lies)


#: Two sizes of exact sums that are read off the tape.
SAME = Fraction(1, 8)
READINGS: tuple[tuple[str, Callable[[Piece], Fraction | None]], ...] = (
    ("# across, when joined", lambda work: work.joined),
    ("# across(?:, lying flat|;|$)", lambda work: work.wide if work.drawn is None else work.drawn),
    ("# across, drawn in", lambda work: work.drawn),
    ("# from (?:hem|lower) edge to (?:top|upper) edge", lambda work: work.long),
    ("(?:^|; )# from top edge to hem edge at both sides", lambda work: work.long),
    (
        "# from hem line to top line",
        lambda work: work.long - sum((work.lines.get(edge, Fraction(0)) for edge in SIDES[2:]), Fraction(0)),
    ),
    ("facing # deep at the back", lambda work: work.deep),
    ("hem # deep", lambda work: work.turned.get("lower edge")),
)
ROUND = (
    "the lower edge of the lining # above the lower edge of the panel; its upper edge comes "
    "(?:on|# (below|above)) the (?:top line|upper edge). Sew both sides # from the raw edges.*"
    "Bring the side folds, # inside each raw edge, to the edges: the face comes round to the back # at each "
    "side"
)

#: What a sentence does to its work; ``#`` stands for a length.
RULES: tuple[tuple[str, Callable[[Table, str, re.Match[str]], None]], ...] = (
    (r"oin them right sides together.*?, # from the raw edges", _joined),
    (r"ut # off ([a-z ]+edges?)", _trimmed),
    (r"halk the (?:hem line|top line) # (?:up|down) from ([a-z ]+edge)", _chalked),
    (r"halk the side fold # inside ([a-z ]+edges?)", _chalked),
    (r"urn (both side edges|the \w+ edge) # to the back, then # again", _turned_again),
    (r"urn the raw edge under # at ([a-z ]+edges?), then fold # to the back", _turned_under),
    (r"old (both side edges(?: and the lower edge)?|the \w+ edge|all four edges|each end) # to the", _folded),
    (r"fold the # over it, then fold both # to the back", _around),
    (r"sew # from the raw edges, turn, bring the seam .*?: # wide", _tube),
    (r"sew # from them", _faced),
    (r"upper end # and its lower end # below the upper edge", _looped),
    (r"its lower edge # above the (?:hem|lower) edge.*?upper edge comes # (below|above) the", _tucked),
    (r"raw the cords out until the panel is # wide, # less than it was", _drawn),
    (r"from the left edge: (.*?) (?:in|cm), measured", _pleated),
    (r"edge to the (?:lower edge of the buckram|foot of the folded top), # down", _pinched),
)
