"""What students ask, answered with the job's own numbers."""

from __future__ import annotations

from collections.abc import Iterator

from nesting.headings.hanging import hanger
from nesting.names import plural_of
from nesting.packet.facts import WindowFacts, laid_out, listed, part_words, plural
from nesting.packet.model import Paragraph, Section
from nesting.pieces.piece import LAYERS
from nesting.plan.cut_rows import straight_cuts
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.selvages import seams_in_selvage
from nesting.units import INCH, TICKS_PER_MM, format_length, round_nearest

_ALWAYS = (
    (
        "Why the rod, not the window?",
        "The fabric hangs on the rod and stacks beside the glass. Frames are seldom square and tell "
        "nothing of where the rod will be.",
    ),
    (
        "Why are hems outside the fullness?",
        "A hem lies flat and doubled and makes no fold. Were it counted in, a panel would hang less full "
        "the deeper its hems are.",
    ),
    (
        "What if label and fabric disagree?",
        "Stop. Measure the piece, find its size and its place on the marker, and trust the chalk line "
        "that two people have read. Nothing else is cut until it is found.",
    ),
    (
        "Which panel is left?",
        "The one on your left as you stand in the room and look at the window. Seen from behind, it is on "
        "the right.",
    ),
    (
        "Face up or face down?",
        "Fabric lies right side up for this marker, the squared end at your left. Face down, everything is "
        "mirrored: left panels become right ones, and a drop runs the wrong way.",
    ),
)

_PILE = (
    "Which way is the pile up, and how do I feel it?",
    "Stroke the fabric along the selvage with the flat hand: one way it is smooth, the other way it "
    "resists. Hold it up both ways in the room and choose; all panels of a room then hang alike. The "
    "arrow on each piece points to the top of the drape.",
)
_LEVELED = (
    "Hem before or after hanging?",
    "Baste it before, level and sew it after two or three days on the rod, corners last: fabric drops, "
    "and not evenly.",
)
_FOLDING = (
    "How do I space {} by folding?",
    "Pin the first and the last at their marks. Fold edge to edge for the middle, and fold again for "
    "quarters where the number of gaps allows. With any other number, and where marks keep clear of a seam, "
    "measure from the table, always from the left edge.",
)


def questions(plan: Plan, facts: tuple[WindowFacts, ...]) -> Section:
    """Questions with answers."""
    asked = [*_of_windows(facts), *_of_fabrics(plan)]
    if any(each.pile for each in facts):
        asked.append(_PILE)
    # Where spaces are listed with the marks these take up fabric, and folding would not find them.
    even = (head for head in plan.headings if all(spot.kind != "space" for spot in head.spots))
    spaced = dict.fromkeys(plural_of(spot.kind) for head in even for spot in head.spots)
    if spaced:
        asked.append((_FOLDING[0].format(listed(list(spaced))), _FOLDING[1]))
    if any(each.making.bottom_hem.allowance for each in facts):
        asked.append(_LEVELED)
    blocks = tuple(Paragraph(answer, question) for question, answer in (*asked, *_ALWAYS))
    return Section("questions", "Questions and answers", blocks)


def _of_windows(facts: tuple[WindowFacts, ...]) -> Iterator[tuple[str, str]]:
    if not facts:
        return
    said = []
    for each in facts:
        above = round_nearest(each.style.above_hanger(each.making).exact, each.making.grid)
        side = f"{each.making.say(abs(above))} {'above' if above > 0 else 'below'}" if above else "at"
        length = each.making.say(each.making.finished.total)
        said.append(
            f"{each.window.name}: the top edge of the fabric hangs {side} the {hanger(each.making)}; the "
            f"finished length of {length} counts from that edge"
        )
    how = (
        "Rod height is always from the floor to the top of the rod. What hangs between the rod and the "
        "fabric is measured by itself."
    )
    yield "Measured from the top of the rod or from the ring?", f"{how} {'; '.join(said)}."
    joined = [each for each in facts if any(panel.seams for panel in each.panels)]
    if joined:
        yield (
            "Where does the seam go, and why are there more widths than panels?",
            f"A panel wider than the bolt is joined of widths. {_where_joined(joined)} Two part-widths may "
            "come from one width where both fit side by side; that is how two panels can take three.",
        )
    heaviest = max(facts, key=lambda each: sum(panel.flat for panel in each.panels))
    yield (
        "Will the bracket hold?",
        "Weigh the bolt on a scale before cutting: fabric and lining together hang on the rod of "
        f"{heaviest.window.name}. Choose brackets and wall anchors for at least twice that, with one "
        "bracket more in the middle of a rod longer than about 5 ft (1.5 m).",
    )


def _where_joined(joined: list[WindowFacts]) -> str:
    """Where the plan put the part-widths, window by window."""
    said = dict[str, list[str]]()
    for each in joined:
        words = dict.fromkeys(part_words(each, panel) for panel in each.panels if panel.seams)
        said.setdefault(" ".join(words), []).append(each.window.name)
    return " ".join(f"{listed(names)}: {words}" for words, names in said.items())


def _of_fabrics(plan: Plan) -> Iterator[tuple[str, str]]:
    washed = [fabric for fabric in plan.job.fabrics if fabric.shrinkage is not None]
    said = {
        "before": "wash the whole length before cutting",
        "after": "cut unwashed, with the shrinkage added; then wash the cut pieces before they are sewn",
    }
    yield (
        "Wash first?",
        "; ".join(f"{fabric.title}: {said[fabric.shrinkage.washed]}" for fabric in washed if fabric.shrinkage)
        + "."
        if washed
        else "This plan allows for no shrinkage: the drapes are dry-cleaned or never washed. If they "
        "will be washed, wash a test square, measure it before and after, enter the shrinkage and plan "
        "again: the cuts change.",
    )
    yield "Trim or clip the selvage?", _selvages(plan)
    for layout in laid_out(plan):
        yield from _narrower(plan, layout)
        yield from _shorter(plan, layout)
        yield from _pattern(plan, layout)
    yield from _too_short(plan)


def _selvages(plan: Plan) -> str:
    """Fabric by fabric: cut off, in the seams, or a hem."""
    said = dict[str, dict[str, None]]()
    for layout in laid_out(plan):
        if layout.hem_edge is not None:
            words = f"the {layout.hem_edge} selvage is the hem and stays; the other is cut off"
        elif layout.edge_to_edge:
            words = "it stays where it is the side of a panel, and is cut off everywhere else"
        elif seams_in_selvage(layout):
            words = (
                "the seams take it up: clip it every 4 in (10 cm) once a seam is sewn, so that it cannot "
                "draw the seam up"
            )
        else:
            words = "cut it off: with it on, a piece is wider than its label, and its seam lies wrong"
        said.setdefault(words, {})[layout.fabric.title] = None
    return " ".join(f"{listed(list(titles))}: {words}." for words, titles in said.items())


def _narrower(plan: Plan, layout: FabricLayout) -> Iterator[tuple[str, str]]:
    """What a bolt that turns out narrower would change."""
    unit = plan.job.units
    step = INCH // 2 if unit == "in" else 10 * TICKS_PER_MM
    used = max((laid.x + laid.width for laid in layout.placements), default=0)
    at_edge = sorted(
        {laid.piece.name for laid in layout.placements if laid.x + laid.width > layout.usable - step}
    )
    name = layout.fabric.title
    question = f"{name} is {format_length(step, unit)} narrower than printed: which numbers change?"
    if not at_edge:
        spare = format_length(layout.usable - used, unit)
        yield question, f"None: {spare} across the bolt are not used by any piece."
        return
    shown = listed(at_edge[:4]) + (f" and {len(at_edge) - 4} more" if len(at_edge) > 4 else "")
    yield (
        question,
        f"These reach the edge: {shown}. Correct the width in the job and plan again; part-widths, seams "
        "and perhaps the number of widths change, so nothing is cut before.",
    )


def _shorter(plan: Plan, layout: FabricLayout) -> Iterator[tuple[str, str]]:
    """What an inch off every length would save."""
    unit = plan.job.units
    longest = _longest(layout)
    if not longest:
        return
    one = format_length(INCH if unit == "in" else 20 * TICKS_PER_MM, unit)
    repeat = layout.fabric.repeat
    if repeat is None:
        rows = plural(
            len(straight_cuts(layout)), "stretch between straight cuts", "stretches between straight cuts"
        )
        saved = f"It would save about {one} in each of {rows}."
    else:
        over = longest % repeat.length or repeat.length
        saved = (
            f"The longest cut of {format_length(longest, unit)} takes {longest / repeat.length:.2f} "
            f"repeats. Only a cut {format_length(over, unit)} shorter would save a whole repeat; anything "
            "less leaves the same waste."
        )
    yield f"{layout.fabric.title}: what if each cut were {one} shorter?", saved


def _too_short(plan: Plan) -> Iterator[tuple[str, str]]:
    """What a cut too short costs, fabric by fabric."""
    unit, left = plan.job.units, []
    for layout in laid_out(plan):
        rest = 0 if layout.buy is None else layout.buy.total - layout.buy.needed
        longest = _longest(layout)
        if longest:
            left.append(
                f"{layout.fabric.title}: {format_length(rest, unit)} of the purchase are left over, a new "
                f"full cut takes {format_length(longest, unit)}"
            )
    if left:
        yield (
            "How accurate must I be, and what if I cut one short?",
            "A thread or two at the edge is nothing; the tolerance stands on the table sheet. A cut too "
            "short can still become a smaller piece. A shallower hem, the same on every panel, is the "
            f"usual rescue: agree on it before the second panel is cut. {'; '.join(left)}.",
        )


def _longest(layout: FabricLayout) -> int:
    """The longest panel or lining on this bolt; 0 where none is cut from it."""
    return max((laid.piece.length for laid in layout.placements if laid.piece.role in LAYERS), default=0)


def _pattern(plan: Plan, layout: FabricLayout) -> Iterator[tuple[str, str]]:
    repeat = layout.fabric.repeat
    if repeat is None:
        return
    unit = plan.job.units
    lettered = sorted({laid.letter for laid in layout.placements if laid.letter})
    letters = (
        f" The {'letters' if len(lettered) > 1 else 'letter'} {listed(lettered)} "
        f"{'tell' if len(lettered) > 1 else 'tells'} how far the drop has stepped the pattern on a cut; at "
        "each leading edge of a room the letter is the same."
        if lettered
        else ""
    )
    yield (
        f"{layout.fabric.title}: where does the repeat start{', A or B' if len(lettered) > 1 else ''}?",
        "Choose one point of the pattern, mark it at the selvage at the first cut, and find it again every "
        f"{format_length(repeat.length, unit)}. The lines of dashes and dots on the marker are that "
        f"point.{letters}",
    )
