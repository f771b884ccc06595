"""The kernels compiled, once a compiler has had time to; until then, as they stand.

Numba compiles the functions of `nesting.packing.kernels` to machine code and keeps the result on disk, in the
user's cache folder: an installation may be one that nobody can write to. The first time after an installation
this takes some ten seconds, and no plan waits for it: a process of its own does the work, and the search goes
on with the plain functions meanwhile. Afterwards they are brought from disk, which is waited for: it takes
about a second, once in a process. Both forms give the same layouts, since they are the same functions on
whole numbers.

`NESTING_COMPILED=0` in the environment keeps to the plain functions; `=1` compiles at once and waits.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import importlib.metadata
import importlib.util
import logging
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any, Final

import platformdirs

from nesting.locking import locked
from nesting.packing.beside import beside
from nesting.packing.kernels import abreast, fill, fit, growing, heaviest, niches, numbers, row_cases, skyline

_LOG = logging.getLogger(__name__)

#: Module by module, each function after those it calls.
NAMES: tuple[tuple[ModuleType, tuple[str, ...]], ...] = (
    (numbers, ("draw",)),
    (skyline, ("leans_left", "fitness", "joined", "laid", "skyline_pass", "skyline_search")),
    (growing, ("raised", "beam_search")),
    (fit, ("fit_pass", "fit_search")),
    (abreast, ("abreast_search",)),
    (heaviest, ("heaviest_row",)),
    (niches, ("tight_search",)),
    (row_cases, ("place_of", "agree", "contiguous_search")),
    (fill, ("fits_group", "settle", "fill_pass", "fill_search")),
)
#: In the folder of the cache: all of it was compiled.
_MARK: Final = "complete"
_ORDER: Final = "from nesting.packing.kernels.compiled import compile_in_turn; compile_in_turn()"
#: Seconds between two looks whether another process has compiled it.
_LOOK: Final = 0.5
Functions = dict[str, Callable[..., int]]
_PLAIN: Functions = {name: getattr(module, name) for module, names in NAMES for name in names}


@dataclass(frozen=True, slots=True)
class KernelForm:
    """The kernels in one form, with the arrays that go with it.

    Another thread may change over to machine code at any moment; who holds on to one form never hands arrays
    of one to functions of the other.

    Attributes
    ----------
    functions
        The kernels by name.
    compiled
        Whether they are machine code.
    """

    functions: Functions
    compiled: bool

    def array(self, values: Iterable[int]) -> Any:
        """Whole numbers as these functions want them."""
        listed = list(values)
        if not self.compiled:
            return listed
        import numpy as np

        return np.array(listed, dtype=np.int64)

    def zeros(self, count: int) -> Any:
        """That many zeros."""
        if not self.compiled:
            return [0] * count
        import numpy as np

        return np.zeros(count, dtype=np.int64)

    def memory(self, count: int) -> Any:
        """The same for very many, which take up room only as they are written to."""
        import numpy as np

        blank = np.zeros(count, dtype=np.int64)
        # Plain functions want plain numbers, which a view gives.
        return blank if self.compiled else blank.data


class Kernels:
    """The kernels in the form that is ready by now.

    One object for the process: ``KERNELS``.

    Attributes
    ----------
    form
        Take it once for each use.
    """

    def __init__(self) -> None:
        self.form = KernelForm(_PLAIN, compiled=False)
        self._compiler: subprocess.Popen[bytes] | None = None
        self._lock = threading.Lock()
        self._settled = os.environ.get("NESTING_COMPILED") == "0"
        if os.environ.get("NESTING_COMPILED") == "1":
            self._load()

    @property
    def compiled(self) -> bool:
        """Whether machine code is in use."""
        return self.form.compiled

    def prepare(self, pulse: Callable[[], None] = lambda: None) -> None:
        """See to it that machine code will be ready.

        What is on disk is brought from there at once, in a second or two, ``pulse`` being called meanwhile;
        if that raises, the rest is brought by itself. Else this returns at once.
        """
        if self._settled or self._compiler is not None:
            return
        place = cache_folder()
        if place is None:
            _LOG.info("kernels stay as they stand: they cannot be kept anywhere")
            self._settled = True
            return
        if (place / _MARK).exists():
            self._settled = True
            beside(self._load, pulse)
            return
        try:
            self._compiler = subprocess.Popen(
                [sys.executable, "-c", _ORDER],
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
        """Begin to change over to machine code once the compiler is done; True when it is in use."""
        with self._lock:
            if self._settled:
                return self.compiled
            if self._compiler is not None and self._compiler.poll() is not None:
                self._settled = True
                if self._compiler.returncode == 0:
                    threading.Thread(target=self._load).start()
        return self.compiled

    def _load(self) -> None:
        self._settled = True
        try:
            self.form = KernelForm(compile_all(), compiled=True)
        except Exception as error:  # without a compiler the plain functions do
            _LOG.info("kernels stay as they stand: %s", error)


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
    numba, place = importlib.import_module("numba"), cache_folder()
    compiled: Functions = {}
    with _kept_in(place):
        for module, names in NAMES:
            copy = _copy_of(module)
            for name in names:
                # Functions find one another in their module's namespace, so those they call go in first.
                vars(copy).update(compiled)
                compiled[name] = numba.njit(cache=place is not None, nogil=True)(getattr(copy, name))
    _warm(compiled)
    if place is not None:
        with contextlib.suppress(OSError):
            (place / _MARK).touch()
    return compiled


def compile_in_turn() -> None:
    """What a process of its own does: compile every kernel, unless another process has done so by its turn.

    Many plans that are started before the first of them has compiled once had a compiler each, and all of
    them were the slower for it.
    """
    place = cache_folder()
    if place is None:
        return
    with locked(place / "lock", look=_LOOK):
        if not (place / _MARK).exists():
            compile_all()


@contextlib.contextmanager
def _kept_in(place: Path | None) -> Iterator[None]:
    """Where numba keeps what is decorated meanwhile; a function asks once, as it is decorated."""
    config = importlib.import_module("numba").config
    before = config.CACHE_DIR
    if place is not None:
        config.CACHE_DIR = str(place)
    try:
        yield
    finally:
        config.CACHE_DIR = before


def cache_folder() -> Path | None:
    """Where machine code of these kernels for this processor is kept, made if need be.

    Its name tells the kernels as they stand, the compiler and the processor, so a change of any begins a new
    one. A mark in it says that all is there: then it is brought from disk at once, which takes a second
    or two; without it a process of its own has to see how long the compiler takes. None where numba is not
    installed, or nothing can be written.
    """
    try:
        processor = importlib.import_module("llvmlite.binding").get_host_cpu_name()
        compiler = importlib.metadata.version("numba")
    except (ImportError, importlib.metadata.PackageNotFoundError):
        return None
    said = hashlib.sha256(f"{compiler} {processor} {sys.version}".encode())
    for module, _ in NAMES:
        path = Path(str(module.__file__))
        # Numba knows a source by its path and its time.
        said.update(f"{path} {path.stat().st_mtime_ns}\n".encode())
        said.update(path.read_bytes())
    place = platformdirs.user_cache_path("nesting", appauthor=False) / "kernels" / said.hexdigest()[:20]
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return place if os.access(place, os.W_OK | os.X_OK) else None


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
        5, order, size, size, may, 0, 9, 0, 1, state, *places, zeros(2), zeros(2), zeros(2), *skyline
    )  # fmt: skip
    functions["fit_search"](
        5, 9, order, array([0, 1]), array([2, 3]), array([2, 3]), 1, array([-1, -1]), 0, 45, 1, state,
        *places, *[zeros(4) for _ in range(5)],
    )  # fmt: skip
    pair, layout = array([2, 3]), [0] * 8 + [2, 1, 0, 0, 0, 1, 1, 0, 0, 5]
    functions["beam_search"](
        5, order, pair, pair, array([1, 1]), 1, pair, array([5]), array([13]), 13, 2, 2, 1, 0, 1, state,
        array([0, 0, 1, 0, 9, 5, 0]), array(layout + [0] * 300), 50, 2, array([1, 2, 3, 4, 5, 0]),
        *[zeros(40) for _ in range(3)], array([1, 0]), *[zeros(9) for _ in range(3)],
    )  # fmt: skip
    functions["abreast_search"](
        5, array([2, 3]), zeros(2), array([3, 2]), zeros(2), array([1, 1]), 9, state,
        *[zeros(2) for _ in range(2)], zeros(3), *[zeros(8) for _ in range(2)], zeros(2),
    )  # fmt: skip
    functions["heaviest_row"](2, array([1]), array([1]), zeros(3), zeros(3), zeros(3))
    depths = [zeros(7) for _ in range(8)]
    functions["tight_search"](
        5, 3, 2, array([0, 1]), array([2, 3]), array([2, 3]), array([0, 1]), 1, array([-1, -1]),
        array([1, 1]), 2, 9, *depths[:3], zeros(30), *depths[3:], *[zeros(30) for _ in range(3)],
    )  # fmt: skip
    gap = array([5, 0, 0, 0, 0, 0, 0])
    functions["contiguous_search"](
        5, 9, 9, pair, pair, order, array([1, 1]), 1, zeros(3), zeros(0), zeros(0), 1, -1, 0, pair,
        array([5]), array([32]), *[zeros(2) for _ in range(4)], 3,
        *[zeros(2) for _ in range(4)], *[zeros(7) for _ in range(3)], gap, zeros(7), zeros(7),
        *[zeros(21) for _ in range(2)], *[zeros(7) for _ in range(2)], zeros(2), array([1, 2]), 1,
        zeros(35), 4, zeros(28),
    )  # fmt: skip
    kinds = [zeros(2) for _ in range(7)]
    boxes = [zeros(3) for _ in range(6)]
    functions["fill_search"](
        5, 7, 0, 0, -1, order, size, size, may, *kinds, zeros(1), zeros(0), zeros(0), 9, 2, 9, 99, 0, 1,
        state, *[zeros(2) for _ in range(5)], *boxes, zeros(0), zeros(1), zeros(2),
    )  # fmt: skip


KERNELS = Kernels()
"""The kernels of this process."""
