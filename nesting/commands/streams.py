"""Streams and exit codes: the answer on standard output, remarks beside it, how a command ends."""

from __future__ import annotations

import contextlib
import io
import os
import sys
from typing import TYPE_CHECKING, Final, NoReturn, TextIO

from nesting.errors import CheckError, DoesNotFitError, NestingError, NothingFoundError, OutputError

if TYPE_CHECKING:
    from rich.console import RenderableType

    from nesting.plan.plan import Plan

#: The number of standard error, the last of the streams.
_LAST_STREAM: Final = 2
#: All control signs but the ends of lines and tabs, and those that turn the direction of writing.
_COMMANDS: Final = {
    code: "\N{REPLACEMENT CHARACTER}"
    for code in (*range(32), *range(0x7F, 0xA0), *range(0x202A, 0x202F), *range(0x2066, 0x206A))
    if chr(code) not in "\n\t"
}
OWN_FAULT, BAD_USAGE, IMPOSSIBLE, NOTHING_FOUND, INTERRUPTED = 1, 2, 3, 4, 130


def speak_unicode() -> None:
    """Arrows and currency signs must come through whatever the locale: as UTF-8 into pipes and files.

    Where a stream was closed before the start, what would go there goes nowhere; its number must not become
    that of a file we write.
    """
    while (number := os.open(os.devnull, os.O_RDWR)) <= _LAST_STREAM:
        pass
    os.close(number)
    sys.stdout, sys.stderr = sys.stdout or _nowhere(), sys.stderr or _nowhere()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding=None if stream.isatty() else "utf-8", errors="replace")


def _nowhere() -> TextIO:
    return os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8")


def plain(text: str) -> str:
    """A text of which nothing is taken by a terminal as a command to it, whatever a job's names hold."""
    return text.translate(_COMMANDS)


def exit_code(error: NestingError) -> int:
    """The exit code of an error's kind."""
    if isinstance(error, CheckError):
        return OWN_FAULT
    if isinstance(error, DoesNotFitError):
        return IMPOSSIBLE
    return NOTHING_FOUND if isinstance(error, NothingFoundError) else BAD_USAGE


def end(message: str, code: int) -> NoReturn:
    """Leave with one readable message."""
    _write(sys.stderr, plain(f"nesting: {message}\n"))
    sys.exit(code)


def end_if_short(plan: Plan) -> None:
    """Leave as of something impossible where the lengths on hand hold less than was ordered."""
    if short := short_of(plan):
        end(short, IMPOSSIBLE)


def short_of(plan: Plan) -> str:
    """What fabric on hand is not enough for and what to buy, a line for each fabric; empty where it is."""
    from nesting.plan.shortage import short_words

    listed = list(short_words(plan))
    if len(listed) > 1:
        listed = ["".join(f"\n  - {each}" for each in listed)]
    return f"not enough fabric on hand: {listed[0]}" if listed else ""


def say(text: str) -> None:
    """A remark for the person, beside the answer."""
    _write(sys.stderr, plain(f"{text}\n"))


def answer(renderable: RenderableType) -> None:
    """The answer itself: a table on a terminal's width, plain text as it is."""
    text = renderable if isinstance(renderable, str) else _set(renderable)
    if isinstance(renderable, str) and sys.stdout.isatty():
        text = plain(text)
    _write(sys.stdout, text)


def _write(stream: TextIO, text: str) -> None:
    """Write to a stream at once; where nobody reads any more that is no fault.

    Raises
    ------
    OutputError
        There is no room for it.
    """
    try:
        stream.write(text)
        stream.flush()
    except (BrokenPipeError, ValueError):
        # The reader went away; what it has read is right. Nothing is left to be written at exit either.
        _let_go(stream)
    except OSError as error:
        _let_go(stream)
        if stream is sys.stdout:
            raise OutputError(
                f"the answer could not be written ({error.strerror}): make room for it"
            ) from None


def _let_go(stream: TextIO) -> None:
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _set(renderable: RenderableType) -> str:
    """A table as text, as wide as the terminal, or for a pipe as wide as a printed page."""
    from rich.console import Console
    from rich.segment import Segment, Segments

    page = io.StringIO()
    terminal = sys.stdout.isatty()
    width = Console(file=sys.stdout).width if terminal else 140
    console = Console(
        file=page, width=width, force_terminal=terminal, highlight=False, markup=False, emoji=False
    )
    # Texts are made harmless before the terminal's own colors come in.
    said = [Segment(plain(part.text), part.style, part.control) for part in console.render(renderable)]
    console.print(Segments(said), end="")
    return "".join(f"{line.rstrip()}\n" for line in page.getvalue().splitlines())
