"""How many layouts the search parts in a second: ``python -m benchmarks.parting`` prints a table.

A good layout gets a slice cut out at a random place; its shapes then overlap, and the search tries to part
them. How often that succeeds in a second of one core says sooner and more surely than final densities
whether a change to the kernel pays: a hundred searches of a minute differ by more than most changes bring.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import click

from benchmarks.instance import load, to_task
from marker.nest.budget import Budget, Meter
from marker.nest.compiling import warm_up
from marker.nest.search import Prepared, prepare, solve
from marker.nest.searcher import Best, Searcher

LAYOUTS = 4
EFFORT = 5.0
"""Layouts to cut from, each with a seed of its own, and the work that is put into each."""

LONGEST = 4.0
"""Effort after which a trial is given up."""

SLICES = {"swim": 0.5, "dagli": 0.3, "trousers": 0.3, "mao": 0.2}
"""Instances and the slice cut out of each, in % of the length."""


@dataclass(frozen=True)
class Parted:
    """Trials and successes; seconds of processor time; moves and passes made."""

    trials: int
    successes: int
    seconds: float
    moves: float
    passes: int


def measure(prepared: Prepared, slice_: float, trials: int, patience: int, effort: float = EFFORT) -> Parted:
    """Cuts slices (a share of the length) out of layouts of this effort and parts what overlaps then."""
    layouts = [
        solve(prepared, Budget(effort=effort), seed=11 + k, cores=1) for k in range(min(LAYOUTS, trials))
    ]
    successes, passes, moves, seconds = 0, 0, 0.0, 0.0
    for trial in range(trials):
        line = Searcher(prepared.tables, 1000 + trial, Best(None), 1)
        line.bench.take(layouts[trial % len(layouts)])
        whole = line.bench.layout()
        line.resize(whole, int(whole.length * (1.0 - slice_)))
        began = time.process_time()
        successes += line.bench.separate(Meter(effort=LONGEST, stop=lambda: False), patience)
        seconds += time.process_time() - began
        passes += line.bench.passes
        moves += float(line.bench.work[1])
    return Parted(trials, successes, seconds, moves, passes)


@click.command(context_settings={"show_default": True})
@click.argument("names", nargs=-1)
@click.option("--trials", type=click.IntRange(min=1), default=400)
@click.option(
    "--patience", type=click.IntRange(min=1), default=200, help="Passes without progress to give up."
)
def main(names: tuple[str, ...], trials: int, patience: int) -> None:
    """Part layouts that a slice was cut out of, and print how many a second."""
    unknown = [name for name in names if name not in SLICES]
    if unknown:
        raise click.UsageError(f"no slice is set for {unknown[0]}; there are {', '.join(SLICES)}")
    warm_up()
    click.echo("| instance | slice % | parted | of | a second | passes a second | moves a second |")
    click.echo("| --- | --- | --- | --- | --- | --- | --- |")
    for name in names or SLICES:
        found = measure(prepare(to_task(load(name)).problem), SLICES[name] / 100.0, trials, patience)
        click.echo(
            f"| {name} | {SLICES[name]:g} | {found.successes} | {found.trials}"
            f" | {found.successes / found.seconds:.2f} | {found.passes / found.seconds:,.0f}"
            f" | {found.moves / found.seconds:,.0f} |"
        )


if __name__ == "__main__":
    main()
