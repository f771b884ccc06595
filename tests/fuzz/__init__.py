"""Random cases against a slower way to the same answer: ``python -m tests.fuzz rows --cases 20000 --seed 1``.

The suite tries a few of each kind; these runs try as many as they are asked for, and say how many agreed.
"""
