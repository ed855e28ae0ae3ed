"""One line of search: a workbench, the best layout so far, and failed attempts to go on from.

The family of methods is known from Egeblad, Nielsen & Odgaard (2007), Imamichi, Yagiura & Nagamochi
(2009), Elkeran (2013) and Gardeyn, Vanden Berghe & Wauters (2025): overlap minimisation at a given
length by guided local search, with a pool of failed attempts to go on from. Here one shape is moved at a
time, to the best place that a landscape of overlap over the whole strip shows (``kernels.move``).
"""

from __future__ import annotations

import threading
from collections.abc import Callable

import numpy as np

from marker.nest.bench import Bench, Layout
from marker.nest.budget import Meter
from marker.nest.compaction import compact, part
from marker.nest.disturb import (
    change_phase,
    scatter,
    shift_behind,
    shift_phases,
    swap_similar,
    swap_slices,
    turn_slice,
)
from marker.nest.landscape import Tables
from marker.nest.nfp import NoFitPolygons
from marker.nest.problem import Solution
from marker.nest.start import first_layout

PATIENCE = 40
"""Passes without 2 % less overlap after which a hasty line gives a length up while exploring, times
``restarts``."""

LONG_PATIENCE = 200
"""The same for a patient line, every time. Neither serves all problems: so every second line is patient."""

FINE_PATIENCE = 100
"""The same while compressing."""

FIRST_STEP = 0.02
"""Share of the length that exploring takes off at a time, at first."""

LATER_STEP, LAST_STEP = 0.005, 0.002
"""The same when going on from a given layout, and after failures at least."""

PATIENT_STEP, PATIENT_SHAPES = 0.008, 50
"""Both of these on patient lines, if there is linear programming to give back what was too much; on more
shapes than that a share of the length of so many."""

LEAP, LEAST_LEAP = 0.03, 0.0075
"""The steps between which a line goes up and down where lengths are sums of widths that fit exactly."""

LOCAL = 100
"""Steps are shares of the length of so many shapes at most: a slice is cut out in one place."""

FINE_STEP = 0.0008
FINEST_STEP = 0.00004
"""The same for compressing, at the beginning and at the end."""

STRIKES = 3
"""Failed attempts at a length after which a smaller step is tried."""

STUCK = 1.5
"""Failed attempts at the smallest step, for each shape, after which a line backs off."""

BACK = (0.005, 0.03)
SHAKES = 3
"""By what share of the length, and disturbed at most how often, a line backs off from its best layout."""

NEARLY = 4.0
"""Overlap below which a failed attempt is given to linear programming, in terms of what may be given back."""

HALF_BACK = 2.0
"""The same for going on with half of the slice back, where linear programming fails or there is none."""

LINEAR_WORK = 200.0
"""Kernel work units that a linear program counts for, for each shape."""

POOL = 12
"""Failed attempts kept to go on from."""

WAYS = (
    (0.50, swap_similar),
    (0.10, swap_slices),
    (0.20, turn_slice),
    (0.20, scatter),
)
"""How a failed attempt is disturbed before the next, and how often."""

PHASE_CHANGE = 0.25
"""How often it is the phase of a lattice that is changed instead, if there are any."""


def restarts(attempt: int) -> int:
    """The sequence 1 1 2 1 1 2 4 1 1 2 ... from attempt 1 on: how patient each attempt is to be.

    Whether an attempt needs few passes or many differs from problem to problem; this sequence is never much
    worse than the best fixed number would be (Luby, Sinclair & Zuckerman 1993).
    """
    half = 1 << (attempt.bit_length() - 1)
    return half if attempt == 2 * half - 1 else restarts(attempt - half + 1)


class Best:
    """The shortest certified layout so far, shared by the threads of one search."""

    def __init__(
        self,
        on_better: Callable[[Solution], None] | None,
        accept: Callable[[Solution], bool] | None = None,
    ) -> None:
        self._lock = threading.Lock()
        self._on_better = on_better
        self._accept = accept
        self.length: int | None = None

    def accepts(self, bench: Bench) -> bool:
        """Whether the caller has nothing against the present layout."""
        if self._accept is None:
            return True
        with self._lock:
            return self._accept(bench.solution())

    def offer(self, bench: Bench) -> None:
        with self._lock:
            if self.length is None or bench.length < self.length:
                self.length = bench.length
                if self._on_better is not None:
                    self._on_better(bench.solution())


class Searcher:
    """One line of search: its own workbench, random numbers and best layout; hasty or ``patient``."""

    def __init__(
        self,
        tables: Tables,
        seed: int,
        best: Best,
        bound: int,
        patient: bool = False,
        no_fit: NoFitPolygons | None = None,
    ) -> None:
        self.bench = Bench(tables, seed)
        self.patient = patient
        self.no_fit = no_fit
        self.rng = np.random.default_rng(seed)
        self.best: Layout | None = None
        self._shared = best
        self._bound = bound
        self._step = FIRST_STEP
        self._later, self._last = LATER_STEP, LAST_STEP
        if patient and no_fit is not None:
            self._later = self._last = PATIENT_STEP * min(1.0, PATIENT_SHAPES / max(1, self.bench.movable))
        self._base: Layout | None = None
        self._failed: list[Layout] = []
        self._strikes = 0
        self._failures = 0
        self._attempts = 0
        self._leaping = False
        if tables.gridded:
            self.leap()

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
            if not self._shared.accepts(bench):
                return False
            self.best = bench.layout()
            self._shared.offer(bench)
        return True

    @property
    def length(self) -> int:
        """Length of the best layout; very long if there is none."""
        return 1 << 60 if self.best is None else self.best.length

    def start(self, orders: int, jitter: float) -> None:
        """Builds a first layout: the best of several orders of the shapes."""
        self.bench.load(first_layout(self.bench, self.rng, orders, jitter))
        self.record()

    def resize(self, layout: Layout, length: int) -> None:
        """Loads a layout and cuts a slice out of it (or puts one in) at a random place."""
        self.bench.load(layout)
        self.bench.length = length
        at = self.rng.uniform(0.0, layout.length)
        if self.bench.tables.ties is not None:
            shift_phases(self.bench, self.rng)
        shift_behind(self.bench, at, length - layout.length)

    def disturb(self) -> None:
        """Shakes the present layout in one of several ways."""
        if len(self.bench.phase) and self.rng.random() < PHASE_CHANGE:
            change_phase(self.bench, self.rng)
            return
        chance = self.rng.random()
        for share, way in WAYS:
            chance -= share
            if chance < 0.0:
                way(self.bench, self.rng)
                return

    def go_on(self, layout: Layout | None) -> None:
        """Starts from a layout that some search has shortened before: large steps would only fail."""
        self.best = layout
        self._set_base(layout)
        self._step = LEAP if self._leaping else self._later

    def adopt(self, layout: Layout) -> None:
        """Goes on from another searcher's layout if that is shorter than its own best."""
        if self.best is None or layout.length < self.best.length:
            if self._base is self.best:
                self._set_base(layout)
            self.best = layout

    def _set_base(self, layout: Layout | None) -> None:
        """Has this layout shortened next; ``best`` stays."""
        self._base = layout
        self._failed, self._strikes, self._failures = [], 0, 0

    def leap(self) -> None:
        """Has exploring return to large steps again and again.

        Where lengths are sums of widths that fit exactly, many layouts have one and the same length. At a
        little less they overlap by less than whatever lies on the way to another layout; at much less not.
        """
        if not self._leaping:
            self._leaping, self._step = True, LEAP
            self._last = max(self._last, LEAST_LEAP)

    def explore(self, meter: Meter, share: float = 1.0) -> None:
        """Shrinks in large steps; where it fails, goes on from failed attempts, disturbed.

        Where that fails for long, it backs off: it disturbs the best layout on a longer strip, and shrinks
        what comes of it. Begins no attempt once that ``share`` of the meter is used.
        """
        bench = self.bench
        if self._base is None:
            self._base = self.best
        target = self._aim()
        while not meter.over() and meter.used() < share and not self.done and bench.fits(bench.length):
            assert self._base is not None
            self._attempts += 1
            patience = LONG_PATIENCE if self.patient else PATIENCE * restarts(self._attempts)
            if self._part(meter, patience, self._base.length - 1):
                target = self._aim()
                continue
            if meter.over():
                break
            self._strikes += 1
            self._failures += 1
            failed = bench.best_layout()
            if failed.length == target:
                self._failed.append(failed)
                self._failed.sort(key=lambda layout: layout.loss)
                del self._failed[POOL:]
                slack = self._base.length - target
                if failed.loss < HALF_BACK * slack and slack > 2:
                    # Almost: somewhat less short it may do, and that is still shorter than the base.
                    self.resize(failed, target + slack // 2)
                    continue
            stuck = self._failures if self._leaping else self._strikes
            if self._strikes >= STRIKES and self._step > self._last:
                self._step = max(self._last, self._step / 2)
                self._failed, self._strikes = [], 0
            elif stuck >= STUCK * bench.movable:
                self._back_off(meter)
            elif self._strikes >= STRIKES and self._leaping:
                self._step = LEAP
                self._failed, self._strikes = [], 0
            target = self._aim()

    def _part(self, meter: Meter, patience: int, limit: int) -> bool:
        """Parts the present layout and, if that succeeds within ``limit``, has it shortened next.

        What overlaps but little in the end is parted by linear programming, where the strip may become
        longer than the layout was meant to be.
        """
        bench = self.bench
        if not bench.separate(meter, patience):
            nearly = bench.best_layout()
            if self.no_fit is None or nearly.loss > NEARLY * (limit - nearly.length):
                return False
            bench.load(nearly)
            meter.spend(LINEAR_WORK * bench.movable)
            parted = part(self.no_fit, bench.solution().placings, limit)
            if parted is None:
                return False
            bench.take(parted)
        if not self.record():
            return False
        self._set_base(self.best if bench.length == self.length else bench.layout())
        return True

    def _back_off(self, meter: Meter) -> None:
        """Takes a disturbed best layout on a longer strip as the one to be shortened."""
        assert self.best is not None
        self.resize(self.best, int(self.best.length * (1.0 + self.rng.uniform(*BACK))))
        for _ in range(1 + int(self.rng.integers(SHAKES))):
            self.disturb()
        if self._part(meter, LONG_PATIENCE, self.bench.length + int(self._last * self.best.length)):
            self._step = LEAP if self._leaping else self._later

    def _aim(self) -> int:
        """Loads the layout of the next attempt, to be parted; returns the length aimed at."""
        assert self._base is not None
        target = self._target(self._base, self._step)
        self._failed = [layout for layout in self._failed if layout.length == target]
        if not self._failed:
            self.resize(self._base, target)
        else:
            pick = int(abs(self.rng.normal(0.0, 0.25)) * len(self._failed))
            self.bench.load(self._failed[min(len(self._failed) - 1, pick)])
            self.disturb()
        return target

    def squeeze(self) -> None:
        """Shortens the best layout by linear programming, without changing who lies beside whom."""
        assert self.best is not None and self.no_fit is not None
        self.bench.load(self.best)
        before = self.bench.solution()
        after = compact(self.no_fit, before)
        if after.length < before.length:
            self.bench.take(after)
            self.record()

    def _target(self, layout: Layout, step: float) -> int:
        step *= min(1.0, LOCAL / max(1, self.bench.movable))
        return max(self._bound, min(layout.length - 1, int(layout.length * (1.0 - step))))

    def compress(self, meter: Meter, share: float = 1.0) -> None:
        """Shrinks the best layout in ever smaller steps, from the best each time.

        Begins no attempt once that ``share`` of the meter is used.
        """
        while not meter.over() and meter.used() < share and not self.done:
            assert self.best is not None
            step = FINE_STEP * (FINEST_STEP / FINE_STEP) ** meter.used()
            self.resize(self.best, self._target(self.best, step))
            if not self.bench.fits(self.bench.length):
                break
            if self.bench.separate(meter, FINE_PATIENCE):
                self.record()
