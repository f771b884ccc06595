"""What is written down about the files of a folder: which are ours, and what is being done to them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

_MANIFEST: Final = "nesting-files/1"
_JOURNAL: Final = "nesting-journal/1"


@dataclass(frozen=True, slots=True)
class FileSet:
    """Files that were written together.

    Attributes
    ----------
    plan
        The digest of the plan they show; empty where they show none.
    files
        The digest of each by its name.
    """

    plan: str
    files: Mapping[str, str]


#: The sets of a folder by their names.
Manifest = Mapping[str, FileSet]


@dataclass(frozen=True, slots=True)
class Journal:
    """What a writer is about to do once everything is staged.

    Attributes
    ----------
    name, plan
        Of the set that is written.
    entries
        The digest of each new file by its name.
    ours
        Digests of files that may be replaced, by name.
    removals
        Digests of files to remove, by name.
    stays
        The other sets that remain.
    """

    name: str
    plan: str
    entries: Mapping[str, str]
    ours: Mapping[str, str]
    removals: Mapping[str, str]
    stays: Manifest


def is_plain(name: object) -> bool:
    """Whether a name is that of a file in the folder itself, whatever a manifest from elsewhere may say."""
    return (
        isinstance(name, str)
        and name not in ("", ".", "..")
        and not name.startswith(".")
        and not any(sign in name for sign in "/\\:\0")
    )


def manifest_text(manifest: Manifest) -> str:
    """A manifest as JSON."""
    return _text({"schema": _MANIFEST, "sets": _sets(manifest)})


def manifest_of(text: str) -> Manifest:
    """The manifest that a text is; empty where it is none, so that no file counts as ours."""
    table = _table(text, _MANIFEST)
    return {} if table is None else _manifest(table.get("sets"))


def journal_text(journal: Journal) -> str:
    """A journal as JSON."""
    return _text(
        {
            "schema": _JOURNAL,
            "name": journal.name,
            "plan": journal.plan,
            "entries": dict(journal.entries),
            "ours": dict(journal.ours),
            "removals": dict(journal.removals),
            "stays": _sets(journal.stays),
        }
    )


def journal_of(text: str) -> Journal | None:
    """The journal that a text is; None where it is none."""
    table = _table(text, _JOURNAL)
    if table is None or not isinstance(table.get("name"), str):
        return None
    return Journal(
        table["name"],
        str(table.get("plan", "")),
        _digests(table.get("entries")),
        _digests(table.get("ours")),
        _digests(table.get("removals")),
        _manifest(table.get("stays")),
    )


def _text(table: Mapping[str, Any]) -> str:
    return json.dumps(table, ensure_ascii=False, indent=1) + "\n"


def _sets(manifest: Manifest) -> dict[str, Any]:
    return {name: {"plan": one.plan, "files": dict(one.files)} for name, one in manifest.items()}


def _table(text: str, schema: str) -> dict[str, Any] | None:
    try:
        table = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return table if isinstance(table, dict) and table.get("schema") == schema else None


def _manifest(sets: object) -> Manifest:
    if not isinstance(sets, dict):
        return {}
    return {
        name: FileSet(str(one.get("plan", "")), _digests(one.get("files")))
        for name, one in sets.items()
        if isinstance(one, dict)
    }


def _digests(table: object) -> dict[str, str]:
    if not isinstance(table, dict):
        return {}
    return {name: digest for name, digest in table.items() if is_plain(name) and isinstance(digest, str)}
