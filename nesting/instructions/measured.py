"""What the tape must read when a step is done: sizes of the works as they lie then, never of the order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from nesting.instructions.edges_told import same_length
from nesting.instructions.line import Telling, listed
from nesting.sewing import Bench, Work, hang


def measured(before: Bench, after: Bench, names: Iterable[str], telling: Telling) -> str:
    """What is measured of these works, where a step changed it; empty where nothing did.

    Parameters
    ----------
    before, after
        The table before and after the step.
    names
        Works to be measured that lie on it afterwards.
    telling
        How sizes and works are told.
    """
    same = dict[str, list[str]]()
    for name in dict.fromkeys(names):
        if name in after.works:
            sizes = "; ".join(_changed(before.works.get(name), after.works[name], telling))
            if sizes:
                same.setdefault(sizes, []).append(name)
    return _said(same, telling)


def _said(same: dict[str, list[str]], telling: Telling) -> str:
    if len(same) == 1:
        return next(iter(same))
    return "; ".join(f"{telling.named(names)} {sizes}" for sizes, names in same.items())


def _changed(was: Work | None, now: Work, telling: Telling) -> Iterator[str]:
    """Each size of a work that is another than it was."""
    say = telling.say
    if was is None and len(now.strips) > 1:
        yield f"{say(now.width)} across"
        at = [say(seam.at) for seam in now.seams]
        yield f"{'seam' if len(at) == 1 else 'seams'} at {listed(at)} from the left edge"
        return
    if was is None:
        return
    if now.tube:
        if was.tube and not same_length(was.length, now.length):
            yield f"each {say(now.length)} long, {say(now.width)} wide"
        return
    if now.edge("bottom").finish == "fold" and was.edge("bottom").finish != "fold":
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


def _low(work: Work) -> str:
    return "hem edge" if work.edge("bottom").finish == "fold" else "lower edge"


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


def hung(bench: Bench, telling: Telling) -> str:
    """Each panel lying flat, and as it hangs where its rod takes up some of it."""
    say, same = telling.say, dict[str, list[str]]()
    for work in bench:
        if not work.carriers:
            continue
        wide = work.width if work.drawn is None else work.drawn
        along = f"{say(work.length)} from top edge to hem edge at both sides and in the middle"
        flat = f"{along}, {say(wide)} across"
        length = work.length if telling.rod is None else hang(work, telling.rod).length
        taken = "" if same_length(length, work.length) else f"; on the rod {say(length)} long"
        same.setdefault(f"{flat}{taken}", []).append(work.name)
    return _said(same, telling)


def hanging_length(bench: Bench, telling: Telling) -> str:
    """From the top edge to the hem edge of each panel as it hangs."""
    same = dict[str, list[str]]()
    for work in bench:
        if work.carriers:
            length = work.length if telling.rod is None else hang(work, telling.rod).length
            same.setdefault(f"{telling.say(length)} from top edge to hem edge", []).append(work.name)
    return _said(same, telling)
