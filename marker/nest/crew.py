"""The lines of a search on all cores: which go on, and how the cores help each other.

Lines that start differently end up at quite different lengths, and what they reach early says something
about what they will reach. So each core begins several lines, gives each the same small amount of work,
and goes on with the better ones only (successive halving, Jamieson & Talwalkar 2016). Its last line goes on
from the best layout of all cores, again and again.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from marker.nest.bench import Layout
from marker.nest.budget import Meter, Schedule
from marker.nest.searcher import Searcher

HEATS, LAST_HEAT = 3, 0.25
"""Least number of heats of exploring before the last, all of one length, and the share of the last. After
each the better half of a core's lines goes on, and in the last the best of each core."""

LINES, MOST_LINES = 8, 32
"""Most lines that a core begins with in a short search, and in a long one."""

MORE_HEAT = 3.0
"""Seconds, or effort, that a line should have in its first heat for there to be more than ``LINES``."""

LEAST_HEAT = 0.0015
"""Seconds, or effort, that a line should have in its first heat, times the square of the number of shapes."""

ROUNDS, LONG_ROUND = 12, 0.003
"""How often in the last heat, and while compressing, the cores take over what the best of them has found: at
least that often, and after so many seconds, or so much effort, times the square of the number of shapes, but
never sooner than after one."""

SAME = 4
"""Lattice units by which two lengths differ at most that are taken for the same sum of widths."""

PLAIN, SHAKEN = (1, 0.0), (3, 0.3)
"""Orders tried for a line's first layout, and how much they are shaken (deviation of the log of size)."""

SQUEEZE_AGAIN = 1.5
"""Time kept for shortening by linear programming in the end, in terms of what it took before."""

Way = Callable[[Searcher, Meter, float], None]
"""What a line does with a meter until a share of it is used."""


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


@dataclass
class Crew:
    """The lines of each core, the most promising first once there has been a heat.

    ``given``: a layout for lines that have none of their own when time is up. ``squeezing``: seconds to keep
    for the next ``squeeze``.
    """

    teams: list[list[Searcher]]
    schedule: Schedule
    given: Layout | None
    squeezing: float = 0.0

    def heat(self, share_from: float, share_to: float) -> None:
        """Lets every line explore for its part of the stretch; the better half of each core's goes on."""
        self._side_by_side([partial(self._heat, team, share_from, share_to) for team in self.teams])

    def _heat(self, team: list[Searcher], share_from: float, share_to: float) -> None:
        share = (share_to - share_from) / len(team)
        for number, line in enumerate(team):
            meter = self.schedule.meter(share_from + number * share, share_from + (number + 1) * share)
            if line.best is None and not meter.over():
                line.start(*(SHAKEN if number < LINES else PLAIN))
            if line.best is None:
                line.best = self.given
            line.explore(meter)
            if self.agree(team[: number + 1]):
                for each in team:
                    each.leap()
        team.sort(key=lambda line: line.length)
        del team[max(1, len(team) // 2) :]

    def agree(self, lines: list[Searcher]) -> bool:
        """Whether two lines have come to one length by themselves, as where lengths are sums of widths."""
        found = {id(line.best): line.length for line in lines if line.best is not None}
        found.pop(id(self.given), None)
        return any(b - a <= SAME for a, b in pairwise(sorted(found.values())))

    def together(self, way: Way, share_from: float, share_to: float) -> None:
        """Lets each core's best line go on its way, and all go on from the best layout after each round."""
        lines = [team[0] for team in self.teams]
        meters = [self.schedule.meter(share_from, share_to) for _ in lines]
        rounds = 1
        if len(lines) > 1:
            amount = (share_to - share_from) * self.schedule.budget.amount
            rounds = max(ROUNDS, int(amount / max(1.0, LONG_ROUND * lines[0].bench.movable ** 2)))
        for turn in range(1, rounds + 1):
            jobs = zip(lines, meters, strict=True)
            self._side_by_side([partial(way, line, meter, turn / rounds) for line, meter in jobs])
            self.meet()
            if all(meter.used() < turn / rounds for meter in meters):
                # Nothing is left to do: no layout can be shorter, or the caller asked to stop.
                break

    def squeeze(self) -> None:
        """Shortens the best layout by linear programming, if there is time and the lines may."""
        best = self.meet()
        if best.no_fit is None or best.done:
            return
        if self.schedule.stopped() or self.schedule.left() < self.squeezing:
            return
        at = time.monotonic()
        best.squeeze()
        self.squeezing = SQUEEZE_AGAIN * (time.monotonic() - at)
        self.meet()

    def meet(self) -> Searcher:
        """Every core's best line takes over the best layout of all; returns the line that had it."""
        best = min((team[0] for team in self.teams), key=lambda line: line.length)
        assert best.best is not None
        for team in self.teams:
            team[0].adopt(best.best)
        return best

    def _side_by_side(self, jobs: list[Callable[[], None]]) -> None:
        """Runs jobs in threads of their own and waits; an exception in one, or Ctrl-C, ends all."""
        if len(jobs) == 1:
            jobs[0]()
            return
        halt = self.schedule.halt
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
