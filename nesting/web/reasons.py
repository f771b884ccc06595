"""Why a default is what it is, in a sentence, for those who want to know before they change it.

Common practice of the trade as gathered in the project's own notes; no source names one of them alone.
"""

from __future__ import annotations

from typing import Final

#: By table and key of the job file.
WHY: Final[dict[str, str]] = {
    "job.squaring": (
        "The shop's end is seldom square. This much is cut off to square it, and is bought with the rest."
    ),
    "job.units": (
        "Everything you type without a unit counts in this one. A length that names its own unit keeps it."
    ),
    "fabric.nap": (
        "Pile and one-way prints look lighter or darker when a panel hangs the other way, so all pieces "
        "lie alike."
    ),
    "fabric.arrow": (
        "Stroke the fabric: the smooth way decides. Up takes light in and looks deeper, down wears better. "
        "One choice for a room."
    ),
    "fabric.weight": "Sheers want more fullness and deeper hems than heavy fabric to hang well.",
    "fabric.hem_edge": (
        "Only where the bottom hem is the selvage and one of the two is weighted or bordered. Right side up, "
        "squared end toward you."
    ),
    "fabric.measured_repeat": "Where the fabric measures otherwise than its label says, your tape counts.",
    "fabric.hidden_nap": "Facings and hidden tabs do not show. Set free, they fill fabric that is left over.",
    "fabric.level": (
        "The pattern sits at one height all round the room: measured from the hem, the top or the floor."
    ),
    "repeat.length": (
        "Measure from one motif to the next along the selvage, over several repeats, and divide."
    ),
    "repeat.width": (
        "Measure across from one motif to the same one again. Often the fabric holds it once or twice."
    ),
    "repeat.drop": (
        "Straight match: motifs side by side stand at one height. Half drop: the pattern steps up by half a "
        "repeat from one column to the next on its right."
    ),
    "repeat.drop_from": (
        "Hold two columns of the pattern side by side. Where their motifs stand at one height, the step "
        "comes only at the selvage."
    ),
    "bolt.width": "As the label states it, before washing, from selvage to selvage or of the print.",
    "bolt.price": "Leave it empty to plan without the cost.",
    "bolt.usable": "Selvages pull and pucker, so they are left out of what is cut from.",
    "bolt.match": (
        "Widths of a print meet in the pattern at the seam line. Labels name the printed width, with the "
        "seam allowances in the selvage. Measure this on the fabric itself."
    ),
    "bolt.on_hand": "Lengths you have already. Nothing more is bought unless you allow it below.",
    "bolt.sold_by": "The shop cuts in steps, and what is needed is rounded up to the next one.",
    "window.rod": (
        "The fabric hangs on the rod, not on the glass: measure from end to end of where it is to hang."
    ),
    "window.rod_diameter": (
        "Tabs, pockets and rings must go over the rod. Measure where it is thickest, over any joint."
    ),
    "window.rod_depth": "Leave it empty for a round rod: a flat one is gone around in another way.",
    "window.hangs_from": (
        "Heights are measured to what carries the drape: the top of the rod, the eye of a ring, or the hole "
        "of a track that the hook enters."
    ),
    "window.rod_height": (
        "Always from the floor to the top of the rod, whatever hangs between the rod and the fabric."
    ),
    "window.ring_drop": (
        "Rings differ by inches. Put one on the rod and measure from the top of the rod to the bottom of its "
        "eye, or of its clip."
    ),
    "window.eye_height": "The hook decides where a pleated drape hangs, not the track around it.",
    "window.finished_length": (
        "Top edge of the fabric to the hem edge, as it will hang. Measure left, center and right; the "
        "shortest counts."
    ),
    "window.clearance": (
        "Hems that brush the floor soil and hang badly; a negative value lets the fabric puddle on the floor."
    ),
    "window.heading": "How the top is made. It decides how full the drape is and what it hangs from.",
    "window.fullness": "Flat fabric over the length of the rod. Hems come on top, for a hem makes no fold.",
    "window.fullness_on": "Whether returns and overlap lie flat or are gathered like the rest.",
    "window.draw": (
        "A pair parts in the middle, a single panel draws to one side, fixed panels frame the window and do "
        "not close."
    ),
    "window.part_at": (
        "A part-width shows least at the outer edge. Free: wherever that takes the least fabric."
    ),
    "window.returns": "Pleated drapes turn the corner to the wall, which keeps the light out.",
    "window.overlap": "The two panels of a pair cross in the middle, so that no gap opens.",
    "window.least_part_width": "A narrower strip looks like a patch and is hard to sew on.",
    "window.bottom_hem": (
        "A deep double hem weighs the drape down and can be let out if the fabric draws up."
    ),
    "window.side_hem": "Turned twice, the raw edge is inside and the edge hangs straight.",
    "window.seam": "Enough to press open and to hold; a print needs it on both sides of the match.",
    "window.working": "Pile and prints creep under the shears. The extra is cut off before sewing.",
    "window.widths": (
        "Exact cuts the part-width that is needed; workrooms often round to a half or a whole width."
    ),
    "window.railroad": (
        "Wide fabric may lie sideways if the drop fits across it: no seams. Pile and prints stay upright."
    ),
    "window.count": "Windows alike in everything are ordered once, with their number.",
    "window.room": "Panels of one room hang level in the pattern and lie the same way.",
    "window.lining": (
        "Keeps the sun off the face, the folds round, and heat in. It is tucked under the side hems."
    ),
    "window.lining_hem": "The lining hangs shorter than the face, with a hem of its own.",
    "window.lining_gap": "Far enough that no lining shows below, and not so far that the hem's top does.",
    "window.pair": (
        "Alike: both leading edges show the same part of the pattern. Continuous: it runs on when closed."
    ),
    "window.facing": "Covers the raw top edge and the ends of the tabs behind it.",
    "window.tab": (
        "The rod's circumference decides how long a tab is; the spacing decides how the top folds."
    ),
    "window.heading_depth": "The stiffened or standing part above the hooks, rings or rod.",
    "window.pocket": "Half the rod's circumference and a fifth more, so that the rod slides in.",
    "window.take_up": "Going over the rod takes this much from the length.",
    "extra.optional": (
        "Cut only if the fabric that is bought anyway has room for it: nothing is bought for it."
    ),
    "extra.turnable": "A piece that may turn a quarter is easier to fit in.",
    "extra.matched": "It then shows the same part of the pattern as the panels do.",
}


def why(table: str, key: str) -> str:
    """The reason for one key's default; empty where there is none to tell."""
    return WHY.get(f"{table}.{key}", "")
