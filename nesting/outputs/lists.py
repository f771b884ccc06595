"""The plan itself, and its lists."""

from __future__ import annotations

from typing import Final

from nesting.files import as_json
from nesting.outputs.output_kind import Output, Ready, places

_CSV: Final = "text/csv; charset=utf-8"


def _cut_list(ready: Ready) -> bytes:
    from nesting.files import cut_list_csv

    return cut_list_csv(ready.plan).encode()


def _pieces(ready: Ready) -> bytes:
    from nesting.files import pieces_csv

    return pieces_csv(ready.plan.pieces, ready.plan.job.units).encode()


def _labels(ready: Ready) -> bytes:
    from nesting.packet import labels_csv

    return labels_csv(ready.plan).encode()


def _plan(ready: Ready) -> bytes:
    return as_json(ready.document).encode()


CUT_LIST: Final = Output("cut-list.csv", "Cut list, CSV", _CSV, places("plan", "page"), _cut_list)
PIECES: Final = Output("pieces.csv", "Pieces, CSV", _CSV, places("page"), _pieces)
LABELS: Final = Output("labels.csv", "Labels, CSV", _CSV, places("plan", "packet", "page"), _labels)
PLAN: Final = Output("plan.json", "Plan, JSON", "application/json", places("plan", "page"), _plan)
