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
import logging
import mmap
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any, Final, get_args, get_type_hints

import platformdirs

from nesting.locking import locked
from nesting.packing.beside import beside
from nesting.packing.kernels import abreast, fill, fit, growing, heaviest, niches, numbers, row_cases, skyline
from nesting.packing.kernels.numbers import Ints

_LOG = logging.getLogger(__name__)

#: Of each module all functions are kernels, compiled as they stand in it: each after those it calls.
MODULES: Final = (numbers, skyline, growing, fit, abreast, heaviest, niches, row_cases, fill)
#: How kernels are called that are called from outside; others become part of those that call them.
_CALLED: Final = ("_pass", "_search", "_row")
#: In the folder of the cache: all of it was compiled.
_MARK: Final = "complete"
_ORDER: Final = "from nesting.packing.kernels.compiled import compile_in_turn; compile_in_turn()"
#: Seconds between two looks whether another process has compiled it.
_LOOK: Final = 0.5
Functions = dict[str, Callable[..., int]]


def kernels_of(module: ModuleType) -> dict[str, FunctionType]:
    """The functions that a module defines, as they stand, by name."""
    functions = (each for each in vars(module).values() if isinstance(each, FunctionType))
    return {each.__name__: each for each in functions if each.__module__ == module.__name__}


_PLAIN: Final[Functions] = {name: kernel for module in MODULES for name, kernel in kernels_of(module).items()}


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
        """The same for very many, which take up room only as they are written to.

        Asked of the system itself: what numpy is given may be room used before, which is cleared whole, and
        comes in large pages. Most searches write to a few of them.
        """
        import numpy as np

        blank = np.frombuffer(mmap.mmap(-1, 8 * max(count, 1)), dtype=np.int64)[:count]
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
    with _kept_in(place, numba.config):
        for module in MODULES:
            # Functions find one another by their names, so those they call go in first.
            names = vars(module) | compiled
            for name, plain in kernels_of(module).items():
                kernel = FunctionType(plain.__code__, names, name)
                decorate = numba.njit(
                    signature_of(plain, numba.types),
                    cache=place is not None,
                    nogil=True,
                    # They make no arrays, and who calls them holds on to theirs, so none need be counted.
                    _nrt=False,
                    # A call hands over seven numbers for each array.
                    forceinline=not name.endswith(_CALLED),
                    no_cpython_wrapper=not name.endswith(_CALLED),
                    no_cfunc_wrapper=True,
                )
                names[name] = compiled[name] = decorate(kernel)
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
def _kept_in(place: Path | None, config: Any) -> Iterator[None]:
    """Where numba keeps what is decorated meanwhile; a function asks once, as it is decorated.

    Loops are not made wider meanwhile: these go by single numbers, and the compiler took a third longer.
    """
    before = config.CACHE_DIR, config.LOOP_VECTORIZE
    config.LOOP_VECTORIZE = False
    if place is not None:
        config.CACHE_DIR = str(place)
    try:
        yield
    finally:
        config.CACHE_DIR, config.LOOP_VECTORIZE = before


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
    for path in sorted(Path(__file__).parent.glob("*.py")):
        # Numba knows a source by its path and its time.
        said.update(f"{path} {path.stat().st_mtime_ns}\n".encode())
        said.update(path.read_bytes())
    place = platformdirs.user_cache_path("nesting", appauthor=False) / "kernels" / said.hexdigest()[:20]
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return place if os.access(place, os.W_OK | os.X_OK) else None


def signature_of(kernel: Callable[..., object], types: Any) -> Any:
    """What numba is to compile a kernel for: of its ``types`` those that the annotations stand for."""
    hints = {name: _machine_type(hint, types) for name, hint in get_type_hints(kernel).items()}
    returned = hints.pop("return")
    return returned(*hints.values())


def _machine_type(hint: Any, types: Any) -> Any:
    """Of ``int``, ``bool``, ``None``, `Ints`, and of tuples and named tuples of these."""
    whole, none = types.int64, type(None)
    simple = {int: whole, bool: types.boolean, none: types.none, Ints: types.Array(whole, 1, "C")}
    if hint in simple:
        return simple[hint]
    fields = get_args(hint) or tuple(get_type_hints(hint).values())
    named = None if get_args(hint) else hint
    return types.BaseTuple.from_types(tuple(_machine_type(each, types) for each in fields), named)


KERNELS = Kernels()
"""The kernels of this process."""
