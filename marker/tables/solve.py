"""Solving one task: what a process or a member of a cluster does."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from typing import Any

from marker.errors import InputError
from marker.tables.outcome import Outcome, of_cloths
from marker.tables.task import Task, engine_version

_stopped: Any = None
"""In a process of ours: an event that says no more layouts are wanted."""


def begin(stopped: Any) -> None:
    """Prepares a process of ours: Ctrl-C is for the parent, which then sets the event; and it ends when
    the parent ends, however that comes about."""
    global _stopped
    _stopped = stopped
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with, args=(multiprocessing.parent_process(),), daemon=True).start()


def _end_with(parent: Any) -> None:
    # The system tells of a parent's end by a pipe that closes or, on Windows, by its handle.
    parent.join()
    os._exit(1)


def solve_here(one: Task) -> Outcome | None:
    """Solve in a process prepared by ``begin``; None if it was stopped before it was done."""
    return solve(one, _stopped.is_set if _stopped is not None else lambda: False)


def solve(one: Task, stop: Callable[[], bool] = lambda: False) -> Outcome | None:
    """Lay out one task on one core. What cannot be cut is an answer too; None: stopped half-way.

    Raises InputError if this machine runs other code than the one that asks.
    """
    from marker.api import NotVerified, lay

    if one.engine != engine_version():
        raise InputError(
            "The cluster runs another version of marker or of the libraries it needs than this machine; "
            "install the same versions there."
        )
    if stop():
        return None
    search = one.search
    try:
        answer = lay(
            one.job,
            fold=one.fold,
            seed=search.seed,
            seconds=search.seconds,
            effort=search.effort,
            cores=1,
            stop=stop,
        )
    except (InputError, NotVerified) as problem:
        return Outcome(why=str(problem))
    return None if stop() else of_cloths(answer.layout.materials)
