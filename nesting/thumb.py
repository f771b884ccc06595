"""The plain trade rule: whole widths times the cut length up to the repeat, companions extra in rows."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from nesting.job import Bolt, Job
from nesting.piece import Piece
from nesting.plan import RuleOfThumb
from nesting.seams import up_to_repeat
from nesting.units import Unit, format_length, grid, round_down
from nesting.washing import washed

#: Roles of which every piece is reckoned as a whole width.
LAYERS = ("panel", "lining", "interlining")


def rule_of_thumb_for(job: Job, pieces: Iterable[Piece], cloth_key: str, bolt: Bolt) -> RuleOfThumb:
    """What the plain rule asks for, with its sums; nothing is nested.

    Every width of every panel, part-widths as whole ones, takes its cut length rounded up to the
    repeat; a half drop is reckoned the same way. Facings, tabs, bands and extras lie in rows of their
    own, as many side by side as fit, one kind after another. Optional extras are left out.

    Parameters
    ----------
    job, pieces, cloth_key
        What was cut, and the cloth in question.
    bolt
        As it is bought.
    """
    cloth, table = washed(job.cloth(cloth_key), bolt)
    usable = round_down(table.usable, grid(job.units))
    repeat = cloth.repeat.length if cloth.repeat else None
    mine = [piece for piece in pieces if piece.cloth == cloth_key and not piece.optional]
    total, lines = 0, list[str]()
    for (role, size, name), alike in _kinds(mine):
        copies = sum(piece.copies for piece in alike)
        if role in LAYERS:
            length, line = _layer_rows(role, copies, size, usable, repeat, job.units)
        else:
            matched = repeat if alike[0].match else None
            length, line = _companion_rows(name, copies, size, usable, matched, job.units)
        total += length
        lines.append(line)
    if lines:
        lines.append(f"in all {format_length(total, job.units)}")
    return RuleOfThumb(total, tuple(lines))


def _kinds(pieces: list[Piece]) -> list[tuple[tuple[str, tuple[int, int], str], list[Piece]]]:
    """Pieces by role and size; widths of panels only by length, since each takes a whole width."""

    def key(piece: Piece) -> tuple[str, tuple[int, int], str]:
        if piece.role in LAYERS:
            return piece.role, (piece.width if _turned(piece) else 0, piece.length), ""
        name = piece.name if piece.role == "extra" else piece.role
        return piece.role, (piece.width, piece.length), name

    def _turned(piece: Piece) -> bool:
        return any("sideways" in note for note in piece.notes)

    return [(kind, list(alike)) for kind, alike in groupby(sorted(pieces, key=key), key)]


def _layer_rows(
    role: str, copies: int, size: tuple[int, int], usable: int, repeat: int | None, unit: Unit
) -> tuple[int, str]:
    across, along = size
    if across:
        run = format_length(across, unit)
        return (
            copies * across,
            f"{role}: {copies} in one run of {run} = {format_length(copies * across, unit)}",
        )
    each = up_to_repeat(along, repeat) if repeat else along
    up = f", up to the repeat {format_length(each, unit)}" if each != along else ""
    cut = format_length(along, unit)
    return copies * each, f"{role}: {copies} widths x {cut}{up} = {format_length(copies * each, unit)}"


def _companion_rows(
    name: str, copies: int, size: tuple[int, int], usable: int, repeat: int | None, unit: Unit
) -> tuple[int, str]:
    across, along = size if size[0] <= usable else (size[1], size[0])
    beside = max(1, usable // across)
    rows = -(-copies // beside)
    each = up_to_repeat(along, repeat) if repeat else along
    total = format_length(rows * each, unit)
    return (
        rows * each,
        f"{name}: {copies} cut {beside} to a row, {rows} x {format_length(each, unit)} = {total}",
    )
