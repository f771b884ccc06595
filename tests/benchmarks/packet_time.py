"""Time and memory of a packet of many windows, beside bare pages of the same size and number.

``python -m tests.benchmarks.packet_time 60``: seconds of work (CPU), wall time and peak memory.
"""

from __future__ import annotations

import argparse
import io
import resource
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

from matplotlib.figure import Figure
from pypdf import PdfReader

from nesting.files import read_job
from nesting.packet import appendix_pdf, labels_pdf, packet, packet_html, packet_pdf
from nesting.plan.plan import Plan
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.units import inches

_NOOK = Path(__file__).parents[2] / "samples" / "reading-nook.toml"


def many_windows(count: int) -> Plan:
    """The reading nook with so many windows, no two alike, searched a little."""
    job = read_job(_NOOK)
    first = job.windows[0]
    windows = tuple(
        replace(
            first,
            name=f"Window {number + 1:02}",
            rod=first.rod + inches(number % 7),
            finished_length=(first.finished_length or 0) + inches(number % 11) // 2,
        )
        for number in range(count)
    )
    return make_plan(replace(job, windows=windows), effort=Effort(work=3, workers=1))


def bare_page() -> bytes:
    """An A4 page with a pair of axes and one line."""
    figure = Figure(figsize=(11.69, 8.27))
    figure.add_axes((0.1, 0.1, 0.8, 0.8)).plot([0, 1], [0, 1])
    buffer = io.BytesIO()
    figure.savefig(buffer, format="pdf")
    return buffer.getvalue()


def timed(name: str, work: Callable[[], object]) -> None:
    """Print what the work took."""
    wall, used = time.perf_counter(), time.process_time()
    work()
    took = f"{time.process_time() - used:6.2f} s of work, {time.perf_counter() - wall:6.2f} s by the clock"
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{name:30} {took}, peak {peak:.0f} MB", flush=True)


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("windows", type=int)
    plan = many_windows(parser.parse_args().windows)
    pages = 0

    def make() -> None:
        nonlocal pages
        made = packet(plan, made=date(2026, 3, 1), paper="a4")
        packet_html(made, paper="a4")
        pdfs = (packet_pdf(made, paper="a4"), appendix_pdf(made, paper="a4"))
        pages = sum(len(PdfReader(io.BytesIO(pdf)).pages) for pdf in pdfs)
        labels_pdf(made.labels, title=made.title, made=made.made, paper="a4")

    timed("first bare page", bare_page)
    timed(f"packet of {len(plan.job.windows)} windows", make)
    timed(f"{pages} bare pages", lambda: [bare_page() for _ in range(pages)])


if __name__ == "__main__":
    main()
