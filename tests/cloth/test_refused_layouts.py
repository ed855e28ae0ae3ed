"""A layout that the check refuses is never the end: faults are planted, and a layout that holds comes out."""

from dataclasses import replace

import numpy as np
import pytest

from marker.api import NotVerified, lay
from marker.check import verify
from marker.cloth import choose
from marker.cloth.judge import REFUSED
from marker.model.fabric import Remnant
from marker.nest import bench, compaction, landscape, proof
from marker.nest.problem import Kind, Problem, Variant
from marker.nest.proof import Proof
from marker.nest.shelves import shelves

from .jobs import cut, fold_half, job, piece, rectangle, wedge

BAG = (
    fold_half("1", 400, 150, cut(1, "on fold")),
    piece("2", wedge(), cut(4, "mirrored")),
    piece("3", rectangle(120, 80), cut(6)),
)


def laid(asked, **options):
    """The layouts of a job, looked at once more from outside."""
    answer = lay(asked, **{"effort": 0.05, "cores": 1, **options})
    assert verify(answer.layout, asked) == []
    return answer.layout.materials


def overlapping(solution):
    """The same with everything pushed to the start: shorter than any that holds."""
    first = min(p.x for p in solution.placings)
    return replace(
        solution,
        length=solution.length // 3,
        placings=tuple(replace(p, x=first + (p.x - first) // 3) for p in solution.placings),
    )


@pytest.fixture
def thin_tables(monkeypatch):
    """No-fit polygons of half the size: the engine takes shapes that overlap for shapes that do not."""
    real = landscape.no_fit_polygon_and_fits
    middles = []

    def halved(a, b, **options):
        rings, fits = real(a, b, **options)
        middle = np.mean([ring.mean(axis=0) for ring in rings], axis=0)
        middles.append(middle)
        return tuple(np.rint(middle + 0.5 * (ring - middle)).astype(np.int64) for ring in rings), fits

    monkeypatch.setattr(landscape, "no_fit_polygon_and_fits", halved)
    monkeypatch.setattr(bench, "any_overlap", lambda *_: False)
    landscape._pair.cache_clear()
    landscape._rings.cache_clear()
    yield middles
    landscape._pair.cache_clear()
    landscape._rings.cache_clear()


@pytest.mark.parametrize("options", [{"effort": 0.05}, {"seconds": 3.0}, {"effort": 0.05, "fold": "mixed"}])
def test_wrong_tables(thin_tables, options):
    told = []
    (fabric,) = laid(job(*BAG, gap=2.0), **{"effort": None, **options}, on_better=told.append)
    assert thin_tables, "the fault was not met"
    assert REFUSED in fabric.notes
    # What was told on the way holds as well.
    for news in told:
        assert verify(replace(layout_of(job(*BAG, gap=2.0), news.layout)), job(*BAG, gap=2.0)) == []


def layout_of(asked, laid):
    from marker.model.layout import Layout

    return Layout(asked.pattern, asked.size, asked.view, 1, (laid,), asked.quantity)


def test_the_search_goes_on_from_what_holds(monkeypatch):
    real, calls = choose.solve, []

    def fails_once(prepared, budget, *, accept=None, **options):
        solution = real(prepared, budget, accept=accept, **options)
        calls.append(accept is not None)
        return solution if accept else overlapping(solution)

    monkeypatch.setattr(choose, "solve", fails_once)
    (fabric,) = laid(job(*BAG), fold="open")
    assert REFUSED in fabric.notes
    assert calls == [False, True]
    monkeypatch.undo()
    (simple,) = laid(job(*BAG), fold="open", effort=0.001)
    # Not only boxes side by side, though every layout had been thrown away.
    assert fabric.length <= 1.1 * simple.length


def test_an_engine_that_is_always_wrong(monkeypatch):
    real = choose.solve
    monkeypatch.setattr(choose, "solve", lambda *given, **options: overlapping(real(*given, **options)))
    (fabric,) = laid(job(*BAG))
    assert REFUSED in fabric.notes


def test_a_wrong_proof(monkeypatch):
    def wrong(problem, solution, **options):
        return Proof(solution.length // 3, overlapping(solution))

    monkeypatch.setattr(proof, "prove", wrong)
    odd = job(piece("1", wedge(330.0, 400.0, 210.0), cut(5, "mirrored")), width=1000.0)
    (fabric,) = laid(odd, fold="open")
    assert REFUSED in fabric.notes and not fabric.proven


def remnant_job(roll):
    remnant = Remnant("offcut", rectangle(600.0, 400.0))
    return job(*BAG, width=800.0, remnants=(remnant,), roll=roll)


@pytest.mark.parametrize("roll", [True, False])
def test_remnants_and_the_roll(thin_tables, roll):
    layouts = laid(remnant_job(roll))
    assert thin_tables and any(REFUSED in each.notes for each in layouts)
    assert [each.cloth for each in layouts] == (["offcut", ""] if roll else ["offcut"])


def test_nothing_is_shown_if_nothing_holds(monkeypatch):
    monkeypatch.setattr("marker.check.verify", lambda layout, asked: ["a fault"])
    with pytest.raises(NotVerified, match="Every layout of fabric"):
        lay(job(*BAG), effort=0.01, cores=1)


def test_boxes_side_by_side_never_overlap():
    rng = np.random.default_rng(5)
    for _ in range(20):
        kinds = []
        for _ in range(6):
            w, h = (int(c) for c in rng.integers(20, 400, 2))
            triangle = np.array([(0, 0), (w, 0), (0, h)], dtype=np.int64)
            turned = np.array([(0, 0), (-w, 0), (0, -h)], dtype=np.int64)
            variants = (Variant(triangle, 0, w, 0, 1000 - h), Variant(turned, w, 0, h, 1000))
            kinds.append(Kind(variants, int(rng.integers(1, 5)), w * h / 2))
        spot = np.array([(0, 0), (50, 0), (50, 50), (0, 50)], dtype=np.int64)
        problem = Problem(tuple(kinds), 1000, (spot,))
        solution = shelves(problem)
        assert len(solution.placings) == problem.total
        assert compaction.is_valid(problem, solution)
