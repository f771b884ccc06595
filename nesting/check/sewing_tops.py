"""What the top of a panel must be by its heading: in number, place and size, and whether the rod passes.

Figures of each heading are restated here, with nothing taken from the modules that make them; where a rule
changes there it is changed here as well. Common practice, no source, but for pleats (*How to Make
Draperies*, booklet no. 102, 1960). Lengths in ticks.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from nesting.check.sewing_marks import Top, evenly, in_ticks
from nesting.check.sewing_ordered import WindowOrdered
from nesting.check.violation import Violation
from nesting.units import round_nearest, round_up

Pair = tuple[str, str]
#: What holds where nothing was ordered of a heading: inches, and centimeters.
_TAB_WIDTH: Final = ("2", "5")
_LOOP: Final = {"ease": ("0.5", "1.2"), "step": ("0.25", "0.5"), "apart": ("6", "15"), "edge": ("2", "5")}
_ABOVE_LOOP: Final = ("0.75", "2")
_BELOW_LOOP: Final = ("0.5", "1")
_TAB: Final = {"gap": ("2", "5"), "step": ("0.125", "0.5"), "clear": ("5", "12")}
_POCKET: Final = {"heading": ("1", "2.5"), "turn": ("0.5", "1")}
_PLEAT: Final = {
    "above": ("0.5", "1"), "buckram": ("4", "10"), "space": ("4", "10"), "lead": ("2", "5"),
    "least": ("4.5", "11"),
}  # fmt: skip
#: How far inside the edges of a panel its outermost hooks are set.
_HOOK_INSIDE: Final = ("0.5", "1")
_RING: Final = {
    "above": ("1", "2.5"), "header": ("4", "10"), "edge": ("2", "5"), "apart": ("7", "18"),
    "least": ("6", "15"), "most": ("8", "20"), "off": ("1.5", "4"), "beyond": ("1", "2.5"),
    "ease": ("0.25", "0.6"), "rim": ("0.75", "2"), "clear": ("0.5", "1"),
}  # fmt: skip
_CLIP: Final = {"below": ("1.75", "4.5"), "hem": ("2", "5"), "edge": ("0.5", "1"), "apart": ("6", "15")}
_TAPE: Final = {
    "tape": ("3", "7.5"), "turn": ("1.5", "4"), "row": ("0.5", "1"), "hooks": ("3", "8"),
    "under": ("0.25", "0.5"),
}  # fmt: skip
_EASE: Final = Fraction(6, 5)


def _tab_width(window: WindowOrdered) -> int:
    return window.either("width", _TAB_WIDTH, "tab") or window.of(_TAB_WIDTH)


def facing_depth(window: WindowOrdered) -> int:
    """How deep a facing is: as ordered, else as usual or as its loops need."""
    said, usual = window.said("depth", "facing"), window.usual("facing")
    if window.heading != "back-tab":
        return said or usual
    return said or max(usual, window.of(_ABOVE_LOOP) + _loop_length(window) + window.of(_BELOW_LOOP))


def _loop_length(window: WindowOrdered) -> int:
    said = window.said("length", "tab")
    if said is not None:
        return said
    return round_up(window.half_round + window.of(_LOOP["ease"]), window.of(_LOOP["step"]))


def _back_tab(top: Top) -> Iterator[Violation]:
    """Loops flat on the facing: centers evenly, below the edge that hides the rod, inside it."""
    window, loops, width = top.window, top.work.carriers, _tab_width(top.window)
    said = window.said("count", "tab")
    edge = min(Fraction(window.of(_LOOP["edge"])), top.work.width / 2)
    apart = window.either("spacing", _LOOP["apart"], "tab") or window.of(_LOOP["apart"])
    counts = {
        max(2, said or round_nearest(max(Fraction(0), flat - 2 * edge) / apart) + 1)
        for flat in top.near_flat()
    }
    yield from top.carried_by("loop", counts)
    centers = evenly(edge, top.work.width - edge, max(1, len(loops)))
    yield from top.marks("center of loop", [(one.start + one.end) / 2 for one in loops], centers)
    for loop in loops if all(one.kind == "loop" for one in loops) else ():
        yield from top.differs("loop, width", loop.end - loop.start, width, 2)
        yield from top.differs("loop, length", loop.length, _loop_length(window), window.step)
        yield from top.differs("loop below the top edge", loop.down, window.of(_ABOVE_LOOP), window.step)
        end = (loop.lower or Fraction(0)) + (0 if window.said("depth", "facing") else window.of(_BELOW_LOOP))
        if end > facing_depth(window) + 2:
            yield top.wrong(f"loop ends at {in_ticks(end)}", "inside the facing", end - facing_depth(window))


def _tab_top(top: Top) -> Iterator[Violation]:
    """Tabs in the seam of the facing, the first and the last at the edges."""
    window, tabs, width = top.window, top.work.carriers, _tab_width(top.window)
    said, apart = window.said("count", "tab"), window.said("spacing", "tab")
    clear = window.of(_TAB["clear"])
    counts = {
        max(2, said or (
            max(5, round_nearest((flat + clear) / (width + clear)))
            if not apart else round_nearest((flat - width) / apart) + 1
        ))
        for flat in top.near_flat()
    }  # fmt: skip
    yield from top.carried_by("tab", counts)
    starts = evenly(0, top.work.width - width, max(1, len(tabs)))
    yield from top.marks("tab", [one.start for one in tabs], starts)
    length = window.said("length", "tab")
    if length is None:
        gap = window.either("gap", _TAB["gap"], "tab")
        length = round_up(window.half_round + 2 * gap + window.rod.thick, window.of(_TAB["step"]))
    for tab in tabs if all(one.kind == "tab" for one in tabs) else ():
        yield from top.differs("tab, width", tab.end - tab.start, width, 2)
        yield from top.differs("tab, length", tab.length, length, window.step)
        yield from top.differs("tab above the seam", tab.down, 0, 2)


def _pocket_depth(window: WindowOrdered) -> int:
    said = window.said("pocket")
    return round_up(window.half_round * _EASE, window.step) if said is None else said


def _rod_pocket(top: Top) -> Iterator[Violation]:
    """A pocket below a heading: its edge turned under, two rows."""
    window = top.window
    head, pocket = window.either("heading_depth", _POCKET["heading"]), _pocket_depth(window)
    yield from top.carried_by("pocket", {1})
    for one in top.work.carriers:
        yield from top.differs("heading", one.down, head, window.step)
        yield from top.differs("pocket", one.length, pocket, window.step)
    yield from top.folded((window.of(_POCKET["turn"]), head + pocket))


def _buckram(window: WindowOrdered) -> int:
    return (
        window.said("buckram", "pleat")
        or window.said("heading_depth")
        or window.of(_PLEAT["buckram"])
    )  # fmt: skip


def _pinch_pleat(top: Top) -> Iterator[Violation]:
    """Pleats over buckram: as many as the spaces leave, alike but for seams, flat at both ends."""
    window, panel, work = top.window, top.panel, top.work
    deep = _buckram(window)
    yield from top.folded((deep, deep), "buckram")
    lead = window.either("lead", _PLEAT["lead"], "pleat")
    left, right = panel.return_left or lead, panel.return_right or lead
    counts = {_pleat_count(top, flat, left + right) for flat in top.near_flat()}
    if len(work.pleats) not in counts:
        asked = " or ".join(map(str, sorted(counts)))
        yield top.wrong(f"{len(work.pleats)} pleats", asked, len(work.pleats) - min(counts))
        return
    if not work.pleats:
        yield from _hooks_alone(top)
        return
    number, least = len(work.pleats), window.of(_PLEAT["least"])
    space = (panel.dressed - left - right) / (number - 1)
    usual = (work.width - panel.dressed) / number
    yield from top.differs("flat at the left edge", work.pleats[0].start, left, top.slack)
    end = work.width - work.pleats[-1].end
    yield from top.differs("flat at the right edge", end, right, window.step)
    for one, other in itertools.pairwise(work.pleats):
        yield from top.differs("space", other.start - one.end, space, window.step)
    for pleat in work.pleats:
        size = pleat.end - pleat.start
        narrow, wide = min(Fraction(least), usual) - window.step, usual * Fraction(5, 4) + window.step
        if not narrow <= size <= wide:
            yield top.wrong(f"pleat of {in_ticks(size)}", f"about {in_ticks(usual)}", size - usual)
    yield from _pleats_alike(top, usual)
    yield from _pleat_hooks(top, window.of(_PLEAT["above"]))


def _pleat_count(top: Top, flat: Fraction, ends: int) -> int:
    window, dressed = top.window, top.panel.dressed
    take, said = flat - dressed, window.said("count", "pleat")
    if take <= 0 or dressed <= ends:
        return 0
    space = window.either("space", _PLEAT["space"], "pleat") or window.of(_PLEAT["space"])
    number = max(2, said or 1 - round_nearest(-(dressed - ends) / space))
    while not said and number > 2 and take / number < window.of(_PLEAT["least"]):
        number -= 1
    return number


def _pleats_alike(top: Top, usual: Fraction) -> Iterator[Violation]:
    """Pleats between two seams are alike, and all are where no seam calls for anything else."""
    groups = dict[int, list[Fraction]]()
    for pleat in top.work.pleats:
        at = sum(seam.at <= (pleat.start + pleat.end) / 2 for seam in top.work.seams)
        groups.setdefault(at, []).append(pleat.end - pleat.start)
    for sizes in groups.values():
        yield from top.differs("pleats side by side,", max(sizes), min(sizes), top.window.step)
        if not top.work.seams:
            yield from top.differs("pleats", max(sizes), usual, top.window.step)


def _hooks_alone(top: Top) -> Iterator[Violation]:
    """A panel with nothing to pleat hangs from hooks at its edges and evenly between them."""
    window, hooks = top.window, top.work.carriers
    space = window.either("space", _PLEAT["space"], "pleat") or window.of(_PLEAT["space"])
    counts = {max(2, -(-round_nearest(flat) // space) + 1) for flat in top.near_flat()}
    yield from top.carried_by("hook", counts)
    inside = window.of(_HOOK_INSIDE)
    places = evenly(inside, top.work.width - inside, max(1, len(hooks)))
    yield from top.marks("hook", [one.start for one in hooks], places)
    for one in hooks:
        yield from top.differs("hook below the top edge", one.down, window.of(_PLEAT["above"]), window.step)


def _pleat_hooks(top: Top, down: int) -> Iterator[Violation]:
    """A hook behind each pleat, and one at each edge."""
    hooks, pleats = sorted(one.start for one in top.work.carriers), top.work.pleats
    yield from top.carried_by("hook", {len(pleats) + 2})
    for pleat in pleats:
        if sum(pleat.start <= at <= pleat.end for at in hooks) != 1:
            yield top.wrong(f"hooks behind the pleat at {in_ticks(pleat.start)}", "one")
    outside = [at for at in hooks if not pleats[0].start <= at <= pleats[-1].end]
    if len(outside) != 2 or sum(at < pleats[0].start for at in outside) != 1:
        yield top.wrong("hooks at the edges", "one at each")
    for one in top.work.carriers:
        yield from top.differs("hook below the top edge", one.down, down, top.window.step)


def _header(window: WindowOrdered) -> int:
    said, beyond = window.said("heading_depth"), _ring_across(window) + window.of(_RING["beyond"])
    return max(window.of(_RING["header"]), beyond) if said is None else said


def _ring_hole(window: WindowOrdered) -> int:
    """The hole of a ring: as ordered, or what the rod passes with ease, within the ring."""
    inner, size = window.said("inner", "ring"), window.said("size", "ring")
    least = int(window.rod.thick) + window.of(_RING["ease"])
    if inner is not None:
        return inner
    return least if size is None else min(least, size)


def _ring_across(window: WindowOrdered) -> int:
    """A ring outside: as ordered, or its hole and its rim."""
    size = window.said("size", "ring")
    return _ring_hole(window) + window.of(_RING["rim"]) if size is None else size


def _grommet(top: Top) -> Iterator[Violation]:
    """An even number of rings through a stiffened header, none at a seam."""
    window, rings, flat = top.window, top.work.carriers, top.work.width
    deep, off = _header(window), window.of(_RING["off"])
    yield from top.folded((deep, deep), "stiffener")
    clear = round_up(Fraction(_ring_across(window), 2) + window.of(_RING["clear"]), window.step)
    said, edge = window.said("count", "ring"), min(Fraction(max(window.of(_RING["edge"]), clear)), flat / 3)
    aim = window.either("spacing", _RING["apart"], "ring") or window.of(_RING["apart"])
    counts = {said} if said else {
        max(2, 2 * round_nearest((wide - 2 * edge + aim) / (2 * aim)) + more)
        for wide in top.near_flat()
        for more in (0, 2, -2)
    }  # fmt: skip
    yield from top.carried_by("ring", counts)
    centers = evenly(edge, flat - edge, max(1, len(rings)))
    asked = [_off_seams(top, at, off, edge) for at in centers]
    yield from top.marks("ring", [one.start for one in rings], asked)
    for ring in rings if all(one.kind == "ring" for one in rings) else ():
        yield from top.differs("hole below the top edge", ring.down, window.of(_RING["above"]), window.step)
        yield from top.differs("hole", ring.length, _ring_hole(window), 2)


def _off_seams(top: Top, center: Fraction, off: int, edge: Fraction) -> Fraction:
    """Off a seam to its nearer side, or to the other where it would come too near an edge of the panel."""
    for seam in top.work.seams:
        if abs(center - seam.at) < off - top.slack:
            sides = (seam.at + off, seam.at - off) if center >= seam.at else (seam.at - off, seam.at + off)
            return next((at for at in sides if edge <= at <= top.work.width - edge), center)
    return center


def _clip_ring(top: Top) -> Iterator[Violation]:
    """Clips from corner to corner of a top hem, an even number of a pair."""
    window, flat = top.window, top.work.width
    deep = window.either("heading_depth", _CLIP["hem"])
    if deep:
        yield from top.folded((deep, deep))
    edge, said = min(Fraction(window.of(_CLIP["edge"])), flat / 2), window.said("count", "ring")
    apart = window.either("spacing", _CLIP["apart"], "ring") or window.of(_CLIP["apart"])
    even = window.word("draw", "pair") == "pair"
    counts = set[int]()
    for wide in top.near_flat():
        number = said or round_nearest((wide - 2 * edge) / apart) + 1
        counts.add(max(2, number + (number % 2 if even and not said else 0)))
    yield from top.carried_by("clip", counts)
    centers = evenly(edge, flat - edge, max(1, len(top.work.carriers)))
    yield from top.marks("clip", [one.start for one in top.work.carriers], centers)
    for one in top.work.carriers:
        yield from top.differs("clip below the top edge", one.down, 0, 2)


def _pencil_pleat(top: Top) -> Iterator[Violation]:
    """The turned top under a tape, hooks in the row that was ordered."""
    window, turn = top.window, _under_tape(top.window)
    yield from top.differs("tape", top.work.tape, _tape(window), 2)
    if turn:
        yield from top.folded((turn,))
    count = round_up(round_up(top.panel.dressed, 1), window.of(_TAPE["hooks"])) // window.of(_TAPE["hooks"])
    yield from top.carried_by("hook", {count + 1})
    for one in top.work.carriers:
        yield from top.differs("hook below the top edge", one.down, _hook_row(window), window.step)


def _tape(window: WindowOrdered) -> int:
    return window.said("tape") or window.of(_TAPE["tape"])


def _under_tape(window: WindowOrdered) -> int:
    """What is turned under the tape."""
    said, tape = window.said("heading_depth"), _tape(window)
    usual = min(window.of(_TAPE["turn"]), max(0, tape - window.of(_TAPE["under"])))
    return usual if said is None else said


def _hook_row(window: WindowOrdered) -> int:
    upper = window.of(_TAPE["row"])
    lower = max(upper, _tape(window) - upper)
    rows = {"middle": (upper + lower) // 2, "bottom": lower}
    return rows.get(window.word("hook_row", "top"), upper)


@dataclass(frozen=True, slots=True)
class TopRules:
    """What holds of a heading.

    Attributes
    ----------
    check
        Its marks.
    fullness
        Its usual fullness.
    cover
        How far what finishes the top comes down the back.
    facing, shown
        Whether a facing does; whether what carries it shows from the room.
    drawn
        Whether it is drawn in to its dressed width, returns and overlap being usual.
    rings, track
        What it may hang from besides or instead of the rod.
    drop
        Where the eye or clip of a ring hangs below the top of the rod if nobody measured it; None: not known.
    """

    check: Callable[[Top], Iterator[Violation]]
    fullness: Fraction
    cover: Callable[[WindowOrdered], int]
    facing: bool = False
    shown: bool = False
    drawn: bool = False
    rings: bool = False
    track: bool = False
    drop: Pair | None = None


def _pocket_cover(window: WindowOrdered) -> int:
    return window.either("heading_depth", _POCKET["heading"]) + _pocket_depth(window)


#: By the name of the heading; of others the sewing check judges no top.
TOPS: Final[Mapping[str, TopRules]] = MappingProxyType({
    "back-tab": TopRules(_back_tab, Fraction(3, 2), facing_depth, facing=True),
    "tab-top": TopRules(_tab_top, Fraction(3, 2), facing_depth, facing=True, shown=True),
    "rod-pocket": TopRules(_rod_pocket, Fraction(2), _pocket_cover),
    "pinch-pleat": TopRules(_pinch_pleat, Fraction(5, 2), _buckram, drawn=True, rings=True, track=True),
    "grommet": TopRules(_grommet, Fraction(7, 4), _header),
    "clip-ring": TopRules(
        _clip_ring, Fraction(3, 2), lambda window: window.either("heading_depth", _CLIP["hem"]),
        rings=True, drop=_CLIP["below"],
    ),
    "pencil-pleat": TopRules(_pencil_pleat, Fraction(9, 4), _under_tape, drawn=True, rings=True, track=True),
})  # fmt: skip
