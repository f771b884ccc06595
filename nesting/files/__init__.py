"""What comes in and goes out as files: jobs in TOML, plans in JSON, cut lists in CSV.

Each is loaded when first used: who reads a job waits for nothing that reads a plan.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from nesting.files.amending import amend_job_text
    from nesting.files.comparison_reading import read_comparison
    from nesting.files.content import content_of
    from nesting.files.csv_lists import cut_list_csv, pieces_csv
    from nesting.files.file_set import PLAN, Written, digest_of, finish, write_set
    from nesting.files.job_writing import job_text_of
    from nesting.files.json_text import as_json
    from nesting.files.keys import Key, job_keys
    from nesting.files.measurement_list import empty_list, list_text
    from nesting.files.old_words import LISTS, in_words_of_now
    from nesting.files.plan_checked import checked_document
    from nesting.files.plan_reading import read_plan, read_plan_document
    from nesting.files.plan_writing import buy_document, piece_documents, plan_document
    from nesting.files.proof_keeping import PROOF_FILE, proof_file, read_proof_file
    from nesting.files.reading import job_table, read_job, read_job_table, read_job_text
    from nesting.files.renamed import is_old_job, place_now
    from nesting.files.saving import write_bytes, write_new, write_text
    from nesting.files.schema import job_schema
    from nesting.files.starter import starter_job
    from nesting.plan.csv_rows import rows_csv

__all__ = [
    "LISTS",
    "PLAN",
    "PROOF_FILE",
    "Key",
    "Written",
    "amend_job_text",
    "as_json",
    "buy_document",
    "checked_document",
    "content_of",
    "cut_list_csv",
    "digest_of",
    "empty_list",
    "finish",
    "in_words_of_now",
    "is_old_job",
    "job_keys",
    "job_schema",
    "job_table",
    "job_text_of",
    "list_text",
    "piece_documents",
    "pieces_csv",
    "place_now",
    "plan_document",
    "proof_file",
    "read_comparison",
    "read_job",
    "read_job_table",
    "read_job_text",
    "read_plan",
    "read_plan_document",
    "read_proof_file",
    "rows_csv",
    "starter_job",
    "write_bytes",
    "write_new",
    "write_set",
    "write_text",
]

_HOMES = {
    "nesting.files.amending": ("amend_job_text",),
    "nesting.files.comparison_reading": ("read_comparison",),
    "nesting.files.content": ("content_of",),
    "nesting.files.csv_lists": ("cut_list_csv", "pieces_csv"),
    "nesting.files.file_set": ("PLAN", "Written", "digest_of", "finish", "write_set"),
    "nesting.files.job_writing": ("job_text_of",),
    "nesting.files.json_text": ("as_json",),
    "nesting.files.keys": ("Key", "job_keys"),
    "nesting.files.measurement_list": ("empty_list", "list_text"),
    "nesting.files.old_words": ("LISTS", "in_words_of_now"),
    "nesting.files.plan_checked": ("checked_document",),
    "nesting.files.plan_reading": ("read_plan", "read_plan_document"),
    "nesting.files.proof_keeping": ("PROOF_FILE", "proof_file", "read_proof_file"),
    "nesting.files.plan_writing": ("buy_document", "piece_documents", "plan_document"),
    "nesting.files.reading": ("job_table", "read_job", "read_job_table", "read_job_text"),
    "nesting.files.renamed": ("is_old_job", "place_now"),
    "nesting.files.saving": ("write_bytes", "write_new", "write_text"),
    "nesting.files.schema": ("job_schema",),
    "nesting.files.starter": ("starter_job",),
    "nesting.plan.csv_rows": ("rows_csv",),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(_HOME_OF[name]), name)
    globals()[name] = value
    return value
