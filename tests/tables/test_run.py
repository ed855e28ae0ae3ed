"""What is known is not solved again; processes and a cluster give what one process gives."""

import importlib.util
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from marker.errors import InputError
from marker.tables import processes
from marker.tables.cache import Cache
from marker.tables.run import STOPPED, Watcher, Where, outcomes
from marker.tables.solve import solve
from marker.tables.source import open_source
from marker.tables.task import Search, Task, task

SEARCH = Search(effort=0.01)


@pytest.fixture
def tasks(pennants):
    return [
        task(pennants.job(size=size), material, "open", SEARCH)
        for size in ("S", "L")
        for material in ("fabric", "stiffening")
    ]


@pytest.fixture
def counted(monkeypatch):
    calls: list[Task] = []

    def counting(one, stop=lambda: False):
        calls.append(one)
        return solve(one, stop)

    monkeypatch.setattr(processes, "solve", counting)
    return calls


def told(found):
    return {key: (outcome.buy, round(outcome.used, 4), outcome.lay) for key, outcome in found.items()}


def test_a_run_that_is_repeated_solves_nothing_again(tasks, tmp_path, counted):
    cache = Cache(tmp_path / "kept")
    first = outcomes(tasks, Where(), cache)
    # Four tasks, but both sizes cut the same band.
    assert len(counted) == 3 and len(first) == 3
    again = outcomes(tasks, Where(), cache)
    assert len(counted) == 3
    assert told(again) == told(first)
    outcomes(tasks, Where(), Cache(tmp_path / "kept", fresh=True))
    assert len(counted) == 6


def test_a_run_that_was_stopped_goes_on_where_it_was(tasks, tmp_path, counted):
    cache, watcher = Cache(tmp_path / "kept"), Watcher()
    watcher.one_done = watcher.stopped.set
    found = outcomes(tasks, Where(), cache, watcher)
    assert sorted(outcome.why for outcome in found.values()) == ["", STOPPED, STOPPED]
    before = len(counted)
    assert all(outcome.solved for outcome in outcomes(tasks, Where(), cache).values())
    assert len({one.key for one in counted[before:]}) == 2


def test_a_folder_that_cannot_be_written_is_told_once_and_all_is_solved(tasks, tmp_path):
    (tmp_path / "taken").write_text("a file")
    told_: list[str] = []
    found = outcomes(tasks, Where(), Cache(tmp_path / "taken" / "kept"), Watcher(warns=told_.append))
    assert all(outcome.solved for outcome in found.values())
    assert len(told_) == 1 and "taken" in told_[0]


def test_what_cannot_be_cut_is_told_and_the_rest_is_solved(pennants):
    fits = task(pennants.job(size="S"), "fabric", "open", SEARCH)
    wide = task(pennants.job(size="S", widths={"fabric": 300.0}), "fabric", "open", SEARCH)
    found = outcomes([wide, fits], Where(), None)
    assert found[fits.key].solved
    assert "Pennant" in found[wide.key].why and not found[wide.key].cloths


def test_two_processes_give_what_one_gives(tasks):
    assert told(outcomes(tasks, Where(cores=2), None)) == told(outcomes(tasks, Where(), None))


def test_processes_leave_off_when_they_are_stopped():
    """Searches that would take a day end at once, and are not taken for answers."""
    job = open_source(Path(__file__).parents[2] / "pieces" / "harbour-smock.toml").job(size="S")
    long = [task(job, "fabric", "open", Search(seed=seed, effort=1e5)) for seed in (1, 2)]
    watcher = Watcher()
    threading.Timer(1.0, watcher.stopped.set).start()
    found = outcomes(long, Where(cores=2), None, watcher)
    assert [outcome.why for outcome in found.values()] == [STOPPED, STOPPED]


PARENT = """
import sys, threading
from pathlib import Path
from marker.tables.run import Where, outcomes
from marker.tables.source import open_source
from marker.tables.task import Search, task

if __name__ == "__main__":
    job = open_source(Path(sys.argv[1])).job(size="S")
    long = [task(job, "fabric", "open", Search(seed=seed, effort=1e5)) for seed in (1, 2)]
    outcomes(long, Where(cores=2), None)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="killed by a signal")
@pytest.mark.parametrize("at_work", [0.3, 3.0])
def test_processes_end_with_a_parent_that_is_killed(tmp_path, at_work):
    """Killed as the first of them start, and when they are searching; they hold our pipe until they end."""
    script = tmp_path / "parent.py"
    script.write_text(PARENT)
    smock = Path(__file__).parents[2] / "pieces" / "harbour-smock.toml"
    parent = subprocess.Popen([sys.executable, script, smock], stdout=subprocess.PIPE)
    try:
        children = Path(f"/proc/{parent.pid}/task/{parent.pid}/children")
        if children.exists():
            _until(lambda: len(children.read_text().split()) >= 2, 30.0)
        time.sleep(at_work)
    finally:
        parent.kill()
    assert parent.stdout is not None
    ended = threading.Thread(target=parent.stdout.read, daemon=True)
    ended.start()
    ended.join(30.0)
    assert not ended.is_alive()
    parent.wait()
    parent.stdout.close()


def _until(holds, seconds):
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.05)


def test_other_code_at_the_far_end_is_refused(tasks):
    with pytest.raises(InputError, match="another version"):
        solve(replace(tasks[0], engine="older"))


@pytest.mark.skipif(importlib.util.find_spec("distributed") is None, reason="needs the extra: cluster")
def test_a_cluster_of_two_gives_what_one_process_gives(tasks):
    from distributed import LocalCluster

    with LocalCluster(n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None) as cluster:
        found = outcomes(tasks, Where(cluster=cluster.scheduler_address), None)
    assert told(found) == told(outcomes(tasks, Where(), None))


@pytest.mark.skipif(importlib.util.find_spec("distributed") is None, reason="needs the extra: cluster")
def test_an_address_where_nobody_answers_is_bad_input(tasks, monkeypatch):
    from marker.tables import cluster

    monkeypatch.setattr(cluster, "PATIENCE", 1)
    with pytest.raises(InputError, match="no scheduler answers"):
        outcomes(tasks, Where(cluster="tcp://127.0.0.1:9"), None)


def test_a_missing_extra_is_told(tasks, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError, match=r"boathouse-marker\[cluster\]"):
        outcomes(tasks, Where(cluster="tcp://127.0.0.1:9"), None)
