"""Gap and time of each instance in one picture."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tests.benchmarks.figures import gap
from tests.benchmarks.running import Run


def write_plot(path: Path, runs: Sequence[Run]) -> None:
    """A PNG: above, the gap to our bound of ours and of every peer; below, seconds against parts."""
    figure = Figure(figsize=(max(8.0, 0.22 * len(runs)), 8.0), layout="constrained")
    FigureCanvasAgg(figure)
    above, below = figure.subplots(2, 1)
    draw_gaps(above, runs)
    draw_seconds(below, runs)
    figure.savefig(path, format="png", dpi=120)


def draw_gaps(ax: Axes, runs: Sequence[Run]) -> Axes:
    """How far each length is above our bound, instance by instance."""
    peers = list(dict.fromkeys(peer.peer for run in runs for peer in run.peers))
    for name, marker in zip(peers, "^vsDPX", strict=False):
        lengths = [next((p.length for p in run.peers if p.peer == name), None) for run in runs]
        ax.plot(*_known(lengths, runs), marker, markersize=4, alpha=0.7, label=name)
    ax.plot(*_known([run.length for run in runs], runs), "o", color="black", markersize=4, label="ours")
    names = [f"{run.instance.set}/{run.instance.name}" for run in runs]
    ax.set_xticks(range(len(runs)), names, rotation=90, fontsize=6)
    ax.set_ylabel("above our bound, %")
    ax.set_yscale("symlog", linthresh=1.0)
    ax.set_ylim(-0.1, 1.5 * max(2.0, ax.get_ylim()[1]))
    ax.legend(fontsize=7)
    return ax


def _known(lengths: Sequence[int | None], runs: Sequence[Run]) -> tuple[list[int], list[float]]:
    gaps = [(at, gap(length, run.bound)) for at, (length, run) in enumerate(zip(lengths, runs, strict=True))]
    known = [(at, value) for at, value in gaps if value is not None]
    return [at for at, _ in known], [value for _, value in known]


def draw_seconds(ax: Axes, runs: Sequence[Run]) -> Axes:
    """What each instance took against how many parts it has, proven ones filled."""
    for proven, fill in ((True, "black"), (False, "none")):
        some = [run for run in runs if run.length is not None and (run.length == run.bound) is proven]
        ax.plot(
            [run.instance.problem.copies for run in some],
            [max(run.seconds, 0.01) for run in some],
            "o",
            color="black",
            markerfacecolor=fill,
            markersize=4,
            label="proven" if proven else "not proven",
        )
    ax.set_xscale("log")
    ax.set_yscale("log")
    ax.set_xlabel("parts")
    ax.set_ylabel("seconds of ours")
    ax.legend(fontsize=7)
    return ax
