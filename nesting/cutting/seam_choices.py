"""The seam plans that one fabric leaves open: for each window, the sets of pieces it may be cut into.

All panels of a window, and all windows of one order, are cut by one plan: pairs hang in the mirror, windows
alike. What an option is worth is settled by the packing, which lays exactly one of each choice.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from nesting.cutting.cut import MadeWindow, Plans, WindowsOnTable
from nesting.cutting.panels import in_phase
from nesting.cutting.seam_plans import SeamPlan, plain_plan, seam_plans
from nesting.errors import DoesNotFitError
from nesting.headings import EQUALLY, Piecing
from nesting.order.job import Fabric, Job, Window
from nesting.packing.problem import Choice
from nesting.pieces.piece import Piece
from nesting.units import Unit

#: So many plans of one window are held against each other.
MOST_OPTIONS: Final = 8
#: With more windows than this each is cut by its plain plan: to hold all the others against each other would
#: take longer than to lay it all.
MOST_WINDOWS: Final = 200
#: The layers of a panel whose widths have plans, and the pieces that go with the face.
_LAYERS: Final = ("panel", "lining", "interlining")

Way = tuple[tuple[str, SeamPlan | Piecing], ...]
"""Role and plan, for a window's panels and what is pieced with them."""


@dataclass(frozen=True, slots=True)
class SeamOption:
    """One way to cut a window.

    Attributes
    ----------
    way
        Its plans.
    pieces
        Its pieces of the fabric.
    cuts
        Cut widths of its first panel from left to right, or of the parts of what is pieced alone.
    allowed_by
        The key that would allow it; empty where the maker's rules do.
    """

    way: Way
    pieces: tuple[Piece, ...]
    cuts: tuple[int, ...]
    allowed_by: str = ""

    def told(self, unit: Unit) -> str:
        """In a maker's words."""
        return "; ".join(
            f"{role} {plan.told(unit)}" if isinstance(plan, Piecing) else plan.told(unit)
            for role, plan in self.way
        )


@dataclass(frozen=True, slots=True)
class SeamChoice:
    """A window and a layer of it (``panel`` with its companions) that one fabric leaves open.

    The maker's rules allow the ``options``, the plain one first; ``barred`` ones are priced, never chosen.
    """

    window: str
    layer: str
    options: tuple[SeamOption, ...]
    barred: tuple[SeamOption, ...] = ()

    @property
    def every(self) -> tuple[SeamOption, ...]:
        """What may be chosen, then what may not."""
        return (*self.options, *self.barred)

    def plans(self, number: int) -> Plans:
        """The plans of one option."""
        return {(self.window, role): plan for role, plan in self.every[number].way}


def seam_choices(
    bench: WindowsOnTable, fabric: Fabric, plans: Plans, extras: Iterable[Piece] = ()
) -> tuple[SeamChoice, ...]:
    """What is open about the pieces of one fabric, the plain way first in each choice.

    Parameters
    ----------
    bench
        The job on its table.
    fabric
        The fabric that is to be laid.
    plans
        Settled already, by other fabrics.
    extras
        Pieces of no panel, for which gaps may be made.
    """
    if plans_settled(bench.table.job):
        return ()
    made = [bench.make(number, plans) for number in range(len(bench.table.job.windows))]
    everything = [*(piece for each in made for piece in bench.pieces(each)), *extras]
    pieces = [piece for piece in everything if piece.fabric == fabric.key]
    named = Counter(each.window.name for each in made)
    found = list[SeamChoice]()
    for number, each in enumerate(made):
        if named[each.window.name] == 1:
            maker = _OpenWindow(bench, number, each, fabric.key, plans, pieces)
            found += maker.choices()
    return tuple(found)


def plans_settled(job: Job) -> bool:
    """Whether every window is cut by its plain plan, because there are so many."""
    return len(job.windows) > MOST_WINDOWS


def as_choices(choices: Sequence[SeamChoice], pieces: Sequence[Piece]) -> tuple[Choice, ...]:
    """The choices by the number of each piece, with more than one option each.

    What all options share is laid in any case.
    """
    number_of = {piece: number for number, piece in enumerate(pieces)}
    made = []
    for choice in choices:
        if len(choice.options) < 2:
            continue
        sets = [{number_of[piece] for piece in option.pieces} for option in choice.options]
        shared = set.intersection(*sets)
        options = tuple(tuple(sorted(each - shared)) for each in sets)
        made.append(Choice(f"{choice.window}, {choice.layer}", options))
    return tuple(made)


class _OpenWindow:
    """What is open about one window."""

    def __init__(
        self,
        bench: WindowsOnTable,
        number: int,
        made: MadeWindow,
        fabric: str,
        plans: Plans,
        pieces: Sequence[Piece],
    ) -> None:
        self._bench, self._number, self._made, self._fabric, self._plans = bench, number, made, fabric, plans
        self._mine, self._others = list[Piece](), list[Piece]()
        for piece in pieces:
            mine = piece.window == made.window.name and piece.role != "extra"
            (self._mine if mine else self._others).append(piece)

    @property
    def _window(self) -> Window:
        return self._made.window

    def choices(self) -> Iterator[SeamChoice]:
        """The panels with what is pieced behind them, and each layer under them."""
        faces, piecings = list(self._face_plans()), list(self._piecings("facing"))
        # All ways to piece the facing with the plain panel; other panels with the first of them.
        pairs = [*((faces[0], piecing) for piecing in piecings), *((face, piecings[0]) for face in faces[1:])]
        ways = [((*face, *piecing), needs) for (face, needs), piecing in pairs]
        yield from self._choice("panel", ways)
        yield from self._choice("band", [(way, "") for way in self._piecings("band", whole=False)])
        for layer in _LAYERS[1:]:
            yield from self._choice(layer, [(((layer, p),), needs) for p, needs in self._layer_plans(layer)])

    def _choice(self, layer: str, ways: Sequence[tuple[Way, str]]) -> Iterator[SeamChoice]:
        """The ways that can be cut and differ in more than names; nothing where only one is left."""
        options = dict[object, SeamOption]()
        for way, needs in sorted(ways, key=lambda pair: bool(pair[1])):
            option = self._option(layer, way, needs)
            if option is not None and len(options) < MOST_OPTIONS:
                options.setdefault(_signature(option.pieces), option)
        allowed = tuple(option for option in options.values() if not option.allowed_by)
        barred = tuple(option for option in options.values() if option.allowed_by)
        if len(options) > 1:
            yield SeamChoice(self._window.name, layer, allowed, barred)

    def _option(self, layer: str, way: Way, needs: str) -> SeamOption | None:
        plans = {**self._plans, **{(self._window.name, role): plan for role, plan in way}}
        try:
            made = self._bench.make(self._number, plans)
            everything = self._bench.pieces(made)
        except DoesNotFitError:
            return None
        pieces = tuple(p for p in everything if p.fabric == self._fabric and _layer_of(p) == layer)
        totals = [[joined.total for _, _, joined in each.panels] for each in (made, self._made)]
        if not pieces or not self._as_wide(pieces) or totals[0] != totals[1]:
            return None
        more = len(made.panels[0][2].widths) > len(self._made.panels[0][2].widths)
        if layer == "panel" and more and self._window.part_pieces < 2:
            needs = needs and "part_pieces = 2"
            if not needs:
                return None
        return SeamOption(way, pieces, self._cuts(made, way, pieces), needs)

    def _cuts(self, made: MadeWindow, way: Way, pieces: Sequence[Piece]) -> tuple[int, ...]:
        """Cut widths of what is planned: of a panel or layer, else of the parts of one strip."""
        role = way[0][0] if way else ""
        if role == "panel":
            return tuple(width.cut for width in made.panels[0][2].widths)
        if role in _LAYERS:
            under = (joined for _, each, joined in made.under(self._bench.table) if each.role == role)
            return tuple(width.cut for width in next(under).widths)
        key = f"/{made.panels[0][1].key}/"
        first = [piece for piece in pieces if piece.role == role and key in piece.id]
        return tuple(p.width for p in first for _ in range(p.copies // self._window.count))

    def _as_wide(self, pieces: Sequence[Piece]) -> bool:
        """Whether full widths of a print, which reach into the selvage, stay among the pieces.

        They decide how much of the bolt is cut from; see `nesting.planning.laying.Lay`.
        """
        matched = [max((p.width for p in each if p.match), default=0) for each in (pieces, self._mine)]
        return matched[0] == matched[1]

    def _face_plans(self) -> Iterator[tuple[Way, str]]:
        """Of the panels, where they are cut from this fabric, with the key that each one needs."""
        hanging, _, joined = self._made.panels[0]
        plain = plain_plan(self._made.making, hanging)
        runs_on = self._window.pair == "continuous" and any(piece.match for piece in self._mine)
        if self._window.fabric != self._fabric:
            yield (), ""
        elif (
            joined.run
            or runs_on
            or any(piece.hem_edge for piece in self._mine)
            or not in_phase(self._bench.table, self._fabric, joined.placed(), self._made.making.seam)
        ):
            # What does not meet by the plain plan has a wrong match or repeat, which is what to mend.
            yield (("panel", plain),), ""
        else:
            sizes = self._sizes()
            for plan, needs in seam_plans(self._made.making, hanging, joined.widths, joined.fabric, sizes):
                yield (("panel", plan),), needs

    def _layer_plans(self, layer: str) -> Iterator[tuple[SeamPlan, str]]:
        for hanging, each, joined in self._made.under(self._bench.table):
            if (each.role, each.fabric) == (layer, self._fabric) and not joined.run:
                yield from seam_plans(
                    self._made.making, hanging, joined.widths, joined.fabric, self._sizes(layer)
                )
                return

    def _piecings(self, role: str, *, whole: bool = True) -> Iterator[Way]:
        """Of facings or bands, where they are wider than this fabric; fewest pieces first."""
        strips = [piece for piece in self._mine if piece.role == role]
        if sum(piece.copies for piece in strips) <= len(self._made.panels) * self._window.count:
            yield ()
            return
        table = self._bench.table
        if whole and table.lie(self._fabric, self._window.room, hidden=True).turnable:
            yield ((role, Piecing("whole")),)
        yield ((role, EQUALLY),)
        yield ((role, Piecing("long")),)
        yield ((role, Piecing("more")),)

    def _sizes(self, layer: str = "panel") -> tuple[int, ...]:
        """What other pieces of the fabric take across, those that take most fabric first."""
        mine = [piece for piece in self._mine if _layer_of(piece) != layer or piece.role not in _LAYERS]
        sizes = Counter[int]()
        for piece in (*mine, *self._others):
            sizes[piece.width] += piece.length * piece.copies
            if piece.turnable:
                sizes[piece.length] += piece.width * piece.copies
        return tuple(
            size for size, _ in sorted(sizes.items(), key=lambda pair: (-pair[1] * pair[0], pair[0]))
        )


def _layer_of(piece: Piece) -> str:
    return piece.role if piece.role in (*_LAYERS, "band") else "panel"


def _signature(pieces: Sequence[Piece]) -> object:
    """Equal for pieces that differ in nothing that packing sees but their names."""
    counts = Counter[object]()
    for piece in pieces:
        key = (piece.width, piece.length, piece.turnable, piece.arrow_group, piece.match, piece.nap)
        counts[key] += piece.copies
    return frozenset(counts.items())
