"""What a posted form says: the job as a draft, how long to search, and where its sums come from."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, cast

from starlette.requests import Request

from nesting.errors import Fault, JobError
from nesting.units import Unit
from nesting.web.caps import MOST_SECONDS, MOST_WORK, SMALL
from nesting.web.clerk import BusyError, Clerk, nothing_told
from nesting.web.draft import REWORDED, Draft, from_form
from nesting.web.measure_fields import with_units
from nesting.web.posted import Entries

_KEPT: Final = re.compile(r"[a-z0-9-]{0,60}")
#: What is told of a job whose sums must wait.
BUSY: Final = nothing_told("Many sums wait already. They come with the next change.")


@dataclass(frozen=True, slots=True)
class SearchSettings:
    """How long to search, as typed and as meant, and what rides with the form beside the job.

    ``kept`` is the name under which what was typed is kept, empty before the first change; ``seen`` is the
    version of it that the page began from.
    """

    seconds: str = "20"
    seed: str = "0"
    work: str = ""
    kept: str = ""
    seen: str = ""

    @property
    def faults(self) -> dict[str, tuple[str, ...]]:
        """What is wrong with it, by field."""
        return {
            "seconds": _amount(self.seconds, 0.1, MOST_SECONDS, "seconds"),
            "seed": _amount(self.seed, 0, 2**31 - 2, "", whole=True),
            "work": _amount(self.work, 0.01, MOST_WORK, "units of work") if self.work else (),
        }

    @property
    def sound(self) -> bool:
        """Whether a search can begin."""
        return not any(self.faults.values())


def _amount(text: str, least: float, most: float, noun: str, whole: bool = False) -> tuple[str, ...]:
    expected = (
        f"Expected {'a whole number' if whole else 'a number'} from {least:g} to {most} {noun}".rstrip() + "."
    )
    try:
        number = float(text) if not whole else int(text)
    except ValueError:
        return (expected,)
    return () if least <= number <= most else (expected,)


def search_of(entries: Entries) -> SearchSettings:
    """How long to search, of a posted form."""
    texts = {name: text.strip() for name, text in entries}
    usual = SearchSettings()
    kept, seen = texts.get("kept", ""), texts.get("seen", "")
    return SearchSettings(
        texts.get("seconds") or usual.seconds,
        texts.get("seed") or usual.seed,
        texts.get("work", ""),
        kept if _KEPT.fullmatch(kept) else "",
        seen if _KEPT.fullmatch(seen) else "",
    )


def draft_of(entries: Entries) -> tuple[Draft, tuple[str, ...]]:
    """The draft of a posted form, and notes on a change of units.

    Raises
    ------
    JobError
        The form is none of ours.
    """
    draft = from_form(entries)
    before, after = draft.began, draft.unit
    said = (REWORDED,) if draft.reworded else ()
    if before == after:
        return draft, said
    # What was typed with the new unit was typed under the old one.
    draft = dataclasses.replace(draft, table=draft.table | {"units": before})
    draft, notes = with_units(draft, cast(Unit, after))
    return draft, (*said, *notes)


def clerk_of(request: Request) -> Clerk:
    """Who does the sums."""
    return cast(Clerk, request.app.state.clerk)


def reader_of(request: Request) -> Clerk:
    """Who reads and writes job files that are none of the page's own."""
    return cast(Clerk, request.app.state.reader)


async def job_text_of(request: Request, draft: Draft) -> str:
    """The job file of a draft; a long one is written apart from the page.

    Raises
    ------
    JobError
        It takes too long.
    """
    if len(draft.base) <= SMALL:
        return draft.text
    try:
        return await reader_of(request).amended(draft.base, draft.table)
    except BusyError:
        raise JobError([Fault("this job", "", "a moment without others: try again")]) from None


async def sums_of(request: Request, draft: Draft, form: str = "") -> Mapping[str, Any]:
    """The sums of a draft, or word that they must wait; ``form`` is what its form is kept under."""
    try:
        return await clerk_of(request).sums(draft.table, form)
    except BusyError:
        return BUSY
