"""What is to be packed: strips, parts and the rules between them, in whole numbers."""

from __future__ import annotations

from dataclasses import dataclass
from os import PathLike
from pathlib import Path

from nesting.errors import ProblemError
from nesting.packing.instances import Instance, InstanceItem, read_instance, write_instance
from nesting.repeat import Repeat, set_whole, whole

__all__ = ["Choice", "Flaw", "Match", "Part", "Problem", "Repeat", "Strip"]

#: Sizes above this are refused (13 km in ticks): sums of areas must stay within 64 bits.
LARGEST = 2**30
#: Values above this are refused: the values of all parts together must stay within 64 bits.
MOST_VALUE = 2**40
#: The level group of all parts of an instance whose pattern counts.
_PATTERN = "pattern"


@dataclass(frozen=True, slots=True)
class Flaw:
    """A rectangle of the strip that no part may touch from inside."""

    x: int
    y: int
    width: int
    length: int

    def __post_init__(self) -> None:
        set_whole(self, "flaw", "x", "y", "width", "length")
        if self.width <= 0 or self.length <= 0:
            raise ProblemError(f"flaw {self.width} x {self.length}: expected sizes above 0")


@dataclass(frozen=True, slots=True)
class Strip:
    """A bolt, or a length on hand: x across from the left edge, y along from the squared end.

    Attributes
    ----------
    width
        Fit to cut, above 0.
    length
        None: open, to be made as short as possible.
    repeat
        The printed pattern, or None for plain fabric.
    flaws
        Rectangles to keep clear of.
    lot
        The dye lot, where parts must share one.
    start
        The height of the pattern plane at y = 0, where it is known: every level group then has
        ``phase_y = -start``. None: each level group may choose its phase, one for all strips of a repeat.
        But where the start of any strip is known, the pattern under each part is prescribed: then one
        unknown start belongs to the whole strip, so on strips without a start all level groups share a
        phase.
    """

    width: int
    length: int | None = None
    repeat: Repeat | None = None
    flaws: tuple[Flaw, ...] = ()
    lot: str | None = None
    start: int | None = None

    def __post_init__(self) -> None:
        set_whole(self, "strip", "width", "length", "start")
        if not 0 < self.width <= LARGEST:
            raise ProblemError(f"strip width {self.width}: expected a whole number above 0")
        if self.length is not None and self.length <= 0:
            raise ProblemError(f"strip length {self.length}: expected a whole number above 0, or None")
        if self.start is not None and self.repeat is None:
            raise ProblemError(f"strip start {self.start} without a repeat: leave it out for plain fabric")


@dataclass(frozen=True, slots=True)
class Match:
    """A part's place in the printed pattern; see `nesting.repeat`.

    Attributes
    ----------
    level
        Parts of one level group share ``phase_y``.
    seam
        Parts of one seam group share ``phase_x``; None: a ``phase_x`` of its own.
    x, y
        The place (p, q) of the part's lower-left corner in the pattern plane.
    """

    level: str
    seam: str | None = None
    x: int = 0
    y: int = 0

    def __post_init__(self) -> None:
        set_whole(self, f'match of level "{self.level}"', "x", "y")


@dataclass(frozen=True, slots=True)
class Part:
    """A rectangle to be laid, upright unless turned.

    Attributes
    ----------
    name
        For messages only.
    width, length
        Across and along the strip when upright, above 0.
    copies
        How many are laid, above 0.
    turnable
        May lie turned by a quarter. A part of an arrow group turns with its whole group.
    match
        Its place in the pattern; a matched part is never turned.
    arrow
        Parts of one arrow group that are laid are all upright or all turned; one left out binds nobody.
    lot, value, bundle
        For fabric on hand: parts of one lot group share a dye lot; an optional part is worth
        ``value`` a copy; optional parts of one bundle are laid all or none.
    spare
        An optional part that starts no further length on hand: it counts only after the fabric started.
    clear
        How far it keeps from the left and the right edge of the strip.
    """

    name: str
    width: int
    length: int
    copies: int = 1
    turnable: bool = False
    match: Match | None = None
    arrow: str | None = None
    lot: str | None = None
    value: int | None = None
    bundle: str | None = None
    spare: bool = False
    clear: tuple[int, int] = (0, 0)

    def __post_init__(self) -> None:
        set_whole(self, f'part "{self.name}"', "width", "length", "copies", "value")
        if any(type(side) is not int for side in self.clear):
            sides = (whole(f'part "{self.name}": clear', side) for side in self.clear)
            object.__setattr__(self, "clear", tuple(sides))
        if not (0 < self.width <= LARGEST and 0 < self.length <= LARGEST):
            raise ProblemError(f'part "{self.name}" {self.width} x {self.length}: expected sizes above 0')
        if self.copies < 1:
            raise ProblemError(f'part "{self.name}": copies = {self.copies}: expected 1 or more')
        if self.match is not None and self.turnable:
            raise ProblemError(f'part "{self.name}" is matched and turnable: a matched part is never turned')
        if self.value is None and (self.spare or self.bundle is not None):
            word = "spare" if self.spare else f'in bundle "{self.bundle}"'
            raise ProblemError(f'part "{self.name}" is {word}, but not optional: give it a value')
        if self.value is not None and not 0 <= self.value <= MOST_VALUE:
            raise ProblemError(f'part "{self.name}": value = {self.value}: expected 0 to {MOST_VALUE}')
        if min(self.clear) < 0:
            raise ProblemError(f'part "{self.name}": clear = {self.clear}: expected 0 or more')

    def size(self, turned: bool) -> tuple[int, int]:
        """``(width, length)`` as laid."""
        return (self.length, self.width) if turned else (self.width, self.length)


@dataclass(frozen=True, slots=True)
class Choice:
    """Of several sets of parts, exactly one is laid; what is optional in it may be left out.

    Attributes
    ----------
    name
        For messages and the result.
    options
        Each a tuple of indices into ``Problem.parts``; an empty one lays nothing.
    """

    name: str
    options: tuple[tuple[int, ...], ...]

    def __post_init__(self) -> None:
        place = f'choice "{self.name}": part'
        options = tuple(tuple(whole(place, part) for part in option) for option in self.options)
        object.__setattr__(self, "options", options)


def _part(item: InstanceItem) -> Part:
    """A part as a file of one instance says it."""
    match = None if item.phase is None else Match(_PATTERN, y=item.phase)
    return Part(item.title, item.width, item.length, item.copies, match=match)


@dataclass(frozen=True, slots=True)
class Problem:
    """Strips, the parts to lay on them, and the choices between parts."""

    strips: tuple[Strip, ...]
    parts: tuple[Part, ...]
    choices: tuple[Choice, ...] = ()

    def __post_init__(self) -> None:
        if not self.strips:
            raise ProblemError("a problem without a strip: give at least one")
        if sum((part.value or 0) * part.copies for part in self.parts) > MOST_VALUE:
            raise ProblemError(f"the values of all copies add up to more than {MOST_VALUE}: scale them down")
        for part in self.parts:
            if part.match is not None and all(strip.repeat is None for strip in self.strips):
                raise ProblemError(f'part "{part.name}" is matched, but no strip has a repeat')

    @classmethod
    def read(cls, path: str | PathLike[str]) -> Problem:
        """The problem of a file of one instance, in a form of `nesting.packing.instances`.

        Raises
        ------
        ProblemError
            The file holds no such problem; with the place, the value and the remedy.
        """
        form = read_instance(Path(path))
        try:
            repeat = None if form.repeat is None else Repeat(form.repeat)
            parts = tuple(map(_part, form.items))
            return cls((Strip(form.width, repeat=repeat, start=None if repeat is None else 0),), parts)
        except ProblemError as error:
            raise ProblemError(f"{path}: {error}") from error

    def write(self, path: str | PathLike[str], *, ids: bool = True) -> None:
        """Write the file from which `read` gives this problem again, but for its names.

        Text with ids keeps these without their spaces, the other forms keep none.

        Parameters
        ----------
        path
            Ends in ``.json`` for JSON; all else is text.
        ids
            Whether text names the parts.

        Raises
        ------
        ProblemError
            The form cannot hold this problem.
        OutputError
            The file cannot be written.
        """
        strip, pattern = self.strips[0], self.strips[0].repeat
        bare, items = Strip(strip.width), list[InstanceItem]()
        if pattern is not None:
            bare = Strip(strip.width, repeat=Repeat(pattern.length), start=0)
        for part in self.parts:
            phase = part.match.y if part.match is not None else None
            items.append(InstanceItem(part.width, part.length, part.copies, phase, part.name))
        phased = pattern is None or all(item.phase is not None for item in items)
        if not phased or self != Problem((bare,), tuple(map(_part, items))):
            raise ProblemError(
                f"{path}: files hold one open strip without flaws, its pattern known by length and start 0, "
                f'and parts that are not turned, all of them matched (level "{_PATTERN}", by y) or none: '
                "leave out what else the problem says"
            )
        repeat = None if pattern is None else pattern.length
        write_instance(Instance(strip.width, tuple(items), repeat), Path(path), ids=ids)

    @property
    def copies(self) -> int:
        """How many rectangles are laid in all."""
        return sum(part.copies for part in self.parts)

    @property
    def plain_purchase(self) -> bool:
        """One open strip on which every part must be laid: nothing to choose, nothing on hand."""
        said = any(part.lot is not None or part.value is not None for part in self.parts)
        return len(self.strips) == 1 and self.strips[0].length is None and not said
