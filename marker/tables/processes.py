"""Tasks solved side by side on this machine."""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool

from marker.tables.outcome import Outcome
from marker.tables.solve import begin, solve, solve_here
from marker.tables.task import Task

LISTENING = 0.2
"""Seconds after which a stop is noticed at the latest."""

DIED = "The process that was to solve it ended by itself, perhaps for want of memory; try fewer --cores."


def on_processes(
    tasks: Sequence[Task], cores: int, stopped: threading.Event
) -> Iterator[tuple[Task, Outcome]]:
    """Each task with its outcome as it comes, several at a time; ends early when ``stopped`` is set.

    With one core, or one task, this process does the work itself.
    """
    if min(cores, len(tasks)) <= 1:
        for one in tasks:
            outcome = solve(one, stopped.is_set)
            if outcome is None:
                return
            yield one, outcome
        return
    # Started afresh: a copy of a process that has threads (as search and libraries do) may hang.
    context = multiprocessing.get_context("spawn")
    told = context.Event()
    pool = ProcessPoolExecutor(min(cores, len(tasks)), context, begin, (told,))
    try:
        running: dict[Future[Outcome | None], Task] = {}
        with _deaf():
            running.update((pool.submit(solve_here, one), one) for one in tasks)
        while running:
            done, _ = wait(running, LISTENING, FIRST_COMPLETED)
            for future in done:
                one = running.pop(future)
                if future.cancelled():
                    continue
                try:
                    outcome = future.result()
                except BrokenProcessPool:
                    outcome = Outcome(why=DIED)
                if outcome is not None:
                    yield one, outcome
            if stopped.is_set() and not told.is_set():
                told.set()
                for future in running:
                    future.cancel()
    finally:
        told.set()
        pool.shutdown(wait=True, cancel_futures=True)


@contextlib.contextmanager
def _deaf() -> Iterator[None]:
    """Processes started in here ignore Ctrl-C from their first moment on: it is for the parent."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
