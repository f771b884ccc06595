"""`nesting check OLD --convert NEW`: a file of an earlier version, written anew with the names of now."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from nesting.errors import Fault, JobError
from nesting.files import LISTS, content_of, in_words_of_now, job_table, read_plan_document, write_new

#: The most that a plan may be; jobs and lists are judged when they are read.
_MOST_BYTES = 256 * 1024 * 1024


def converted(old: Path, new: Path) -> Iterator[Path]:
    """What was written: the file itself, and beside it the measurement list that a job names.

    Parameters
    ----------
    old
        A job, a measurement list, a plan or a comparison.
    new
        Where it is to stand; the same kind of file, and none that is there already.

    Raises
    ------
    NestingError
        ``old`` cannot be read or is none of these, or ``new`` would write over something.
    """
    if old.suffix.lower() != new.suffix.lower():
        raise JobError([Fault("--convert", str(new), f"a file of the same kind, ending in {old.suffix}")])
    text = in_words_of_now(_text_of(old), old.name)
    name = None
    if old.suffix.lower() not in (".json", *LISTS):
        name = job_table(text, old).get("windows")
    listed = None
    if isinstance(name, str) and name.strip() and (old.parent / name.strip()).is_file():
        listed = _listed(old, new, name.strip())
    yield _written(new, text)
    if listed is not None:
        yield _written(*listed)


def to_check(file: Path) -> bool:
    """Whether a file is a job or a plan: what stands in others is judged where they are used."""
    if file.suffix.lower() in LISTS:
        return False
    form = read_plan_document(file).get("schema") if file.suffix.lower() == ".json" else None
    return form is None or str(form).startswith("nesting-plan/")


def _listed(old: Path, new: Path, name: str) -> tuple[Path, str] | None:
    """The list of a job and where it is to stand; None where it stands there as it is to be."""
    before, after = old.parent / name, new.parent / name
    was = _text_of(before)
    text = in_words_of_now(was, "list.csv")
    if not after.exists():
        return after, text
    if after.samefile(before) and text == was:
        return None
    raise JobError([Fault("--convert", str(new), f"a folder without a {name}, which is written beside it")])


def _text_of(path: Path) -> str:
    try:
        data = content_of(path, _MOST_BYTES)
        return data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise JobError([Fault(str(path), "", f"a file you may read ({reason})")]) from None


def _written(path: Path, text: str) -> Path:
    try:
        write_new(path, text.encode())
    except FileExistsError:
        raise JobError([Fault("--convert", str(path), "a new file: this one is there already")]) from None
    return path
