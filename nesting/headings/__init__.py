"""Heading styles, one module each behind the Protocol `Heading`; a new one is a module and a line here."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from nesting.errors import NestingError
from nesting.headings.back_tab import BackTab
from nesting.headings.clip_ring import ClipRing
from nesting.headings.grommet import Grommet
from nesting.headings.heading import Component, FinishedPanel, Heading, OwnSize
from nesting.headings.making import EQUALLY, Making, Piecing
from nesting.headings.pencil_pleat import PencilPleat
from nesting.headings.pinch_pleat import PinchPleat
from nesting.headings.rod_pocket import RodPocket
from nesting.headings.tab_top import TabTop

__all__ = [
    "EQUALLY",
    "HEADINGS",
    "OWN_SIZES",
    "USUAL",
    "Component",
    "FinishedPanel",
    "Heading",
    "Making",
    "OwnSize",
    "Piecing",
    "heading",
]

_ALL: Final[tuple[Heading, ...]] = (
    BackTab(),
    TabTop(),
    RodPocket(),
    PinchPleat(),
    Grommet(),
    ClipRing(),
    PencilPleat(),
)
#: The name of the heading that is taken where none is named.
USUAL: Final = _ALL[0].name
HEADINGS: Final[Mapping[str, Heading]] = MappingProxyType({style.name: style for style in _ALL})


#: Lengths of a window that headings declare themselves, by key.
OWN_SIZES: Final[Mapping[str, OwnSize]] = MappingProxyType(
    {size.key: size for style in _ALL for size in style.own_sizes}
)


def heading(name: str) -> Heading:
    """The heading style of that name.

    Raises
    ------
    NestingError
        There is none.
    """
    if name not in HEADINGS:
        raise NestingError(f'heading "{name}" is not known: expected one of {", ".join(HEADINGS)}')
    return HEADINGS[name]
