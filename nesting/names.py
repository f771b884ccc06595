"""Short names for ids: ``East window`` becomes ``east-window``, each name once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping


def slug(text: str) -> str:
    """The text in lower case, every run of other signs than letters and digits made one dash."""
    return re.sub(r"[\W_]+", "-", text.lower()).strip("-") or "unnamed"


def slugs(texts: Iterable[str], taken: Iterable[str] = ()) -> tuple[str, ...]:
    """One slug per text, in order; a slug that is taken already gets a number behind it."""
    seen, found = set(taken), list[str]()
    for text in texts:
        plain = slug(text)
        name, number = plain, 1
        while name in seen:
            number += 1
            name = f"{plain}-{number}"
        seen.add(name)
        found.append(name)
    return tuple(found)


def room_slugs(rooms: Iterable[str]) -> Mapping[str, str]:
    """The slug of each room, one per different name."""
    names = tuple(dict.fromkeys(rooms))
    return dict(zip(names, slugs(names), strict=True))


def plural_of(noun: str) -> str:
    """Several of a thing that is counted: ``tabs``, ``patches``."""
    return f"{noun}es" if noun.endswith(("s", "x", "z", "ch", "sh")) else f"{noun}s"
