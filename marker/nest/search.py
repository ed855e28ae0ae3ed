"""The search for the shortest strip: shrink it, part what then overlaps, and shrink again.

The family of methods is known from Egeblad, Nielsen & Odgaard (2007), Imamichi, Yagiura & Nagamochi
(2009), Elkeran (2013) and Gardeyn, Vanden Berghe & Wauters (2025): overlap minimisation at a given
length by guided local search, with a pool of failed attempts to go on from. Here one shape is moved at a
time, to the best place that a landscape of overlap over the whole strip shows (``kernels.move``).
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
from marker.nest.bench import Bench, Layout
from marker.nest.budget import Budget, Meter
from marker.nest.compaction import compact
from marker.nest.disturb import scatter, shift_behind, swap_slices, swap_two, turn_slice
from marker.nest.landscape import Tables, make_tables
from marker.nest.nfp import NoFitPolygons
from marker.nest.problem import Kind, Problem, Solution, Variant
from marker.nest.start import build, first_layout

EXPLORING = 0.85
"""Share of the budget for shrinking in large steps; the rest is for compressing in small ones."""

PATIENCE = 200
"""Passes without 2 % less overlap after which a length is given up while exploring."""

FINE_PATIENCE = 100
"""The same while compressing."""

FIRST_STEP = 0.02
LATER_STEP = 0.005
LAST_STEP = 0.002
"""Shares of the length that exploring takes off at a time: at first, when going on from a given layout, and
after failures at least."""

FINE_STEP = 0.0008
FINEST_STEP = 0.00004
"""The same for compressing, at the beginning and at the end."""

MEETINGS = (0.5, 0.75, 1.0)
"""When, as shares of exploring, the searchers wait for each other and all go on from the best layout."""

LINEAR = 150
"""Up to so many shapes, layouts are also compacted by linear programming."""

LEAST_LINEAR = 0.5
"""... if the budget is at least so many seconds or so much effort."""

STRIKES = 3
"""Failed attempts at a length after which a smaller step is tried."""


NEARLY = 2.0
"""Overlap, in terms of the slice cut out, below which a failed attempt is tried with half the slice back."""

POOL = 12
"""Failed attempts kept to go on from."""

WAYS = (
    (0.45, swap_two),
    (0.15, swap_slices),
    (0.20, turn_slice),
    (0.20, scatter),
)
"""How a failed attempt is disturbed before the next, and how often."""


class NoRoom(ValueError):
    """No variant of a kind has a window: it fits on no strip of this width, however long."""

    def __init__(self, kind: int) -> None:
        super().__init__(f"kind {kind} fits nowhere on the strip")
        self.kind = kind


@dataclass(frozen=True, eq=False)
class Prepared:
    """A problem with its no-fit polygons and rasters; good for any number of searches."""

    problem: Problem
    tables: Tables


def prepare(problem: Problem, pitch: float | None = None) -> Prepared:
    """Computes the tables of a problem once. Raises NoRoom if a kind has no place at any length.

    Problems with shapes in common are prepared faster one after the other at the same ``pitch``, the
    distance of the landscape's nodes (``landscape.usual_pitch``: what suits a problem).
    """
    for k, kind in enumerate(problem.kinds):
        if kind.count > 0 and not any(variant.y_lo <= variant.y_hi for variant in kind.variants):
            raise NoRoom(k)
    return Prepared(problem, make_tables(problem, pitch))


class _Best:
    """The shortest certified layout so far, shared by the threads of one search."""

    def __init__(self, on_better: Callable[[Solution], None] | None) -> None:
        self._lock = threading.Lock()
        self._on_better = on_better
        self.length: int | None = None

    def offer(self, bench: Bench) -> None:
        with self._lock:
            if self.length is None or bench.length < self.length:
                self.length = bench.length
                if self._on_better is not None:
                    self._on_better(bench.solution())


class Searcher:
    """One thread's search: its own workbench, random numbers and best layout."""

    def __init__(self, tables: Tables, seed: int, best: _Best, bound: int) -> None:
        self.bench = Bench(tables, seed)
        self.rng = np.random.default_rng(seed)
        self.best: Layout | None = None
        self._shared = best
        self._bound = bound
        self._step = FIRST_STEP
        self._failed: list[Layout] = []
        self._strikes = 0

    @property
    def done(self) -> bool:
        """Whether the best layout is as short as any can be."""
        return self.best is not None and self.best.length <= self._bound

    def record(self) -> bool:
        """Certifies the present layout and keeps it if it is the shortest so far."""
        bench = self.bench
        tight = int(
            np.ceil((bench.x[: bench.movable] + bench.tables.window[bench.variant, 1]).max(initial=0))
        )
        bench.length = min(bench.length, tight)
        if not bench.certify():
            return False
        if self.best is None or bench.length < self.best.length:
            self.best = bench.layout()
            self._shared.offer(bench)
        return True

    def start(self, orders: int) -> None:
        """Builds a first layout."""
        self.bench.load(first_layout(self.bench, self.rng, orders))
        self.record()

    def resize(self, layout: Layout, length: int) -> None:
        """Loads a layout and cuts a slice out of it (or puts one in) at a random place."""
        self.bench.load(layout)
        self.bench.length = length
        at = self.rng.uniform(0.0, layout.length)
        shift_behind(self.bench, at, length - layout.length)

    def disturb(self) -> None:
        """Shakes the present layout in one of several ways."""
        chance = self.rng.random()
        for share, way in WAYS:
            chance -= share
            if chance < 0.0:
                way(self.bench, self.rng)
                return

    def go_on(self, layout: Layout | None) -> None:
        """Starts from a layout that some search has shortened before: large steps would only fail."""
        self.best = layout
        self._step = LATER_STEP

    def adopt(self, layout: Layout) -> None:
        """Goes on from another searcher's layout if that is shorter than its own best."""
        if self.best is None or layout.length < self.best.length:
            self.best = layout
            self._failed, self._strikes = [], 0

    def explore(self, meter: Meter) -> None:
        """Shrinks in large steps; where it fails, goes on from failed attempts, disturbed."""
        assert self.best is not None
        bench = self.bench
        target = self._aim()
        while not meter.over() and not self.done and bench.fits(bench.length):
            if bench.separate(meter, PATIENCE) and self.record():
                self._failed, self._strikes = [], 0
                target = self._aim()
                continue
            if meter.over():
                break
            self._strikes += 1
            failed = bench.best_layout()
            if failed.length == target:
                self._failed.append(failed)
                self._failed.sort(key=lambda layout: layout.loss)
                del self._failed[POOL:]
                slack = self.best.length - target
                if failed.loss < NEARLY * slack and slack > 2:
                    # Almost: somewhat less short it may do, and that is still shorter than the best.
                    self.resize(failed, target + slack // 2)
                    continue
            if self._strikes >= STRIKES and self._step > LAST_STEP:
                self._step = max(LAST_STEP, self._step / 2)
                self._failed, self._strikes = [], 0
            target = self._aim()

    def _aim(self) -> int:
        """Loads the layout of the next attempt, to be parted; returns the length aimed at."""
        assert self.best is not None
        target = self._target(self._step)
        self._failed = [layout for layout in self._failed if layout.length == target]
        if not self._failed:
            self.resize(self.best, target)
        else:
            pick = int(abs(self.rng.normal(0.0, 0.25)) * len(self._failed))
            self.bench.load(self._failed[min(len(self._failed) - 1, pick)])
            self.disturb()
        return target

    def squeeze(self, problem: Problem, no_fit: NoFitPolygons) -> None:
        """Shortens the best layout by linear programming, without changing who lies beside whom."""
        assert self.best is not None
        self.bench.load(self.best)
        before = self.bench.solution()
        after = compact(problem, before, no_fit=no_fit)
        if after.length < before.length:
            self.bench.take(after)
            self.record()

    def _target(self, step: float) -> int:
        assert self.best is not None
        return max(self._bound, min(self.best.length - 1, int(self.best.length * (1.0 - step))))

    def compress(self, meter: Meter) -> None:
        """Shrinks the best layout in ever smaller steps, from the best each time."""
        while not meter.over() and not self.done:
            assert self.best is not None
            step = FINE_STEP * (FINEST_STEP / FINE_STEP) ** meter.used()
            self.resize(self.best, self._target(step))
            if not self.bench.fits(self.bench.length):
                break
            if self.bench.separate(meter, FINE_PATIENCE):
                self.record()


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
    shared = _Best(on_better)
    bound = max(1, lower_bound or 0)
    halt = threading.Event()

    def stopped() -> bool:
        return halt.is_set() or (stop is not None and stop())

    searchers = [Searcher(prepared.tables, seed * 1000 + c, shared, bound) for c in range(max(1, cores))]
    if start is not None:
        searchers[0].bench.take(start)
        if searchers[0].record():
            for searcher in searchers:
                searcher.go_on(searchers[0].best)
    if searchers[0].best is None:
        searchers[0].start(1)

    def meter(share_from: float, share_to: float) -> Meter:
        if budget.effort is not None:
            return Meter(effort=budget.effort * (share_to - share_from), stop=stopped)
        return Meter(until=began + budget.amount * share_to, stop=stopped)

    def stretch(share_from: float, share_to: float, job: Callable[[Searcher, Meter], None]) -> None:
        """Runs one job in all searchers side by side, each with its own meter."""
        meters = [meter(share_from, share_to) for _ in searchers]
        _side_by_side([partial(job, s, m) for s, m in zip(searchers, meters, strict=True)], halt)

    def begin(searcher: Searcher, meter: Meter) -> None:
        layout = searcher.best
        if start is None and not meter.over():
            for _ in range(4):
                searcher.bench.load(build(searcher.bench, searcher.rng, 0.3))
                searcher.record()
        if searcher.best is None:
            searcher.best = layout or searchers[0].best
        searcher.explore(meter)

    def meet() -> Searcher:
        """All searchers take over the best layout."""
        first = min(searchers, key=lambda s: s.best.length if s.best is not None else 1 << 60)
        assert first.best is not None
        for searcher in searchers:
            searcher.adopt(first.best)
        return first

    squeezing = 0.0
    no_fit = NoFitPolygons(prepared.problem) if prepared.problem.total <= LINEAR else None

    def squeeze() -> None:
        nonlocal squeezing
        if no_fit is None or stopped() or searchers[0].done or budget.amount < LEAST_LINEAR:
            return
        if budget.seconds is not None and began + budget.seconds - time.monotonic() < squeezing:
            return
        at = time.monotonic()
        searchers[0].squeeze(prepared.problem, no_fit)
        squeezing = 1.5 * (time.monotonic() - at)

    at = 0.0
    for share in MEETINGS:
        stretch(at, EXPLORING * share, begin if at == 0.0 else lambda s, m: s.explore(m))
        at = EXPLORING * share
        meet()
    squeeze()
    meet()
    end = 1.0 - (squeezing / budget.seconds if budget.seconds else 0.0)
    stretch(EXPLORING, max(EXPLORING, end), lambda s, m: s.compress(m))
    meet()
    squeeze()
    winner = meet()
    assert winner.best is not None
    winner.bench.load(winner.best)
    return winner.bench.solution()


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


def is_cold() -> bool:
    """Whether the kernels still have to be compiled, which takes some ten seconds (``warm_up``)."""
    if kernels.separate.signatures:
        return False
    if not kernels.CACHE:
        return True
    source = Path(kernels.__file__).stat().st_mtime
    folder = Path(kernels.separate.stats.cache_path)
    return not any(index.stat().st_mtime >= source for index in folder.glob("kernels.separate-*.nbi"))


def warm_up() -> None:
    """Compiles all kernels, or loads them from numba's cache, by solving a tiny problem."""
    square = np.array([(0, 0), (1000, 0), (1000, 1000), (0, 1000)], dtype=np.int64)
    kind = Kind((Variant(square, 0, 1000, 0, 1500),), 4, 1e6)
    solve(Problem((kind,), 2500, (square,)), Budget(effort=0.02), cores=1)
