"""A measurement list that comes with a job: its windows are taken into the job itself."""

from __future__ import annotations

import copy
from dataclasses import replace

from nesting.files.measurement_list import read_list_text
from nesting.web.draft import Draft


def with_list(draft: Draft, name: str, text: str) -> tuple[Draft, tuple[str, ...]]:
    """The draft with the windows of a list behind its own, and notes on what the list has wrong.

    The page reads no file by its name, so a list that a job names is sent along with it. The job then names
    it no longer.

    Parameters
    ----------
    draft
        The job.
    name, text
        The list.
    """
    listed = read_list_text(name, text)
    table = copy.deepcopy(draft.table)
    table.pop("windows", None)
    own = [row for row in table.get("window", []) if row] if isinstance(table.get("window"), list) else []
    table["window"] = [*own, *(copy.deepcopy(window) for window in listed.windows)]
    count = len(listed.windows)
    stand = "1 window stands" if count == 1 else f"{count} windows stand"
    notes = [f"{name}: {stand} in this job now; the list is left alone."]
    notes += [str(fault) for _, fault in listed.faults]
    return replace(draft, table=table), tuple(notes)
