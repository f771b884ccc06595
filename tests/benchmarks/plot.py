"""Gap and time of each instance in one picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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


def write_profile(path: Path, groups: Mapping[str, Mapping[str, Sequence[float]]], told: str) -> None:
    """A PNG: of each family, how many instances are within so many percent of the best length known."""
    figure = Figure(figsize=(5.5 * len(groups), 4.5), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots(1, len(groups), squeeze=False)[0]
    for ax, (family, by) in zip(axes, groups.items(), strict=True):
        draw_profile(ax, by)
        ax.set_title(family)
    figure.legend(*axes[0].get_legend_handles_labels(), loc="outside lower center", ncols=4, fontsize=8)
    figure.suptitle(told, fontsize=9)
    figure.savefig(path, format="png", dpi=120)


def draw_profile(ax: Axes, by: Mapping[str, Sequence[float]]) -> Axes:
    """A stair for each packer, from its gaps in order."""
    for (name, gaps), style in zip(by.items(), ("-", "--", "-.", ":", (0, (1, 3))), strict=False):
        known = [gap for gap in gaps if gap != float("inf")]
        shares = [100 * number / len(gaps) for number in range(1, len(known) + 1)]
        ax.step([0.0, *known, 100.0], [0.0, *shares, shares[-1] if shares else 0.0], where="post",
                linestyle=style, label=name)  # fmt: skip
    ax.set_xscale("symlog", linthresh=0.1)
    ax.set_xlim(0, 100)
    ax.set_xticks([0, 0.1, 1, 10, 50], ["0", "0.1", "1", "10", "50"])
    ax.set_ylim(0, 101)
    ax.set_xlabel("above the best length known, at most %")
    ax.set_ylabel("instances, %")
    return ax


def write_over_time(
    path: Path, families: Mapping[str, Mapping[str, Sequence[tuple[float, int | None, int]]]], told: str
) -> None:
    """A PNG: the mean gap to the best length known over processor time, a line for each family."""
    # Only here, for what measures imports this.
    from tests.benchmarks.profiles import mean_gaps

    figure = Figure(figsize=(7.0, 4.5), layout="constrained")
    FigureCanvasAgg(figure)
    ax = figure.subplots()
    moments = [0.01 * 1.2**step for step in range(40)]
    for (family, courses), style in zip(families.items(), ("-", "--", "-."), strict=False):
        points = [
            (at, gap) for at, gap in zip(moments, mean_gaps(courses, moments), strict=True) if gap is not None
        ]
        ax.plot(*zip(*points, strict=True), linestyle=style, label=f"{family}, {len(courses)} instances")
    ax.set_xscale("log")
    ax.set_xlabel("processor time, seconds")
    ax.set_ylabel("mean gap to the best length known, %")
    ax.set_ylim(bottom=0)
    ax.legend(fontsize=8)
    figure.suptitle(told, fontsize=9)
    figure.savefig(path, format="png", dpi=120)
