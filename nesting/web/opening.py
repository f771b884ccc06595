"""What was uploaded, as a draft; and a long job file with changes written into it.

Both run in a process like that of the sums: whatever somebody uploads, the page goes on answering.
"""

from __future__ import annotations

from nesting.errors import Fault, JobError
from nesting.files import amend_job_text, in_words_of_now
from nesting.web.caps import MOST_BYTES, MOST_FAULTS
from nesting.web.draft import REWORDED, from_text, new_draft
from nesting.web.listed import with_list
from nesting.web.modest import require_few_rows
from nesting.web.opened_plan import is_plan, opened_plan
from nesting.web.wire import Message

#: Letters of a fault or note that are shown.
_MOST_LETTERS = 400


def opened(asked: Message) -> Message:
    """The draft of a job file, of a plan, of a measurement list, or of a job with its list.

    Parameters
    ----------
    asked
        ``job``: its text, or None; ``list``: name and text, or None.

    Returns
    -------
    dict
        ``draft`` (None where it cannot be read) and ``notes``; of a plan its text too, as ``plan``.
    """
    if asked["job"] is not None and is_plan(asked["job"]):
        return opened_plan(asked["job"])
    try:
        for said in (asked["job"], None if asked["list"] is None else asked["list"][1]):
            if said is not None and len(said) > MOST_BYTES:
                raise JobError([Fault("this file", f"{len(said)} letters", f"at most {MOST_BYTES}")])
        draft = new_draft("in", windows=False) if asked["job"] is None else from_text(asked["job"])
        notes = list[str]()
        reworded = draft.reworded
        if asked["list"] is not None:
            name, text = asked["list"]
            now = in_words_of_now(text, "list.csv")
            draft, notes[:] = with_list(draft, name, now)
            reworded = reworded or now != text
            require_few_rows(draft.table)
    except JobError as error:
        return {"draft": None, "notes": few(tuple(str(fault) for fault in error.faults))}
    return {"draft": draft, "notes": few((*([REWORDED] if reworded else []), *notes))}


def few(notes: tuple[str, ...]) -> tuple[str, ...]:
    """As many notes as a person reads, each cut short, and how many more there are."""
    shown = [
        note if len(note) <= _MOST_LETTERS else f"{note[:_MOST_LETTERS]}..." for note in notes[:MOST_FAULTS]
    ]
    more = len(notes) - len(shown)
    return (*shown, *([f"{more} more like these."] if more > 0 else []))


def amended(asked: Message) -> Message:
    """The text of a draft: its base with all changes in it."""
    return {"text": amend_job_text(asked["base"], asked["table"])}
