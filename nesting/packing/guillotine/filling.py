"""More parts into what a layout in bands leaves free, so that it can still be cut across first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.packing.guillotine.bands import BandBed
from nesting.packing.problem import Part, Problem
from nesting.packing.reduce import Core, Spot, misfits, reduce
from nesting.packing.result import Placement, Result
from nesting.packing.searches.leftover import Leftover


@dataclass(slots=True)
class _BandColumn:
    left: int
    right: int
    top: int


@dataclass(slots=True)
class _LaidBand:
    start: int
    end: int
    columns: list[_BandColumn]

    def place(self, bench: BandBed, kind: int) -> tuple[Spot, _BandColumn] | None:
        """The lowest place on top of a column, or in a new one beside the last."""
        found = list[tuple[tuple[int, int], Spot, _BandColumn]]()
        edge = max((column.right for column in self.columns), default=0)
        for column in (*self.columns, _BandColumn(edge, bench.core.width, self.start)):
            spot = bench.place(kind, column.left, column.right, column.top, self.end)
            if spot is not None:
                found.append(((spot.y, spot.x), spot, column))
        if not found:
            return None
        _, spot, column = min(found, key=lambda one: one[0])
        return spot, column

    def lay(self, bench: BandBed, spot: Spot, column: _BandColumn) -> None:
        """Lay a piece there."""
        top = bench.lay(spot)
        if column in self.columns:
            column.top = top
        else:
            self.columns.append(_BandColumn(spot.x, spot.x + bench.core.size(spot)[0], top))


def fill_bands(problem: Problem, result: Result, more: Sequence[Part]) -> Leftover:
    """As `nesting.packing.fill_leftover`, on top of columns and beside them.

    Parameters
    ----------
    problem, result
        A layout that `pack_across` found.
    more
        Further parts, in order of importance.
    """
    if result.length is None or not more:
        return Leftover()
    known = len(problem.parts)
    unfit = misfits(replace(problem, parts=tuple(more)))
    fitting = [n for n, part in enumerate(more) if part not in unfit]
    whole = replace(problem, parts=(*problem.parts, *(more[n] for n in fitting)))
    core = reduce(whole, set_apart=False)
    if core is None:
        return Leftover(over=tuple((number, part.length) for number, part in enumerate(more)))
    directions = {problem.parts[p.part].arrow: p.turned for p in result.placements}
    for arrow in core.open_arrows:
        core = core.settled(arrow, directions.get(arrow, False))
    where = {member: index for index, kind in enumerate(core.kinds) for member in kind.members}
    bench = _as_laid(core, where, result.placements)
    bands = _bands(core, bench.spots)
    limit = result.length // core.step_y
    placed, over = list[Placement](), [(n, more[n].length) for n in range(len(more)) if n not in fitting]
    for index, number in enumerate(fitting, known):
        for copy in range(1, more[number].copies + 1):
            kind = where[index, copy]
            found = [(spot, band, at) for band in bands if (at := band.place(bench, kind)) for spot in at[:1]]
            if not found:
                beyond = bench.place(kind, 0, core.width, limit, None)
                far = more[number].length // core.step_y
                far = far if beyond is None else beyond.y + core.size(beyond)[1] - limit
                over.append((number, far * core.step_y))
                break
            spot, band, at = min(found, key=lambda one: (one[0].y, one[0].x))
            band.lay(bench, *at)
            x, y = spot.x * core.step_x, spot.y * core.step_y
            placed.append(Placement(known + number, copy, x, y, spot.turned))
    return Leftover(tuple(placed), tuple(sorted(over)))


def _as_laid(core: Core, where: dict[tuple[int, int], int], placements: Sequence[Placement]) -> BandBed:
    """The bench with the layout on it, and the phases it settled."""
    bench = BandBed(core, {})
    for at in sorted(placements, key=lambda p: (p.y, p.x)):
        spot = Spot(where[at.part, at.copy], at.x // core.step_x, at.y // core.step_y, at.turned)
        match = core.kinds[spot.kind].match
        if match is not None and match.seam is not None and core.repeat is not None:
            bench.seams.setdefault(match.seam, core.repeat.columns(spot.x, match.x)[1])
        bench.lay(spot)
    return bench


def _bands(core: Core, spots: Sequence[Spot]) -> list[_LaidBand]:
    """Bands and columns as cuts from edge to edge part them."""
    bands = list[_LaidBand]()
    for band in _parts(core, spots, 1):
        low, high = min(s.y for s in band), max(s.y + core.size(s)[1] for s in band)
        columns = [
            _BandColumn(
                min(s.x for s in part),
                max(s.x + core.size(s)[0] for s in part),
                max(s.y + core.size(s)[1] for s in part),
            )
            for part in _parts(core, band, 0)
        ]
        # Fabric before a band, where it waits for the pattern, belongs to it.
        bands.append(_LaidBand(bands[-1].end if bands else min(0, low), high, columns))
    return bands


def _parts(core: Core, spots: Sequence[Spot], side: int) -> list[list[Spot]]:
    parts, reached = list[list[Spot]](), 0
    for spot in sorted(spots, key=lambda s: (s.x, s.y)[side]):
        start = (spot.x, spot.y)[side]
        if not parts or start >= reached:
            parts.append([])
        parts[-1].append(spot)
        reached = max(reached, start + core.size(spot)[side])
    return parts
