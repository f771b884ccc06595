"""How much a TOML text says and how deep it nests, seen in one pass before anything parses it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

#: Strings and remarks, in which nothing counts; each begins where the one before ended, so one pass does.
_SAID: Final = re.compile(
    r'"""(?:\\.|[^\\])*?"""|' + r"'''.*?'''|" + r'"(?:\\.|[^"\\\n])*"|' + r"'[^'\n]*'|#[^\n]*", re.DOTALL
)
_BREAKS: Final = re.compile(r"[\r\n=\[\]{},]+")
_BRACKETS: Final = re.compile(r"[\[\]{}]")


@dataclass(frozen=True, slots=True)
class TextOutline:
    """How many entries a text has at most, and how deep a key or a bracket stands in others."""

    entries: int
    depth: int


def outline_of(text: str) -> TextOutline:
    """The outline of a TOML text; of any other text something as quickly found.

    A parser takes time with the square of the steps of a dotted key, and nests its own calls with brackets.
    """
    bare = _SAID.sub("0", text)
    return TextOutline(bare.count("="), max(_steps(bare), _brackets(bare)))


def _steps(bare: str) -> int:
    """How many dots stand in one key at most."""
    return max(word.count(".") for word in _BREAKS.split(bare.replace(" ", "").replace("\t", "")))


def _brackets(bare: str) -> int:
    """How deep brackets stand within brackets."""
    depth = deepest = 0
    for sign in _BRACKETS.findall(bare):
        if sign in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif depth:
            depth -= 1
    return deepest
