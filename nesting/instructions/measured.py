"""What the tape must read when a step is done: sizes of the works as they lie then, never of the order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from nesting.instructions.edges_told import same_length
from nesting.instructions.line import Telling, listed, parted
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
    read = dict[str, tuple[str, ...]]()
    for name in dict.fromkeys(names):
        states = [each.after.works[name] for each in moments if name in each.after.works]
        was = moments[0].before.works.get(name)
        if states and was is None:
            later = tuple(_changed(states[0], states[-1], telling))
            read[name] = (*_joined(states[0], telling, later=bool(later)), *later)
        elif states and was is not None:
            read[name] = tuple(_changed(was, states[-1], telling))
    return _once({name: sizes for name, sizes in read.items() if sizes}, telling)


def _once(read: Mapping[str, tuple[str, ...]], telling: Telling) -> str:
    """The sizes of panels, and of each layer of theirs, what is alike of all of them once."""
    layers = dict[str, dict[str, tuple[str, ...]]]()
    for name, sizes in read.items():
        layers.setdefault(parted(name, telling)[1], {})[name] = sizes
    if len(layers) == 1:
        return _alike_once(read, telling)
    return "; ".join(
        f"{telling.named(works) or 'panel'}: {_alike_once(works, telling)}" for works in layers.values()
    )


def _alike_once(read: Mapping[str, tuple[str, ...]], telling: Telling) -> str:
    """What is alike of all works once; the rest for those that it holds for."""
    alike = [size for size in next(iter(read.values()), ()) if all(size in sizes for sizes in read.values())]
    own = dict[str, list[str]]()
    for name, sizes in read.items():
        for size in sizes:
            if size not in alike:
                own.setdefault(size, []).append(name)
    return "; ".join((*alike, *(f"{telling.named(names)}: {size}" for size, names in own.items())))


def _joined(now: Work, telling: Telling, *, later: bool) -> Iterator[str]:
    """A work that was joined in the step: how wide it is then and where its seams lie."""
    if len(now.strips) > 1:
        yield f"{telling.say(now.width)} across{', when joined' if later else ''}"
        at = [telling.say(seam.at) for seam in now.seams]
        over = ", wrong side up" if telling.wrong_side_up(now.name) else ""
        yield f"{'seam' if len(at) == 1 else 'seams'} at {listed(at)} from the left edge{over}"


def _changed(was: Work, now: Work, telling: Telling) -> Iterator[str]:
    """Each size of a work that is another than it was."""
    say = telling.say
    if now.tube:
        yield from _strip(now, telling)
        return
    if _hemmed(now) and not _hemmed(was):
        yield f"hem {say(now.edge('bottom').depth)} deep"
    if now.drawn is not None and (was.drawn is None or was.drawn != now.drawn):
        yield f"{say(now.drawn)} across, drawn in"
    if not same_length(was.width, now.width):
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
    return _once({work.name: tuple(_hung(work, telling)) for work in bench if work.carriers}, telling)


def _hung(work: Work, telling: Telling) -> Iterator[str]:
    say, length = telling.say, hung_length(work, telling)
    taken = not same_length(length, work.length)
    flat = ", lying flat" if taken else ""
    yield f"{say(work.length)} from top edge to hem edge at both sides and in the middle{flat}"
    if work.drawn is not None:
        # What gathers on its rod has no width there that a tape could hold.
        yield f"{say(work.drawn)} across"
    if taken:
        yield f"on the rod {say(length)} long"


def hanging_length(bench: Bench, telling: Telling) -> str:
    """From the top edge to the hem edge of each panel as it hangs."""
    lengths = {work.name: hung_length(work, telling) for work in bench if work.carriers}
    told = {name: (f"{telling.say(size)} from top edge to hem edge",) for name, size in lengths.items()}
    return _once(told, telling)
