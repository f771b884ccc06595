"""The kernels compiled, once a compiler has had time to; until then, as they stand.

Numba compiles the functions of `nesting.packing.kernels` to machine code and keeps the result on disk. The
first time after an installation this takes some ten seconds, and no plan waits for it: a process of its own
does the work, and the search goes on with the plain functions meanwhile. Both give the same layouts, since
they are the same functions on whole numbers.

`NESTING_COMPILED=0` in the environment keeps to the plain functions; `=1` compiles at once and waits.
"""

from __future__ import annotations

import contextlib
import importlib
import importlib.util
import logging
import os
import subprocess
import sys
from collections.abc import Callable, Iterable, Sequence
from types import ModuleType
from typing import Any

from nesting.packing.kernels import fill, numbers, skyline, tight

_LOG = logging.getLogger(__name__)

#: Module by module, each function after those it calls.
NAMES: tuple[tuple[ModuleType, tuple[str, ...]], ...] = (
    (numbers, ("draw",)),
    (skyline, ("skyline_pass", "skyline_search")),
    (tight, ("tight_search",)),
    (fill, ("fits_group", "settle", "fill_pass", "fill_search")),
)
Functions = dict[str, Callable[..., int]]
_PLAIN: Functions = {name: getattr(module, name) for module, names in NAMES for name in names}


class Kernels:
    """The kernels in the form that is ready, and the arrays that go with it.

    One object for the process: ``KERNELS``.
    """

    def __init__(self) -> None:
        self._functions = _PLAIN
        self._compiler: subprocess.Popen[bytes] | None = None
        self._settled = os.environ.get("NESTING_COMPILED") == "0"
        if os.environ.get("NESTING_COMPILED") == "1":
            self._load()

    @property
    def compiled(self) -> bool:
        """Whether machine code is in use."""
        return self._functions is not _PLAIN

    def prepare(self) -> None:
        """See to it that machine code will be ready; returns at once."""
        if self._settled or self._compiler is not None:
            return
        try:
            self._compiler = subprocess.Popen(
                [sys.executable, "-c", "from nesting.packing.compiled import compile_all; compile_all()"],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env=os.environ | {"NESTING_COMPILED": "0"},
                start_new_session=True,
            )
        except OSError as error:
            _LOG.info("no process for the compiler: %s", error)
            self._settled = True

    def refresh(self) -> bool:
        """Change over to machine code if it has become ready; True when it is in use."""
        if not self._settled and self._compiler is not None and self._compiler.poll() is not None:
            if self._compiler.returncode == 0:
                self._load()
            self._settled = True
        return self.compiled

    def _load(self) -> None:
        self._settled = True
        try:
            self._functions = compile_all()
        except Exception as error:  # without a compiler the plain functions do
            _LOG.info("kernels stay as they stand: %s", error)

    def array(self, values: Iterable[int]) -> Any:
        """Whole numbers in the form the kernels want."""
        listed = list(values)
        if not self.compiled:
            return listed
        import numpy as np

        return np.array(listed, dtype=np.int64)

    def zeros(self, count: int) -> Any:
        """That many zeros."""
        return self.array([0] * count)

    @property
    def functions(self) -> Functions:
        """The kernels by name; hold on to them as long as to the arrays made for them."""
        return self._functions


def compile_all() -> Functions:
    """Every kernel compiled, from disk where that was kept.

    Raises
    ------
    ImportError
        Numba is not installed.
    """
    if os.environ.get("NESTING_COMPILED") == "0":
        with contextlib.suppress(OSError, AttributeError):
            os.nice(10)
    numba = importlib.import_module("numba")
    compiled: Functions = {}
    for module, names in NAMES:
        copy = _copy_of(module)
        for name in names:
            # Functions find one another in their module's namespace, so those they call go in first.
            vars(copy).update(compiled)
            compiled[name] = numba.njit(cache=True, nogil=True)(getattr(copy, name))
    _warm(compiled)
    return compiled


def _copy_of(module: ModuleType) -> ModuleType:
    """The module once more, so that the plain functions stay as they are."""
    spec = importlib.util.find_spec(module.__name__)
    if spec is None or spec.loader is None:
        raise ImportError(f"{module.__name__} has no source")
    copy = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(copy)
    return copy


def _warm(functions: Functions) -> None:
    """Call each kernel once, which compiles it or brings it from disk."""
    import numpy as np

    def array(values: Sequence[int]) -> Any:
        return np.array(values, dtype=np.int64)

    def zeros(count: int) -> Any:
        return np.zeros(count, dtype=np.int64)

    order, size, may = array([0, 1]), array([2, 0, 3, 0]), array([1, 0, 1, 0])
    state = array([1])
    places = [zeros(2) for _ in range(4)]
    skyline = [zeros(4) for _ in range(3)]
    functions["skyline_search"](
        5, order, size, size, may, 0, 9, 0, 1, state, *places, zeros(2), zeros(2), *skyline
    )  # fmt: skip
    rows = [zeros(7) for _ in range(7)]
    functions["tight_search"](
        5, 3, 2, array([0, 1]), array([2, 3]), array([2, 3]), array([0, 1]), array([1, 1]), 2, 9,
        *rows[:3], zeros(30), *rows[3:], *[zeros(30) for _ in range(3)],
    )  # fmt: skip
    kinds = [zeros(2) for _ in range(5)]
    boxes = [zeros(3) for _ in range(6)]
    functions["fill_search"](
        5, 7, 0, 0, -1, order, size, size, may, *kinds, zeros(1), zeros(0), zeros(0), 9, 99, 0, 1, state,
        *[zeros(2) for _ in range(5)], *boxes, zeros(0), zeros(1), zeros(2),
    )  # fmt: skip


KERNELS = Kernels()
"""The kernels of this process."""
