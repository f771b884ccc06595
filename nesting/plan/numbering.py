"""The one number of every piece that is cut: its cut, with the letter of its fabric where there are several.

Marker, cut list, labels, tables, page and steps all ask here, so that a piece is called the same everywhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from nesting.pieces.piece import Piece
from nesting.plan.cuts import Step, cutting_steps
from nesting.plan.plan import FabricLayout, Laid

_ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_Length = tuple[str, str | None]


@dataclass(frozen=True, slots=True)
class Numbering:
    """What every cut of a plan is called; by `numbering`.

    Attributes
    ----------
    letters
        Of each fabric by its key; "" where the plan has only one.
    before
        For each length (fabric and name of the length on hand), how many cuts the same fabric has before it.
    numbers
        By piece id and copy: ``B3``.
    """

    letters: Mapping[str, str]
    before: Mapping[_Length, int]
    numbers: Mapping[tuple[str, int], str]

    def steps(self, layout: FabricLayout) -> tuple[Step, ...]:
        """The cuts of one length with their numbers, which run on through all lengths of a fabric."""
        before = self.before.get((layout.fabric.key, layout.on_hand), 0)
        return _numbered(layout, self.letter(layout), before)

    def on(self, layout: FabricLayout) -> dict[tuple[str, int], str]:
        """The numbers of the pieces on one length, by piece id and copy."""
        return dict(_by_copy(layout, self.steps(layout)))

    def letter(self, layout: FabricLayout) -> str:
        """The letter of a length's fabric; "" where there is only one fabric."""
        return self.letters.get(layout.fabric.key, "")

    def fabric(self, layout: FabricLayout) -> str:
        """A fabric with its letter: ``B: Ivory lining``."""
        letter = self.letter(layout)
        return f"{letter}: {layout.fabric.title}" if letter else layout.fabric.title

    def of(self, laid: Laid) -> str:
        """The number of a piece laid."""
        return self.numbers[laid.piece.id, laid.copy]

    def seams(self, laid: Laid) -> tuple[str, ...]:
        """What a piece is sewn to: ``seam to width 2 (cut B3) at its left edge``.

        Copies belong together by their number: copy 2 of width 1 is sewn to copy 2 of width 2.
        """
        return self.seams_of(laid.piece, laid.copy)

    def seams_of(self, piece: Piece, copy: int) -> tuple[str, ...]:
        """The same of a copy of a piece, laid or not."""
        return tuple(_seams(piece, self.numbers, copy))


def numbering(layouts: Iterable[FabricLayout]) -> Numbering:
    """The numbers of all cuts of a plan.

    Parameters
    ----------
    layouts
        Of the whole plan, in its order, which is the order of letters and numbers.
    """
    laid = [layout for layout in layouts if layout.placements]
    keys = list(dict.fromkeys(layout.fabric.key for layout in laid))
    letters = {key: _letter(at) if len(keys) > 1 else "" for at, key in enumerate(keys)}
    counts, before = dict.fromkeys(keys, 0), dict[_Length, int]()
    numbers = dict[tuple[str, int], str]()
    for layout in laid:
        key = layout.fabric.key
        before[key, layout.on_hand] = counts[key]
        steps = _numbered(layout, letters[key], counts[key])
        counts[key] += len(steps)
        numbers |= _by_copy(layout, steps)
    return Numbering(letters, before, numbers)


def seam_words(piece: Piece) -> tuple[str, ...]:
    """What a piece is sewn to, before anything is laid: ``seam to width 2 at its left edge``."""
    return tuple(_seams(piece, {}, 1))


def runs_of(numbers: Iterable[str]) -> str:
    """Numbers as they are listed: ``B3, B5 to B9``; they come sorted, none twice."""
    parts = list[list[str]]()
    for number in numbers:
        if parts and _count(number) == _count(parts[-1][-1]) + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    return ", ".join(f"{part[0]} to {part[-1]}" if len(part) > 2 else ", ".join(part) for part in parts)


def in_order_of_number(numbers: Iterable[str]) -> list[str]:
    """Numbers of one fabric, each once, as they are cut."""
    return sorted(set(numbers), key=_count)


def _count(number: str) -> int:
    return int(number.lstrip(_ALPHABET))


def _letter(at: int) -> str:
    """A to Z, then AA, AB and so on."""
    more, last = divmod(at, len(_ALPHABET))
    return (_letter(more - 1) if more else "") + _ALPHABET[last]


def _numbered(layout: FabricLayout, letter: str, before: int) -> tuple[Step, ...]:
    return tuple(
        Step(number, step.cuts, step.frees, f"{letter}{number}")
        for number, step in enumerate(cutting_steps(layout), before + 1)
    )


def _by_copy(layout: FabricLayout, steps: Iterable[Step]) -> Iterator[tuple[tuple[str, int], str]]:
    copies = {(laid.piece.id, laid.x, laid.y): laid.copy for laid in layout.placements}
    for step in steps:
        piece = step.frees.first.piece.id
        yield from (((piece, copies[piece, x, y]), step.name) for x, y in step.frees.spots)


def _seams(piece: Piece, numbers: Mapping[tuple[str, int], str], copy: int) -> Iterator[str]:
    # "..., width 2" or "..., part 2": joined pieces are called by what they are and their place.
    what = piece.name.rpartition(", ")[2].partition(" ")[0]
    edges = piece.joined_at or ("",) * len(piece.joined_to)
    for other, edge in zip(piece.joined_to, edges, strict=True):
        number = numbers.get((other, copy))
        cut = "" if number is None else f" (cut {number})"
        where = f" at its {edge} edge" if edge else ""
        yield f"seam to {what} {other.rpartition('/')[2]}{cut}{where}"
