"""What a settled job cannot mean, which is refused, and what it hardly means, which is asked.

Every number of such a job is allowed by itself. Together with the defaults of heading and trade some
contradict each other: those are faults, beside the others. Numbers that may be meant and seldom are, such as
a bolt 5.4 in wide, become remarks that ask.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from nesting.cutting.layers import top_cover
from nesting.cutting.measures import flat_steps, hangings, lying_flat, settle
from nesting.files.faults import Faults, Loc
from nesting.headings import Making, heading
from nesting.headings.making import Measure, measure
from nesting.order.job import Job, Remark, Window
from nesting.units import Unit, format_exact, format_length, round_down, round_up

#: Beyond these a number is asked about (common practice, no source).
NARROW_BOLT: Final = measure("20", "50")
USUAL_BOLT: Final = measure("54", "140")
THICK_ROD: Final = measure("4", "10")
USUAL_ROD: Final = measure("11/8", "7/2")
SHORT_PANEL: Final = measure("8", "20")
USUAL_PANEL: Final = measure("84", "210")
MOST_FULL: Final = 4
MANY: Final = 100


def check_sense(job: Job, faults: Faults) -> None:
    """Add to ``faults`` where the sizes of a window contradict each other."""
    for number, window in enumerate(job.windows):
        making, loc = settle(job, window), ("window", number)
        _check_height(making, loc, faults)
        _check_flat(making, loc, faults)
        _check_lining(making, loc, faults)
        _check_bands(making, loc, faults)
        _check_marks(making, loc, faults)


def _check_height(making: Making, loc: Loc, faults: Faults) -> None:
    """Heading and hem must find room above each other."""
    window, finished = making.window, making.finished.total
    top, hem = heading(window.heading).depth(making), making.bottom_hem.finished
    if finished >= top + hem:
        return
    least, taken = making.say(top + hem), f"the heading takes {making.say(top)} and the hem {making.say(hem)}"
    said = f"at least {least}: {taken}"
    if window.finished_length is not None:
        faults.add((*loc, "finished_length"), said)
    else:
        key = "eye_height" if making.hangs_from == "track" else "rod_height"
        faults.add((*loc, key), f"a finished length of {said}, and {making.say(finished)} are left")


def _check_flat(making: Making, loc: Loc, faults: Faults) -> None:
    """A panel lying flat must cover its part of the rod, and be wider than its two hems."""
    window = making.window
    key = "rod" if window.flat_width is None else "flat_width"
    if window.draw == "pair" and making.overlap >= window.rod:
        faults.add((*loc, "overlap"), f"less than the rod, {making.say(window.rod)}")
        return
    hems = making.leading_hem.finished + making.outer_hem.finished
    for hanging in hangings(making):
        flat = flat_steps(making, hanging).exact
        covers = Fraction(0) if window.draw == "fixed" and window.covers is None else hanging.finished
        if flat < covers:
            expected = f"at least {making.say(covers)}, which the panel covers: below that it has no fullness"
            faults.add((*loc, key), f'{expected}; or draw = "fixed" and what each panel covers')
            return
        if flat <= hems:
            faults.add((*loc, key), f"panels wider than their side hems, {making.say(hems)} together")
            return


def _check_lining(making: Making, loc: Loc, faults: Faults) -> None:
    """Something of a lining must hang between the heading and its own hem."""
    window = making.window
    if window.lining is None:
        return
    below = making.finished.total - top_cover(making)
    room = below - (window.lining_gap or 0)
    if making.lining_hem.finished < room or faults.knows((*loc, "finished_length")):
        return
    if window.lining_cover is not None and below <= 0:
        most = making.say(making.finished.total)
        faults.add((*loc, "lining_cover"), f"less than the finished length, {most}")
    elif window.lining_gap is not None and room <= 0:
        faults.add(
            (*loc, "lining_gap"), f"less than what hangs below the heading, {making.say(max(0, below))}"
        )
    else:
        faults.add((*loc, "lining_hem"), f"a hem below {making.say(max(0, room))}, the length of the lining")


def _check_bands(making: Making, loc: Loc, faults: Faults) -> None:
    """A band lies on its panel."""
    widest = min(int(flat_steps(making, hanging).exact) for hanging in hangings(making))
    for number, band in enumerate(making.window.bands):
        most = making.finished.total if band.edge == "hem" else widest
        if band.width > most:
            faults.add((*loc, "band", number, "width"), f"at most {making.say(most)}, the size of the panel")


def _check_marks(making: Making, loc: Loc, faults: Faults) -> None:
    """Tabs or grommets side by side must not lie over each other."""
    style, window = heading(making.window.heading), making.window
    marks = style.marks(making)
    if marks is None or faults.within(loc):
        return
    for hanging in hangings(making):
        flat = round_up(flat_steps(making, hanging).exact, 1)
        spots = style.arrange(making, lying_flat(making, hanging, flat)).spots
        centers = sorted(spot.start + spot.end for spot in spots if spot.kind != "space")
        apart = min((Fraction(b - a, 2) for a, b in itertools.pairwise(centers)), default=None)
        if apart is None or apart >= marks.width - 1:
            continue
        order, on = getattr(window, marks.table), f"on a panel {making.say(flat)} wide"
        over = f"{len(centers)} {marks.name} {making.say(marks.width)} wide lie over each other {on}"
        most = Fraction(centers[-1] - centers[0], 2) // marks.width + 1
        if order.count is not None:
            faults.add((*loc, marks.table, "count"), f"at most {most}: {over}")
        elif order.spacing is not None and order.spacing < marks.width:
            faults.add((*loc, marks.table, "spacing"), f"at least {making.say(marks.width)}: {over}")
        else:
            less = making.say(round_down(apart, making.grid))
            faults.add((*loc, marks.table, marks.size), f"at most {less}, or fewer {marks.name}: {over}")
        return


def questions(job: Job) -> Iterator[Remark]:
    """Whether what is unusual is meant; the job is planned as it stands."""
    unit = job.units
    faces = {window.fabric for window in job.windows}
    for fabric in job.fabrics:
        for number, bolt in enumerate(fabric.bolts, 1):
            if fabric.key in faces and bolt.width < NARROW_BOLT.of(unit):
                text = _asked(f"{fabric.title}: the bolt is", bolt.width, " wide", unit, USUAL_BOLT)
                yield Remark(text, fabric.key, number, asks=True)
    for window in job.windows:
        for text in _of_window(job, window):
            yield Remark(text, asks=True)
    for extra in job.extras:
        if extra.count > MANY:
            yield Remark(f'"{extra.name}": {extra.count} pieces are planned: is that right?', asks=True)


def _of_window(job: Job, window: Window) -> Iterator[str]:
    making, unit, place = settle(job, window), job.units, f'window "{window.name}"'
    if making.rod_diameter > THICK_ROD.of(unit):
        yield _asked(f"{place}: the rod is", making.rod_diameter, " thick", unit, USUAL_ROD)
    if making.finished.total < SHORT_PANEL.of(unit):
        yield _asked(f"{place}: the finished length is", making.finished.total, "", unit, USUAL_PANEL)
    full = making.fullness
    if window.flat_width is not None:
        one = hangings(making)[0]
        full = Fraction(window.flat_width) / one.finished if one.finished else full
    if full > MOST_FULL:
        yield f"{place}: the fullness is {float(full):.4g}: is that right? Did you mean 2?"
    if window.count > MANY:
        yield f"{place}: {window.count} such windows are planned: is that right?"
    for tieback in window.tiebacks:
        if tieback.count > MANY:
            yield f"{place}: {tieback.count} tie-backs are planned: is that right?"


def _asked(what: str, length: int, way: str, unit: Unit, usual: Measure) -> str:
    likely = format_length(usual.of(unit), unit, name=False)
    return f"{what} {format_exact(length, unit)}{way}: is that right? Did you mean {likely}?"
