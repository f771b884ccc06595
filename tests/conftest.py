"""Tests run on compiled kernels from the start, so that work budgets mean what they say in seconds too."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import settings

# No test may depend on how long something takes.
settings.register_profile("nesting", deadline=None)
settings.load_profile("nesting")

os.environ.setdefault("NESTING_COMPILED", "1")


@pytest.fixture
def cluster() -> Iterator[Any]:
    """Two workers of a cluster on this machine, which start again when they die."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None
    ) as running:
        yield running
