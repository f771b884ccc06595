"""How soon the page answers what is typed: ``python -m tests.benchmarks.first_answers [--times 20]``.

A real browser types the last of the numbers that a job needs, the width of its fabric. From the last figure
to the frame in which the answer is shown are measured:

sums
    The rule of thumb beside the form, with all pieces and their arithmetic.
layout
    What to buy by the first layout, which was checked, with its marker.

For one window and for twelve, no two alike. Each round is another job, so that none is remembered. Beside the
clock stands the processor time of the page with all its processes, from the last figure to the layout: that
does not depend on who else is at work. What is searched for after the first layout is not counted.
"""

from __future__ import annotations

import argparse
import os
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Page

from tests.browser import a_browser, a_page_process, a_tab

#: Milliseconds between two keys.
_KEYS = 60
#: Milliseconds between two looks at whether all is shown.
_LOOK = 40
_WIDTH = '[id="f-fabric.face.bolt.0.width"]'
#: In the page: when the last key fell, and the frames in which the answers to it were first shown.
_WATCH = """() => {
  const seen = window.seen = { key: 0, sums: 0, layout: 0 };
  const typed = () => { seen.key = performance.now(); seen.sums = seen.layout = 0; };
  document.addEventListener("input", typed, true);
  const look = () => {
    const shows = (id, what) => {
      const place = document.getElementById(id);
      return place && place.getAttribute("aria-busy") !== "true" && place.querySelector(what);
    };
    const now = performance.now();
    if (seen.key && !seen.sums && shows("rule", ".lines")) seen.sums = now;
    if (seen.key && !seen.layout && shows("answer", ".first-lines")) seen.layout = now;
    requestAnimationFrame(look);
  };
  look();
}"""


@dataclass(frozen=True, slots=True)
class Waits:
    """Seconds from the last key to the sums and to the layout, and of processor time to the layout."""

    sums: float
    layout: float
    work: float


def job_of(windows: int, turn: int) -> str:
    """A job file that lacks nothing but the width of its fabric."""
    rows = "".join(
        f'[[window]]\nname = "Window {number + 1}"\nrod = {36 + 5 * number}.{turn % 8 * 125:03}\n'
        f"finished_length = {84 + number}.{turn // 8 * 125:03}\n"
        for number in range(windows)
    )
    return f'title = "New drapes"\nunits = "in"\ncurrency = "$"\n[fabric.face]\n[[fabric.face.bolt]]\n{rows}'


def processor_time(pid: int) -> float:
    """Seconds of a process and of all that it started, those that have ended too."""
    try:
        # After the name, which may hold spaces: utime and stime, then those of children that were waited for.
        said = Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text("ascii").split()
    except OSError:
        return 0.0
    mine = sum(map(int, said[11:15])) / os.sysconf("SC_CLK_TCK")
    return mine + sum(processor_time(int(child)) for child in children)


def measured(tab: Page, windows: int, turn: int, pid: int) -> Waits:
    """One job typed."""
    tab.goto("/")
    file = {"name": "job.toml", "mimeType": "application/toml", "buffer": job_of(windows, turn).encode()}
    tab.set_input_files("#file", file)  # type: ignore[arg-type]
    tab.get_by_role("button", name="Open it").click()
    tab.locator(_WIDTH).click()
    tab.wait_for_timeout(1000)
    tab.evaluate(_WATCH)
    before = processor_time(pid)
    tab.locator(_WIDTH).press_sequentially("54", delay=_KEYS)
    # Asked again and again: the policy of the page lets no text be run that waits in it.
    while not tab.evaluate("window.seen.sums && window.seen.layout"):
        tab.wait_for_timeout(_LOOK)
    work = processor_time(pid) - before
    seen = tab.evaluate("window.seen")
    return Waits((seen["sums"] - seen["key"]) / 1000, (seen["layout"] - seen["key"]) / 1000, work)


def told(name: str, found: Sequence[float]) -> str:
    """Median and most."""
    return f"{name}: median {statistics.median(found):.3f} s, most {max(found):.3f} s"


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=20)
    parser.add_argument("--windows", type=int, nargs="+", default=[1, 12])
    asked = parser.parse_args()
    print(f"{os.cpu_count()} cores, load before {os.getloadavg()[0]:.1f}, {asked.times} jobs of each size")
    with a_page_process() as (address, pid), a_browser() as browser, a_tab(browser, address) as tab:
        # The first answer of all brings in what each process needs.
        measured(tab, 1, 31, pid)
        for windows in asked.windows:
            found = [measured(tab, windows, turn, pid) for turn in range(asked.times)]
            print(f"{windows} window{'' if windows == 1 else 's'}")
            print("  " + told("sums", [one.sums for one in found]))
            print("  " + told("layout", [one.layout for one in found]))
            print("  " + told("processor time", [one.work for one in found]), flush=True)


if __name__ == "__main__":
    main()
