"""What single lines of search reach, and how soon it shows: ``python -m benchmarks.lines mao`` (a table).

A search begins several lines and drops the worse ones after a while. That pays if lines end far apart and if
those that are ahead early tend to be ahead in the end: the table has both. Work is counted as effort, so the
figures are the same every time.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor

import click
import numpy as np
from numpy.typing import NDArray

from benchmarks.instance import load, names, to_task
from marker.nest.budget import Meter
from marker.nest.compiling import warm_up
from marker.nest.crew import PLAIN, SHAKEN
from marker.nest.search import prepare
from marker.nest.searcher import Best, Searcher

SHARES = (0.02, 0.04, 0.08, 0.16, 1 / 3, 2 / 3, 1.0)
"""Parts of the effort after which densities are looked at."""


def follow(name: str, seed: int, effort: float) -> list[float]:
    """Densities in %, after each of ``SHARES`` of the effort, of one line; of a patient one if seed is odd.

    Every second pair of lines begins with a shaken order of the shapes, the others with the plain one.
    """
    task = to_task(load(name))
    prepared = prepare(task.problem)
    meter = Meter(effort=effort, stop=lambda: False)
    lengths: list[tuple[float, int]] = []
    best = Best(lambda better: lengths.append((meter.used(), better.length)))
    line = Searcher(prepared.tables, seed, best, 1, patient=seed % 2 == 1, no_fit=prepared.no_fit)
    line.start(*(SHAKEN if seed // 2 % 2 else PLAIN))
    line.explore(meter)
    reached = [min(length for used, length in lengths if used <= share) for share in SHARES]
    return [task.instance.density(length / task.instance.scale) for length in reached]


def agreement(early: NDArray[np.float64], late: NDArray[np.float64]) -> float:
    """Rank correlation (Spearman 1904; ties by order) of two columns of densities; 1 if the order is kept."""
    ranks = [np.argsort(np.argsort(column, kind="stable")) for column in (early, late)]
    return float(np.corrcoef(ranks[0], ranks[1])[0, 1])


@click.command(context_settings={"show_default": True})
@click.argument("name", type=click.Choice(names()))
@click.option(
    "--effort", type=click.FloatRange(min=0, min_open=True), default=30.0, help="Work for each line."
)
@click.option("--lines", type=click.IntRange(min=4), default=48, help="How many lines to follow.")
@click.option("--cores", type=click.IntRange(min=1), default=2, help="Lines followed at the same time.")
def main(name: str, effort: float, lines: int, cores: int) -> None:
    """Follow single lines of search and print how their densities spread."""
    warm_up()
    with ProcessPoolExecutor(cores) as pool:
        found = np.array(list(pool.map(follow, [name] * lines, range(lines), [effort] * lines)))
    seeds = np.arange(lines)
    groups = {
        "hasty": found[seeds % 2 == 0],
        "patient": found[seeds % 2 == 1],
        "plain": found[seeds // 2 % 2 == 0],
        "shaken": found[seeds // 2 % 2 == 1],
        "all": found,
    }
    click.echo("| effort | " + " | ".join(groups) + " | most | order as in the end |")
    click.echo("|---" * (len(groups) + 3) + "|")
    for k, share in enumerate(SHARES):
        spread = [f"{group[:, k].mean():.2f} ± {group[:, k].std(ddof=1):.2f}" for group in groups.values()]
        click.echo(
            f"| {effort * share:.3g} | {' | '.join(spread)} | {found[:, k].max():.2f}"
            f" | {agreement(found[:, k], found[:, -1]):.2f} |"
        )
    click.echo(f"\n{name}: {lines} lines, densities in %, mean ± deviation of one line.")


if __name__ == "__main__":
    main()
