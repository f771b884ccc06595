"""The cutting table: the fabrics as they lie on it, and how their pieces may lie. Lengths in ticks."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from nesting.cutting.railroad import Lie, can_railroad, cannot_turn, hindrance, lie
from nesting.errors import DoesNotFitError, NestingError
from nesting.headings import Component
from nesting.names import room_slugs
from nesting.order.job import Bolt, Edge, Fabric, Job
from nesting.pieces.piece import Piece
from nesting.pieces.washing import longer, washed, wider, width_kept
from nesting.units import grid, round_down


@dataclass(frozen=True, slots=True)
class FabricsOnTable:
    """A job's fabrics on the table, each with the bolt it is cut from.

    Attributes
    ----------
    job
        What was ordered.
    fabrics, bolts
        As they lie on the table: washed, where they are washed before cutting.
    rooms
        The slug of each room.
    railroaded
        Fabric and room of panels that are cut sideways, in one run.
    turns
        Fabric and room of pieces that nothing keeps from lying sideways together.
    free
        Of those railroaded, the ones whose pieces might as well lie upright: no wider than the bolt, they
        were turned by the layout of its own accord.
    """

    job: Job
    fabrics: Mapping[str, Fabric]
    bolts: Mapping[str, Bolt]
    rooms: Mapping[str, str]
    railroaded: frozenset[tuple[str, str]]
    turns: frozenset[tuple[str, str]]
    free: frozenset[tuple[str, str]] = frozenset()

    def __hash__(self) -> int:
        return hash((self.job.units, tuple(self.bolts.items()), self.railroaded, self.turns))

    @property
    def alone(self) -> FabricsOnTable:
        """The fabrics without the windows and extras that are cut from them, and without their prices."""
        return replace(
            self,
            job=Job("", self.job.units, tuple(_unpriced(fabric) for fabric in self.job.fabrics)),
            fabrics={key: _unpriced(fabric) for key, fabric in self.fabrics.items()},
            bolts={key: replace(bolt, price=None) for key, bolt in self.bolts.items()},
        )

    @property
    def grid(self) -> int:
        """The smallest step people measure in."""
        return grid(self.job.units)

    def usable(self, key: str) -> int:
        """The usable part of a width, counted in sizes before any washing of the finished piece."""
        return round_down(round_down(self.bolts[key].usable, self.grid) * width_kept(self.fabrics[key]), 1)

    def lie(self, key: str, room: str, *, hidden: bool = False, alone: bool = False) -> Lie:
        """How a piece of that fabric and room may lie."""
        turns = (key, room) in self.turns
        group = f"{key}/{self.rooms.get(room, 'job')}"
        return lie(self.fabrics[key], group, hidden=hidden, alone=alone or hidden, group_turns=turns)

    def sideways(self, key: str, room: str, group: str | None) -> bool:
        """Whether a piece of that arrow group must lie sideways, with the panels of its room."""
        return group is not None and (key, room) in self.railroaded - self.free

    def top(self, key: str) -> Edge:
        """Where the tops of turned pieces lie: away from the edge that is a hem, else at the left."""
        fabric = self.fabrics[key]
        return "right" if fabric.hem_edge == "left" and fabric.repeat is None else "left"

    def piece(self, part: Component, slug: str, window: str, room: str, count: int) -> Piece:
        """A component in its fabric: washed sizes, up to the tape, under the nap."""
        fabric = self.fabrics[part.fabric]
        across = wider(part.width, fabric).up_to(self.grid)
        along = longer(part.length, fabric).up_to(self.grid)
        how = self.lie(part.fabric, room, hidden=part.hidden)
        return Piece(
            id=f"{slug}/{part.key}",
            name=part.name,
            role=part.role,
            fabric=part.fabric,
            width=across.total,
            length=along.total,
            copies=part.copies * count,
            turnable=how.turnable,
            arrow_group=how.arrow_group,
            nap=how.nap,
            window=window,
            room=room,
            side=part.side,
            hidden=part.hidden,
            finished_width=part.finished_width,
            finished_length=part.finished_length,
            width_steps=across,
            length_steps=along,
            joined_to=tuple(f"{slug}/{key}" for key in part.joined_to),
            joined_at=part.joined_at,
            notes=part.notes,
            sideways=self.sideways(part.fabric, room, how.arrow_group),
            top=self.top(part.fabric),
        )


def _unpriced(fabric: Fabric) -> Fabric:
    return replace(fabric, bolts=tuple(replace(bolt, price=None) for bolt in fabric.bolts))


def lay_table(
    job: Job,
    bolts: Mapping[str, Bolt],
    railroaded: Collection[tuple[str, str]],
    free: Collection[tuple[str, str]] = (),
) -> FabricsOnTable:
    """The cutting table of a job; `FabricsOnTable` says what ``railroaded`` and ``free`` are.

    Raises
    ------
    NestingError
        A fabric has no bolt.
    DoesNotFitError
        Panels are to be cut sideways that must not.
    """
    for fabric in job.fabrics:
        if fabric.key not in bolts:
            raise NestingError(f'fabric "{fabric.key}" has no bolt to be cut from')
    for key, room in railroaded:
        allowed, reason = can_railroad(job, key, room, bolts[key])
        if not allowed:
            raise DoesNotFitError(cannot_turn(job, key, room, reason))
    pairs = {fabric.key: washed(fabric, bolts[fabric.key]) for fabric in job.fabrics}
    named = dict.fromkeys(w.room for w in job.windows) | dict.fromkeys(e.room or "" for e in job.extras)
    rooms = room_slugs(name for name in named if name)
    return FabricsOnTable(
        job=job,
        fabrics={key: pair[0] for key, pair in pairs.items()},
        bolts={key: pair[1] for key, pair in pairs.items()},
        rooms=rooms,
        railroaded=frozenset(railroaded),
        free=frozenset(free),
        turns=frozenset(
            (key, room) for key in pairs for room in named if not hindrance(job, key, room, bolts[key])
        ),
    )


def turned_or_not(piece: Piece, turnable: bool | None, fabric: Fabric) -> Piece:
    """An extra as its maker wants it laid; nothing said: as its fabric allows."""
    if turnable is None:
        return piece
    if turnable:
        return replace(piece, turnable=True, arrow_group=None, nap="none", sideways=False)
    group = piece.arrow_group if fabric.nap == "one-way" else None
    return replace(piece, turnable=False, arrow_group=group, sideways=piece.sideways and group is not None)
