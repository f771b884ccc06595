"""The inner loops of the search, on flat arrays of whole numbers.

Written so that they run as they stand on lists, and compiled on numpy arrays (`compiled`),
with the same result: only whole numbers, no sets, no slices, a random number generator of their own.

Arrays are flat, and handed over as named tuples of those that belong together. ``W`` is the strip's width;
``order`` names the kind of each copy in turn. A kernel makes no arrays, and says by its annotations what it
is compiled for. Names of those called from outside end as `compiled` says; the others become part of them.
"""
