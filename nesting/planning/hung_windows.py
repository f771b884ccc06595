"""The windows of a job whose first panel hangs: which of them its length corrects, which stand apart."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from nesting.cutting.measures import finished_length, settle
from nesting.names import slugs
from nesting.order.job import Hem, HungLength, Job, Window
from nesting.pieces.piece import Piece
from nesting.planning.lengths import sets_of

Copy = tuple[str, int]
"""A piece by its id, and the number of a copy."""


def planned_length(job: Job, window: Window) -> int:
    """From the top edge to the finished hem of a window as its job has it, in ticks."""
    return finished_length(settle(job, window)).total


def level_with(job: Job, window: Window) -> tuple[Window, ...]:
    """The other windows of the room whose print must be level with that of a window."""
    fabric = job.fabric(window.fabric)
    if fabric.repeat is None:
        return ()
    return tuple(
        other
        for other in job.windows_in(window.room)
        if other.name != window.name and other.fabric == window.fabric
    )


def alike(job: Job, window: Window, corrected: Collection[str]) -> Iterator[Window]:
    """Windows that were planned like a corrected one, by heading and length: they may hang as it does."""
    length = planned_length(job, window)
    for other in job.windows:
        same = other.heading == window.heading and other.hangs_from == window.hangs_from
        if other.name not in corrected and same and planned_length(job, other) == length:
            yield other


def corrected(
    job: Job, hung: Collection[HungLength], hem: Hem | None = None, lining_gap: int | None = None
) -> Job:
    """The job with the lengths that its hung panels showed.

    The height a window hangs from is corrected by as much, so that its hem keeps its clearance. ``hem`` is
    the bottom hem of the windows instead of theirs, and ``lining_gap`` how far their linings end above its
    edge, where another was asked for.
    """
    by_name = {one.window: one for one in hung}
    windows = [_hung(window, by_name.get(window.name), hem, lining_gap) for window in job.windows]
    before = tuple(one for one in job.hung if one.window not in by_name)
    return replace(job, windows=tuple(windows), hung=(*before, *hung), hang_first=None)


def _hung(window: Window, one: HungLength | None, hem: Hem | None, gap: int | None) -> Window:
    if one is None:
        return window
    more = one.length - one.was
    rod, eye = window.rod_height, window.eye_height
    return replace(
        window,
        finished_length=one.length,
        rod_height=None if rod is None else rod + more,
        eye_height=None if eye is None else eye + more,
        bottom_hem=window.bottom_hem if hem is None else hem,
        lining_gap=window.lining_gap if gap is None else gap,
    )


@dataclass(frozen=True, slots=True)
class Parted:
    """A job of which equal windows stand apart, where some of them are cut into and the others are not.

    ``names`` gives for each window of the job before the windows it became; `copy_of` where each copy went.
    """

    job: Job
    names: Mapping[str, tuple[str, ...]]
    moved: Mapping[str, tuple[tuple[str, int], ...]]
    before: Job

    def copy_of(self, piece: Piece, copy: int) -> Copy:
        """The id and copy of a piece of the job before."""
        places = self.moved.get(piece.window or "")
        if places is None or piece.role == "extra":
            return piece.id, copy
        slug, _, rest = piece.id.partition("/")
        numbered = rest.split("/")[0].isdigit()
        count = len(places)
        each = 1 if numbered else max(1, piece.copies // count)
        at = int(rest.split("/")[0]) - 1 if numbered else min(count - 1, (copy - 1) // each)
        within = copy if numbered else (copy - 1) % each + 1
        rest = rest.partition("/")[2] if numbered else rest
        name, number = places[at]
        alone = number == 0
        many = sum(1 for other, _ in places if other == name)
        slug = self._slugs[name]
        if numbered and not alone and many > 1:
            return f"{slug}/{number}/{rest}", within
        return f"{slug}/{rest}", within + (0 if numbered or alone else (number - 1) * each)

    @property
    def _slugs(self) -> Mapping[str, str]:
        names = [window.name for window in self.job.windows]
        return dict(zip(names, slugs(names, taken=("extra",)), strict=True))


def parted(job: Job, cut: Iterable[tuple[Piece, int]], windows: Collection[str]) -> Parted:
    """The job with every one of equal windows that is cut into as a window of its own.

    Parameters
    ----------
    job
        As it was planned.
    cut
        Pieces whose size a new length changes, with the copies that are cut.
    windows
        Names of those whose length is corrected.
    """
    begun = dict[str, set[int]]()
    for piece, copy in cut:
        if piece.window in windows:
            for unit, first, copies in sets_of(job, piece):
                if first < copy <= first + copies:
                    begun.setdefault(piece.window or "", set()).add(int(unit.rpartition("#")[2]))
    names, moved = dict[str, tuple[str, ...]](), dict[str, tuple[tuple[str, int], ...]]()
    made, taken = list[Window](), {window.name for window in job.windows}
    for window in job.windows:
        apart = sorted(begun.get(window.name, ())) if window.count > 1 else []
        if not apart:
            made.append(window)
            names[window.name] = (window.name,)
            continue
        own = {at: _free_name(f"{window.name}, no. {at}", taken) for at in apart}
        left = [at for at in range(1, window.count + 1) if at not in own]
        places = [(own[at], 0) if at in own else (window.name, left.index(at) + 1) for at in
                  range(1, window.count + 1)]  # fmt: skip
        made += [replace(window, name=own[at], count=1) for at in apart]
        made += [replace(window, count=len(left))] if left else []
        names[window.name] = (*own.values(), *((window.name,) if left else ()))
        moved[window.name] = tuple(places)
    extras = tuple(
        replace(extra, window=names[extra.window][-1]) if extra.window in moved else extra
        for extra in job.extras
    )
    return Parted(replace(job, windows=tuple(made), extras=extras), names, moved, job)


def _free_name(name: str, taken: set[str]) -> str:
    while name in taken:
        name += "'"
    taken.add(name)
    return name
