"""How many outlines are laid where, counted by hand for every spread."""

from collections import Counter

import pytest

from marker.cloth.demand import needs
from marker.cloth.plan import TooWide, fold_depths, plans
from marker.cloth.spread import spreads
from tests.cloth.jobs import cut, fold_half, job, piece, rectangle, wedge


def planned(the_job, name):
    """What the first plan of a spread lays: (part, copies, on fold, opened) to how often, per stretch."""
    fabric = the_job.fabrics["fabric"]
    wanted = needs(the_job, "fabric")
    found, _ = spreads(fabric, fold_depths(wanted, fabric))
    spread = next(spread for spread in found if spread.family == name)
    plan = plans(spread, wanted, fabric)[0]
    counts = []
    for stretch in plan.stretches:
        laid = Counter()
        for meaning, kind in zip(stretch.laid, stretch.problem.kinds, strict=True):
            key = (meaning.need.piece.number, meaning.copies, meaning.on_fold, meaning.opened)
            laid[key] += kind.count
        counts.append(dict(laid))
    return counts


SQUARES = job(fold_half("1", 200, 100, cut(2, "on fold")))


@pytest.mark.parametrize("name", ["lengthwise fold", "selvages to the middle", "partial fold"])
def test_two_squares_on_fold_are_two_halves(name):
    assert planned(SQUARES, name) == [{("1", 1, True, False): 2}]


def test_two_squares_on_fold_lie_whole_on_open_cloth():
    assert planned(SQUARES, "open") == [{("1", 1, False, True): 2}]


def test_a_crosswise_fold_yields_two_opened_squares_from_one_outline():
    assert planned(SQUARES, "crosswise fold") == [{("1", 2, False, True): 1}]


def test_a_tube_has_a_fold_at_either_side():
    tube = job(fold_half("1", 200, 100, cut(2, "on fold")), tube=True)
    assert planned(tube, "tubular") == [{("1", 1, True, False): 2}]
    fabric = tube.fabrics["fabric"]
    (spread,) = (s for s in spreads(fabric, [])[0] if s.name == "tubular")
    (kind,) = plans(spread, needs(tube, "fabric"), fabric)[0].stretches[0].problem.kinds
    assert {variant.y_lo for variant in kind.variants} == {0, 1_000_000}


PAIR = job(piece("1", wedge(), cut(2, "mirrored")))


def test_a_mirrored_pair_is_one_outline_on_two_layers():
    assert planned(PAIR, "lengthwise fold") == [{("1", 2, False, False): 1}]


def test_a_mirrored_pair_is_one_face_up_and_one_face_down_on_one_layer():
    fabric = PAIR.fabrics["fabric"]
    wanted = needs(PAIR, "fabric")
    assert (wanted[0].drawn, wanted[0].turned) == (1, 1)
    (spread,) = (s for s in spreads(fabric, [])[0] if s.name == "open")
    (stretch,) = plans(spread, wanted, fabric)[0].stretches
    assert [{spot.pose.mirrored for spot in laid.spots} for laid in stretch.laid] == [{False}, {True}]


def test_an_odd_copy_goes_to_the_open_stretch_of_a_mixed_spread():
    three = job(piece("1", rectangle(300, 200), cut(3)), piece("2", wedge(), cut(2, "mirrored")))
    assert planned(three, "mixed") == [
        {("1", 2, False, False): 1, ("2", 2, False, False): 1},
        {("1", 1, False, False): 1},
    ]


def test_an_odd_copy_on_two_layers_costs_a_spare():
    three = job(piece("1", rectangle(300, 200), cut(3)))
    assert planned(three, "lengthwise fold") == [{("1", 2, False, False): 2}]


def test_copies_of_one_hand_cost_a_spare_each_on_two_layers():
    alike = job(piece("1", wedge(), cut(3, "alike")))
    assert planned(alike, "lengthwise fold") == [{("1", 2, False, False): 3}]
    assert planned(alike, "open") == [{("1", 1, False, False): 3}]


def test_garments_multiply():
    assert planned(job(fold_half("1", 200, 100, cut(2, "on fold")), quantity=5), "open") == [
        {("1", 1, False, True): 10}
    ]


def test_a_region_is_cut_in_place_of_the_piece():
    region = rectangle(50, 40, 10, 10)
    part = piece(
        "1", rectangle(300, 200), cut(1), cut(2, material="interfacing", region=region, region_name="tab")
    )
    the_job = job(part)
    (need,) = needs(the_job, "interfacing")
    assert need.outline == region and need.region == "tab"
    assert need.area == pytest.approx(2 * 50 * 40)


def test_nap_lets_every_piece_face_one_way_only():
    def rotations(nap):
        the_job = job(piece("1", wedge(), cut(1)), nap=nap)
        fabric = the_job.fabrics["fabric"]
        (spread,) = (s for s in spreads(fabric, [])[0] if s.name == "open")
        (laid,) = plans(spread, needs(the_job, "fabric"), fabric)[0].stretches[0].laid
        return {spot.pose.rotation for spot in laid.spots}

    assert rotations(True) == {0.0}
    assert rotations(False) == {0.0, 180.0}


def test_a_piece_too_wide_for_the_fold_is_told():
    wide = job(piece("1", rectangle(300, 600), cut(2)))
    with pytest.raises(TooWide, match="60 cm across, there is 50 cm"):
        planned(wide, "lengthwise fold")
    assert planned(wide, "open") == [{("1", 1, False, False): 2}]


def test_a_partial_fold_always_has_something_in_two_layers():
    # Two small pairs that would fit the single layer alone: folding for nothing is no plan.
    the_job = job(
        piece("1", rectangle(300, 80), cut(2)), piece("2", wedge(), cut(1)), piece("3", wedge(), cut(1))
    )
    fabric = the_job.fabrics["fabric"]
    wanted = needs(the_job, "fabric")
    found, _ = spreads(fabric, fold_depths(wanted, fabric))
    partial = [
        plan for spread in found if spread.family == "partial fold" for plan in plans(spread, wanted, fabric)
    ]
    assert partial
    for plan in partial:
        (stretch,) = plan.stretches
        assert any(laid.copies == 2 or laid.on_fold for laid in stretch.laid)
