"""`nesting check OLD --convert NEW`: a file of an earlier version, written anew with the names of now."""

from __future__ import annotations

import codecs
import json
from collections.abc import Iterator
from pathlib import Path

from nesting.errors import Fault, JobError
from nesting.files import LISTS, content_of, in_words_of_now, job_table, read_plan_document, write_new
from nesting.files.renamed import FORMS

#: The most that a plan may be; jobs and lists are judged when they are read.
_MOST_BYTES = 256 * 1024 * 1024


def converted(old: Path, new: Path) -> Iterator[str]:
    """A line for what was written: the file itself, and beside it the measurement list that a job names.

    Where a job had to be written anew, one more says that its notes are lost. A list in another folder is not
    touched, and a line says so.

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
    was = _text_of(old)
    text = in_words_of_now(was, old.name)
    if old.suffix.lower() == ".json":
        _require_form(old, text)
    name = None
    is_job = old.suffix.lower() not in (".json", *LISTS)
    if is_job:
        name = job_table(text, old).get("windows")
    listed, apart = None, ""
    if isinstance(name, str) and name.strip() and (old.parent / name.strip()).is_file():
        if _beside(new, name.strip()):
            listed = _listed(old, new, name.strip())
        else:
            apart = name.strip()
    yield _written(new, text)
    # What is in quotes stays, so that only notes can take a sign of theirs away.
    if is_job and text.count("#") < was.count("#"):
        yield f"{new}: without the notes of {old}: its tables stand in an order that could not be kept"
    if listed is not None:
        yield _written(*listed)
    if apart:
        yield f"{apart}: left as it is, for it is in another folder; convert it by itself"


def to_check(file: Path) -> bool:
    """Whether a file is a job or a plan: what stands in others is judged where they are used."""
    if file.suffix.lower() in LISTS:
        return False
    form = read_plan_document(file).get("schema") if file.suffix.lower() == ".json" else None
    return form is None or str(form).startswith("nesting-plan/")


def _beside(new: Path, name: str) -> bool:
    """Whether a list that a job names so stands in the folder of the job, or in one within."""
    folder = new.parent.resolve()
    return not Path(name).is_absolute() and (folder / name).resolve().is_relative_to(folder)


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


def _require_form(old: Path, text: str) -> None:
    """Refuse a document of a form that is read nowhere."""
    document = json.loads(text)
    form = document.get("schema") if isinstance(document, dict) else None
    if form not in list(FORMS.values()):
        wanted = f"a plan or a comparison, whose schema is one of {', '.join((*FORMS, *FORMS.values()))}"
        raise JobError([Fault(str(old), "", wanted)])


def _text_of(path: Path) -> str:
    """What a file says; a list keeps the mark of its encoding, by which a spreadsheet reads its letters."""
    try:
        data = content_of(path, _MOST_BYTES)
        wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
        marked = path.suffix.lower() in LISTS and (wide or data.startswith(codecs.BOM_UTF8))
        return "\ufeff" * marked + data.decode("utf-16" if wide else "utf-8-sig")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise JobError([Fault(str(path), "", f"a file you may read ({reason})")]) from None


def _written(path: Path, text: str) -> str:
    try:
        write_new(path, text.encode())
    except FileExistsError:
        raise JobError([Fault("--convert", str(path), "a new file: this one is there already")]) from None
    return f"written: {path}"
