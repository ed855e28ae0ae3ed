"""The engine on jobs whose best answer is known from elsewhere, or can be seen at a glance."""

from __future__ import annotations

import numpy as np
import pytest

from marker.nest.bounds import lower_bound
from marker.nest.budget import Budget
from marker.nest.compaction import is_valid
from marker.nest.problem import Problem
from marker.nest.search import solve
from tests.nest.polygons import polygon, rectangle
from tests.nest.test_bounds import kind, shortest_strip_of_rectangles


@pytest.mark.parametrize("seed", range(3))
def test_finds_the_best_strip_of_a_few_rectangles(seed: int) -> None:
    sizes = [tuple(size) for size in np.random.default_rng(seed).integers(2, 8, size=(6, 2)).tolist()]
    problem = Problem(tuple(kind(rectangle(1000 * a, 1000 * b), 10_000) for a, b in sizes), 10_000)
    solution = solve(problem, Budget(effort=0.3), seed=1, cores=1)
    assert is_valid(problem, solution)
    best = 1000 * shortest_strip_of_rectangles(sizes, 10)
    # Places that touch within the engine's tolerance may save it a few lattice units.
    assert solution.length == pytest.approx(best, abs=10)


@pytest.mark.parametrize("seed", range(2))
def test_is_no_longer_than_what_a_rectangle_packer_finds(seed: int) -> None:
    import rectpack

    sizes = np.random.default_rng(seed).integers(5, 50, size=(16, 2)).tolist()
    lengths = []
    for algorithm in (rectpack.MaxRectsBl, rectpack.SkylineBl, rectpack.GuillotineBssfSas):
        packer = rectpack.newPacker(pack_algo=algorithm, rotation=False)
        for a, b in sizes:
            packer.add_rect(a, b)
        packer.add_bin(1000, 100)
        packer.pack()
        assert len(packer[0]) == len(sizes)
        lengths.append(max(placed.x + placed.width for placed in packer[0]))
    problem = Problem(tuple(kind(rectangle(100 * a, 100 * b), 10_000) for a, b in sizes), 10_000)
    solution = solve(problem, Budget(effort=0.3), seed=1, cores=1)
    assert is_valid(problem, solution)
    assert lower_bound(problem) - 10 <= solution.length <= 100 * min(lengths)


def test_a_tab_slides_into_a_slot_of_its_own_width() -> None:
    block = polygon((0, 0), (100, 0), (100, 80), (80, 80), (80, 20), (20, 20), (20, 80), (0, 80)) * 100
    tab = rectangle(60, 60) * 100
    problem = Problem((kind(block, 10_000, turns=(0, 1, 2, 3)), kind(tab, 10_000)), 10_000)
    solution = solve(problem, Budget(effort=0.3), seed=1, cores=1)
    assert is_valid(problem, solution)
    assert solution.length == 8000
