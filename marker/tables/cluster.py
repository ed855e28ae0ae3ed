"""Tasks solved on a cluster that is there already (Dask, the optional extra ``cluster``)."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterator, Sequence
from typing import Any

from marker.errors import InputError
from marker.tables.outcome import Outcome
from marker.tables.solve import solve
from marker.tables.task import Task

PATIENCE = 10
"""Seconds to wait for the cluster to answer."""
LISTENING = 0.2


def on_cluster(
    tasks: Sequence[Task], address: str, stopped: threading.Event
) -> Iterator[tuple[Task, Outcome]]:
    """Each task with its outcome as it comes; ends early when ``stopped`` is set.

    ``address`` is a scheduler's, such as tcp://10.0.0.5:8786. Raises InputError if the extra is not
    installed, nobody answers there, the cluster has no workers, or it runs other code than this machine.
    """
    try:
        import distributed
    except ImportError:
        raise InputError(
            "--cluster needs an optional part that is not installed; "
            "install it with: pip install 'boathouse-marker[cluster]'."
        ) from None
    try:
        client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as problem:
        reason = str(problem).strip().splitlines()
        raise InputError(
            f"--cluster {address}: no scheduler answers there{f' ({reason[0]})' if reason else ''}; "
            "start one, or check the address, which looks like tcp://10.0.0.5:8786."
        ) from None
    with client:
        if not client.ncores():
            raise InputError(f"--cluster {address}: the scheduler has no workers; start some there.")
        yield from _collect(client, address, tasks, stopped)


def _collect(
    client: Any, address: str, tasks: Sequence[Task], stopped: threading.Event
) -> Iterator[tuple[Task, Outcome]]:
    done: queue.SimpleQueue[Any] = queue.SimpleQueue()
    running = {}
    for one in tasks:
        # The name of a layout there is its content, so that two tables at once share the work.
        future = client.submit(solve, one, key=f"marker-{one.key}", retries=1)
        running[future] = one
        future.add_done_callback(done.put)
    while running and not stopped.is_set():
        try:
            future = done.get(timeout=LISTENING)
        except queue.Empty:
            if client.status == "closed":
                raise InputError(
                    f"--cluster {address}: the scheduler went away; what was solved is kept, "
                    "so the same command goes on from there."
                ) from None
            continue
        one = running.pop(future)
        outcome = _result(future)
        if outcome is not None:
            yield one, outcome
    client.cancel(list(running))


def _result(future: Any) -> Outcome | None:
    try:
        return future.result()
    except InputError:
        raise
    except Exception as problem:
        return Outcome(
            why=f"The cluster could not solve it: {str(problem).strip() or type(problem).__name__}"
        )
