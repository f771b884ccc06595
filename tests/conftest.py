"""Tests run on compiled kernels from the start, so that work budgets mean what they say in seconds too."""

import os

os.environ.setdefault("NESTING_COMPILED", "1")
