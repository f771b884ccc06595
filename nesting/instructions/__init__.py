"""Sewing orders in words: what a hand reads is made from the operations that were sewn, and nothing else."""

from nesting.instructions.line import Line, Telling, sentences
from nesting.instructions.manner import Manner, fabric_manner
from nesting.instructions.step import TELLERS, TITLES, ToldStep, told, told_steps

__all__ = [
    "TELLERS",
    "TITLES",
    "Line",
    "Manner",
    "Telling",
    "ToldStep",
    "fabric_manner",
    "sentences",
    "told",
    "told_steps",
]
