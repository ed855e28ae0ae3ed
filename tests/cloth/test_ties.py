"""Phases that follow from one another, by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.cloth.ties import Clash, Meet, Phase, Pin, Point, residue, settle

A, B, C = ("A", False), ("B", False), ("C", False)


def meet(name, *points):
    return Meet(name, tuple(Point(*point) for point in points))


def test_two_nodes_that_meet_share_a_free_phase():
    # The notch is 30 along A and 110 along B: B's origin shows 80 before A's, 20 modulo 100.
    phases = settle([A, B], [meet("n", (A, 30.0), (B, 110.0))], [], period=100.0, tolerance=1.0)
    assert phases == {A: Phase(0.0, 1, 0), B: Phase(20.0, 1, 0)}


def test_a_pin_fixes_all_that_is_linked_and_nothing_else():
    phases = settle(
        [A, B, C],
        [meet("n", (A, 30.0), (B, 10.0))],
        [Pin("middle", Point(B, 25.0))],
        period=60.0,
        tolerance=1.0,
    )
    assert phases[B] == Phase(35.0) and phases[A] == Phase(15.0)
    assert phases[C] == Phase(0.0, 1, 0)


def test_a_chain_that_does_not_close_names_its_links_and_the_gap():
    ties = [
        meet("hip", (A, 0.0), (B, 10.0)),
        meet("side", (B, 0.0), (C, 0.0)),
        meet("back", (C, 5.0), (A, 0.0)),
    ]
    with pytest.raises(Clash) as told:
        settle([A, B, C], ties, [], period=60.0, tolerance=1.0)
    assert set(told.value.names) == {"hip", "side", "back"}
    # By hip B is at A - 10, by back C at A - 5, and by side they should be the same.
    assert told.value.off == pytest.approx(5.0)


def test_a_ring_that_misses_by_less_than_the_tolerance_or_by_whole_repeats_closes():
    for off in (0.9, 60.0, 119.5):
        ties = [meet("hip", (A, 0.0), (B, 0.0)), meet("side", (A, 7.0), (B, 7.0 + off))]
        phases = settle([A, B], ties, [], period=60.0, tolerance=1.0)
        # The first meeting holds exactly, the other by what is allowed.
        assert phases[A] == phases[B]


def test_two_meetings_of_opposite_signs_leave_two_phases_of_which_one_is_taken():
    # a = b and a + 10 = -(b + 10) leave 2 a = -20: -10, or half a period more.
    ties = [meet("n", (A, 0.0), (B, 0.0)), meet("m", (A, 10.0), (B, 10.0, -1))]
    phases = settle([A, B], ties, [], period=60.0, tolerance=1.0, mirrors=True)
    assert phases[A] == phases[B]
    assert phases[A].group == -1 and phases[A].offset % 30.0 == pytest.approx(20.0)


def test_mirrored_partners_run_against_the_free_phase():
    phases = settle(
        [A, B], [meet("n", (A, 30.0), (B, 45.0, -1))], [], period=100.0, tolerance=1.0, mirrors=True
    )
    # A + 30 = -(B + 45): B = -75 - A.
    assert phases[B] == Phase(25.0, -1, 0)


def test_fixed_phases_may_meet_as_mirror_images_where_the_print_allows_it():
    pins = [Pin("middle of A", Point(A, 0.0)), Pin("middle of B", Point(B, 0.0))]
    ties = [meet("side", (A, 25.0), (B, -25.0))]
    settle([A, B], ties, pins, period=60.0, tolerance=1.0, mirrors=True)
    with pytest.raises(Clash) as told:
        settle([A, B], ties, pins, period=60.0, tolerance=1.0)
    assert told.value.names == ("middle of A", "middle of B", "side")
    assert told.value.off == pytest.approx(10.0)


def test_one_node_pinned_twice_has_to_agree_with_itself():
    pins = [Pin("middle", Point(A, 0.0)), Pin("pocket", Point(A, 20.0))]
    with pytest.raises(Clash) as told:
        settle([A], [], pins, period=60.0, tolerance=1.0)
    assert "pocket" in told.value.names and told.value.off == pytest.approx(20.0)


@given(
    st.lists(st.floats(-500, 500), min_size=2, max_size=6),
    st.floats(10, 200),
    st.floats(0, 1),
    st.lists(st.sampled_from([1, -1]), min_size=6, max_size=6),
)
def test_whatever_the_free_phase_all_points_of_a_meeting_agree(ats, period, share, signs):
    nodes = [(str(k), False) for k in range(len(ats))]
    points = tuple(
        Point(node, at, sign if k else 1)
        for k, (node, at, sign) in enumerate(zip(nodes, ats, signs, strict=False))
    )
    phases = settle(nodes, [Meet("n", points)], [], period=period, tolerance=1e-6)
    values = [p.sign * (phases[p.node].offset + phases[p.node].sign * share * period + p.at) for p in points]
    assert all(abs(residue(value - values[0], period)) < 1e-6 for value in values)
