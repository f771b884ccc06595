"""Names of cuts, ``A3`` or ``3``, in order and as they are listed."""

from __future__ import annotations

from collections.abc import Iterable

from nesting.plan.numbering import Numbering
from nesting.plan.plan import Laid

_DIGITS = "0123456789"


def in_order(names: Iterable[str]) -> list[str]:
    """Names of cuts in the order of their fabrics and numbers, each once."""
    return sorted(set(names), key=lambda name: (name.rstrip(_DIGITS), int(name.lstrip(_LETTERS) or 0)))


_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def listed_names(names: Iterable[str]) -> str:
    """Names of cuts as they are listed: ``A1 to A7, B1``."""
    runs = list[list[str]]()
    for name in in_order(names):
        letter, number = name.rstrip(_DIGITS), int(name.lstrip(_LETTERS) or 0)
        if runs and runs[-1][-1] == f"{letter}{number - 1}":
            runs[-1].append(name)
        else:
            runs.append([name])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def renamed(numbers: Numbering, stayed: Iterable[tuple[str, Laid]]) -> tuple[tuple[str, str], ...]:
    """Old and new names of cuts that stay where they are, in the order of the old ones.

    ``numbers`` are the new names, ``stayed`` has the old name of each piece as it now lies.
    """
    named = dict[str, dict[str, None]]()
    for old, laid in stayed:
        named.setdefault(old, {})[numbers.of(laid)] = None
    return tuple((old, ", ".join(named[old])) for old in in_order(named))
