"""How time, memory and density grow with the number of pieces: one garment cut many times over.

``python -m benchmarks.scale --garments 10 --garments 40`` lays the fabric of that many harbour
smocks on open cloth, each in a process of its own, and prints a table.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from pathlib import Path

import click

PATTERN = Path(__file__).parent.parent / "pieces" / "harbour-smock.toml"


def measure(garments: int, seconds: float, effort: float | None, cores: int) -> dict[str, float]:
    """One search; times are seconds from the ready problem on, memory the peak of this process in MB."""
    from marker.api import load_job
    from marker.cloth.choose import enter
    from marker.nest.bounds import lower_bound
    from marker.nest.budget import Budget
    from marker.nest.compaction import is_valid
    from marker.nest.compiling import warm_up
    from marker.nest.problem import Solution
    from marker.nest.search import prepare, solve

    warm_up()
    job = load_job(PATTERN, size="M", quantity=garments)
    (stretch,) = enter(job, "fabric", "open").runners[0].plan.stretches
    problem = stretch.problem
    before = _peak()
    found: list[float] = []

    def note(_: Solution) -> None:
        found.append(time.perf_counter() - began)

    began = time.perf_counter()
    bound = lower_bound(problem)
    bounded = time.perf_counter()
    prepared = prepare(problem)
    made = time.perf_counter()
    budget = Budget(effort=effort) if effort is not None else Budget(seconds=seconds)
    solution = solve(prepared, budget, seed=1, cores=cores, on_better=note)
    ended = time.perf_counter()
    if not is_valid(problem, solution):
        raise RuntimeError("the layout has overlaps")
    return {
        "pieces": problem.total,
        "kinds": len(problem.kinds),
        "corners": sum(len(kind.variants[0].polygon) for kind in problem.kinds) / len(problem.kinds),
        "bound": bounded - began,
        "tables": made - bounded,
        "first": found[0],
        "density": 100 * problem.area / (problem.width * solution.length),
        "gap": 100 * (solution.length / bound - 1),
        "took": ended - made,
        "check": time.perf_counter() - ended,
        "memory": _peak(),
        "memory_before": before,
    }


def _peak() -> float:
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used / (1024 * 1024 if sys.platform == "darwin" else 1024)


HEAD = "garments,pieces,kinds,corners,bound s,table s,first s,density %,gap %,search s,check s,peak MB,start"


@click.command(context_settings={"show_default": True})
@click.option(
    "--garments", type=int, multiple=True, default=(1, 10, 40), help="Numbers of garments, one run each."
)
@click.option("--seconds", type=float, default=60.0)
@click.option("--effort", type=float, help="Work for each search instead of time.")
@click.option("--cores", type=int, default=2)
@click.option("--one", type=int, hidden=True)
def main(
    garments: tuple[int, ...], seconds: float, effort: float | None, cores: int, one: int | None
) -> None:
    """Lay the fabric of many harbour smocks, size M, on open cloth."""
    if one is not None:
        print(json.dumps(measure(one, seconds, effort, cores)))
        return
    click.echo("| " + HEAD.replace(",", " | ") + " |")
    click.echo("|" + "---|" * len(HEAD.split(",")))
    for number in garments:
        command = [sys.executable, "-m", "benchmarks.scale", "--one", str(number), "--seconds", str(seconds)]
        command += ["--effort", str(effort)] if effort is not None else []
        done = subprocess.run([*command, "--cores", str(cores)], capture_output=True, text=True, check=True)
        figures = [float(figure) for figure in json.loads(done.stdout).values()]
        click.echo(
            "| "
            + " | ".join([str(number), *(f"{f:.0f}" if f >= 100 else f"{f:.3g}" for f in figures)])
            + " |"
        )


if __name__ == "__main__":
    main()
