"""Facings, linings, interlinings and bands, in words."""

from __future__ import annotations

from nesting.instructions.edges_told import same_length
from nesting.instructions.joins_told import sewn_toward
from nesting.instructions.line import Line, Telling, edge_words
from nesting.sewing import Bench, FaceTop, LayOn, LineRound, Work


def face_told(operation: FaceTop, before: Bench, after: Bench, telling: Telling) -> Line:
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
        f"lay the {_short(operation.facing)} on the panel right sides together, upper edges level, and sew "
        f"{telling.say(operation.allowance)} from them{line}{caught}. Grade the seam, turn the facing to the "
        f"back, understitch and {turned}; {lower}"
    )
    return Line(operation.on, text)


def _turned_back(kind: str) -> str:
    if kind == "pile":
        return "finger-crease the edge and steam it from the wrong side"
    return "press with a cool, dry iron" if kind == "sheer" else "press from the back"


def _short(work: str) -> str:
    """What a layer is called where its panel is named already."""
    return work.replace("/", " ").rpartition(" ")[2].replace("-", " ")


def lay_told(operation: LayOn, before: Bench, after: Bench, telling: Telling) -> Line:
    """One work on another: where its lower edge, its sides and its top come."""
    work, layer = before.work(operation.on), before.work(operation.layer)
    what = _short(operation.layer)
    side = "the back, wrong sides together" if operation.face == "back" else "the right side"
    low, across = _lower(operation, work, telling), _across(operation, layer, work, telling)
    text = f"lay the {what} on {side}: {low}{across}{_upper(operation, layer, work, telling)}"
    if operation.tucked:
        edges = edge_words(operation.tucked).removeprefix("the ")
        text += (
            f". Slip its raw {edges.removeprefix('both ')} under the open hems of the panel as far as their "
            "folds, and pin from the hem upward on a flat table"
        )
    elif operation.face == "front":
        text += ". Pin it and stitch along its long edges"
    else:
        text += ". Pin it, and lock it to the panel with long loose stitches in rows"
    return Line(operation.on, text)


def _lower(operation: LayOn, work: Work, telling: Telling) -> str:
    bottom = work.edge("bottom").finish == "fold"
    line = next((one.inward for one in work.lines if one.edge == "bottom"), None)
    edge = "hem edge" if bottom else "lower edge"
    if line is not None and line and same_length(operation.up, line):
        return "its lower edge on the hem line"
    if same_length(operation.up, 0 * operation.up):
        return f"its lower edge level with the {edge}"
    way = "above" if operation.up > 0 else "below"
    return f"its lower edge {telling.say(abs(operation.up))} {way} the {edge}"


def _across(operation: LayOn, layer: Work, work: Work, telling: Telling) -> str:
    if operation.tucked:
        return ""
    right = work.width - operation.left - layer.width
    left_line, right_line = (
        next((one.inward for one in work.lines if one.edge == side), None) for side in ("left", "right")
    )
    if left_line is not None and right_line is not None and left_line and (
        same_length(operation.left, left_line) and same_length(right, right_line)
    ):  # fmt: skip
        return ", its sides on the side folds"
    if same_length(operation.left, right):
        if same_length(operation.left, 0 * operation.left):
            return ", its sides level with the side edges"
        return f", {telling.say(operation.left)} inside each side edge"
    if abs(operation.left) < abs(right):
        inside = operation.left
        edge = "left"
    else:
        inside, edge = right, "right"
    if same_length(inside, 0 * inside):
        return f", along the {edge} edge"
    return f", {telling.say(inside)} inside the {edge} edge"


def _upper(operation: LayOn, layer: Work, work: Work, telling: Telling) -> str:
    """Where its top comes, measured from the work's top line or edge."""
    line = next((one.inward for one in work.lines if one.edge == "top"), 0 * operation.up)
    below = work.length - operation.up - layer.length - line
    what = "top line" if line else "upper edge"
    if same_length(below, 0 * below):
        return f"; its upper edge comes on the {what}"
    return f"; its upper edge comes {telling.say(abs(below))} {'below' if below > 0 else 'above'} the {what}"


def round_told(operation: LineRound, before: Bench, after: Bench, telling: Telling) -> Line:
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
    text = (
        "lay lining and face right sides together, the lower edge of the lining "
        f"{say(operation.up)} above the lower edge of the panel. Sew both sides {say(operation.allowance)} "
        f"from the raw edges, {sewn_toward(work, manner)}, and turn. Bring the side folds, {folds}, to the "
        f"edges: the face comes round to the back {wrap}. Above and below the lining fold the sides back "
        "likewise, turn the raw edges under and slip-stitch"
    )
    return Line(operation.on, text)
