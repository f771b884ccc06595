"""Sums over runs: ours by itself, against each peer, and where a peer was shorter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tests.benchmarks.figures import gap, percent
from tests.benchmarks.peers import RULE, PeerRun
from tests.benchmarks.running import NOT_YET, Run

#: Sets whose rows are also grouped by how many windows the job has.
GROUPED = ("rooms", "prints")
WINDOWS = ((1, 3), (4, 6), (7, 12))

#: Stands for the shortest of the packers on each instance.
BEST = "best packer"

_SUM = "{:<24} {:>5} {:>7} {:>9} {:>10} {:>7} {:>7} {:>7} {:>9} {:>6} {:>6} {:>7} {:>7}"
_PEER = "{:<24} {:<14} {:>5} {:>8} {:>6} {:>7} {:>6} {:>8} {:>7} {:>6} {:>6} {:>8}"


@dataclass(frozen=True, slots=True)
class Versus:
    """Ours beside one peer, over the runs in which both gave a layout.

    Attributes
    ----------
    shorter, equal, longer
        In how many runs ours was so.
    saved
        Fabric that ours takes less than the peer, in percent of the peer's: the mean over the runs.
    proved
        How many the peer itself called the shortest, of the boxes it was given.
    under
        In how many the peer's own length, as packed, is below ours, though its layout on the pattern is not.
    without
        Runs in which the peer gave no layout.
    """

    peer: str
    shorter: int
    equal: int
    longer: int
    under: int
    saved: float | None
    proved: int
    seconds: float | None
    memory: float
    without: int

    @property
    def compared(self) -> int:
        """In how many runs both gave a layout."""
        return self.shorter + self.equal + self.longer


def groups(runs: Sequence[Run]) -> dict[str, list[Run]]:
    """Runs by set, jobs of ours also by windows, and all together where there are several sets."""
    by: dict[str, list[Run]] = {}
    for name in dict.fromkeys(run.instance.set for run in runs):
        members = [run for run in runs if run.instance.set == name]
        if name in GROUPED:
            for low, high in WINDOWS:
                some = [run for run in members if low <= (run.instance.windows or 0) <= high]
                if some:
                    by[f"{name}, {low}-{high} windows"] = some
        by[name] = members
    if len({run.instance.set for run in runs}) > 1:
        by["all"] = list(runs)
    return by


def summary(runs: Sequence[Run]) -> str:
    """A line for each group: how many proven, how many of these re-proved, and of those how many by what was
    written down after the search; mean gaps, within a selling step, seconds, memory."""
    names = (
        "set",
        "runs",
        "proven",
        "re-proved",
        "afterwards",
        "gap %",
        "best %",
        "met",
        "in a step",
        "sec",
        "MB",
        "not yet",
        "faults",
    )
    lines = [_SUM.format(*names), *(_sum(name, members) for name, members in groups(runs).items())]
    return "\n".join(lines)


def _sum(name: str, runs: Sequence[Run]) -> str:
    packed = [run for run in runs if run.status != NOT_YET]
    to_best = [gap(run.length, run.instance.best_known) for run in packed]
    stepped = [run for run in packed if run.instance.step is not None]
    return _SUM.format(
        name,
        len(runs),
        sum(run.status == "optimal" for run in packed),
        sum(run.status == "optimal" and run.reproved for run in packed),
        sum(run.status == "optimal" and run.afterwards for run in packed),
        percent(_mean(gap(run.length, run.bound) for run in packed)),
        percent(_mean(to_best)),
        sum(part is not None and part <= 0 for part in to_best),
        sum(within_step(run) for run in stepped) if stepped else "-",
        f"{sum(run.seconds for run in packed) / max(1, len(packed)):.1f}",
        f"{max((run.memory for run in packed), default=0):.0f}",
        len(runs) - len(packed),
        sum(bool(run.fault) for run in runs),
    )


def within_step(run: Run) -> bool:
    """Whether no layout could save more than one selling step (1/8 yd or 0.1 m, or as the job says)."""
    if run.length is None or run.instance.step is None:
        return False
    return run.length - run.bound <= run.instance.step


def against(runs: Sequence[Run]) -> str:
    """For each group a line for each peer; empty without peers."""
    lines = [line for name, members in groups(runs).items() for line in _against(name, members)]
    if not lines:
        return ""
    names = ("ours against", "", "both", "shorter", "equal", "longer", "under", "saved %", "proofs")
    return "\n".join((_PEER.format(*names, "sec", "MB", "without"), *lines))


def _against(name: str, runs: Sequence[Run]) -> Iterator[str]:
    peers = list(dict.fromkeys(peer.peer for run in runs for peer in run.peers))
    if sum(peer != RULE for peer in peers) > 1:
        peers.append(BEST)
    for peer in peers:
        sums = versus(runs, peer)
        yield _PEER.format(
            name,
            peer,
            sums.compared,
            sums.shorter,
            sums.equal,
            sums.longer,
            sums.under,
            percent(sums.saved),
            sums.proved,
            "-" if sums.seconds is None else f"{sums.seconds:.1f}",
            f"{sums.memory:.0f}",
            sums.without,
        )


def versus(runs: Iterable[Run], peer: str) -> Versus:
    """Ours beside ``peer``, or beside the best packer of each run."""
    pairs = [(run, theirs) for run in runs if (theirs := _of(run, peer)) is not None]
    both = [(ours.length, theirs) for ours, theirs in pairs if ours.length is not None and theirs.length]
    saved = _mean(100 * (theirs.length - ours) / theirs.length for ours, theirs in both if theirs.length)
    return Versus(
        peer,
        shorter=sum(ours < (theirs.length or 0) for ours, theirs in both),
        equal=sum(ours == theirs.length for ours, theirs in both),
        longer=sum(ours > (theirs.length or 0) for ours, theirs in both),
        under=sum((theirs.packed or ours) < ours <= (theirs.length or 0) for ours, theirs in both),
        saved=saved,
        proved=sum(theirs.proved for _, theirs in both),
        seconds=_mean(theirs.seconds for _, theirs in both),
        memory=max((theirs.memory for _, theirs in both), default=0.0),
        without=sum(theirs.length is None for _, theirs in pairs),
    )


def _of(run: Run, peer: str) -> PeerRun | None:
    if peer != BEST:
        return next((theirs for theirs in run.peers if theirs.peer == peer), None)
    packers = [theirs for theirs in run.peers if theirs.peer != RULE and theirs.length is not None]
    return min(packers, key=lambda theirs: theirs.length or 0, default=None)


def longer(runs: Iterable[Run]) -> str:
    """Every instance on which a peer was shorter, a line each; empty where there is none.

    A length below the bound is that of the trade rule, which lays nothing and may ask for too little fabric:
    it says nothing of drops.
    """
    lines = [
        f"  {run.instance.set}/{run.instance.name}: {run.length} against {theirs.length} of {theirs.peer}"
        f" ({percent(gap(run.length, theirs.length))} % longer; bound {run.bound}"
        f"{', so the peer has too little' if theirs.length < run.bound else ''})"
        for run in runs
        for theirs in run.peers
        if run.length is not None and theirs.length is not None and run.length > theirs.length
    ]
    return "\n".join(("ours is longer on", *lines)) if lines else ""


def without(runs: Iterable[Run]) -> str:
    """Why peers gave no layout: each reason with how often; empty where all gave one."""
    reasons: dict[tuple[str, str], int] = {}
    for run in runs:
        for theirs in run.peers:
            if theirs.length is None:
                key = theirs.peer, theirs.fault or theirs.note
                reasons[key] = reasons.get(key, 0) + 1
    lines = _reasons(reasons)
    return "\n".join(("no layout of", *lines)) if lines else ""


def _reasons(reasons: Mapping[tuple[str, str], int]) -> list[str]:
    return [f"  {peer}, {count} times: {why}" for (peer, why), count in reasons.items()]


def _mean(parts: Iterable[float | None]) -> float | None:
    known = [part for part in parts if part is not None]
    return sum(known) / len(known) if known else None
