"""Jobs on a cluster of machines: an executor of Dask, which does all the scheduling."""

from __future__ import annotations

import contextlib
import os
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass

from nesting.errors import Fault, JobError

#: Seconds to wait for the scheduler to answer.
PATIENCE = 10


@dataclass(frozen=True, slots=True)
class Crew:
    """Who does the work.

    Attributes
    ----------
    executor
        None: processes of our own.
    workers
        Threads of each task; None where that is decided on this machine.
    present
        Whether any worker is there; None where that need not be asked.
    address
        Of the cluster.
    """

    executor: Executor | None
    workers: int | None
    present: Callable[[], bool] | None = None
    address: str = ""

    def deserted(self, patience: float) -> JobError:
        """What to say when no worker was there for so many seconds."""
        wanted = (
            f"a cluster with workers: for {patience:g} s none was there and nothing came back; start one "
            f"(dask worker {self.address}) and run this again, or wait longer with --patience"
        )
        return JobError([Fault("--cluster", self.address, wanted)])


@contextlib.contextmanager
def crew_for(cluster: str | None, workers: int | None) -> Iterator[Crew]:
    """Who works on a cluster, or on this machine where there is none.

    Raises
    ------
    JobError
        There is no such cluster, or what speaks to one is not installed.
    """
    if cluster is None:
        yield Crew(None, workers)
        return
    try:
        from distributed import Client
    except ImportError as error:
        wanted = "what speaks to a cluster: install nesting with its extra, nesting[cluster]"
        raise JobError([Fault("--cluster", cluster, wanted)]) from error
    try:
        client = Client(cluster, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        wanted = f"the address of a running Dask scheduler, such as tcp://127.0.0.1:8786 ({error})"
        raise JobError([Fault("--cluster", cluster, wanted)]) from error

    def present() -> bool:
        return bool(client.scheduler_info()["workers"])

    with client:
        threads = threads_per_job(client.nthreads(), client.run(os.cpu_count), workers)
        yield Crew(client.get_executor(), threads, present, cluster)


def threads_per_job(slots: Mapping[str, int], cores: Mapping[str, int | None], asked: int | None) -> int:
    """How many threads a job may have so that no machine of a cluster runs more than it has cores.

    Parameters
    ----------
    slots
        Worker address to the jobs it runs at a time.
    cores
        Worker address to the cores of its machine.
    asked
        What the user wants; default 1.
    """
    jobs, machine = Counter[str](), dict[str, int]()
    for address, count in slots.items():
        host = address.rpartition(":")[0]
        jobs[host] += count
        machine[host] = cores.get(address) or 1
    most = min((machine[host] // jobs[host] for host in jobs), default=1)
    return max(1, min(asked or 1, most))
