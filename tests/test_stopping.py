"""Asked to stop, everything ends soon, and with files. Stop flags stand for Ctrl-C."""

import os
import signal
from itertools import count

import numpy as np
import pytest

from marker import api
from marker.check import verify
from marker.cloth import choose
from marker.commands import lay as command
from marker.commands.shared import interruptible
from marker.nest import landscape, proof
from marker.nest.budget import Budget, Stopped
from marker.nest.problem import Kind, Problem, Variant
from marker.nest.search import prepare, solve

from .cloth.jobs import cut, fold_half, job, piece, rectangle, wedge

BAG = (
    fold_half("1", 400, 150, cut(1, "on fold")),
    piece("2", wedge(), cut(4, "mirrored")),
    piece("3", rectangle(120, 80), cut(6)),
)


def triangles(kinds):
    rng = np.random.default_rng(3)
    made = []
    for _ in range(kinds):
        w, h = (int(c) for c in rng.integers(200, 900, 2))
        outline = np.array([(0, 0), (w, 0), (0, h)], dtype=np.int64)
        made.append(Kind((Variant(outline, 0, w, 0, 1000 - h),), 1, w * h / 2))
    return Problem(tuple(made), 1000)


def after(calls):
    """A flag that is set once it has been asked so many times."""
    asked = count(1)
    return lambda: next(asked) > calls


@pytest.fixture
def no_tables():
    landscape._pair.cache_clear()
    landscape._rings.cache_clear()


def test_tables_are_given_up_between_two_outlines(no_tables):
    with pytest.raises(Stopped):
        prepare(triangles(6), stop=after(5))


@pytest.mark.parametrize("calls", [0, 1, 5, 20, 60])
def test_stopped_at_any_moment_there_is_a_layout_that_holds(no_tables, calls):
    asked = job(*BAG)
    answer = api.lay(asked, seconds=30.0, cores=1, stop=after(calls))
    assert verify(answer.layout, asked) == []


def test_a_proof_ends_when_asked(monkeypatch):
    problem = triangles(7)
    solution = solve(problem, Budget(effort=0.05), cores=1)
    made = []
    real = proof._Model
    monkeypatch.setattr(proof, "_Model", lambda *given: made.append(given) or real(*given))
    stopped = proof.prove(problem, solution, effort=1e6, stop=after(40))
    assert made and stopped.lower_bound <= stopped.solution.length


def test_a_slow_check_is_not_waited_for(monkeypatch):
    asked = job(*BAG)
    monkeypatch.setattr(choose.Judge, "slow", property(lambda judge: True))
    stop = after(10**9)
    told = []

    def better(news):
        nonlocal stop
        told.append(news.layout)
        stop = after(0)

    answer = api.lay(asked, seconds=30.0, cores=1, fold="open", on_better=better, stop=lambda: stop())
    # The layout that had passed is the answer, word for word.
    assert answer.layout.materials[0] == told[-1]
    assert verify(answer.layout, asked) == []


def test_another_ctrl_c_soon_after_the_first_is_the_same_one():
    with interruptible() as stopped:
        for _ in range(3):
            os.kill(os.getpid(), signal.SIGINT)
            signal.getsignal(signal.SIGINT)
        assert stopped.wait(1.0)


def test_ctrl_c_while_drawing_leaves_the_layout(tmp_path, monkeypatch):
    answer = api.lay(job(*BAG), effort=0.01, cores=1)
    real = api.save

    def interrupted(answer, folder, pictures, papers, drawings=()):
        if pictures:
            raise KeyboardInterrupt
        return real(answer, folder, pictures, papers, drawings)

    monkeypatch.setattr(api, "save", interrupted)
    saved = command._saved(answer, tmp_path, (("png",), (), ()), True)
    assert (tmp_path / "layout.json").exists() and (tmp_path / "report.txt").exists()
    assert {file.name for file in saved.files} >= {"layout.json", "report.txt"}
