"""Measure the placing engine on open strip-packing instances.

``python -m benchmarks.strip_packing shirts --seconds 60 --seed 1 --cores 1 --out layout.json`` searches one
instance and writes its layout; without names the seven garment instances are searched. Every layout is
verified before it counts.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import click

from benchmarks import published
from benchmarks.instance import GARMENTS, Task, load, names, to_task
from benchmarks.layout import TOLERANCE, faults, second_opinion, to_layout
from benchmarks.record import Run, circumstances, convergence, table, to_json
from marker.files.atomic import write_text
from marker.files.layout_file import write_layout
from marker.model.layout import Layout
from marker.nest.budget import Budget
from marker.nest.problem import Solution


def search(task: Task, budget: Budget, seed: int, cores: int) -> tuple[Run, Layout]:
    """One search, its layout and what the checks say. ``remark`` is empty if there is nothing to say."""
    from marker.nest.search import solve

    instance = task.instance
    progress: list[tuple[float, float]] = []
    began = time.perf_counter()

    def note(better: Solution) -> None:
        progress.append((time.perf_counter() - began, instance.density(better.length / instance.scale)))

    solution = solve(task.problem, budget, seed=seed, cores=cores, on_better=note)
    seconds = time.perf_counter() - began
    layout = to_layout(task, solution, seed)
    length = layout.materials[0].length
    density = instance.density(length)
    found = faults(task, layout)
    remark = "INVALID: " + "; ".join(found) if found else ""
    if not found and density > published.best_known(instance.name) + 0.005:
        remark = second_opinion(task, solution, layout)
    return (
        Run(instance.name, seed, instance.count, length, density, seconds, remark, tuple(progress)),
        layout,
    )


@click.command(context_settings={"show_default": True})
@click.argument("names_", metavar="[NAMES]...", nargs=-1)
@click.option(
    "--instances",
    default="",
    help="Names with commas between, or 'all'; the seven garment instances if none.",
)
@click.option("--seconds", type=float, help="Time for each search [default: 10].")
@click.option(
    "--effort", type=float, help="Work for each search instead of time: the same layout every time."
)
@click.option(
    "--seeds", type=click.IntRange(min=1), default=1, help="How many seeds to search with, from --seed on."
)
@click.option("--seed", type=int, default=1, help="The (first) seed.")
@click.option("--cores", type=click.IntRange(min=1), default=2)
@click.option(
    "--out", type=click.Path(path_type=Path), help="A .json file for one layout, or a folder for everything."
)
def main(
    names_: tuple[str, ...],
    instances: str,
    seconds: float | None,
    effort: float | None,
    seeds: int,
    seed: int,
    cores: int,
    out: Path | None,
) -> None:
    """Search open strip-packing instances and print densities beside the published ones."""
    wanted = [*names_, *(name for name in instances.replace(",", " ").split() if name)]
    wanted = names() if wanted == ["all"] else wanted or list(GARMENTS)
    unknown = [name for name in wanted if name not in names()]
    if unknown:
        raise click.UsageError(f"there is no instance {unknown[0]}; there are {', '.join(names())}")
    if seconds is not None and effort is not None:
        raise click.UsageError("give --seconds or --effort, not both")
    budget = (
        Budget(effort=effort)
        if effort is not None
        else Budget(seconds=seconds if seconds is not None else 10.0)
    )
    one_file = out is not None and out.suffix == ".json"
    if one_file and len(wanted) * seeds > 1:
        raise click.UsageError("--out FILE.json takes one layout; give a folder for several")

    _prepare()
    about = circumstances()
    limit = f"effort {effort:g}" if effort is not None else f"{budget.amount:g} s"
    options = {"seconds": budget.seconds, "effort": effort, "cores": cores, "tolerance": TOLERANCE}
    kept = None if out is None or one_file else out / f"{about['date']}-{limit.replace(' ', '')}.json"
    runs: list[Run] = []
    for name in wanted:
        task = to_task(load(name))
        for each in range(seed, seed + seeds):
            run, layout = search(task, budget, each, cores)
            runs.append(run)
            remark = f"  {run.remark}" if run.remark else ""
            click.echo(f"{name} seed {each}: {run.density:.2f} % in {run.seconds:.1f} s{remark}", err=True)
            if out is not None:
                target = out if one_file else out / "layouts" / f"{name}-seed{each}.json"
                target.parent.mkdir(parents=True, exist_ok=True)
                write_layout(layout, target)
            if kept is not None:
                write_text(kept, to_json(runs, about, options))
    click.echo(table(runs))
    click.echo(
        f"\n{limit} a search, {cores} of {about['processor']}, {about['date']}, commit {about['commit']}.\n"
        f"Checked with shapely: overlaps up to {TOLERANCE:g} lattice units deep count as touching;"
        " a strip is a million units wide."
    )
    for run in runs:
        if run.remark:
            click.echo(f"{run.name} seed {run.seed}: {run.remark}")
    if kept is not None:
        convergence(runs, kept.with_suffix(".png"))
    if any(run.remark.startswith("INVALID") for run in runs):
        sys.exit(3)


def _prepare() -> None:
    """Compile the kernels before the clock starts."""
    from marker.nest.compiling import is_cold, warm_up

    if is_cold():
        click.echo("preparing the engine, once: some ten seconds", err=True)
    warm_up()


if __name__ == "__main__":
    main()
