"""Random jobs through the real command line on a busy machine, and what their plans claim:

    python -m tests.fuzz jobs --cases 200 --seed 1 --beside 4

Each job (`tests.fuzz.job_texts`) is planned with ``nesting plan --time-limit 5 -o FOLDER`` in a process of
its own while so many other processes do nothing but sums; then ``nesting check`` reads the plan, and the
drawings and lists must be there. Wrong is

- any exit code but 0 (planned), 3 (does not fit, or not all does) and 2 (refused: counted, for the generator
  is meant to make valid jobs), and 4 (nothing found in time) once a layout was told of; 1 and signals always;
- anything logged as a warning or worse, and a traceback on standard error;
- a plan that its check refuses;
- a claim (a proven least, an aim said to be reached at best) that is contradicted: of every fifth job the
  plan is made again in this process with another seed and four times as long, and neither of the two may
  be shorter than the other says is possible.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from nesting.commands.streams import BAD_USAGE, IMPOSSIBLE, NOTHING_FOUND
from tests.fuzz.job_texts import job_text

ROOT = Path(__file__).parents[2]
#: Files of every plan.
FILES = (
    "plan.json",
    "cut-list.csv",
    "marker.pdf",
    "packet.html",
    "packet.pdf",
    "appendix.pdf",
    "labels.pdf",
    "labels.csv",
)
LIMIT, AGAIN = 5.0, 20.0
#: One plan in so many is made again.
SAMPLE = 5
#: One search at a time in this process.
_ONE = threading.Lock()
#: Only finds what hangs.
MOST_SECONDS = 900
NEAR = 1e-6


@dataclass
class Outcome:
    """What became of one job.

    Attributes
    ----------
    seed, code
        Of the job; its exit code.
    seconds
        From the start of the process to its end.
    faults
        All that is wrong.
    said
        Its last line on standard error.
    document
        Its plan, where there is one.
    """

    seed: int
    code: int
    seconds: float
    faults: list[str] = field(default_factory=list)
    said: str = ""
    document: dict[str, Any] | None = None


@contextmanager
def busy(count: int) -> Iterator[None]:
    """So many processes that do nothing but sums."""
    burners = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(count)]
    try:
        yield
    finally:
        for burner in burners:
            burner.kill()
            burner.wait()


def planned(seed: int, *, folder: Path, limit: float = LIMIT) -> Outcome:
    """The job of that seed by the command line, judged by itself."""
    folder.mkdir(parents=True, exist_ok=True)
    job, out, record = folder / "job.toml", folder / "out", folder / "record"
    job.write_text(job_text(seed), "utf-8")
    began = time.monotonic()
    words = [
        "-m",
        "tests.fuzz.seen",
        str(record),
        "plan",
        str(job),
        "--time-limit",
        str(limit),
        "-o",
        str(out),
    ]
    done = _ran(words)
    outcome = Outcome(seed, done.returncode, time.monotonic() - began)
    outcome.said = (done.stderr.strip().splitlines() or [""])[-1]
    told = record.read_text("utf-8").splitlines() if record.exists() else []
    layouts = [line for line in told if line.startswith("layout ")]
    outcome.faults += [f"logged: {line}" for line in told if line not in layouts]
    if "Traceback" in done.stderr:
        outcome.faults.append(f"traceback: {done.stderr[-2000:]}")
    if done.returncode not in (0, BAD_USAGE, IMPOSSIBLE, NOTHING_FOUND):
        outcome.faults.append(f"exit {done.returncode}: {done.stderr[-2000:]}")
    if done.returncode == NOTHING_FOUND and layouts:
        outcome.faults.append(f"nothing found, after {layouts[0]}: {outcome.said}")
    if (out / "plan.json").exists():
        outcome.document = json.loads((out / "plan.json").read_text("utf-8"))
        outcome.faults += [f"no {name}" for name in FILES if not (out / name).exists()]
        checked = _ran(["cli.py", "check", str(out / "plan.json")])
        if checked.returncode:
            outcome.faults.append(f"check {checked.returncode}: {checked.stderr[-2000:]}")
    elif done.returncode == 0:
        outcome.faults.append("planned, but there is no plan")
    return outcome


def _ran(words: Sequence[str]) -> subprocess.CompletedProcess[str]:
    # As a maker starts it: compiled beside the search, or read from disk, and in a session of its own, for a
    # scheduler may share cores out among sessions first.
    around = {key: value for key, value in os.environ.items() if key != "NESTING_COMPILED"}
    return subprocess.run(
        [sys.executable, *words], cwd=ROOT, env=around, capture_output=True, text=True,
        timeout=MOST_SECONDS, check=False, start_new_session=True,
    )  # fmt: skip


def again(seed: int, *, seconds: float = AGAIN) -> dict[str, Any]:
    """The plan of a job made once more in this process, with another seed and longer."""
    from nesting.files import plan_document, read_job_text
    from nesting.planning.planner import Effort, plan

    return plan_document(plan(read_job_text(job_text(seed)), effort=Effort(seconds, seed=seed + 1)))


def contradictions(one: Mapping[str, Any], other: Mapping[str, Any]) -> Iterator[str]:
    """Claims of either plan that the other refutes, fabric by fabric where both cut the same pieces."""
    for first, second in ((one, other), (other, one)):
        alike = _alike(first, second)
        for claim in first["layouts"]:
            rival = _bought(second, claim["fabric"])
            if claim.get("on_hand") or rival is None or claim["fabric"] not in alike:
                continue
            least = claim["lower_bound"]
            if rival < least - NEAR:
                yield f"{claim['fabric']}: {claim['bound_method']} says {least}, but {rival} is known"
        aims = {aim["fabric"]: aim for aim in second["objectives"]}
        for aim in first["objectives"]:
            if aim["fabric"] in alike and aim["fabric"] in aims:
                yield from _beyond(aim, aims[aim["fabric"]])


def _beyond(aim: Mapping[str, Any], other: Mapping[str, Any]) -> Iterator[str]:
    """Stages of an aim whose bound the other betters, as far as all before are equal."""
    for mine, theirs in zip(aim["stages"], other["stages"], strict=False):
        if mine["name"] != theirs["name"]:
            return
        over = theirs["value"] - mine["bound"]
        if (over if mine["goal"] == "most" else -over) > NEAR:
            yield f"{aim['fabric']}, {mine['name']}: bound {mine['bound']}, but {theirs['value']} is known"
        if not math.isclose(mine["value"], theirs["value"], abs_tol=NEAR):
            return


def _bought(document: Mapping[str, Any], fabric: str) -> float | None:
    """The length of a fabric's layout on what is bought."""
    found = [
        each["length"] for each in document["layouts"] if each["fabric"] == fabric and not each.get("on_hand")
    ]
    return found[0] if len(found) == 1 else None


def _alike(one: Mapping[str, Any], other: Mapping[str, Any]) -> set[str]:
    """Fabrics whose bounds speak of both plans: the first, and those of which both cut the same pieces.

    The way one fabric is cut may change what is cut of another.
    """
    faces = {window["fabric"] for window in one["order"].get("windows", ())}
    fabrics = {piece["fabric"] for piece in one["pieces"]}

    def sizes(document: Mapping[str, Any], fabric: str) -> Counter[tuple[float, float, int]]:
        mine = (piece for piece in document["pieces"] if piece["fabric"] == fabric)
        return Counter((piece["width"], piece["length"], piece["copies"]) for piece in mine)

    return {fabric for fabric in fabrics if fabric in faces or sizes(one, fabric) == sizes(other, fabric)}


def judged(seed: int, *, folder: Path, sampled: bool) -> Outcome:
    """The job of that seed; where it is ``sampled`` its claims are held against a longer search."""
    outcome = planned(seed, folder=folder)
    if sampled and outcome.document is not None:
        with _ONE:
            outcome.faults += contradictions(outcome.document, again(seed))
    return outcome


def run(cases: int, seed: int, *, beside: int = 0, at_once: int = 1) -> tuple[int, list[int]]:
    """How many jobs were planned or proven impossible, and the seeds with which something is wrong."""
    codes, wrong = Counter[int](), list[int]()
    with tempfile.TemporaryDirectory() as start, busy(beside), ThreadPoolExecutor(at_once) as hands:

        def judge(number: int) -> Outcome:
            return judged(seed + number, folder=Path(start) / str(number), sampled=number % SAMPLE == 0)

        for outcome in hands.map(judge, range(cases)):
            codes[outcome.code] += 1
            wrong += [outcome.seed] if outcome.faults else []
            told = f"{outcome.seed}: exit {outcome.code} in {outcome.seconds:.0f} s"
            print(told, outcome.said[:90], flush=True)
            for fault in outcome.faults:
                print(f"    WRONG {fault}", flush=True)
    print(f"exit codes {dict(sorted(codes.items()))}")
    return codes[0] + codes[IMPOSSIBLE], wrong
