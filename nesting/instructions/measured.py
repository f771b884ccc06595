"""What the tape must read when a step is done: sizes of the works as they lie then, never of the order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from nesting.instructions.edges_told import same_length
from nesting.instructions.line import Telling, listed
from nesting.sewing import Bench, Moment, Work


def measured(moments: Sequence[Moment], names: Iterable[str], telling: Telling) -> str:
    """What is measured of these works, where a step changed it; empty where nothing did.

    Parameters
    ----------
    moments
        The operations of the step, with the table before and after each.
    names
        Works to be measured; one that goes into another is measured before that.
    telling
        How sizes and works are told.
    """
    same = dict[str, list[str]]()
    for name in dict.fromkeys(names):
        states = [each.after.works[name] for each in moments if name in each.after.works]
        if not states:
            continue
        was = moments[0].before.works.get(name)
        sizes = "; ".join(
            (
                *(_joined(states[-1], telling) if was is None else ()),
                *_changed(was or states[0], states[-1], telling, joined=was is None),
            )
        )
        if sizes:
            same.setdefault(sizes, []).append(name)
    return _said(same, telling)


def _joined(now: Work, telling: Telling) -> Iterator[str]:
    """A work that was made in the step: how wide it is and where its seams lie."""
    if len(now.strips) > 1:
        yield f"{telling.say(now.width)} across"
        at = [telling.say(seam.at) for seam in now.seams]
        yield f"{'seam' if len(at) == 1 else 'seams'} at {listed(at)} from the left edge"


def _said(same: dict[str, list[str]], telling: Telling) -> str:
    if len(same) == 1:
        return next(iter(same))
    return "; ".join(f"{telling.named(names)} {sizes}" for sizes, names in same.items())


def _changed(was: Work, now: Work, telling: Telling, *, joined: bool) -> Iterator[str]:
    """Each size of a work that is another than it was; of one just joined its width is told already."""
    say = telling.say
    if now.tube:
        yield from _strip(now, telling)
        return
    if _hemmed(now) and not _hemmed(was):
        yield f"hem {say(now.edge('bottom').depth)} deep"
    if now.drawn is not None and (was.drawn is None or was.drawn != now.drawn):
        yield f"{say(now.drawn)} across, drawn in"
    if not same_length(was.width, now.width) and not (joined and len(now.strips) > 1):
        yield f"{say(now.width)} across, lying flat"
    lines = {line.edge: line.inward for line in now.lines}
    if "top" in lines and "bottom" in lines and now.lines != was.lines:
        between = now.length - lines["top"] - lines["bottom"]
        yield f"{say(between)} from hem line to top line"
    elif not same_length(was.length, now.length):
        yield f"{say(now.length)} from {_low(now)} to {_high(now)}"
    if now.edge("top").finish == "seam" and was.edge("top").finish != "seam" and now.edge("top").turns:
        yield f"facing {say(now.edge('top').depth)} deep at the back"


def _strip(now: Work, telling: Telling) -> Iterator[str]:
    """A tab or tie-back: how long it is, with its raw ends where they are not turned in, and how wide."""
    lengthwise = now.edge("left").finish == "fold" and now.edge("left").inner == "seam"
    long, wide = (now.length, now.width) if lengthwise else (now.width, now.length)
    end = now.edge("top" if lengthwise else "left")
    raw = "" if end.turns else " with its raw ends"
    yield f"each {telling.say(long)} long{raw}, {telling.say(wide)} wide"


def _low(work: Work) -> str:
    return "hem edge" if _hemmed(work) else "lower edge"


def _hemmed(work: Work) -> bool:
    """Whether its lower edge is a hem, and no raw end turned under that something covers later."""
    edge = work.edge("bottom")
    return edge.finish == "fold" and (len(edge.turns) > 1 or edge.inner != "raw")


def _high(work: Work) -> str:
    return "top edge" if work.edge("top").finish in ("fold", "seam") else "upper edge"


def washed(before: Bench, after: Bench, telling: Telling) -> str:
    """Each piece after its wash, about as wide and as long as it must be."""
    say = telling.say
    same = dict[str, list[str]]()
    for work in after:
        was = before.works[work.name]
        if (work.width, work.length) != (was.width, was.length):
            same.setdefault(f"about {say(work.width)} by {say(work.length)}", []).append(work.name)
    return "; ".join(f"{telling.named(names)} {size}" for size, names in same.items())


def hung_length(work: Work, telling: Telling) -> Fraction:
    """From top edge to hem edge as a panel hangs: one in front of its rod goes a part of the way round."""
    before_rod = any(one.kind in ("loop", "pocket") for one in work.carriers)
    return work.length - telling.taken if before_rod else work.length


def hung(bench: Bench, telling: Telling) -> str:
    """Each panel lying flat, and as it hangs where its rod takes up some of it."""
    say, same = telling.say, dict[str, list[str]]()
    for work in bench:
        if not work.carriers:
            continue
        wide = work.width if work.drawn is None else work.drawn
        along = f"{say(work.length)} from top edge to hem edge at both sides and in the middle"
        flat = f"{along}, {say(wide)} across"
        length = hung_length(work, telling)
        taken = "" if same_length(length, work.length) else f"; on the rod {say(length)} long"
        same.setdefault(f"{flat}{taken}", []).append(work.name)
    return _said(same, telling)


def hanging_length(bench: Bench, telling: Telling) -> str:
    """From the top edge to the hem edge of each panel as it hangs."""
    same = dict[str, list[str]]()
    for work in bench:
        if work.carriers:
            length = hung_length(work, telling)
            same.setdefault(f"{telling.say(length)} from top edge to hem edge", []).append(work.name)
    return _said(same, telling)
