"""Shapes tied to lattices: hand-solvable lengths, and places that satisfy the formula."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.nest.bench import Bench
from marker.nest.bounds import lower_bound
from marker.nest.budget import Budget
from marker.nest.landscape import make_tables
from marker.nest.lattice import NoLattice
from marker.nest.problem import Kind, Lattice, Placing, Problem, Solution, Variant
from marker.nest.proof import prove
from marker.nest.search import prepare, solve

from .polygons import rectangle
from .test_search import assert_valid, random_problem

MM = 1000


def tied(
    w: int,
    h: int,
    width: int,
    count: int = 1,
    *,
    x: Lattice | None = None,
    y: Lattice | None = None,
    window: tuple[int, int] | None = None,
) -> Kind:
    """A w x h rectangle, in mm like all numbers here, at lattices along the strip and across."""
    low, high = window or (0, width - h)
    grown = [lattice and scaled(lattice) for lattice in (x, y)]
    way = Variant(rectangle(w * MM, h * MM), 0, w * MM, low * MM, high * MM, *grown)
    return Kind((way,), count, w * h * MM * MM)


def scaled(lattice: Lattice) -> Lattice:
    return Lattice(lattice.period * MM, lattice.offset * MM, lattice.sign, lattice.group)


def laid(
    *kinds: Kind, width: int, effort: float = 0.05, obstacles: tuple[tuple[int, ...], ...] = ()
) -> Solution:
    """The layout of some kinds, and the facts that hold for every layout."""
    flaws = tuple(rectangle(*(n * MM for n in (w, h, x, y))) for x, y, w, h in obstacles)
    problem = Problem(kinds, width * MM, flaws)
    solution = solve(problem, Budget(effort=effort), cores=1)
    assert_valid(problem, solution)
    assert_on_lattices(problem, solution)
    assert solution.length >= lower_bound(problem)
    return solution


def assert_on_lattices(problem: Problem, solution: Solution) -> None:
    for placing in solution.placings:
        way = problem.kinds[placing.kind].variants[placing.variant]
        for place, lattice, phases in (
            (placing.x, way.x_lattice, solution.x_phases),
            (placing.y, way.y_lattice, solution.y_phases),
        ):
            if lattice is None:
                continue
            phase = phases[lattice.group] if lattice.group >= 0 else 0.0
            assert 0.0 <= phase < lattice.period
            off = place - lattice.offset - lattice.sign * phase
            assert abs(off - round(off / lattice.period) * lattice.period) <= 1.0 + 1e-6


# Lengths by arithmetic -------------------------------------------------------------------------------


def test_one_behind_the_other_they_are_a_whole_period_apart() -> None:
    assert laid(tied(60, 50, 50, 2, x=Lattice(100, 0, 1, 0)), width=50).length == 160 * MM


def test_side_by_side_they_lose_nothing() -> None:
    solution = laid(tied(60, 50, 100, 2, x=Lattice(100, 0, 1, 0)), width=100)
    assert solution.length == 60 * MM


def test_a_period_just_too_short_makes_room_for_two() -> None:
    assert laid(tied(60, 50, 50, 3, x=Lattice(40, 0, 1, 0)), width=50).length == 220 * MM


@pytest.mark.parametrize(("sign", "length"), [(1, 130), (-1, 90)])
def test_without_a_group_the_offset_counts(sign: int, length: int) -> None:
    # Places at 70, 170...; or, for the second, -70 + 100 = 30: the phase of no group is 0 whatever the sign.
    offset = 70 if sign == 1 else -70
    assert laid(tied(60, 50, 50, x=Lattice(100, offset, sign)), width=50).length == length * MM


def test_a_free_phase_lets_the_group_shift() -> None:
    # Whatever the offset, the group shifts to the start; what differs within it stays apart.
    first, second = Lattice(100, 70, 1, 0), Lattice(100, 95, 1, 0)
    solution = laid(tied(60, 50, 100, x=first), tied(60, 50, 100, x=second), width=100)
    assert solution.length == 85 * MM
    assert abs(solution.placings[1].x - solution.placings[0].x) == 25 * MM


def test_opposite_signs_mirror_the_phase() -> None:
    # a = p, b = 30 - p: both within 60 of the start only if p is from 0 to 30, and best at 15.
    ways = tied(60, 50, 100, x=Lattice(100, 0, 1, 0)), tied(60, 50, 100, x=Lattice(100, 30, -1, 0))
    solution = laid(*ways, width=100)
    assert solution.length == pytest.approx(75 * MM, abs=30)
    assert solution.x_phases == pytest.approx((15.0 * MM,), abs=30)


def test_two_groups_do_not_hold_each_other() -> None:
    ways = tied(60, 50, 100, x=Lattice(100, 10, 1, 0)), tied(60, 50, 100, x=Lattice(70, 35, 1, 1))
    assert laid(*ways, width=100).length == 60 * MM


def test_across_they_are_a_whole_period_apart() -> None:
    # On 100 mm two bars of 40 would lie side by side; places 70 apart leave room for one only.
    ways = tied(50, 40, 100, 2, y=Lattice(70, 0, 1, 0))
    assert laid(ways, width=100).length == 100 * MM
    ways = tied(50, 40, 100, 2, y=Lattice(60, 0, 1, 0))
    assert laid(ways, width=100).length == 50 * MM


def test_on_both_axes() -> None:
    # Three columns 50 apart along, two rows 50 apart across: five of 40 x 40 need all three columns.
    ways = tied(40, 40, 100, 5, x=Lattice(50, 20, 1, 0), y=Lattice(50, 5, 1, 0))
    solution = laid(ways, width=100)
    assert solution.length == 140 * MM


def test_free_shapes_fill_between() -> None:
    # Tied ones leave gaps of 40 between them, which free ones fill exactly.
    solution = laid(tied(60, 50, 50, 3, x=Lattice(100, 0, 1, 0)), tied(40, 50, 50, 2), width=50)
    assert solution.length == 260 * MM


def test_an_obstacle_sets_the_phase() -> None:
    # Nothing fits before the flaw from 20 to 50, so places begin at 50 and go on by 100.
    ways = tied(60, 50, 50, 2, x=Lattice(100, 0, 1, 0))
    solution = laid(ways, width=50, obstacles=((20, 0, 30, 50),))
    assert solution.length == 210 * MM
    assert solution.x_phases == (50.0 * MM,)


def test_short_periods_cost_less_than_one_each() -> None:
    # Five on a period of 3: each starts at most 3 later than it would, here 62 -> 63 but for the first.
    ways = tied(62, 50, 50, 5, x=Lattice(3, 1, 1, 0))
    assert laid(ways, width=50).length == (4 * 63 + 62) * MM


def test_a_period_that_is_no_whole_number_of_units() -> None:
    # A third of a metre: places are rounded one by one, so the error does not add up.
    period = 1000 / 3
    solution = laid(tied(60, 50, 50, 4, x=Lattice(period, 0, 1)), width=50)
    assert [p.x for p in sorted(solution.placings, key=lambda p: p.x)] == [0, 333333, 666667, 1000000]


# Phases that leave a place ----------------------------------------------------------------------------


def test_a_phase_is_chosen_that_leaves_all_a_place_across() -> None:
    # Windows 0-10 and 40-50 on a period of 100 with offsets 0 and 35: phases 5-10 serve both.
    a = tied(50, 10, 100, y=Lattice(100, 0, 1, 0), window=(0, 10))
    b = tied(50, 10, 100, y=Lattice(100, 35, 1, 0), window=(40, 50))
    solution = laid(a, b, width=100)
    assert 5 * MM - 1 <= solution.y_phases[0] <= 10 * MM + 1
    assert solution.length == 50 * MM


def test_no_phase_may_leave_all_a_place_across() -> None:
    # The first wants phases 0-10, the third 15-20; the second is content with any.
    a = tied(50, 10, 100, y=Lattice(100, 0, 1, 0), window=(0, 10))
    b = tied(50, 10, 200, y=Lattice(100, 0, 1, 0))
    c = tied(50, 10, 100, y=Lattice(100, 30, 1, 0), window=(45, 50))
    with pytest.raises(NoLattice) as refusal:
        prepare(Problem((a, b, c), 200 * MM))
    assert refusal.value.kinds == (0, 2)


def test_a_shape_alone_may_have_no_place() -> None:
    fixed = tied(50, 10, 100, y=Lattice(100, 50), window=(0, 40))
    with pytest.raises(NoLattice) as refusal:
        solve(Problem((tied(10, 10, 100), fixed), 100 * MM), Budget(effort=0.1))
    assert refusal.value.kinds == (1,)


def test_another_variant_may_save_the_day() -> None:
    # As it is the shape has no place with the first's phase; upside down (in another group) it has.
    a = tied(50, 10, 100, y=Lattice(100, 0, 1, 0), window=(20, 20))
    low = tied(50, 10, 100, y=Lattice(100, 0, 1, 0), window=(60, 60)).variants
    high = tied(50, 10, 100, y=Lattice(100, 0, -1, 1), window=(80, 80)).variants
    solution = laid(a, Kind(low + high, 1, 5e8), width=100)
    assert [p.variant for p in solution.placings] == [0, 1]
    assert solution.y_phases == (20.0 * MM, 20.0 * MM)


# Invariants -------------------------------------------------------------------------------------------


def tie(problem: Problem, seed: int) -> Problem:
    """The problem with some variants tied at random, along or across or both, in two groups each way."""
    rng = np.random.default_rng(seed)
    x_periods, y_periods = rng.integers(300, 12_000, 2) + 0.25, rng.integers(300, 5000, 2) / 3

    def lattice(periods: np.ndarray) -> Lattice | None:
        group = int(rng.integers(-1, 2))
        offset, sign = float(rng.uniform(-9000, 9000)), int(rng.choice((-1, 1)))
        return Lattice(float(periods[group]), offset, sign, group) if rng.random() < 0.6 else None

    kinds = []
    for kind in problem.kinds:
        ways = [
            Variant(w.polygon, w.x_lo, w.x_back, w.y_lo, w.y_hi, lattice(x_periods), lattice(y_periods))
            for w in kind.variants
        ]
        kinds.append(Kind(tuple(ways), kind.count, kind.area))
    return Problem(tuple(kinds), problem.width, problem.obstacles)


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 10_000), flaw=st.booleans(), cores=st.integers(1, 2))
def test_places_are_on_their_lattices_and_nothing_overlaps(seed: int, flaw: bool, cores: int) -> None:
    plain = random_problem(seed)
    obstacles = (rectangle(4000, 9000, 8000, 5000),) if flaw else ()
    problem = tie(Problem(plain.kinds, plain.width, obstacles), seed)
    try:
        solution = solve(problem, Budget(effort=0.15), seed=seed, cores=cores)
    except NoLattice:
        return
    assert_valid(problem, solution)
    assert_on_lattices(problem, solution)
    assert solution.length >= lower_bound(problem)


@pytest.mark.parametrize("cores", [1, 2])
def test_same_seed_and_effort_give_the_same_layout(cores: int) -> None:
    problem = tie(random_problem(7), 3)
    first, again = (solve(problem, Budget(effort=0.2), seed=3, cores=cores) for _ in range(2))
    assert first == again


def test_a_start_is_taken_with_its_phases() -> None:
    problem = tie(random_problem(14), 2)
    good = solve(problem, Budget(effort=0.3), cores=1)
    assert solve(problem, Budget(effort=0.0), cores=1, start=good) == good


def test_a_start_off_its_lattice_is_not_taken() -> None:
    problem = Problem((tied(60, 50, 50, 2, x=Lattice(100, 0)),), 50 * MM)
    close = Solution(120 * MM, (Placing(0, 0, 0, 0), Placing(0, 0, 60 * MM, 0)))
    assert solve(problem, Budget(effort=0.0), cores=1, start=close).length == 160 * MM


def test_only_layouts_on_their_lattices_are_certified() -> None:
    problem = Problem((tied(60, 50, 50, 2, x=Lattice(100, 0, 1, 0)),), 50 * MM)
    bench = Bench(make_tables(problem), 1)
    for shift, certain in ((0, True), (1, True), (2, False), (-40 * MM, False)):
        places = Placing(0, 0, 7 * MM, 0), Placing(0, 0, 107 * MM + shift, 0)
        bench.take(Solution(300 * MM, places, (7.0 * MM,)))
        assert bench.certify() is certain


def test_nothing_is_claimed_proven_on_lattices() -> None:
    # Without lattices two of 60 end at 120; with them at 160, and 120 remains the bound.
    problem = Problem((tied(60, 50, 50, 2, x=Lattice(100, 0, 1, 0)),), 50 * MM)
    solution = solve(problem, Budget(effort=0.1), cores=1)
    proof = prove(problem, solution, effort=1.0)
    assert (proof.solution, proof.lower_bound, proof.optimal) == (solution, 120 * MM, False)


def test_without_lattices_there_are_no_phases() -> None:
    solution = solve(random_problem(3), Budget(effort=0.05), cores=1)
    assert solution.x_phases == solution.y_phases == ()
    assert make_tables(random_problem(3)).ties is None


@pytest.mark.parametrize("wrong", [Lattice(0, 0), Lattice(-5, 0), Lattice(0.01, 0), Lattice(100, 0, 2)])
def test_a_lattice_has_a_period_and_a_sign(wrong: Lattice) -> None:
    with pytest.raises(ValueError, match="no lattice"):
        prepare(Problem((tied(60, 50, 50, x=Lattice(wrong.period / MM, 0, wrong.sign)),), 50 * MM))


def test_a_group_has_one_period() -> None:
    kinds = tied(60, 50, 50, x=Lattice(100, 0, 1, 0)), tied(60, 50, 50, x=Lattice(90, 0, 1, 0))
    with pytest.raises(ValueError, match="periods"):
        prepare(Problem(kinds, 50 * MM))
