"""Sewing in software: operations with their geometry, and the works they make of the cut pieces."""

from nesting.sewing.folding import Chalk, Fold, Sew, SewTube
from nesting.sewing.hung import HungPanel, Rod, hang
from nesting.sewing.joining import Join, LayOut, Overcast, Trim, Wash
from nesting.sewing.layering import FaceTop, LayOn, LineRound
from nesting.sewing.operation import Moment, Operation, Sewing, SewingStep, sew, sewn
from nesting.sewing.setting import Attach, DrawUp, Insert, PleatUp, SetAlong, Stitch
from nesting.sewing.work import Bench, Edge, LaidOn, SewingError, Work, cut_piece

#: Every operation, by what it is called in a plan.
OPERATIONS = {
    kind.word: kind
    for kind in (
        Wash, Trim, Overcast, LayOut, Join, Chalk, Fold, Sew, SewTube, Insert, Attach, SetAlong, Stitch,
        PleatUp, DrawUp, FaceTop, LayOn, LineRound,
    )
}  # fmt: skip

__all__ = [
    "OPERATIONS",
    "Attach",
    "Bench",
    "Chalk",
    "DrawUp",
    "Edge",
    "FaceTop",
    "Fold",
    "HungPanel",
    "Insert",
    "Join",
    "LaidOn",
    "LayOn",
    "LayOut",
    "LineRound",
    "Moment",
    "Operation",
    "Overcast",
    "PleatUp",
    "Rod",
    "SetAlong",
    "Sew",
    "SewTube",
    "Sewing",
    "SewingError",
    "SewingStep",
    "Stitch",
    "Trim",
    "Wash",
    "Work",
    "cut_piece",
    "hang",
    "sew",
    "sewn",
]  # fmt: skip
