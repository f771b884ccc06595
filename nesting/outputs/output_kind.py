"""What an output is: a file of a finished plan, its name, who makes it and who is offered it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from nesting.names import slugs
from nesting.plan.paper import Paper, paper_for
from nesting.plan.plan import FabricLayout, Plan

if TYPE_CHECKING:
    from nesting.packet import Packet
    from nesting.packet.model import Section
    from nesting.plan.comparison import Comparison

#: Who is offered an output: ``nesting plan`` and ``nesting batch``, ``nesting draw``, ``nesting packet``, the
#: same with markers at true scale, and the page of a plan.
Place = Literal["plan", "draw", "packet", "full-size", "page"]


@dataclass(frozen=True)
class Ready:
    """A finished plan as outputs are made of it; what several of them share is made once.

    Attributes
    ----------
    plan, asked
        What is put out, and the paper that was asked for; None: that of the job's units.
    written
        The plan's document, where it is made already.
    comparison, practice
        For the packet: the same job on other bolts, and the pages of a practice sample.
    """

    plan: Plan
    asked: Paper | None = None
    written: Mapping[str, Any] | None = field(default=None, compare=False)
    comparison: Comparison | None = field(default=None, compare=False)
    practice: tuple[Section, ...] = field(default=(), compare=False)

    @property
    def paper(self) -> Paper:
        """What is printed on."""
        return self.asked or paper_for(self.plan.job.units)

    @cached_property
    def document(self) -> Mapping[str, Any]:
        """The plan as its JSON has it."""
        from nesting.files import plan_document

        return plan_document(self.plan) if self.written is None else self.written

    @cached_property
    def packet(self) -> Packet:
        """What is printed of it."""
        from nesting.packet import packet

        return packet(
            self.plan,
            made=date.today(),
            paper=self.paper,
            comparison=self.comparison,
            practice=self.practice,
        )

    @cached_property
    def layouts(self) -> tuple[FabricLayout, ...]:
        """The layouts that hold something."""
        return tuple(layout for layout in self.plan.layouts if layout.length is not None)

    def pictures(self, layout: FabricLayout) -> tuple[bytes, bytes]:
        """The marker of one of its layouts as PNG and as SVG: it is drawn once for both."""
        if id(layout) not in self._drawn:
            from nesting.drawing.page import marker_pictures

            self._drawn[id(layout)] = marker_pictures(self.plan, layout)
        return self._drawn[id(layout)]

    @cached_property
    def _drawn(self) -> dict[int, tuple[bytes, bytes]]:
        return {}

    def names(self) -> Iterator[tuple[str, FabricLayout]]:
        """What a file of each layout is called by: its fabric, and the length on hand it is cut from."""
        called = (
            f"{one.fabric.key} {one.on_hand}" if one.on_hand else one.fabric.key for one in self.layouts
        )
        return zip(slugs(called), self.layouts, strict=True)


@dataclass(frozen=True, slots=True)
class Output:
    """One file of a plan.

    Attributes
    ----------
    name
        Of the file: ``cut-list.csv``.
    title, media
        What the page calls it, and its media type.
    places
        Who is offered it.
    make
        The file's bytes.
    pages
        Whether it is set in pages, which take long for very many pieces; lists are not.
    """

    name: str
    title: str
    media: str
    places: frozenset[Place]
    make: Callable[[Ready], bytes]
    pages: bool = False

    def files(self, ready: Ready) -> Iterator[tuple[str, bytes]]:
        """Its file, by name."""
        yield self.name, self.make(ready)

    @property
    def like(self) -> str:
        """A regular expression of its name, and of that with a number where the name was taken."""
        return _numbered(self.name, "")


@dataclass(frozen=True, slots=True)
class OutputEach:
    """A file of each layout of a plan, as `Output`; the ``*`` of its ``name`` stands for the fabric.

    The page offers one file of each kind, and so none of these.
    """

    name: str
    places: frozenset[Place]
    make: Callable[[Ready, FabricLayout], bytes]
    pages: bool = True

    def files(self, ready: Ready) -> Iterator[tuple[str, bytes]]:
        """Its files, by name."""
        for name, layout in ready.names():
            yield self.name.replace("*", name), self.make(ready, layout)

    @property
    def like(self) -> str:
        """A regular expression of its names."""
        return _numbered(self.name, r"[\w-]+")


def _numbered(name: str, each: str) -> str:
    stem, _, ending = name.rpartition(".")
    return rf"{re.escape(stem).replace(re.escape('*'), each)}(-\d+)?\.{re.escape(ending)}"


def places(*offered: Place) -> frozenset[Place]:
    """Who is offered an output."""
    return frozenset(offered)
