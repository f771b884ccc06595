"""What is run and with which seeds; compiled kernels from the start, so that work is of one kind.

Without ``-m`` nightly tests are left out. Properties (hypothesis) are in both runs: a few examples, always
the same, in the quick one, many that change with the session's seed at night.
"""

from __future__ import annotations

import datetime
import os
import re
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import is_hypothesis_test, settings

from tests.seeds import MOST_SESSIONS, SESSION

if TYPE_CHECKING:
    from playwright.sync_api import Browser

os.environ.setdefault("NESTING_COMPILED", "1")

# No test may depend on how long something takes.
settings.register_profile("quick", deadline=None, derandomize=True, max_examples=20)
settings.register_profile("nightly", deadline=None, max_examples=100, print_blob=True)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--seed", type=int, help="what the seeds of nightly tests follow from; else the date")
    parser.addoption(
        "--every", action="store_true", help="at night: all cases of large families, not a choice"
    )


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    # Options are handed on to the processes of pytest-xdist as they are left here: all agree on the seed.
    said = config.option
    if said.seed is None:
        said.seed = int(f"{datetime.datetime.now(datetime.UTC):%y%m%d}")
    if not 0 <= said.seed < MOST_SESSIONS:
        raise pytest.UsageError(f"--seed {said.seed}: expected 0 to {MOST_SESSIONS - 1}")
    said.markexpr = said.markexpr or "not nightly"
    SESSION.seed, SESSION.every = said.seed, said.every
    SESSION.nightly = re.search(r"(?<!not )\bnightly\b", said.markexpr) is not None
    settings.load_profile("nightly" if SESSION.nightly else "quick")
    if SESSION.nightly and said.hypothesis_seed is None:
        said.hypothesis_seed = str(SESSION.seed)


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """A few files are sooner done in one process; None leaves it to the number of cores."""
    return None if any(Path(each.partition("::")[0]).is_dir() for each in config.args) else 0


def pytest_report_header() -> str:
    return f"nightly: --seed {SESSION.seed}" if SESSION.nightly else "quick: the rest is -m nightly"


def pytest_itemcollected(item: pytest.Item) -> None:
    if SESSION.nightly and is_hypothesis_test(getattr(item, "obj", None)):
        item.add_marker("nightly")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    if report.failed and item.get_closest_marker("nightly"):
        report.sections.append(("seed", f'python -m pytest -m nightly --seed {SESSION.seed} "{item.nodeid}"'))
    return report


@pytest.fixture
def cluster() -> Iterator[Any]:
    """Two workers of a cluster on this machine, which start again when they die."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None
    ) as running:
        yield running


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium; brought in by those who ask for it."""
    from tests.browser import a_browser

    with a_browser() as made:
        yield made


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """Of a page that keeps no jobs on disk, in a process of its own."""
    from tests.browser import a_served_page

    with a_served_page() as found:
        yield found
