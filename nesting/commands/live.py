"""Progress on a terminal, silence in a pipe, and a Ctrl-C that keeps the best layout."""

from __future__ import annotations

import signal
from types import FrameType, TracebackType

from rich.console import Console
from rich.live import Live
from rich.text import Text

from nesting.commands.streams import plain
from nesting.packing import Incumbent
from nesting.units import Unit, format_length


class Watch:
    """Shows best length and proven least while a search runs; ends it on the first Ctrl-C.

    Use as a context manager and hand ``watch.tell`` to the planner. Nothing is shown where ``console``
    is no terminal. The second Ctrl-C interrupts as usual.

    Parameters
    ----------
    console
        Where progress goes: standard error.
    unit
        Of the lengths shown.
    """

    def __init__(self, console: Console, unit: Unit) -> None:
        self.interrupted = False
        self._unit = unit
        self._live = (
            Live(console=console, transient=True, auto_refresh=False) if console.is_terminal else None
        )
        self._before: object = None

    def __enter__(self) -> Watch:
        self._before = signal.getsignal(signal.SIGINT)
        signal.signal(signal.SIGINT, self._interrupt)
        if self._live is not None:
            self._live.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._live is not None:
            self._live.__exit__(kind, error, trace)
        self._restore()

    def _interrupt(self, number: int, frame: FrameType | None) -> None:
        self.interrupted = True
        self._restore()

    def _restore(self) -> None:
        signal.signal(signal.SIGINT, self._before)  # type: ignore[arg-type]

    def tell(self, fabric: str, now: Incumbent) -> bool:
        """Show the state of one fabric; False once an end was asked for."""
        if self._live is not None:
            length = "none yet" if now.length is None else format_length(now.length, self._unit)
            line = (
                f"{fabric}: best {length}, proven least {format_length(now.bound, self._unit)}, "
                f"{now.seconds:.1f} s   (Ctrl-C keeps the best)"
            )
            self._live.update(Text(plain(line)), refresh=True)
        return not self.interrupted
