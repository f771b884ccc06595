"""Proofs kept beside a plan: ``nesting-proof/1``, JSON that is compressed, for they may be long."""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from nesting.errors import Fault, JobError

SCHEMA: Final = "nesting-proof/1"
#: Beside ``plan.json``.
PROOF_FILE: Final = "proof.json.gz"
#: More than this is not unpacked.
MOST_BYTES: Final = 128 * 1024 * 1024


def proof_file(certificates: Mapping[str, Mapping[str, Any]]) -> bytes:
    """A file of certificates, each by the place of its layout in the plan: ``layouts[0]``."""
    whole = {"schema": SCHEMA, "certificates": {at: dict(said) for at, said in certificates.items()}}
    # The same certificates, the same file.
    return gzip.compress(json.dumps(whole, separators=(",", ":")).encode(), mtime=0)


def read_proof_file(path: Path) -> dict[str, Mapping[str, Any]]:
    """The certificates of a file, by the places of their layouts; nothing is said of what they prove.

    Raises
    ------
    JobError
        It cannot be read, or is no such file.
    """
    try:
        with gzip.open(path, "rb") as packed:
            data = packed.read(MOST_BYTES + 1)
        whole = json.loads(data) if len(data) <= MOST_BYTES else None
    except (OSError, EOFError, ValueError, zlib.error, RecursionError) as error:
        raise JobError([Fault(str(path), "", f"proofs as `nesting prove` leaves them ({error})")]) from None
    known = whole.get("certificates") if isinstance(whole, dict) and whole.get("schema") == SCHEMA else None
    if not isinstance(known, dict) or not all(isinstance(said, dict) for said in known.values()):
        raise JobError([Fault(str(path), "", f'proofs of "{SCHEMA}", as `nesting prove` leaves them')])
    return known
