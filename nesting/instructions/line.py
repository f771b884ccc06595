"""One operation in words, and many as the sentences of a step, each said once for all it holds for."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from difflib import SequenceMatcher
from fractions import Fraction
from typing import Final

from nesting.instructions.manner import Manner
from nesting.sewing import Work
from nesting.sewing.work import Side

#: Stands in a line where its edges are named.
EDGE: Final = "{edge}"
_PANEL: Final = " panel"
_ONLY: Final = "panel"
_TO_THE_WINDOW: Final = ("lining", "facing")


@dataclass(frozen=True, slots=True)
class ToldLine:
    """What one operation tells a hand.

    Attributes
    ----------
    on
        Name of the work; empty where it is told of all.
    text
        An order without a full stop, its first letter small, or nothing; ``EDGE`` stands for its edges.
    edges
        The edges it is done at.
    """

    on: str
    text: str
    edges: tuple[Side, ...] = ()


@dataclass(frozen=True, slots=True)
class Telling:
    """By which names, in which unit and in which manner the steps of a window are told.

    Attributes
    ----------
    say
        A length as read off a tape, with its unit.
    names
        What works are called where their own name does not say it: a cut piece by its number.
    fabrics
        Titles of the fabrics by key.
    manners
        How each fabric is handled; plain where it is not named.
    panels
        All panels of the window: what holds for each of them is told so.
    leading
        Of each panel of a pair, the edge that meets the other one.
    taken, onto_rod
        What a rod takes up of a panel that hangs in front of it, and how the panels come on it.
    """

    say: Callable[[int | Fraction], str]
    names: Mapping[str, str] = field(default_factory=dict)
    fabrics: Mapping[str, str] = field(default_factory=dict)
    manners: Mapping[str, Manner] = field(default_factory=dict)
    panels: tuple[str, ...] = ()
    leading: Mapping[str, Side] = field(default_factory=dict)
    taken: Fraction = Fraction(0)
    onto_rod: str = ""

    def manner(self, work: Work) -> Manner:
        """How the fabric of a work is handled."""
        return self.manners.get(work.fabric, Manner())

    def bare(self, length: int | Fraction) -> str:
        """A length without its unit."""
        return self.say(length).rpartition(" ")[0]

    def fabric(self, key: str) -> str:
        """What a fabric is called."""
        return self.fabrics.get(key, key)

    def name(self, work: str) -> str:
        """What a work is called: ``left panel``, ``lining of the left panel``, ``tabs``, ``cut B3``."""
        if work in self.names:
            return self.names[work]
        place = work.rpartition("/")[2].split(" ")[0].replace("-", " ")
        layer = work.replace("/", " ").rpartition(" ")[2].replace("-", " ")
        if work == "single":
            return "panel"
        if "/" not in work and " " not in work:
            return f"{place} panel" if place in ("left", "right", "center") else place
        panel = work.removesuffix(layer).strip(" /").rpartition("/")[2]
        if panel in ("left", "right", "center"):
            return f"{layer} of the {panel} panel"
        return layer

    def layer(self, work: str) -> str:
        """What a work is called beside its panel: ``lining``."""
        return self.name(work).partition(" of the ")[0]

    def wrong_side_up(self, work: str) -> bool:
        """Whether a work shows its wrong side where it lies as it is seen from the room.

        A lining and a facing turn their right side to the window; labels tell their edges right side up.
        """
        return self.layer(work) in _TO_THE_WINDOW

    def named(self, works: Iterable[str]) -> str:
        """Several works by name: ``left and right panel``, ``facing of each panel``."""
        names = list(dict.fromkeys(self.name(work) for work in works if work))
        if self.panels and names == [self.name(panel) for panel in self.panels]:
            return f"each{_PANEL}" if len(names) > 1 else ""
        heads = [name.removesuffix(_PANEL) for name in names]
        if len(names) > 1 and all(name.endswith(_PANEL) for name in names):
            layers = {head.rpartition(" of the ")[0] for head in heads}
            if layers == {""}:
                return f"{listed(heads)}{_PANEL}"
            if len(layers) == 1:
                return f"{layers.pop()} of each{_PANEL}"
        return listed(names)


def edge_words(edges: Iterable[Side]) -> str:
    """Edges by name: ``the lower edge``, ``both side edges``."""
    sides = tuple(dict.fromkeys(edges))
    if set(sides) == {"left", "right", "top", "bottom"}:
        return "all four edges"
    if set(sides) == {"top", "bottom"}:
        return "both ends"
    if {"left", "right"} <= set(sides):
        rest = [_EDGES[side] for side in sides if side not in ("left", "right")]
        return listed(["both side edges", *rest])
    return listed([_EDGES[side] for side in sides])


_EDGES: Final[Mapping[Side, str]] = {
    "left": "the left edge",
    "right": "the right edge",
    "top": "the upper edge",
    "bottom": "the lower edge",
}


def listed(words: Iterable[str]) -> str:
    """``a, b and c``."""
    each = tuple(words)
    if len(each) < 2:
        return "".join(each)
    return f"{', '.join(each[:-1])} and {each[-1]}"


def sentences(lines: Iterable[ToldLine], telling: Telling, *, title: str = "") -> str:
    """The lines as running text: what holds for several edges or works is said once for all of them.

    Parameters
    ----------
    lines
        In their order.
    telling
        How works are called.
    title
        What stands before the text: a work that is called so is not named again.
    """
    told = _for_works(_leading_first(_for_edges(tuple(one for one in lines if one.text)), telling), telling)
    said, subject = list[str](), title.lower()
    for works, text in told:
        names = telling.named(works)
        if not names and said and subject not in ("", _ONLY):
            # The one panel of a window is named where another work was spoken of before.
            names = _ONLY
        if names == subject or not names:
            said.append(f"{_capital(text)}.")
        else:
            said.append(f"{_capital(names)}: {_small(text)}.")
        subject = names or (subject if not said else "")
    return " ".join(said)


def _for_edges(lines: tuple[ToldLine, ...]) -> list[ToldLine]:
    """Lines of one work that differ in their edge alone, as one."""
    merged = dict[tuple[str, str], ToldLine]()
    for number, line in enumerate(lines):
        key = (line.on, line.text if line.edges else f"{number}{line.text}")
        had = merged.get(key)
        merged[key] = line if had is None else replace(had, edges=(*had.edges, *line.edges))
    return list(merged.values())


def _leading_first(lines: list[ToldLine], telling: Telling) -> list[ToldLine]:
    """What is done at one side edge after the other, at the leading edge first in both panels of a pair."""
    found = list[ToldLine]()
    for (work, upright), run in itertools.groupby(lines, lambda line: (line.on, _is_upright(line))):
        leading = telling.leading.get(work)
        if upright and leading is not None:
            each = list(run)
            found += [one for one in each if one.edges == (leading,)]
            found += [one for one in each if one.edges != (leading,)]
        else:
            found += run
    return found


def _is_upright(line: ToldLine) -> bool:
    return line.edges in (("left",), ("right",))


def _for_works(lines: list[ToldLine], telling: Telling) -> list[tuple[tuple[str, ...], str]]:
    """Works and a sentence that holds for them: each work is told all of its own, in their order."""
    each = dict[str, list[tuple[str, str]]]()
    for line in lines:
        for sentence in line.text.replace(EDGE, _edges_of(line, telling)).split(". "):
            each.setdefault(parted(line.on, telling)[0] or line.on, []).append((line.on, sentence))
    told = list[tuple[tuple[str, ...], str]]()
    for own in each.values():
        told = _together(told, own, telling)
    return told


def _together(
    told: list[tuple[tuple[str, ...], str]], own: list[tuple[str, str]], telling: Telling
) -> list[tuple[tuple[str, ...], str]]:
    """What is told of other panels and what of one more: equal sentences as one, none out of its order."""
    shared = [(parted(works[0], telling)[1], text) for works, text in told]
    mine = [(parted(work, telling)[1], text) for work, text in own]
    both = list[tuple[tuple[str, ...], str]]()
    for what, a, b, c, d in SequenceMatcher(None, shared, mine, autojunk=False).get_opcodes():
        if what == "equal":
            pairs = zip(told[a:b], own[c:d], strict=True)
            both += [((*works, work), text) for (works, text), (work, _) in pairs]
        else:
            both += told[a:b]
            both += [((work,), text) for work, text in own[c:d]]
    return both


def parted(work: str, telling: Telling) -> tuple[str, str]:
    """To which panel a work belongs, and what of it: ``(left, facing)`` for ``left facing``."""
    words = work.replace("/", " ").split()
    panels = telling.panels or ("left", "right", "center", "single")
    at = next((number for number, word in enumerate(words) if word in panels), None)
    return ("", work) if at is None else (words[at], " ".join(words[at + 1 :]))


def _edges_of(line: ToldLine, telling: Telling) -> str:
    """Edges of a line; one side edge of a panel of a pair by its place in the pair, alike in both."""
    leading = telling.leading.get(line.on)
    if leading is not None and len(set(line.edges)) == 1 and line.edges[0] in ("left", "right"):
        return "the leading edge" if line.edges[0] == leading else "the outer edge"
    return edge_words(line.edges)


def _small(text: str) -> str:
    """A sentence behind a colon; a word all in capitals stays as it is."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
