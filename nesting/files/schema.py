"""The job file as a JSON Schema, so that an editor can complete and check it while it is written."""

from __future__ import annotations

from typing import Any, Final

from nesting.files.window_order import JobEntry

_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a job file, every key with its description.

    It says what each key accepts by itself; contradictions between keys only `read_job` finds.
    """
    made = JobEntry.model_json_schema()
    schema = {"$schema": _DIALECT, **_tidy(made)}
    schema["title"] = "nesting job"
    return schema


def _tidy(node: Any) -> Any:
    """Without what TOML cannot say (null) and without generated titles."""
    if isinstance(node, list):
        return [_tidy(item) for item in node]
    if not isinstance(node, dict):
        return node
    kept = {
        key: {name: _tidy(item) for name, item in value.items()}
        if key in ("properties", "$defs")
        else _tidy(value)
        for key, value in node.items()
        if not (key == "default" and value is None) and not (key == "title" and isinstance(value, str))
    }
    choices = kept.get("anyOf")
    if isinstance(choices, list) and {"type": "null"} in choices:
        choices.remove({"type": "null"})
        if len(choices) == 1:
            kept |= kept.pop("anyOf")[0]
    return kept
