"""The search for the shortest strip: several lines of search, side by side and in turn.

Lines that start differently end up at quite different lengths, and what they reach early says something
about what they will reach. So each core begins several lines, gives each the same small amount of work,
and goes on with the better ones only (successive halving, Jamieson & Talwalkar 2016).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np

from marker.nest import kernels
from marker.nest.bench import Layout
from marker.nest.budget import Budget, Meter
from marker.nest.landscape import Tables, make_tables
from marker.nest.nfp import NoFitPolygons
from marker.nest.problem import Kind, Lattice, Problem, Solution, Variant
from marker.nest.repeat import part, repeated
from marker.nest.searcher import Best, Searcher

COMPRESSING, LONGEST = 0.08, 0.015
"""Share of the budget for compressing in small steps, but at most so many seconds, or so much effort, times
the square of the number of shapes. What comes before is for exploring: shrinking in large steps."""

HEATS, LAST_HEAT = 3, 0.25
"""Least number of heats of exploring before the last, all of one length, and the share of the last. After
each the better half of a core's lines goes on, and in the last the best of each core."""

LINES, MOST_LINES = 8, 32
"""Most lines that a core begins with in a short search, and in a long one."""

MORE_HEAT = 3.0
"""Seconds, or effort, that a line should have in its first heat for there to be more than ``LINES``."""

ROUNDS, LONG_ROUND = 12, 0.003
"""How often in the last heat, and while compressing, the cores take over what the best of them has found: at
least that often, and after so many seconds, or so much effort, times the square of the number of shapes, but
never sooner than after one."""

PLAIN, SHAKEN = (1, 0.0), (3, 0.3)
"""Orders tried for a line's first layout, and how much they are shaken (deviation of the log of size)."""

LEAST_HEAT = 0.0015
"""Seconds, or effort, that a line should have in its first heat, times the square of the number of shapes."""

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


def prepare(problem: Problem, pitch: float | None = None) -> Prepared:
    """Computes the tables of a problem once. Raises NoRoom if a kind has no place at any length, NoLattice
    if lattices leave some none.

    Problems with shapes in common are prepared faster one after the other at the same ``pitch``, the
    distance of the landscape's nodes (``landscape.usual_pitch``: what suits a problem).
    """
    for k, kind in enumerate(problem.kinds):
        if kind.count > 0 and not any(variant.y_lo <= variant.y_hi for variant in kind.variants):
            raise NoRoom(k)
    tables = make_tables(problem, pitch)
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
    stop: Callable[[], bool] | None = None,
) -> Solution:
    """A short layout of all shapes of the problem, free of overlap.

    ``seed``, ``cores`` and a budget in effort determine the answer. ``start`` is a layout to go on from;
    ``on_better`` is called with every better layout, from any of the threads, one call at a time; ``stop``
    is asked about twenty times a second whether to end now. The search ends early at ``lower_bound``.
    Raises NoRoom if a kind has no place at any length.
    """
    began = time.monotonic()
    prepared = problem if isinstance(problem, Prepared) else prepare(problem)
    if prepared.problem.total == 0:
        return Solution(0, ())
    bound = max(1, lower_bound or 0)
    halt = threading.Event()
    shared = Best(on_better)

    def stopped() -> bool:
        return halt.is_set() or (stop is not None and stop())

    clock = _Clock(budget, began, stopped)
    few = prepared.problem.total <= LINEAR and prepared.tables.ties is None
    no_fit = prepared.no_fit if few and budget.amount >= LEAST_LINEAR else None

    def new_line(core: int, number: int) -> Searcher:
        return Searcher(
            prepared.tables,
            (seed * 1000 + core) * 1000 + number,
            shared,
            bound,
            patient=(core + number) % 2 == 1,
            no_fit=no_fit,
        )

    first = new_line(0, 0)
    at = 0.0
    if start is None and (repetition := part(prepared.problem)) is not None:
        small, times = repetition
        ready = prepare(small, prepared.tables.pitch)
        unit = solve(ready, Budget(effort=0.0), seed=seed, cores=1)
        first.bench.take(repeated(prepared.tables, unit, times))
        first.record()
        at = PART
        if not stopped():
            unit = solve(ready, budget.share(PART), seed=seed, cores=cores, stop=stopped)
        start = repeated(prepared.tables, unit, times)
    if start is not None:
        first.bench.take(start)
        if first.record():
            first.go_on(first.best)
    if first.best is None:
        first.start(*PLAIN)
    given = first.best
    shapes = prepared.problem.total
    exploring = 1.0 - COMPRESSING
    if budget.amount > 0.0:
        exploring = max(exploring, 1.0 - LONGEST * shapes**2 / budget.amount)
    lines, heats = lines_and_heats(exploring * budget.amount, shapes) if start is None else (1, HEATS)
    teams = [
        [first if core == number == 0 else new_line(core, number) for number in range(lines)]
        for core in range(max(1, cores))
    ]
    if start is not None:
        for team in teams:
            team[0].go_on(given)

    squeezing = 0.0

    def squeeze() -> None:
        nonlocal squeezing
        if no_fit is None or stopped() or teams[0][0].done:
            return
        if budget.seconds is not None and began + budget.seconds - time.monotonic() < squeezing:
            return
        at = time.monotonic()
        teams[0][0].squeeze()
        squeezing = 1.5 * (time.monotonic() - at)
        _meet(teams)

    def together(ways: list[Callable[[Meter, float], None]], until: float) -> None:
        """Lets each core's line go on its way from now on, and all go on from the best after each round."""
        meters = [clock.meter(at, until) for _ in teams]
        rounds = 1
        if len(teams) > 1:
            rounds = max(ROUNDS, int((until - at) * budget.amount / max(1.0, LONG_ROUND * shapes**2)))
        for turn in range(1, rounds + 1):
            jobs = zip(ways, meters, strict=True)
            _side_by_side([partial(way, metered, turn / rounds) for way, metered in jobs], halt)
            _meet(teams)
            if all(metered.used() < turn / rounds for metered in meters):
                # Nothing is left to do: no layout can be shorter, or the caller asked to stop.
                break

    each = (exploring - at) * (1.0 - LAST_HEAT) / heats
    for _ in range(heats):
        _side_by_side([partial(_heat, team, given, clock, at, at + each) for team in teams], halt)
        at += each
    _meet(teams)
    together([team[0].explore for team in teams], exploring)
    at = exploring
    squeeze()
    together(
        [team[0].compress for team in teams],
        max(at, 1.0 - (squeezing / budget.seconds if budget.seconds else 0.0)),
    )
    squeeze()
    winner = _meet(teams)
    assert winner.best is not None
    winner.bench.load(winner.best)
    return winner.bench.solution()


def lines_and_heats(amount: float, shapes: int) -> tuple[int, int]:
    """How many lines a core begins with, and how many heats come before the last.

    ``amount`` of seconds, or of effort, that a core has for exploring; ``shapes`` to be laid, at least one.
    """
    before_last = amount * (1.0 - LAST_HEAT)
    lines = max(1, min(LINES, int(before_last / HEATS / (LEAST_HEAT * shapes**2))))
    heats = HEATS
    while LINES <= lines < MOST_LINES and before_last / (heats + 1) / (2 * lines) >= MORE_HEAT:
        lines, heats = 2 * lines, heats + 1
    return lines, heats


@dataclass(frozen=True)
class _Clock:
    """Gives out stretches of a budget that began at ``began``."""

    budget: Budget
    began: float
    stopped: Callable[[], bool]

    def meter(self, share_from: float, share_to: float) -> Meter:
        """For the work, or until the end, of the stretch between two shares of the budget."""
        if self.budget.effort is not None:
            return Meter(effort=self.budget.effort * (share_to - share_from), stop=self.stopped)
        return Meter(until=self.began + self.budget.amount * share_to, stop=self.stopped)


def _heat(
    team: list[Searcher], given: Layout | None, clock: _Clock, share_from: float, share_to: float
) -> None:
    """Lets each line of a core explore for its part of a heat, then keeps the better half.

    New lines begin with a first layout of their own, or with the one ``given`` if time is up.
    """
    share = (share_to - share_from) / len(team)
    for number, line in enumerate(team):
        meter = clock.meter(share_from + number * share, share_from + (number + 1) * share)
        if line.best is None and not meter.over():
            line.start(*(SHAKEN if number < LINES else PLAIN))
        if line.best is None:
            line.best = given
        line.explore(meter)
    team.sort(key=lambda line: line.length)
    del team[max(1, len(team) // 2) :]


def _meet(teams: list[list[Searcher]]) -> Searcher:
    """Every core's best line takes over the best layout of all; returns the line that had it."""
    best = min((team[0] for team in teams), key=lambda line: line.length)
    assert best.best is not None
    for team in teams:
        team[0].adopt(best.best)
    return best


def _side_by_side(jobs: list[Callable[[], None]], halt: threading.Event) -> None:
    """Runs jobs in threads of their own and waits; a job's exception, or Ctrl-C, ends all and is raised."""
    if len(jobs) == 1:
        jobs[0]()
        return
    failures: list[BaseException] = []

    def run(job: Callable[[], None]) -> None:
        try:
            job()
        except BaseException as failure:
            failures.append(failure)
            halt.set()

    threads = [threading.Thread(target=run, args=(job,), daemon=True) for job in jobs]
    for thread in threads:
        thread.start()
    try:
        for thread in threads:
            while thread.is_alive():
                thread.join(0.05)
    except BaseException:
        halt.set()
        for thread in threads:
            thread.join()
        raise
    if failures:
        raise failures[0]


def is_cold(tied: bool = False) -> bool:
    """Whether the kernels still have to be compiled, which takes some ten seconds (``warm_up``).

    ``tied``: those for problems with lattices, which take as long again.
    """
    kernel = kernels.construct_tied if tied else kernels.construct
    if kernel.signatures:
        return False
    if not kernels.CACHE:
        return True
    source = Path(kernels.__file__).stat().st_mtime
    folder = Path(kernel.stats.cache_path)
    return not any(
        index.stat().st_mtime >= source for index in folder.glob(f"kernels.{kernel.__name__}-*.nbi")
    )


def compile_kernels(tied: bool, on_cold: Callable[[], None] | None = None) -> bool:
    """Compiles the kernels that are not compiled yet, those for lattices too if ``tied``; whether any were.

    ``on_cold`` is called before the first.
    """
    cold = [lattices for lattices in ((False, True) if tied else (False,)) if is_cold(lattices)]
    if cold and on_cold:
        on_cold()
    for lattices in cold:
        warm_up(lattices)
    return bool(cold)


def warm_up(tied: bool = False) -> None:
    """Compiles all kernels, or loads them from numba's cache, by solving a tiny problem.

    ``tied``: those for problems with lattices instead.
    """
    square = np.array([(0, 0), (1000, 0), (1000, 1000), (0, 1000)], dtype=np.int64)
    lattice = Lattice(1500.0, 0.0, group=0) if tied else None
    kind = Kind((Variant(square, 0, 1000, 0, 1500, lattice),), 4, 1e6)
    solve(Problem((kind,), 2500, (square,)), Budget(effort=0.02), cores=1)
