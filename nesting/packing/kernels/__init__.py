"""The inner loops of the search, on flat arrays of whole numbers.

Written so that they run as they stand on lists, and compiled on numpy arrays (`compiled`),
with the same result: only whole numbers, no sets, no slices, a random number generator of their own.

Arrays are flat. ``W`` is the strip's width; ``wide[2k + t]`` and ``long[2k + t]`` are the size of kind ``k``
laid upright (t = 0) or turned (t = 1), ``may[2k + t]`` whether it may lie that way. ``order`` names the kind
of each copy in turn; results ``px, py, pt`` are place and turn of the copy at the same index of ``order``.
"""
