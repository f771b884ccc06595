"""Facings, linings, interlinings and bands, in words."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from nesting.instructions.edges_told import same_length
from nesting.instructions.joins_told import sewn_toward
from nesting.instructions.line import Telling, ToldLine, edge_words
from nesting.sewing import Bench, FaceTop, LayOn, LineRound, Work
from nesting.sewing.work import SIDES, Side

_NONE: Final = Fraction(0)


def face_told(operation: FaceTop, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """A facing sewn to the top and turned to the back."""
    work, manner = before.work(operation.on), telling.manner(before.work(operation.on))
    line = ", on the top line" if any(line.edge == "top" for line in work.lines) else ""
    tabs = any(one.kind == "tab" for one in work.carriers)
    caught = ", which catches both ends of the tabs" if tabs else ""
    turned = _turned_back(manner.kind)
    lower = (
        "slip-stitch its ends and its lower edge to hems and lining"
        if any(layer.face == "back" for layer in work.layers)
        else "slip-stitch its ends to the side hems, a hair shy of the edges"
    )
    text = (
        f"lay the {telling.layer(operation.facing)} on the panel right sides together, upper edges level, "
        f"and sew {telling.say(operation.allowance)} from them{line}{caught}. Grade the seam, turn the "
        f"facing to the back, understitch and {turned}; {lower}"
    )
    return ToldLine(operation.on, text)


def _turned_back(kind: str) -> str:
    if kind == "pile":
        return "finger-crease the edge and steam it from the wrong side"
    return "press with a cool, dry iron" if kind == "sheer" else "press from the back"


def lay_told(operation: LayOn, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """One work on another: where its lower edge, its sides and its top come."""
    work, layer = before.work(operation.on), before.work(operation.layer)
    what = telling.layer(operation.layer)
    side = "the back, wrong sides together" if operation.face == "back" else "the right side"
    low, across = _lower(operation, work, telling), _across(operation, layer, work, telling)
    text = f"lay the {what} on {side}: {low}{across}{_upper(operation, layer, work, telling)}"
    return ToldLine(operation.on, f"{text}. {_sewn_on(operation, work, layer)}")


def _sewn_on(operation: LayOn, work: Work, layer: Work) -> str:
    """How a layer is held in its place."""
    if operation.face == "front":
        waits = work.edge("bottom").held != "sewn" or any(line.edge == "bottom" for line in work.lines)
        later = "; leave it open at the hem until the hem has been leveled" if waits else ""
        return f"Pin it, stitch both its long edges and slip-stitch its ends{later}"
    finished = [side for side in SIDES if layer.edge(side).finish == "fold" and side not in operation.tucked]
    by_hand = [side for side in finished if side != "bottom"]
    sewn = f". Slip-stitch its turned {edge_words(by_hand).removeprefix('the ')} by hand" if by_hand else ""
    if operation.tucked:
        edges = edge_words(operation.tucked).removeprefix("the ").removeprefix("both ")
        return (
            f"Slip its raw {edges} under the open hems of the panel as far as their folds, and pin from the "
            f"hem upward on a flat table{sewn}"
        )
    if sewn:
        return f"Pin it{sewn}"
    return "Pin it, and lock it to the panel with long loose stitches in rows"


def _lower(operation: LayOn, work: Work, telling: Telling) -> str:
    bottom = work.edge("bottom").finish == "fold"
    line = next((one.inward for one in work.lines if one.edge == "bottom"), None)
    edge = "hem edge" if bottom else "lower edge"
    if line is not None and line and same_length(operation.up, line):
        return "its lower edge on the hem line"
    if same_length(operation.up, _NONE):
        return f"its lower edge level with the {edge}"
    way = "above" if operation.up > 0 else "below"
    return f"its lower edge {telling.say(abs(operation.up))} {way} the {edge}"


def _across(operation: LayOn, layer: Work, work: Work, telling: Telling) -> str:
    """Where its sides come; what is tucked as far as the folds is told there."""
    over = work.width - operation.inside - layer.width
    inside: dict[Side, Fraction] = {"left": operation.inside, "right": over}
    if operation.side == "right":
        inside = {"left": over, "right": operation.inside}
    lines = {line.edge: line.inward for line in work.lines}
    if all(side in lines and lines[side] and same_length(inside[side], lines[side]) for side in inside):
        return ", its sides on the side folds"
    told = [side for side in inside if side not in operation.tucked or not same_length(inside[side], _NONE)]
    if len(told) == len(inside) and same_length(*inside.values()):
        if same_length(operation.inside, _NONE):
            return ", its sides level with the side edges"
        return f", {telling.say(operation.inside)} inside each side edge"
    if len(told) == len(inside) and not operation.tucked:
        told = [min(told, key=lambda side: abs(inside[side]))]
    return "".join(_beside(side, inside[side], lines.get(side), telling) for side in told)


def _beside(side: Side, inside: Fraction, line: Fraction | None, telling: Telling) -> str:
    """Where one side of a layer comes."""
    if line and same_length(inside, line):
        return f", its {side} edge on the side fold"
    if same_length(inside, _NONE):
        return f", along the {side} edge"
    return f", {telling.say(inside)} inside the {side} edge"


def _upper(operation: LayOn, layer: Work, work: Work, telling: Telling) -> str:
    """Where its top comes, measured from the work's top line or edge."""
    if operation.face == "front" and 2 * layer.length < work.length:
        return ""
    return _upper_end(layer, work, operation.up, telling)


def _upper_end(layer: Work, work: Work, up: Fraction, telling: Telling) -> str:
    """Where the top of a layer comes that begins so far up."""
    line = next((one.inward for one in work.lines if one.edge == "top"), _NONE)
    below = work.length - up - layer.length - line
    what = "top line" if line else "upper edge"
    if same_length(below, _NONE):
        return f"; its upper edge comes on the {what}"
    return f"; its upper edge comes {telling.say(abs(below))} {'below' if below > 0 else 'above'} the {what}"


def round_told(operation: LineRound, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """A lining sewn on as a tube; how far the face comes round is measured."""
    work, made = before.work(operation.on), after.work(operation.on)
    say, manner = telling.say, telling.manner(work)
    wraps = made.edge("left").depth, made.edge("right").depth
    wrap = (
        f"{say(wraps[0])} at each side"
        if same_length(*wraps)
        else f"{say(wraps[0])} at the left edge and {say(wraps[1])} at the right edge"
    )
    folds = (
        f"{say(operation.left)} inside each raw edge"
        if same_length(operation.left, operation.right)
        else f"{say(operation.left)} inside the left raw edge and {say(operation.right)} inside the right one"
    )
    waits = work.edge("bottom").finish == "fold" and work.edge("bottom").held != "sewn"
    upper = _upper_end(before.work(operation.lining), work, operation.up, telling)
    # A seam through the hem could not be opened to level it.
    low = "the top of the bottom hem" if waits else "the lower edge"
    later = "; at the bottom hem, lining and all, only when the drape has hung" if waits else ""
    text = (
        "lay lining and face right sides together, the lower edge of the lining "
        f"{say(operation.up)} above the lower edge of the panel"
        f"{upper}. Sew both sides {say(operation.allowance)} from the raw edges, "
        f"{sewn_toward(work, manner, low)}, and turn. Bring the side folds, {folds}, to the edges: the face "
        f"comes round to the back {wrap}. Above and below these seams fold the sides "
        f"back likewise, turn the raw edges under and slip-stitch{later}"
    )
    return ToldLine(operation.on, text)
