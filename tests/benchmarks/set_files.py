"""The families as files: problems, the best layouts known, bounds and their proofs.

`docs/results.md` describes the form. One JSON object (RFC 8259) for each family; each instance is one line,
so that a better layout is one changed line. All lengths are whole ticks of 1/80 mm.
"""

from __future__ import annotations

import os
from pathlib import Path

from nesting.errors import ProblemError
from tests.benchmarks.set_entries import Family
from tests.benchmarks.set_reading import parsed
from tests.benchmarks.set_writing import written

FOLDER = Path(__file__).parent / "set"


def path_of(family: str, folder: Path = FOLDER) -> Path:
    """The file of a family."""
    return folder / f"{family}.json"


def stored(folder: Path = FOLDER) -> list[str]:
    """The families there are files of."""
    return sorted(path.stem for path in folder.glob("*.json"))


def load(family: str, folder: Path = FOLDER) -> Family:
    """A family from its file.

    Raises
    ------
    ProblemError
        The file is not of this form; with the place, the value and the remedy.
    """
    path = path_of(family, folder)
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        said = ", ".join(stored(folder)) or "none"
        raise ProblemError(f"{path}: cannot be read ({error.strerror}): there are {said}") from error
    except UnicodeDecodeError as error:
        raise ProblemError(f"{path}: byte {error.start} is no text: save the file as UTF-8") from error
    return parsed(text, str(path))


def write(family: Family, folder: Path = FOLDER) -> None:
    """The file of a family, in place of the one before, all at once."""
    path = path_of(family.name, folder)
    new = path.with_suffix(".new")
    new.write_text(written(family), encoding="utf-8")
    os.replace(new, path)
