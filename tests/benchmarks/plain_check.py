"""A second judge of the files, of plain Python alone: it reads JSON and imports nothing of the program.

``python tests/benchmarks/plain_check.py FILE ...`` judges every layout of these files by the rules of
`docs/results.md`, and tells what it does not judge: bounds. Whoever studies the set in another language
finds in it all that a layout must keep.
"""

from __future__ import annotations

import base64
import json
import sys
import zlib
from collections import Counter, defaultdict
from pathlib import Path

#: ``(part, copy, strip, turned, x, y, width, length)`` of a copy as it lies.
Laid = tuple[int, int, int, bool, int, int, int, int]


def laid_of(instance: dict) -> list[Laid]:
    """All copies as they lie; positions are as in the file."""
    rows = instance["known"]["layout"]
    if isinstance(rows, str):
        rows = json.loads(zlib.decompress(base64.b85decode(rows)))
    found = []
    for number, row in enumerate(rows):
        part = instance["parts"][number]
        for copy, spot in enumerate(row):
            x, y, turned, strip = [*spot, 0, 0][:4]
            width, length = part["width"], part["length"]
            if turned:
                width, length = length, width
            found.append((number, copy, strip, bool(turned), x, y, width, length))
    return found


def faults(instance: dict, across: bool) -> list[str]:
    """Every rule that its layout breaks; empty where it keeps them all."""
    laid = laid_of(instance)
    return [
        *_copies(instance, laid),
        *_turns(instance, laid),
        *_places(instance, laid),
        *_along(instance, laid),
        *_seams(instance, laid),
        *_lots(instance, laid),
        *(_across(laid) if across else ()),
        *_figures(instance, laid),
    ]


def _copies(instance: dict, laid: list[Laid]) -> list[str]:
    parts, counts = instance["parts"], Counter(piece[0] for piece in laid)
    offered, asked, found = set(), set(range(len(parts))), []
    for number, options in enumerate(instance.get("choices", ())):
        members = {part for option in options for part in option}
        taken = members & counts.keys()
        fitting = [
            option
            for option in options
            if taken <= set(option) and all("value" in parts[at] for at in set(option) - taken)
        ]
        if not fitting:
            found.append(f"choice {number}: parts {sorted(taken)} are no option")
        offered |= members
        asked -= members - taken
    for at in sorted(asked):
        wanted = parts[at].get("copies", 1)
        if counts[at] > wanted or (counts[at] < wanted and "value" not in parts[at]):
            found.append(f"part {at}: {counts[at]} copies of {wanted}")
    bundles = defaultdict(list)
    for at, part in enumerate(parts):
        if "bundle" in part:
            bundles[part["bundle"]].append((counts[at], part.get("copies", 1)))
    for name, members in bundles.items():
        if len({have == want for have, want in members} | {have > 0 for have, _ in members}) > 1:
            found.append(f"bundle {name} is laid in part")
    return found


def _turns(instance: dict, laid: list[Laid]) -> list[str]:
    found, arrows = [], defaultdict(set)
    for number, copy, _, turned, *_ in laid:
        part = instance["parts"][number]
        if turned and ("level" in part or not part.get("turnable")):
            found.append(f"part {number}, copy {copy} may not be turned")
        if "arrow" in part:
            arrows[part["arrow"]].add(turned)
    return found + [f"arrow group {name} lies both ways" for name, ways in arrows.items() if len(ways) > 1]


def _places(instance: dict, laid: list[Laid]) -> list[str]:
    found = []
    for at, strip in enumerate(instance["strips"]):
        mine = [piece for piece in laid if piece[2] == at]
        for number, copy, _, _, x, y, width, length in mine:
            left, right = instance["parts"][number].get("clear", (0, 0))
            if x < left or x + width > strip["width"] - right or y < 0:
                found.append(f"part {number}, copy {copy} lies beside the strip")
            if "length" in strip and y + length > strip["length"]:
                found.append(f"part {number}, copy {copy} lies beyond the end of strip {at}")
        boxes = [(y, x, y + length, x + width, True) for _, _, _, _, x, y, width, length in mine]
        boxes += [(y, x, y + length, x + width, False) for x, y, width, length in strip.get("flaws", ())]
        open_boxes: list[tuple[int, int, int, int, bool]] = []
        for box in sorted(boxes):
            open_boxes = [other for other in open_boxes if other[2] > box[0]]
            for other in open_boxes:
                if other[1] < box[3] and box[1] < other[3] and (box[4] or other[4]):
                    found.append(f"strip {at}: two lie over one another at x {box[1]}, y {box[0]}")
            open_boxes.append(box)
    if any(piece[2] >= len(instance["strips"]) for piece in laid):
        found.append("a part lies on a strip that there is not")
    return found


def _along(instance: dict, laid: list[Laid]) -> list[str]:
    """All of a level meet the pattern at one height; with a start that is known, at that."""
    levels = defaultdict(set)
    for number, _, at, _, x, y, _, _ in laid:
        part, strip = instance["parts"][number], instance["strips"][at]
        if "level" not in part or "repeat" not in strip:
            continue
        if len(instance["strips"]) > 1:
            return ["a pattern on several strips is not judged here"]
        repeat, (p, q) = strip["repeat"], part["place"]
        over, under = repeat.get("drop", (0, 1))
        column = (x - p) // repeat["width"] if "width" in repeat else 0
        # In parts of a tick, so that a third of the repeat is whole.
        height = (under * (y - q) - column * over * repeat["length"]) % (under * repeat["length"])
        levels[part["level"]].add(height)
        if "start" in strip and height != (-strip["start"] * under) % (under * repeat["length"]):
            return [f"part {number} misses the start of the pattern"]
    return [
        f"level {name} meets the pattern at several heights" for name, at in levels.items() if len(at) > 1
    ]


def _seams(instance: dict, laid: list[Laid]) -> list[str]:
    seams = defaultdict(set)
    for number, _, at, _, x, *_ in laid:
        part, repeat = instance["parts"][number], instance["strips"][at].get("repeat", {})
        if "seam" in part and "width" in repeat:
            seams[part["seam"]].add((x - part["place"][0]) % repeat["width"])
    return [f"the widths of seam {name} do not meet" for name, places in seams.items() if len(places) > 1]


def _lots(instance: dict, laid: list[Laid]) -> list[str]:
    lots = defaultdict(set)
    for number, _, at, *_ in laid:
        if "lot" in instance["parts"][number]:
            lots[instance["parts"][number]["lot"]].add(instance["strips"][at].get("lot"))
    return [f"lot group {name} lies on several lots" for name, found in lots.items() if len(found) > 1]


def _runs(intervals: list[tuple[int, int, Laid]]) -> list[list[Laid]]:
    """Groups between which a straight cut goes through."""
    groups: list[list[Laid]] = []
    end = None
    for low, high, piece in sorted(intervals, key=lambda each: each[:2]):
        if end is None or low >= end:
            groups.append([])
        groups[-1].append(piece)
        end = high if end is None else max(end, high)
    return groups


def _across(laid: list[Laid]) -> list[str]:
    """Bands from edge to edge, columns in a band, and nothing side by side in a column."""
    for band in _runs([(piece[5], piece[5] + piece[7], piece) for piece in laid]):
        for column in _runs([(piece[4], piece[4] + piece[6], piece) for piece in band]):
            rows = _runs([(piece[5], piece[5] + piece[7], piece) for piece in column])
            if any(len(row) > 1 for row in rows):
                return [f"the column at x {column[0][4]}, y {column[0][5]} is not cut across first"]
    return []


def figures(instance: dict, laid: list[Laid]) -> dict[str, int]:
    """Every objective of the layout."""
    strips, parts = instance["strips"], instance["parts"]
    ends = [max((y + length for _, _, at, _, _, y, _, length in laid if at == number), default=0)
            for number in range(len(strips))]  # fmt: skip
    on_hand = [number for number, strip in enumerate(strips) if "length" in strip]
    worth = Counter()
    for number, *_ in laid:
        worth[bool(parts[number].get("spare"))] += parts[number].get("value", 0)
    return {
        "to buy": sum(ends[number] for number in range(len(strips)) if number not in on_hand),
        "value": worth[False],
        "fabric started": sum(strips[number]["length"] for number in on_hand if ends[number]),
        "extras": worth[True],
        "cut into": sum(ends[number] for number in on_hand),
    }


def _figures(instance: dict, laid: list[Laid]) -> list[str]:
    known, found = instance["known"], figures(instance, laid)
    wrong = []
    if known["length"] != found["to buy"]:
        wrong.append(f"length {known['length']} is said, {found['to buy']} is needed")
    for name, value, *_ in known.get("goals", ()):
        if found.get(name) != value:
            wrong.append(f"{name} {value} is said, {found.get(name)} is reached")
    return wrong


def main(paths: list[str]) -> int:
    """0 when every layout keeps all rules, 1 when one does not, 2 without a file."""
    if not paths:
        print("give files of the set, such as tests/benchmarks/set/prints.json", file=sys.stderr)
        return 2
    broken = 0
    for path in paths:
        family = json.loads(Path(path).read_text("utf-8"))
        judged = [instance for instance in family["instances"] if "known" in instance]
        for instance in judged:
            for fault in faults(instance, family["cut"] == "across-first"):
                broken += 1
                print(f"{path}, {instance['name']}: {fault}")
        print(f"{path}: {len(judged)} layouts judged, bounds not")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
