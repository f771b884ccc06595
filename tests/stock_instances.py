"""Problems with lengths on hand made at random, always the same for the same seed."""

from __future__ import annotations

import random
from fractions import Fraction

from nesting.packing.problem import Flaw, Match, Part, Problem, Repeat, Strip


def tiny_stock(rng: random.Random) -> Problem:
    """Up to six copies, up to three lengths of two lots, now and then an open strip; for brute force.

    Matched parts only where every start is known, no arrow groups: see `tests.stock_brute_force`.
    """
    width = rng.randint(3, 6)
    drop = rng.choice((None, None, Fraction(0), Fraction(1, 2)))
    strips = [_length(rng, width - rng.choice((0, 0, 1)), drop) for _ in range(rng.randint(1, 3))]
    if rng.random() < 0.3:
        strips.append(_strip(rng, width, None, drop, (), "ABC"))
    parts, left = list[Part](), rng.randint(1, 6)
    while left:
        copies = min(left, rng.choice((1, 1, 2)))
        parts.append(_part(rng, len(parts), copies, drop is not None))
        left -= copies
    return Problem(tuple(strips), tuple(parts))


def _length(rng: random.Random, width: int, drop: Fraction | None) -> Strip:
    length = rng.randint(3, 8)
    flaws = tuple(
        Flaw(rng.randrange(width), rng.randrange(length), rng.randint(1, 2), rng.randint(1, 2))
        for _ in range(rng.choice((0, 0, 1, 2)))
    )
    return _strip(rng, width, length, drop, flaws, "AB")


def _strip(
    rng: random.Random,
    width: int,
    length: int | None,
    drop: Fraction | None,
    flaws: tuple[Flaw, ...],
    lots: str,
) -> Strip:
    if drop is None:
        return Strip(width, length, None, flaws, rng.choice(lots))
    repeat = Repeat(rng.choice((2, 4)), rng.choice((2, 3)), drop)
    return Strip(width, length, repeat, flaws, rng.choice(lots), rng.randrange(repeat.length))


def _part(rng: random.Random, number: int, copies: int, printed: bool) -> Part:
    match = (
        Match("room", None, rng.randrange(4), rng.randrange(4)) if printed and rng.random() < 0.5 else None
    )
    turnable = match is None and rng.random() < 0.4
    size = (rng.randint(1, 4), rng.randint(1, 4))
    sort = rng.choice(("bundle", "optional", "spare", "lot", "lot", "plain"))
    lot = {"bundle": rng.choice((None, "east")), "lot": rng.choice(("east", "west"))}.get(sort)
    return Part(
        f"{sort} {number}",
        *size,
        copies,
        turnable,
        match,
        lot=lot,
        value=rng.randint(1, 3) if sort in ("bundle", "optional", "spare") else None,
        bundle=rng.choice(("east", "west")) if sort == "bundle" else None,
        spare=sort == "spare",
    )


def remnants(rng: random.Random) -> Problem:
    """Windows of two to four pieces on spoiled lengths of a few lots; every window may be left out whole."""
    strips = []
    for number in range(rng.randint(1, 4)):
        length = rng.randint(10, 60)
        flaws = tuple(_flaw(rng, length) for _ in range(rng.randint(0, 3)))
        strips.append(Strip(rng.randint(16, 20), length, None, flaws, lot=rng.choice(("A", "B", None))))
        if number and rng.random() < 0.1:
            strips.append(Strip(20, None, lot="new"))
            break
    parts = []
    for number in range(rng.randint(1, 4)):
        name = f"window {number}"
        for piece in range(rng.randint(1, 3)):
            size = (rng.randint(2, 16), rng.randint(3, 30))
            turnable = rng.random() < 0.3
            parts.append(Part(f"{name}/{piece}", *size, 1, turnable, lot=name, value=9, bundle=name))
    parts.append(Part("cushion", 4, 4, rng.randint(1, 3), turnable=True, value=1, spare=True))
    return Problem(tuple(strips), tuple(parts))


def _flaw(rng: random.Random, length: int) -> Flaw:
    if rng.random() < 0.3:
        return Flaw(0, rng.randrange(length), 20, rng.randint(1, 3))
    return Flaw(rng.randrange(18), rng.randrange(length), rng.randint(1, 5), rng.randint(1, 5))
