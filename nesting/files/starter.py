"""A job to begin with: a reading corner, every important key explained."""

from __future__ import annotations

import re
from typing import Final

from nesting.headings import HEADINGS, USUAL
from nesting.units import Unit

_TEMPLATE: Final = """\
# A job for the cutting table. Lines that begin with # are remarks; delete what you do not need.
# A bare number is a length in `units`. Fractions and other units go in quotes:
# "95 1/2", "2.5 yd", "213 cm".
# Check this file:        nesting check JOB.toml
# Work out the cutting:   nesting plan JOB.toml

title = "Reading corner"
units = "{units}"                       # in, cm or mm
currency = "{currency}"
# squaring = {squaring}                    # cut off to square the end of every bolt; so it is if left out
# cutting = "across-first"        # straight cuts from edge to edge only; says how much fabric that costs
# table = {{ length = {table}, width = {table_width} }}   # your cutting table: shows where to fold the fabric
# safety = "usual"                # a margin to buy: {sold_one} or one repeat; or "10 %", or "none"
# windows = "windows.csv"         # windows measured into a spreadsheet, one a row: nesting start --csv


# ---- Fabrics. The word after "fabric." is the name you use for it further down. ----

[fabric.face]
name = "Moss green velvet"
nap = "one-way"                   # one-way: pile, one-way prints; two-way: shade only; none: lies any way
arrow = "up"                      # where the smooth stroke of the pile points on the hanging panel
# repeat = {{ length = {repeat}, width = {across}, drop = 0.5, drop_from = "column" }}   # a print, half drop
# measured_repeat = {measured}         # as it measures on the bolt, where the label says otherwise
# motif = {{ height = {motif}, at = "hem" }}    # how high the foot of the pattern shows; or from the "top"
# hidden_nap = "free"             # lets facings and hidden tabs lie against the pile: saves fabric
# shrinkage = {{ length = 3, width = 1, washed = "before" }}      # percent; washed before or after cutting

[[fabric.face.bolt]]               # the first bolt is the one planned for; add more to compare their widths
width = {width}                       # selvage to selvage, measured flat and without pulling
usable = {usable}                      # what you would cut from: without the selvages
price = {price}                      # for one {sold} of length
sold_by = "{step}"                # purchases are rounded up to this step
# match = {match}                      # prints: across from seam line to seam line; measure it on the fabric

# [[fabric.face.bolt.on_hand]]     # a length you already own; then nothing is bought unless top_up = true
# length = {remnant}
# lot = "A 12"                    # a window is cut from one lot
# flaws = [{{ at = {flaw_at}, length = {flaw}, from_left = {flaw_left}, width = {flaw} }}]

[fabric.lining]
name = "Cotton sateen lining"

[[fabric.lining.bolt]]
width = {width}
price = {lining_price}
sold_by = "{step}"


# ---- Windows. Repeat the whole block for the next one. ----

[[window]]
name = "Garden side"
room = "Reading corner"           # panels of one room hang level and their nap runs alike
count = 1                         # how many windows exactly like this
rod = {rod}                          # the rod, not the glass: from end to end of where fabric hangs
rod_diameter = {diameter}            # the thickest section
finished_length = {finished}        # top edge to hem edge of the finished panel; instead of this you can give
# rod_height = {height}                # floor to the top of the rod, always, and
# clearance = {clearance}                # how far the hem stays off the floor
# hangs_from = "rings"            # pleats on rings, with rod_height and
# ring_drop = {drop}              # top of the rod to the bottom of the ring's eye or clip; measure it
# eye_height = {eye}                # pleats on a track, instead of rod_height: floor to the hole for the hook
heading = "{heading}"              # or {headings}
fullness = 1.5                    # flat fabric over rod length; hems come on top
draw = "pair"                     # pair, left, right, or fixed (then add covers = rod length of each panel)
fabric = "face"
lining = "lining"                 # leave out for unlined panels
widths = "exact"                  # part-widths: exact, or rounded up to half or whole widths
# least_part_width = {least}             # no narrower strip than this may show
# part_at = "outer"               # the part-width: outer edge, leading edge, or free (to save fabric)
# part_width = "free"             # it may be cut wider to save fabric; "least": as narrow as it comes
# part_pieces = 2                 # it may be pieced of two strips, with one seam more
# returns = {returns}                     # from the rod back to the wall, each side
bottom_hem = {{ turn = {hem}, turns = 2 }}
side_hem = {{ turn = {side}, turns = 2 }}  # or "selvage", or {{ leading = ..., outer = ... }}
seam = {seam}                        # seam allowance
# working = {working}                     # extra length on every panel width, cut off before sewing
tab = {{ width = {tab}, spacing = {spacing} }}
facing = {{ depth = {facing}, fabric = "lining" }}   # behind the top edge; from lining it is less bulky

[[window.tieback]]                # finished size; two are made
length = {tie}
width = {tie_width}
count = 2


# ---- Anything else from the same fabric; sizes are cut sizes. ----

[[extra]]
name = "Cushion front"
fabric = "face"
width = {cushion}
length = {cushion}
count = 2
optional = true                   # only from what would be left over
"""

_INCHES: Final = {
    "table": "72", "table_width": "36",
    "units": "in", "currency": "$", "squaring": "2", "repeat": "25.25", "across": "26.5", "width": "54",
    "usable": "53", "price": "32.00", "sold": "yard", "step": "1/8 yd", "match": "53", "remnant": "150",
    "flaw_at": "60", "flaw": "2", "flaw_left": "12", "lining_price": "9.50", "rod": "80",
    "diameter": '"1 3/8"', "finished": '"87 1/2"', "height": '"87 1/4"', "clearance": '"1/2"', "least": "6",
    "returns": "0", "hem": "4", "side": "1", "seam": '"1/2"', "working": "1", "tab": "2", "spacing": "6",
    "measured": "25.375", "motif": "6", "sold_one": "1 yd", "facing": "4",
    "drop": "2", "eye": '"86 1/2"', "tie": "26", "tie_width": "4", "cushion": "17",
}  # fmt: skip
_CENTIMETERS: Final = {
    "table": "180", "table_width": "90",
    "units": "cm", "currency": "€", "squaring": "5", "repeat": "64", "across": "68.5", "width": "140",
    "usable": "137", "price": "29.00", "sold": "meter", "step": "0.1 m", "match": "137", "remnant": "380",
    "flaw_at": "150", "flaw": "5", "flaw_left": "30", "lining_price": "8.50", "rod": "168",
    "diameter": "3.5", "finished": "222.5", "height": "222", "clearance": "1.5", "least": "15",
    "returns": "0", "hem": "10", "side": "2.5", "seam": "1.5", "working": "2", "tab": "5", "spacing": "15",
    "measured": "64.2", "motif": "15", "sold_one": "1 m", "facing": "10",
    "drop": "5", "eye": "220", "tie": "66", "tie_width": "10", "cushion": "43",
}  # fmt: skip
#: What stands before a remark on the same line, so that the remarks can be lined up.
_REMARK: Final = re.compile(r"^(.*?\S) {2,}# ", re.MULTILINE)
#: Values that are no length in centimeters.
_PLAIN: Final = (
    "units",
    "currency",
    "price",
    "sold",
    "sold_one",
    "step",
    "lining_price",
    "heading",
    "headings",
)


def starter_job(units: Unit = "in") -> str:
    """A commented job file that can be planned as it stands.

    Parameters
    ----------
    units
        ``in`` for inches and yards; ``cm`` or ``mm`` for metric sizes of their own, not converted inches.
    """
    values: dict[str, str] = dict(_INCHES if units == "in" else _CENTIMETERS)
    others = (name for name in HEADINGS if name != USUAL)
    values |= {"heading": USUAL, "headings": ", ".join(others)}
    if units == "mm":
        values |= {key: _tenfold(values[key]) for key in values if key not in _PLAIN}
        values["units"] = "mm"
    return _REMARK.sub(lambda line: f"{line[1]:<34}  # ", _TEMPLATE.format(**values))


def _tenfold(centimeters: str) -> str:
    return f"{float(centimeters) * 10:g}"
