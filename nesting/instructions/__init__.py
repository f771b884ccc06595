"""Sewing orders in words: what a hand reads is made from the operations that were sewn, and nothing else."""

from nesting.instructions.line import Telling, ToldLine, sentences
from nesting.instructions.manner import Manner, fabric_manner
from nesting.instructions.measured import hung_length
from nesting.instructions.step import TELLERS, TITLES, ToldStep, told, told_steps

__all__ = [
    "TELLERS",
    "TITLES",
    "Manner",
    "Telling",
    "ToldLine",
    "ToldStep",
    "fabric_manner",
    "hung_length",
    "sentences",
    "told",
    "told_steps",
]
