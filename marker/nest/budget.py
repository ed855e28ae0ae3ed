"""How long a search may take: in seconds, or in an amount of work that gives the same answer every time."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

UNIT = 0.75e6
"""Kernel work units in one effort: about what a 2.3 GHz server core of 2023 does in a second."""


@dataclass(frozen=True)
class Budget:
    """Either ``seconds`` of wall time or ``effort`` per core; exactly one is given.

    One effort is ``UNIT`` units of kernel work, about one second of one core. Each core spends the whole
    effort, so that twice the cores do twice the work in the same time.
    Raises ValueError if both or neither are given, or if the amount is negative or not a number.
    """

    seconds: float | None = None
    effort: float | None = None

    def __post_init__(self) -> None:
        if (self.seconds is None) == (self.effort is None):
            raise ValueError("a budget has either seconds or effort")
        if not self.amount >= 0.0:
            raise ValueError(f"a budget cannot be {self.amount}")

    @property
    def amount(self) -> float:
        """The seconds or the effort."""
        return float(self.seconds if self.seconds is not None else self.effort or 0.0)

    def share(self, share: float) -> Budget:
        """A part of this budget."""
        if self.seconds is not None:
            return Budget(seconds=self.seconds * share)
        return Budget(effort=self.amount * share)


class Stopped(Exception):
    """The caller asked to stop before there was anything to return."""


class Meter:
    """Counts a budget down: one per core and stretch of the search."""

    def __init__(
        self, *, until: float | None = None, effort: float | None = None, stop: Callable[[], bool]
    ) -> None:
        self._started = time.monotonic()
        self._until = until
        self._effort = effort
        self._stop = stop
        self.spent = 0.0
        self.stopped = False

    def spend(self, work: float) -> None:
        """Book kernel work units."""
        self.spent += work / UNIT

    def over(self) -> bool:
        """Whether the budget is used up or the caller asked to stop."""
        if self.stopped or self._stop():
            self.stopped = True
            return True
        return self.used() >= 1.0

    def used(self) -> float:
        """Share of the budget that is used up, 0 to 1."""
        if self._effort is not None:
            return 1.0 if self._effort <= 0.0 else min(1.0, self.spent / self._effort)
        assert self._until is not None
        total = self._until - self._started
        return 1.0 if total <= 0.0 else min(1.0, (time.monotonic() - self._started) / total)


@dataclass(frozen=True)
class Schedule:
    """A budget that began at a moment (``time.monotonic``), given out in stretches.

    It ends when ``halt`` is set, or when ``stop`` says so.
    """

    budget: Budget
    began: float
    stop: Callable[[], bool] | None
    halt: threading.Event = field(default_factory=threading.Event)

    def stopped(self) -> bool:
        """Whether to end before the budget is used up."""
        return self.halt.is_set() or (self.stop is not None and self.stop())

    def left(self) -> float:
        """Seconds until the end; without end if the budget is in effort."""
        if self.budget.seconds is None:
            return math.inf
        return self.began + self.budget.seconds - time.monotonic()

    def meter(self, share_from: float, share_to: float) -> Meter:
        """For the work, or until the end, of the stretch between two shares of the budget."""
        if self.budget.effort is not None:
            return Meter(effort=self.budget.effort * (share_to - share_from), stop=self.stopped)
        return Meter(until=self.began + self.budget.amount * share_to, stop=self.stopped)
