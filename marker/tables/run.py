"""Getting all outcomes: from the cache where they are known, from processes or a cluster where not."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from marker.errors import InputError
from marker.tables.cache import Cache
from marker.tables.outcome import Outcome
from marker.tables.task import Task

STOPPED = "Stopped before it was solved."


@dataclass(frozen=True)
class Where:
    """Who solves: ``cores`` processes of this machine, or the cluster at an address."""

    cores: int = 1
    cluster: str = ""


@dataclass
class Watcher:
    """What a run tells on its way: how many tasks there are, each one done, a wait for the compiler, and
    sentences that someone should hear."""

    begins: Callable[[int, int], None] = lambda todo, known: None
    one_done: Callable[[], None] = lambda: None
    preparing: Callable[[], None] = lambda: None
    warns: Callable[[str], None] = lambda sentence: None
    stopped: threading.Event = field(default_factory=threading.Event)


def outcomes(
    tasks: Sequence[Task], where: Where, cache: Cache | None, watcher: Watcher | None = None
) -> dict[str, Outcome]:
    """The outcome of each task by its key; tasks of the same content are solved once.

    Those left when ``watcher.stopped`` is set have an outcome that says so. Raises InputError if the
    cluster cannot be used.
    """
    watcher = watcher or Watcher()
    wanted = {one.key: one for one in tasks}
    found: dict[str, Outcome] = {}
    for key, one in wanted.items():
        held = cache.get(one) if cache else None
        if held is not None:
            found[key] = held
    # Many pieces first: a long one begun last would leave all other cores waiting.
    todo = sorted(
        ((key, one) for key, one in wanted.items() if key not in found),
        key=lambda pair: (-sum(cut.count for piece in pair[1].job.pieces for cut in piece.cuts), pair[0]),
    )
    watcher.begins(len(todo), len(found))
    keys = {id(one): key for key, one in todo}
    for one, outcome in _solved([one for _, one in todo], where, watcher):
        found[keys[id(one)]] = outcome
        if cache:
            try:
                cache.put(one, outcome)
            except InputError as problem:
                watcher.warns(f"Layouts are not kept for the next time: {problem}")
                cache = None
        watcher.one_done()
    return {key: found.get(key, Outcome(why=STOPPED)) for key in wanted}


def _solved(tasks: Sequence[Task], where: Where, watcher: Watcher) -> Iterator[tuple[Task, Outcome]]:
    if not tasks:
        return iter(())
    if where.cluster:
        from marker.tables.cluster import on_cluster

        return on_cluster(tasks, where.cluster, watcher.stopped)
    from marker.nest.compiling import compile_kernels
    from marker.tables.processes import on_processes

    tied = any(task.job.asked_of(task.material) for task in tasks)
    # Once here, and every process loads what was compiled.
    compile_kernels(tied, watcher.preparing)
    return on_processes(tasks, where.cores, watcher.stopped)
