"""Work done in a process of its own, so that its memory is its own and a crash costs no more."""

from __future__ import annotations

import multiprocessing
import resource
import sys
import traceback
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any


class ProcessError(Exception):
    """The process crashed, ended by itself or found no end; says which."""


def apart(work: Callable[..., Any], *arguments: Any, patience: float) -> Any:
    """What ``work`` returns, waited for at most ``patience`` seconds.

    Raises
    ------
    ProcessError
        With the traceback, the exit code, or that there was no end in sight.
    """
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_answer, args=(there, work, arguments))
    process.start()
    there.close()
    try:
        if not here.poll(patience):
            raise ProcessError("no end in sight")
        sound, outcome = here.recv()
        if not sound:
            raise ProcessError(outcome)
        return outcome
    except EOFError:
        process.join()
        raise ProcessError(f"the process ended by itself, code {process.exitcode}") from None
    finally:
        process.kill()
        process.join()


def _answer(answer: Connection, work: Callable[..., Any], arguments: tuple[Any, ...]) -> None:
    try:
        answer.send((True, work(*arguments)))
    except BaseException:  # whatever it was, it belongs into the row of this instance
        answer.send((False, traceback.format_exc(limit=-3)))


def peak_memory() -> float:
    """The most memory this process held, in MB."""
    status = Path("/proc/self/status")
    if status.exists():
        # What getrusage says there starts at the size of the parent process.
        kept = dict(line.split(":", 1) for line in status.read_text(encoding="ascii").splitlines())
        return int(kept["VmHWM"].split()[0]) / 1024
    unit = 1024**2 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
