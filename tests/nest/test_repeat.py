"""Large jobs as repetitions of a small one."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from marker.nest.budget import Budget
from marker.nest.problem import Problem
from marker.nest.repeat import UNIT, part, repeated
from marker.nest.search import prepare, solve

from .polygons import rectangle
from .test_search import assert_valid, kind, random_problem


def many(seed: int, times: int) -> Problem:
    plain = random_problem(seed)
    return replace(plain, kinds=tuple(replace(each, count=each.count * times) for each in plain.kinds))


@pytest.mark.parametrize(("seed", "times"), [(1, 16), (2, 60), (3, 25)])
def test_the_part_times_its_number_is_the_whole(seed: int, times: int) -> None:
    whole = many(seed, times)
    small, number = part(whole) or (whole, 1)
    assert number > 1 and small.total <= UNIT
    assert [each.count * number for each in small.kinds] == [each.count for each in whole.kinds]


def test_small_jobs_and_odd_counts_are_no_repetition() -> None:
    assert part(random_problem(1)) is None
    square = rectangle(3000, 3000)
    odd = Problem((kind(square, 30_000, 199), kind(rectangle(2000, 2000), 30_000, 100)), 30_000)
    assert part(odd) is None
    flawed = replace(many(1, 40), obstacles=(square,))
    assert part(flawed) is None


@pytest.mark.parametrize("seed", range(4))
def test_copies_slid_together_do_not_overlap(seed: int) -> None:
    unit = random_problem(seed)
    prepared = prepare(unit)
    layout = solve(prepared, Budget(effort=0.05), seed=seed, cores=1)
    times = 4
    whole = replace(unit, kinds=tuple(replace(each, count=each.count * times) for each in unit.kinds))
    row = repeated(prepared.tables, layout, times)
    assert_valid(whole, row)
    assert row.length <= times * layout.length


def test_wedges_that_interlock_are_slid_into_each_other() -> None:
    wedge = np.array([(0, 0), (8000, 0), (2000, 10_000), (0, 10_000)], dtype=np.int64)
    leaning = np.array([(6000, 0), (8000, 0), (8000, 10_000), (0, 10_000)], dtype=np.int64)
    unit = Problem((kind(wedge, 10_000, turns=False), kind(leaning, 10_000, turns=False)), 10_000)
    prepared = prepare(unit)
    layout = solve(prepared, Budget(effort=0.05), cores=1, lower_bound=10_000)
    row = repeated(prepared.tables, layout, 3)
    # Side by side along their slopes the two fill a rectangle of 10 000: three of them 30 000.
    assert 30_000 <= row.length <= 30_010
    assert Counter(placing.kind for placing in row.placings) == {0: 3, 1: 3}


def test_a_large_job_begins_with_its_repeated_part() -> None:
    whole = many(4, 30)
    first = solve(whole, Budget(effort=0.0), cores=1)
    assert_valid(whole, first)
    better = solve(whole, Budget(effort=0.15), cores=2)
    assert_valid(whole, better)
    assert better.length < first.length
    assert better == solve(whole, Budget(effort=0.15), cores=2)


@pytest.mark.parametrize("seed", [4, 5])
def test_a_large_job_that_goes_on_from_a_poor_layout_repeats_its_part_as_well(seed: int) -> None:
    whole = many(seed, 30)
    poor = solve(whole, Budget(effort=0.0), cores=1)
    afresh = solve(whole, Budget(effort=0.15), cores=1)
    assert afresh.length < poor.length
    further = solve(whole, Budget(effort=0.15), cores=1, start=poor)
    assert_valid(whole, further)
    assert further.length <= afresh.length * 1.005


def test_a_large_job_never_ends_longer_than_it_began() -> None:
    whole = many(4, 30)
    good = solve(whole, Budget(effort=0.3), cores=1)
    assert solve(whole, Budget(effort=0.02), cores=1, start=good).length <= good.length
