"""Problems made at random, always the same for the same seed."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from fractions import Fraction

from nesting.packing.problem import Flaw, Match, Part, Problem, Repeat, Strip
from nesting.packing.result import Placement


def guillotine_cutting(rng: random.Random, width: int, length: int, parts: int) -> Problem:
    """A rectangle cut at random, edge to edge, into ``parts`` parts: the least length is ``length``.

    Nothing is wasted, so no layout can be shorter; laid back as it was cut, it is that long.
    Equal parts are listed once, with their number of copies.
    """
    pieces = [(width, length)]
    while len(pieces) < parts:
        at = max(range(len(pieces)), key=lambda i: pieces[i][0] * pieces[i][1] * (0.25 + rng.random()))
        w, h = pieces.pop(at)
        if w == h == 1:
            raise ValueError(f"{width} x {length} cannot be cut into {parts} parts of whole size")
        if h == 1 or (w > 1 and rng.random() * (w + h) < w):
            cut = rng.randint(1, w - 1)
            pieces += [(cut, h), (w - cut, h)]
        else:
            cut = rng.randint(1, h - 1)
            pieces += [(w, cut), (w, h - cut)]
    rng.shuffle(pieces)
    sizes = dict.fromkeys(pieces)
    return Problem(
        (Strip(width),),
        tuple(Part(f"{w} x {h}", w, h, pieces.count((w, h))) for w, h in sizes),
    )


def cut_pattern(rng: random.Random, width: int, length: int, parts: int, repeat: int) -> Problem:
    """A printed rectangle cut at random, edge to edge; laid back as it was cut the pattern is right.

    Two parts of three are matched, the others may begin anywhere. Where the pattern begins on the strip is
    known. Nothing is wasted, so no layout can be shorter than ``length``.
    """
    pieces, start = [(0, 0, width, length)], rng.randrange(repeat)
    while len(pieces) < parts:
        at = max(range(len(pieces)), key=lambda i: pieces[i][2] * pieces[i][3] * (0.25 + rng.random()))
        x, y, w, h = pieces.pop(at)
        if h == 1 or (w > 1 and rng.random() * (w + h) < w):
            cut = rng.randint(1, w - 1)
            pieces += [(x, y, cut, h), (x + cut, y, w - cut, h)]
        else:
            cut = rng.randint(1, h - 1)
            pieces += [(x, y, w, cut), (x, y + cut, w, h - cut)]
    rng.shuffle(pieces)
    return Problem(
        (Strip(width, repeat=Repeat(repeat), start=start),),
        tuple(
            Part(str(i), w, h, match=Match("room", y=(y + start) % repeat) if i % 3 else None)
            for i, (_, y, w, h) in enumerate(pieces)
        ),
    )


def tiny_problem(
    rng: random.Random,
    repeat: bool = False,
    *,
    parts: int = 4,
    width: int = 6,
    turns: bool = False,
    arrows: bool = False,
    flaws: int = 0,
    start: bool = False,
    margins: bool = False,
) -> Problem:
    """A problem small enough for brute force.

    With ``repeat``: a straight, half or third drop, a repeat width or none, one or two level groups,
    seam groups or none, and some parts unmatched. ``turns``: unmatched parts may turn one by one;
    ``arrows``: unmatched turnable parts form one arrow group. ``start``: the pattern's start is known.
    ``margins``: some parts keep clear of the edges, all by as much or each by its own.
    """
    pattern = _pattern(rng, width) if repeat else None
    made, left = list[Part](), parts
    while left:
        copies = min(left, rng.choice((1, 1, 2)))
        made.append(_part(rng, len(made), copies, width, pattern, turns, arrows))
        left -= copies
    if pattern is not None and all(part.match is None for part in made):
        made[0] = Part("matched", made[0].width, made[0].length, made[0].copies, match=_match(rng, pattern))
    spoiled = tuple(
        Flaw(rng.randrange(width), rng.randrange(8), rng.randint(1, 2), rng.randint(1, 2))
        for _ in range(flaws)
    )
    known = rng.randrange(pattern.length) if pattern is not None and start else None
    problem = Problem((Strip(width, None, pattern, spoiled, start=known),), tuple(made))
    return _with_margins(rng, problem) if margins else problem


def _with_margins(rng: random.Random, problem: Problem) -> Problem:
    """The problem on a strip so much wider that those of its parts fit which keep clear of the edges."""
    left, right = rng.randint(0, 2), rng.randint(0, 2)
    every = rng.random() < 0.3

    def clear() -> tuple[int, int]:
        if every or rng.random() < 0.5:
            return left, right
        return (rng.randint(0, left), rng.randint(0, right)) if rng.random() < 0.3 else (0, 0)

    strip = replace(problem.strips[0], width=problem.strips[0].width + left + right)
    parts = tuple(replace(part, clear=clear()) for part in problem.parts)
    return replace(problem, strips=(strip,), parts=parts)


def _pattern(rng: random.Random, width: int) -> Repeat:
    drop = rng.choice((Fraction(0), Fraction(1, 2), Fraction(1, 3), Fraction(2, 3)))
    length = drop.denominator * rng.randint(1, 2) if drop else rng.randint(2, 5)
    across = rng.choice((None, rng.randint(2, width))) if not drop else rng.randint(2, width)
    return Repeat(length, across, drop)


def _match(rng: random.Random, pattern: Repeat) -> Match:
    seam = rng.choice((None, "panel 1", "panel 2"))
    across = pattern.width or 1
    return Match(
        rng.choice(("room", "room", "hall")),
        seam,
        rng.randrange(-across, 2 * across),
        rng.randrange(-2, pattern.length),
    )


def _part(
    rng: random.Random,
    number: int,
    copies: int,
    width: int,
    pattern: Repeat | None,
    turns: bool,
    arrows: bool,
) -> Part:
    across, along = rng.randint(1, width), rng.randint(1, 5)
    if pattern is not None and rng.random() < 0.7:
        return Part(f"matched {number}", across, along, copies, match=_match(rng, pattern))
    if arrows and rng.random() < 0.7:
        return Part(f"arrow {number}", across, along, copies, turnable=rng.random() < 0.9, arrow="room")
    return Part(f"plain {number}", across, along, copies, turnable=turns)


@dataclass(frozen=True)
class Layout:
    """A problem with a layout that keeps every rule, and the length it needs."""

    problem: Problem
    placements: tuple[Placement, ...]
    length: int


def shelf_layout(rng: random.Random, shelves: int, *, repeat: bool = True, width: int = 60) -> Layout:
    """A sound layout in shelves, with a problem made to fit it.

    Places in the pattern are worked back from where a part lies, so that they are right by
    construction; each shelf ends with a flaw where there is room for one, touching its last part.
    """
    drop = rng.choice((Fraction(0), Fraction(1, 2), Fraction(1, 3)))
    pattern = Repeat(6 * rng.randint(1, 4), rng.randint(3, width), drop) if repeat else None
    start = rng.randrange(pattern.length) if pattern is not None and rng.random() < 0.3 else None
    all_turned = rng.random() < 0.5
    phases = {name: rng.randrange(100) for name in ("room", "hall", "panel 1", "panel 2")}
    if start is not None:
        phases["room"] = phases["hall"] = -start
    parts, placements, flaws = list[Part](), list[Placement](), list[Flaw]()
    y = length = 0
    for _ in range(shelves):
        x, height = 0, rng.randint(2, 12)
        while x < width - 3 and rng.random() < 0.9:
            w, h = rng.randint(1, min(12, width - x)), rng.randint(1, height)
            kind = rng.choice(("plain", "turnable", "arrow", "matched" if pattern else "plain"))
            turned = {"turnable": rng.random() < 0.5, "arrow": all_turned}.get(kind, False)
            part = Part(
                f"{kind} {len(parts)}",
                *((h, w) if turned else (w, h)),
                turnable=kind in ("turnable", "arrow"),
                arrow="room" if kind == "arrow" else None,
                match=_place(rng, pattern, phases, x, y) if kind == "matched" else None,
            )
            placements.append(Placement(len(parts), 1, x, y, turned))
            parts.append(part)
            length = max(length, y + h)
            x += w
        if x < width:
            flaws.append(Flaw(x, y, width - x, height))
        y += height
    if not any(part.match for part in parts):
        start = None
    strip = Strip(width, None, pattern, tuple(flaws), start=start)
    return Layout(Problem((strip,), tuple(parts)), tuple(placements), length)


def _place(rng: random.Random, pattern: Repeat, phases: dict[str, int], x: int, y: int) -> Match:
    """A place (p, q) that is right at (x, y): the rule of the lattice, solved for the place."""
    level, seam = rng.choice(("room", "hall")), rng.choice((None, "panel 1", "panel 2"))
    column = rng.randint(-2, 2)
    across = phases[seam] % pattern.width if seam else rng.randrange(pattern.width)
    p = x - across - column * pattern.width
    rise = column * pattern.drop * pattern.length
    q = int(y - phases[level] - rise) + rng.randint(-2, 2) * pattern.length
    return Match(level, seam, p, q)
