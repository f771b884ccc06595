"""The sample jobs that the page offers: those of the project, or the starter job where they are not there."""

from __future__ import annotations

import re
import sysconfig
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

_TITLE: Final = re.compile(r'^title = "([^"]+)"', re.MULTILINE)
_LIST: Final = re.compile(r'^windows = "([\w.-]+)"', re.MULTILINE)
#: The easiest first.
_ORDER: Final = (
    "reading-nook", "dining-room", "three-window-house", "balcony-sheer", "workshop", "loft-metric",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Sample:
    """One sample: its name in an address, title, remark and text, and the measurement list it names."""

    name: str
    title: str
    remark: str
    text: str
    lists: tuple[tuple[str, str], ...] = ()


@lru_cache(maxsize=1)
def samples() -> tuple[Sample, ...]:
    """All samples, the easiest first."""
    found = []
    for folder in _folders():
        if folder.is_dir():
            found = [_sample(path) for path in sorted(folder.glob("*.toml"))]
        if found:
            break
    places = {name: number for number, name in enumerate(_ORDER)}
    return tuple(sorted(found, key=lambda sample: places.get(sample.name, len(places))))


def _folders() -> tuple[Path, ...]:
    """In a working copy beside the package; after an installation where data of programs goes."""
    beside = Path(__file__).parents[2] / "samples"
    return beside, Path(sysconfig.get_path("data")) / "share" / "nesting" / "samples"


def _sample(path: Path) -> Sample:
    text = path.read_text("utf-8")
    title = _TITLE.search(text)
    remark = " ".join(line[1:].strip() for line in _head(text))
    named = _LIST.search(text)
    lists = () if named is None else ((named[1], path.with_name(named[1]).read_text("utf-8-sig")),)
    return Sample(path.stem, title[1] if title else path.stem, remark, text, lists)


def _head(text: str) -> list[str]:
    lines = text.splitlines()
    count = next((number for number, line in enumerate(lines) if not line.startswith("#")), len(lines))
    return lines[:count]
