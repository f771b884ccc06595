"""The sewing table of one window before its first step: its cut pieces as works."""

from __future__ import annotations

from fractions import Fraction

from nesting.construction.cut_parts import CutWindow
from nesting.construction.windows_made import WindowFacts
from nesting.pieces.piece import Piece
from nesting.sewing import Bench, Work, cut_piece
from nesting.sewing.work import Side


def bench_of(facts: WindowFacts) -> Bench:
    """The cut pieces of one such window, by their ids, and what the fabrics lose in a wash."""
    cut = CutWindow.of(facts)
    works = [_work(cut, piece) for piece in cut.pieces]
    shrinkage = {
        fabric.key: (fabric.shrinkage.width / 100, fabric.shrinkage.length / 100)
        for fabric in cut.washed()
        if fabric.shrinkage is not None
    }
    return Bench({work.name: work for work in works}, shrinkage)


def _work(cut: CutWindow, piece: Piece) -> Work:
    fabric, selvages = cut.fabric(piece), list[Side]()
    if piece.hem_edge is not None:
        bottom = piece.role == "panel" and cut.facts.making.bottom_hem.selvage
        selvages.append("bottom" if bottom else "left" if piece.hem_edge == "left" else "right")
    match = piece.match
    return cut_piece(
        piece.id,
        piece.fabric,
        piece.width,
        piece.length,
        count=cut.each(piece),
        selvages=frozenset(selvages),
        nap=fabric.arrow if piece.nap == "one-way" else "none",
        repeat=None if match is None else fabric.repeat,
        at=None if match is None else (Fraction(match.x), Fraction(match.y)),
    )
