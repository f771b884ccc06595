"""Makes a handout for the page, in a process of its own that ends with it."""

from __future__ import annotations

from nesting.web.caps import LESSON_SECONDS, NICE_SUMS, SOLVE_MEMORY
from nesting.web.wire import Message, Outlet, keep_low


def main() -> None:
    """Answer one question: the files of a lesson."""
    keep_low(NICE_SUMS, SOLVE_MEMORY, int(LESSON_SECONDS))
    wire = Outlet()
    asked = wire.receive()
    if asked is not None:
        wire.send(made(asked))


def made(asked: Message) -> Message:
    """The handout as ``html`` and ``pdf``; asked by ``heading``, ``units`` and the ``day`` it carries."""
    from nesting.lesson import lesson_files

    files = lesson_files(asked["heading"], asked["units"], made=asked["day"])
    return {name.rpartition(".")[2]: data for name, data in files.items()}


if __name__ == "__main__":
    main()
