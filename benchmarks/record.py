"""Results of a benchmark: the table, the dated file and the plot of convergence."""

from __future__ import annotations

import datetime
import json
import platform
import statistics
import subprocess
from dataclasses import asdict, dataclass, replace
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks import published
from benchmarks.instance import GARMENTS

PACKAGES = ("numpy", "numba", "ortools", "pyclipper", "shapely")


@dataclass(frozen=True)
class Run:
    """One search of one instance. ``progress`` holds (seconds, density) of every better layout."""

    name: str
    seed: int
    count: int
    length: float
    density: float
    seconds: float
    remark: str
    progress: tuple[tuple[float, float], ...]


def table(runs: list[Run]) -> str:
    """A Markdown table: found densities beside the published ones, in percent."""
    head = ["instance", "pieces", "seeds", "mean", "least", "most", *published.COLUMNS]
    rows = []
    for name in dict.fromkeys(run.name for run in runs):
        of = [run for run in runs if run.name == name]
        found = [run.density for run in of]
        figures = [statistics.fmean(found), min(found), max(found), *published.row(name)]
        rows.append([name, str(of[0].count), str(len(of)), *map(_figure, figures)])
    mean = garment_mean(runs)
    if mean is not None:
        rows.append(["mean of 7", "", "", *map(_figure, [mean, None, None, *published.garment_means()])])
    return _markdown([head, *rows])


def summary(results: list[tuple[str, list[Run]]]) -> str:
    """A Markdown table of a line a budget: the mean of the garment instances beside the published ones."""
    rows = [["a search takes", "seeds", "mean of 7", *published.COLUMNS]]
    for budget, runs in results:
        seeds = len({run.seed for run in runs})
        rows.append([budget, str(seeds), *map(_figure, [garment_mean(runs), *published.garment_means()])])
    return _markdown(rows)


def garment_mean(runs: list[Run]) -> float | None:
    """The mean over the garment instances of each one's mean density; ``None`` if one is missing."""
    found = [[run.density for run in runs if run.name == name] for name in GARMENTS]
    return statistics.fmean(map(statistics.fmean, found)) if all(found) else None


def _markdown(lines: list[list[str]]) -> str:
    widths = [max(len(line[k]) for line in lines) for k in range(len(lines[0]))]
    ruled = [lines[0], ["-" * w for w in widths], *lines[1:]]
    return "\n".join(
        "| " + " | ".join(cell.ljust(w) for cell, w in zip(line, widths, strict=True)) + " |"
        for line in ruled
    )


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}"


def circumstances() -> dict[str, Any]:
    """When, on what and with what the results were made."""
    return {
        "date": datetime.date.today().isoformat(),
        "processor": _processor(),
        "python": platform.python_version(),
        "packages": {name: version(name) for name in PACKAGES},
        "commit": _commit(),
    }


def _processor() -> str:
    info = Path("/proc/cpuinfo")
    names = (
        [
            line.split(":", 1)[1].strip()
            for line in info.read_text().splitlines()
            if line.startswith("model name")
        ]
        if info.exists()
        else []
    )
    return f"{len(names)} x {names[0]}" if names else platform.processor() or platform.machine()


def _commit() -> str:
    def git(*words: str) -> str:
        done = subprocess.run(
            ["git", *words], capture_output=True, text=True, cwd=Path(__file__).parent, check=False
        )
        return done.stdout.strip()

    changed = git("status", "--porcelain", "--untracked-files=no", "--", "../marker/nest", ".")
    return (git("rev-parse", "--short", "HEAD") or "unknown") + (" with changes" if changed else "")


def to_json(runs: list[Run], about: dict[str, Any], options: dict[str, Any]) -> str:
    """The dated file: ``circumstances``, options and every run with its convergence."""
    lines = [json.dumps(asdict(replace(run, progress=_thinned(run.progress)))) for run in runs]
    head = json.dumps({**about, "options": options}, indent=1)
    return head.removesuffix("\n}") + ',\n "runs": [\n' + ",\n".join(lines) + "\n ]\n}\n"


def _thinned(progress: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """The last point and those that are at least a hundredth of a percent above the one before."""
    kept: list[tuple[float, float]] = []
    for k, (seconds, density) in enumerate(progress):
        if not kept or density >= kept[-1][1] + 0.01 or k == len(progress) - 1:
            kept.append((round(seconds, 3), round(density, 4)))
    return tuple(kept)


def convergence(runs: list[Run], path: Path) -> None:
    """Density over time, the median of the seeds and their range, one panel for each instance."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot

    names = list(dict.fromkeys(run.name for run in runs))
    columns = min(4, len(names))
    rows = -(-len(names) // columns)
    figure, axes = pyplot.subplots(
        rows, columns, figsize=(3.6 * columns, 2.9 * rows), squeeze=False, layout="constrained"
    )
    for axis, name in zip(axes.flat, names, strict=False):
        of = [run for run in runs if run.name == name and run.progress]
        if not of:
            continue
        start = max(max(run.progress[0][0] for run in of), 0.05)
        times = np.geomspace(start, max(max(run.seconds for run in of), start * 1.01), 200)
        curves = np.array([_at(times, run.progress) for run in of])
        axis.fill_between(times, curves.min(axis=0), curves.max(axis=0), color="0.8", label="range of seeds")
        axis.plot(times, np.median(curves, axis=0), color="black", label="median of seeds")
        axis.axhline(published.best_known(name), color="black", linestyle=":", label="best known")
        if name in published.DENSITIES:
            axis.axhline(published.DENSITIES[name][0], color="black", linestyle="--", label="average 2025")
        axis.set(title=name, xscale="log", xlabel="seconds", ylabel="density, %")
        axis.xaxis.set_major_formatter("{x:g}")
        axis.xaxis.set_minor_formatter("")
    for axis in list(axes.flat)[len(names) :]:
        axis.set_axis_off()
    axes.flat[0].legend(fontsize="small", loc="lower right")
    figure.savefig(path, dpi=110)
    pyplot.close(figure)


def _at(times: np.ndarray, progress: tuple[tuple[float, float], ...]) -> np.ndarray:
    """The best density so far at each time."""
    when, density = np.array(progress).T
    best = np.maximum.accumulate(density)
    return np.asarray(best[np.clip(np.searchsorted(when, times, side="right") - 1, 0, None)])
