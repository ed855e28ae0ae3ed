"""The search for the shortest strip, from the problem's tables to the layout."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from marker.nest.budget import Budget, Schedule, Stopped
from marker.nest.crew import HEATS, LAST_HEAT, PLAIN, Crew, lines_and_heats
from marker.nest.landscape import Tables, make_tables
from marker.nest.nfp import NoFitPolygons
from marker.nest.problem import Problem, Solution
from marker.nest.repeat import part, repeated
from marker.nest.searcher import Best, Searcher

COMPRESSING, LONGEST = 0.08, 0.015
"""Share of the budget for compressing in small steps, but at most so many seconds, or so much effort, times
the square of the number of shapes. What comes before is for exploring: shrinking in large steps."""

PART = 0.6
"""Share of the budget for the part of a large job that is repeated (``repeat``)."""

LINEAR = 150
"""Up to so many shapes, layouts are also parted and compacted by linear programming."""

LEAST_LINEAR = 0.5
"""... if the budget is at least so many seconds or so much effort."""


class NoRoom(ValueError):
    """No variant of a kind has a window: it fits on no strip of this width, however long."""

    def __init__(self, kind: int) -> None:
        super().__init__(f"kind {kind} fits nowhere on the strip")
        self.kind = kind


@dataclass(frozen=True, eq=False)
class Prepared:
    """A problem with its no-fit polygons and rasters; good for any number of searches.

    ``no_fit``: those for linear programming, each made when it is first asked for.
    """

    problem: Problem
    tables: Tables
    no_fit: NoFitPolygons


def prepare(
    problem: Problem, pitch: float | None = None, stop: Callable[[], bool] = lambda: False
) -> Prepared:
    """Computes the tables of a problem once. Raises NoRoom if a kind has no place at any length, NoLattice
    if lattices leave some none, Stopped if ``stop``, asked between two tables, says so.

    Problems with shapes in common are prepared faster one after the other at the same ``pitch``, the
    distance of the landscape's nodes (``landscape.usual_pitch``: what suits a problem).
    """
    for k, kind in enumerate(problem.kinds):
        if kind.count > 0 and not any(variant.y_lo <= variant.y_hi for variant in kind.variants):
            raise NoRoom(k)
    tables = make_tables(problem, pitch, stop)
    if tables.ties is not None:
        tables.ties.check()
    return Prepared(problem, tables, NoFitPolygons(problem))


def solve(
    problem: Problem | Prepared,
    budget: Budget,
    *,
    seed: int = 1,
    cores: int = 2,
    start: Solution | None = None,
    lower_bound: int | None = None,
    on_better: Callable[[Solution], None] | None = None,
    accept: Callable[[Solution], bool] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Solution:
    """A short layout of all shapes of the problem, free of overlap.

    ``seed``, ``cores`` and a budget in effort determine the answer. ``start`` is a layout to go on from;
    ``on_better`` is called with every better layout, from any of the threads, one call at a time; ``stop``
    is asked about twenty times a second whether to end now. The search ends early at ``lower_bound``.
    ``accept``, if given, is asked about every layout that is to be kept: one that it refuses counts as one
    with overlaps. It must not refuse ``start``. Raises NoRoom if a kind has no place at any length, Stopped
    if not even a first layout is accepted.
    """
    schedule = Schedule(budget, time.monotonic(), stop)
    prepared = problem if isinstance(problem, Prepared) else prepare(problem)
    shapes = prepared.problem.total
    if shapes == 0:
        return Solution(0, ())
    shared = Best(on_better, accept)
    few = shapes <= LINEAR and prepared.tables.ties is None
    no_fit = prepared.no_fit if few and budget.amount >= LEAST_LINEAR else None

    def new_line(core: int, number: int) -> Searcher:
        return Searcher(
            prepared.tables,
            (seed * 1000 + core) * 1000 + number,
            shared,
            max(1, lower_bound or 0),
            patient=(core + number) % 2 == 1,
            no_fit=no_fit,
        )

    first = new_line(0, 0)
    at = 0.0
    starts = [] if start is None else [start]
    if (repetition := part(prepared.problem)) is not None:
        starts.append(_by_repetition(prepared, *repetition, first, schedule, seed, cores))
        at = PART
    for each in sorted(starts, key=lambda layout: layout.length):
        first.bench.take(each)
        if first.record():
            first.go_on(first.best)
            start = each
            break
    if first.best is None:
        first.start(*PLAIN)
    if first.best is None:
        raise Stopped
    exploring = 1.0 - COMPRESSING
    if budget.amount > 0.0:
        exploring = max(exploring, 1.0 - LONGEST * shapes**2 / budget.amount)
    lines, heats = lines_and_heats(exploring * budget.amount, shapes) if start is None else (1, HEATS)
    teams = [
        [first if core == number == 0 else new_line(core, number) for number in range(lines)]
        for core in range(max(1, cores))
    ]
    crew = Crew(teams, schedule, first.best)
    if start is not None:
        for team in teams:
            team[0].go_on(crew.given)
    step = (exploring - at) * (1.0 - LAST_HEAT) / heats
    for _ in range(heats):
        crew.heat(at, at + step)
        at += step
    crew.meet()
    crew.together(Searcher.explore, at, exploring)
    crew.squeeze()
    kept = crew.squeezing / budget.seconds if budget.seconds else 0.0
    crew.together(Searcher.compress, exploring, max(exploring, 1.0 - kept))
    crew.squeeze()
    winner = crew.meet()
    assert winner.best is not None
    winner.bench.load(winner.best)
    return winner.bench.solution()


def _by_repetition(
    prepared: Prepared, small: Problem, times: int, first: Searcher, schedule: Schedule, seed: int, cores: int
) -> Solution:
    """Copies of a layout of the small problem; ``first`` records those of a quick one before."""
    ready = prepare(small, prepared.tables.pitch)
    unit = solve(ready, Budget(effort=0.0), seed=seed, cores=1)
    first.bench.take(repeated(prepared.tables, unit, times))
    first.record()
    if not schedule.stopped():
        unit = solve(ready, schedule.budget.share(PART), seed=seed, cores=cores, stop=schedule.stopped)
    return repeated(prepared.tables, unit, times)
