"""Plan documents of the samples with one thing changed, and what of that the check lets pass:

    python -m tests.fuzz tampered --cases 3000 --seed 1

Two kinds of changes. One entry anywhere: a number a little or much more or less, a word for another of its
kind, a list without one of its items or with two in each other's place, an entry gone. Or a change that the
document agrees with itself about: a piece cut larger with its sums and places, a purchase with its cost, an
operation of the sewing. A change is wrong if it passes and is not listed in `OF_NO_CONSEQUENCE`: what stands
there changes no cut, no seam, no hem, no purchase, and each has its reason.
"""

from __future__ import annotations

import copy
import json
import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

from nesting import Effort, plan_job
from nesting.check import check_plan_document
from nesting.errors import NestingError
from nesting.files import plan_document, read_job

ROOT = Path(__file__).parents[2]
Table = dict[str, Any]
Path_ = tuple[str | int, ...]

#: Entries that may be changed without a drape, a cut or a purchase being another one; by pattern, with why.
OF_NO_CONSEQUENCE: dict[str, str] = {
    # Words.
    r".*\b(title|name|note|notes|text|remarks|currency|kind|why)\b.*": "words, told and not cut by",
    r".*\b(advice|questions|what_if|rule_of_thumb|seam_plans)\b.*": "offers and advice: what is not taken",
    r"(no |swap |shorten )?sundries.*": "notions for tie-backs and rods, or more of one than is sewn in",
    r".*terms\[\]\.label.*": "a word in a sum of which the numbers are held",
    r"sewing\[\]\.steps\[\]\.step.*": "the heading of a step",
    r"no layouts\[\]\.placements\[\]\.(letter|number|start_line).*": "a mark less on the marker",
    r"swap (pieces|layouts|layouts\[\]\.placements|order\.fabrics|order\.extras)": "the order of a list",
    # How good a layout is said to be: told as not re-proved unless a certificate replays.
    r".*(incumbents|bound_method|bound_certificate|lower_bound).*": "not re-proved, and told so",
    r".*(seconds|stop|gap|waste|objectives|drift).*": "how a layout was found, and what it leaves over",
    # What is left of the fabric, and the order of work at the table.
    r".*(offcuts|sequence|pulls|lanes|first_lines).*": "where the table is folded and what is left over",
    r"(no )?layouts\[\]\.(cutting|railroaded).*": "figures of the cutting, held where pieces depend on them",
    r".*(left_out|shortfalls).*": "what does not fit and what to do about it; lengths are held elsewhere",
    r"(no )?order\.table.*": "the table at which nothing is cut in another way",
    # Freedoms that were not used, or groups that another rule holds from the order.
    r".*pieces\[\]\.(arrow_group|turnable|hidden|top|sets|sideways|nap).*": "held from the order",
    r".*pieces\[\]\.(hem_edge|joined_at|joined_to|match\.(seam|level)).*": "what it is sewn to is held",
    r".*layouts\[\]\.(fit_width|match_width|repeat|start|flaws|printed).*": "nothing cut changes by it",
    r"nap rewritten of a piece": "a piece without a nap or a match may lie any way",
    # Orders that ask for less, or by less than a step of the tape.
    r"order\.windows\[\]\.heading.*": "a heading without figures in the check, which `unjudged` tells",
    r"(no )?order\.windows\[\]\.(rod_diameter|priority|rod_height|bottom_hem).*": "less than the tape shows",
    r"(no )?order\.windows\[\]\.least_part_width.*": "of panels without a part-width",
    r"(no )?order\.windows\[\]\.(tiebacks|facing|clearance).*": "less than the tape shows",
    r"(no )?order\.fabrics\[\]\.nap.*": "asks for less than was laid",
    r".*order\.fabrics\[\]\.(labeled|weight|tolerance|safety|one_lot|drop_from).*": "asks for less",
    r".*order\.fabrics\[\]\.(motif|repeat).*": "less than rounding adds, or asks for less",
    r".*order\.fabrics\[\]\.bolts\[\].*": "of a bolt that is not cut, or that pieces keep clear of",
    r"no order\.extras\[\]\.(optional|turnable|room|window)": "a freedom that was not used",
    r"no (order|sewing)": "told as not checked",
    # Steps of sewing that come to the same.
    r"operation [a-z ]+ last": "the same work in another order that can be sewn",
    r"operation (chalk|sew) (twice|without)": "a line drawn, or a fold sewn, twice; or folded by eye",
    r"(swap|shorten|no) sewing(\[\]\.steps.*)?": "the same work in another order, or a chalked line less",
    r"(no )?sewing\[\]\.steps\[\]\.operations\[\]\.(up|inside|below|lines|turns).*": "less than a step",
    r"(no )?sewing\[\]\.steps\[\]\.operations\[\]\.(down|lower|upper|inward|at\[\]|length).*":
        "less than the tape shows, or a chalked line that is drawn anew",
    r"(no )?sewing\[\]\.steps\[\]\.operations\[\]\.(size|edge|on|held|finish|tucked|over).*":
        "a chalked line, or how firmly and neatly an edge is held before the last step",
    r"(no |swap |shorten )?(pieces|panels|headings)\[\]\.steps.*": "a term of a sum that adds nothing",
    r"(no )?pieces\[\]\.(finished_length|finished_width|hem_line).*": "of pieces without a size once sewn",
    r"layouts\[\]\.buy\.allowances.*|swap layouts\[\]\.buy.*": "the name of an allowance",
    r"layouts\[\]\.placements\[\]\.(letter|start_line).*": "of a piece of a plain fabric",
    r"(no )?pieces\[\]\.(side|room).*": "of an extra, or of a piece of no one panel",
    r"shorten order\.fabrics\[\]\.bolts": "a bolt that is not cut",
    r"(no )?layouts\[\]\.(bolt|letter).*": "a bolt that nothing is bought of",
}  # fmt: skip


def pattern(path: Path_) -> str:
    """A path without its numbers."""
    return re.sub(r"\.?\d+", "[]", ".".join(map(str, path)))


def leaves(value: Any, path: Path_ = ()) -> Iterator[Path_]:
    """Every entry of a document, lists and tables too."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield (*path, key)
        yield from leaves(inner, (*path, key))


def samples() -> list[Table]:
    """The plans of the samples."""
    found = []
    for path in sorted((ROOT / "samples").glob("*.toml")):
        made = plan_job(read_job(path), effort=Effort(work=0.2, workers=1))
        found.append(json.loads(json.dumps(plan_document(made))))
    return found


def at(document: Any, path: Path_) -> Any:
    for key in path:
        document = document[key]
    return document


def other(value: Any, alike: list[Any], rng: Random) -> Any:
    """Another value of the kind."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + rng.choice((-1, 1, 2, 127, -127, 1016, 2032, -2032, 100000))
    if isinstance(value, float):
        return value + rng.choice((-0.01, 0.01, 0.0625, -0.0625, 0.5, 1.0, -1.0, 10.0))
    if isinstance(value, str):
        if re.fullmatch(r"-?\d+(/\d+)?", value) and rng.random() < 0.7:
            whole = int(value.split("/")[0]) + rng.choice((-1, 1, 127, -254, 1016, 2032))
            return str(whole)
        choices = [one for one in alike if one != value]
        return rng.choice(choices) if choices and rng.random() < 0.8 else value + "x"
    if value is None:
        choices = [one for one in alike if one is not None]
        return copy.deepcopy(rng.choice(choices)) if choices else 1
    return None


def one_entry(document: Table, by_pattern: dict[str, list[Path_]], rng: Random) -> str:
    """Change one entry anywhere; what was changed."""
    name = rng.choice(sorted(by_pattern))
    path = rng.choice(by_pattern[name])
    holder, key = at(document, path[:-1]), path[-1]
    value = holder[key]
    if isinstance(value, list) and len(value) > 1 and rng.random() < 0.7:
        if rng.random() < 0.5:
            one, two = rng.sample(range(len(value)), 2)
            if value[one] == value[two]:
                return ""
            value[one], value[two] = value[two], value[one]
            return f"swap {name}"
        del value[rng.randrange(len(value))]
        return f"shorten {name}"
    if isinstance(value, dict | list) or rng.random() < 0.1:
        if isinstance(holder, dict):
            del holder[key]
            return f"no {name}"
        holder.pop(int(key))
        return f"no {name}"
    new = other(
        value,
        [at(document, each) for each in rng.sample(by_pattern[name], min(8, len(by_pattern[name])))],
        rng,
    )
    if new == value:
        return ""
    holder[key] = new
    return f"{name}: {value!r} to {new!r}"


def piece_larger(document: Table, by_pattern: dict[str, list[Path_]], rng: Random) -> str:
    """A piece cut wider or longer, its sums, lines and places with it."""
    piece = rng.choice(document["pieces"])
    way, more = rng.choice(("width", "length")), rng.choice((-1.0, -0.125, 0.125, 0.5, 2.0))
    ticks = {"in": 2032, "cm": 800, "mm": 80}[document["units"]]
    piece[way] += more
    terms = piece["steps"][way]["terms"]
    firsts = [term for term in terms if term["sign"] in "+-" and term["times"] == 1]
    if not firsts:
        return ""
    first = rng.choice(firsts)
    sign = 1 if first["sign"] == "+" else -1
    first["amount"] = str(int(first["amount"].split("/")[0]) + sign * int(more * ticks))
    piece["arithmetic"] = lines_of(piece, document["units"])
    for layout in document["layouts"]:
        for laid in layout["placements"]:
            if laid["piece"] == piece["id"]:
                side = way if laid["turn"] == 0 else {"width": "length", "length": "width"}[way]
                laid[side] += more
    return f"piece {piece['role']} {way} {more}"


def lines_of(piece: Table, unit: str) -> list[str]:
    """The lines of the sums of a piece, as the program prints them."""
    from pydantic import TypeAdapter

    from nesting.pieces.piece import Steps

    read = TypeAdapter(Steps)
    return [read.validate_python(piece["steps"][way]).line(unit) for way in ("length", "width")]  # type: ignore[arg-type]


def purchase(document: Table, by_pattern: dict[str, list[Path_]], rng: Random) -> str:
    """More or less bought, at another price, or of another step, and paid for."""
    layouts = [one for one in document["layouts"] if one["buy"]]
    if not layouts:
        return ""
    layout = rng.choice(layouts)
    buy, unit = layout["buy"], {"in": 36.0, "cm": 100.0, "mm": 1000.0}[document["units"]]
    change = rng.choice(("more", "less", "price", "allowance", "squaring"))
    if change in ("more", "less"):
        buy["total"] += buy["step"] * (rng.randint(1, 80) if change == "more" else -1)
    elif change == "price" and buy["price"]:
        buy["price"] = round(buy["price"] + rng.choice((-1, 0.5, 10)), 2)
    else:
        gone = layout["squaring"] if change == "squaring" else rng.choice((1.0, 9.0))
        buy["allowances"] = [
            {**one, "length": one["length"] - gone if number == 0 else one["length"]}
            for number, one in enumerate(buy["allowances"])
        ]
        if change == "squaring":
            layout["squaring"] = 0.0
        needed = layout["length"] + sum(one["length"] for one in buy["allowances"])
        buy["total"] = -(-needed // buy["step"]) * buy["step"]
    buy["quantity"] = round(buy["total"] / unit, 9)
    if buy["price"] is not None:
        buy["cost"] = round(buy["quantity"] * buy["price"] + 1e-9, 2)
        costs = [one["buy"]["cost"] for one in layouts]
        document["cost"] = None if None in costs else round(sum(costs), 2)
    return f"purchase, {change}"


def operation(document: Table, by_pattern: dict[str, list[Path_]], rng: Random) -> str:
    """An operation of the sewing left out, done twice, or done later."""
    steps = [step for one in document["sewing"] for step in one["steps"] if step["operations"]]
    if not steps:
        return ""
    step = rng.choice(steps)
    place = rng.randrange(len(step["operations"]))
    one, how = step["operations"][place], rng.choice(("without", "twice", "last"))
    if how == "twice":
        step["operations"].insert(place, copy.deepcopy(one))
    else:
        del step["operations"][place]
    if how == "last":
        rng.choice(steps)["operations"].append(one)
    return f"operation {one['do']} {how}"


def nap_rewritten(document: Table, by_pattern: dict[str, list[Path_]], rng: Random) -> str:
    """Nothing of nap or match is said any more, and one piece lies the other way or elsewhere."""
    for piece in document["pieces"]:
        piece |= {"nap": "none", "arrow_group": None, "match": None, "turnable": True}
    for layout in document["layouts"]:
        layout |= {"repeat": None, "start": None}
    layout = rng.choice([one for one in document["layouts"] if one["placements"]])
    laid = rng.choice(layout["placements"])
    laid["arrow"] = {"up": "down", "down": "up", "left": "right", "right": "left"}[laid["arrow"]]
    faces = {window["fabric"]: window for window in document["order"]["windows"]}
    fabric = next(one for one in document["order"]["fabrics"] if one["key"] == layout["fabric"])
    panel = any(p["id"] == laid["piece"] and p["role"] == "panel" for p in document["pieces"])
    napped = fabric.get("nap") == "one-way" and fabric["key"] in faces and panel
    return f"nap rewritten of {'a panel with a nap' if napped else 'a piece'}"


def window_dropped(document: Table, by_pattern: dict[str, list[Path_]], rng: Random) -> str:
    """All of one window gone but its order."""
    name = rng.choice(document["order"]["windows"])["name"]
    gone = {piece["id"] for piece in document["pieces"] if piece["window"] == name}
    document["pieces"] = [piece for piece in document["pieces"] if piece["id"] not in gone]
    for key in ("panels", "headings", "sewing", "sundries"):
        document[key] = [one for one in document[key] if one.get("window") != name]
    for layout in document["layouts"]:
        layout["placements"] = [one for one in layout["placements"] if one["piece"] not in gone]
    return "a window dropped"


AGREEING = (piece_larger, purchase, operation, nap_rewritten, window_dropped)


def tampered(document: Table, by_pattern: dict[str, list[Path_]], rng: Random) -> tuple[Table, str]:
    """A changed document and what was changed; empty where nothing came of it."""
    made = copy.deepcopy(document)
    change = one_entry if rng.random() < 0.7 else rng.choice(AGREEING)
    try:
        return made, change(made, by_pattern, rng)
    except (KeyError, ValueError, TypeError, IndexError):
        return made, ""


def accepted(document: Table) -> bool:
    """Whether the check finds nothing wrong with a document."""
    try:
        return not check_plan_document(document)
    except NestingError:
        return False


def excused(change: str) -> bool:
    """Whether a change that passed is listed as one of no consequence."""
    return any(re.fullmatch(known, change) for known in OF_NO_CONSEQUENCE)


def run(cases: int, seed: int) -> tuple[int, list[int]]:
    """How many changes were tried, and the seeds of those that pass and should not."""
    documents = samples()
    paths = []
    for document in documents:
        by_pattern = defaultdict[str, list[Path_]](list)
        for path in leaves(document):
            by_pattern[pattern(path)].append(path)
        paths.append(dict(by_pattern))
    tried, wrong, passed = 0, list[int](), Counter[str]()
    for number in range(seed, seed + cases):
        rng = Random(number)
        which = rng.randrange(len(documents))
        made, change = tampered(documents[which], paths[which], rng)
        if not change:
            continue
        tried += 1
        if accepted(made):
            passed[re.sub(r": .*", "", change)] += 1
            if not excused(change):
                wrong.append(number)
                print(f"    WRONG {number}: {change}", flush=True)
    for change, count in sorted(passed.items()):
        print(f"passed {count:4} {change}")
    print(f"{sum(passed.values())} of {tried} changes passed")
    return tried, wrong
