"""Borders, the bias and the grain tolerance: pieces that do not simply lie along the cloth."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon
from shapely.affinity import rotate

from marker.api import lay, load_job
from marker.check import verify
from marker.cloth.choose import enter
from marker.cloth.orient import Pose, posed, shape, shortest
from marker.cloth.tilt import leant
from marker.errors import InputError
from marker.model.fabric import Border
from tests.cloth.jobs import cut, fold_half, job, piece, rectangle, wedge

PIECES = Path(__file__).parents[2] / "pieces"


def laid(the_job, **options):
    answer = lay(the_job, **{"effort": 0.05, "cores": 1, **options})
    assert verify(answer.layout, the_job) == []
    return answer.layout.materials[0]


def panel(number, length, width, *cuts):
    """A skirt panel with its top to the right: the hem is its left edge, square to the grain."""
    part = piece(number, rectangle(length, width), *cuts)
    return replace(part, hem=((0.0, 0.0), (0.0, width)))


@pytest.mark.parametrize("side", ["lower", "upper"])
def test_hems_lie_on_the_edge_with_the_border_and_the_grain_turns_for_it(side):
    # 700 mm tall, 400 mm wide panels side by side on 1000 mm of cloth: two of them take 800 mm.
    border = Border(side, 120.0)
    answer = laid(job(panel("1", 700, 400, cut(2)), border=border, selvage=10.0), effort=0.3)
    assert answer.lay == "open"
    assert answer.length == pytest.approx(800.0, abs=0.5)
    for placement in answer.placements:
        ys = [y for _, y in placement.outline]
        assert (min(ys) if side == "lower" else max(ys)) == pytest.approx(10.0 if side == "lower" else 990.0)
        assert placement.rotation == (90.0 if side == "lower" else 270.0)


def test_left_and_right_both_stand_on_the_border_though_the_cloth_has_a_nap():
    part = piece("1", wedge(), cut(2, "mirrored"))
    part = replace(part, hem=((0.0, 0.0), (300.0, 0.0)))
    answer = laid(job(part, border=Border("lower", 50.0), nap=True))
    assert {(p.mirrored, p.rotation) for p in answer.placements} == {(False, 0.0), (True, 180.0)}


def test_what_is_its_mirror_image_only_when_turned_has_two_hands_on_a_border():
    # A parallelogram: turned end for end its mirror image has its hem at the other edge.
    shape = ((0.0, 0.0), (300.0, 0.0), (340.0, 150.0), (40.0, 150.0))
    part = replace(piece("1", shape, cut(2, "mirrored")), hem=((0.0, 0.0), (300.0, 0.0)))
    answer = laid(job(part, border=Border("lower", 50.0)))
    assert {p.mirrored for p in answer.placements} == {False, True}


def test_a_slanting_hem_turns_the_piece_by_its_slant():
    # The lower edge rises by 30 in 300: a turn of -5.71 degrees lays it along the cloth.
    shape = ((0.0, 0.0), (300.0, 30.0), (300.0, 200.0), (0.0, 200.0))
    part = replace(piece("1", shape, cut(1)), hem=((0.0, 0.0), (300.0, 30.0)))
    (placement,) = laid(job(part, border=Border("lower", 50.0))).placements
    assert placement.rotation == pytest.approx(360.0 - np.degrees(np.arctan(0.1)))
    assert sorted(y for _, y in placement.outline)[:2] == pytest.approx([0.0, 0.0], abs=1e-6)


def test_a_piece_cut_on_the_fold_is_opened_out_on_a_border():
    half = fold_half("1", 400, 150, cut(1, "on fold"))
    half = replace(half, hem=((400.0, 0.0), (400.0, 150.0)))
    answer = laid(job(half, border=Border("lower", 50.0)))
    (placement,) = answer.placements
    assert placement.opened and placement.rotation == 270.0
    assert answer.length == pytest.approx(300.0, abs=0.5)


def test_pieces_without_a_hem_lie_anywhere_on_a_bordered_cloth():
    parts = (panel("1", 300, 400, cut(1)), piece("2", rectangle(200, 150), cut(3)))
    answer = laid(job(*parts, border=Border("lower", 50.0)))
    assert {p.rotation % 180.0 for p in answer.placements if p.piece == "2"} == {0.0}


def test_hems_along_a_border_refuse_every_fold_with_the_reason():
    the_job = job(panel("1", 300, 200, cut(2)), border=Border("lower", 50.0))
    with pytest.raises(InputError, match="hems along a border are cut from open cloth"):
        enter(the_job, "fabric", "lengthwise fold")


def test_a_hem_that_is_not_straight_when_opened_out_is_told():
    half = fold_half("1", 400, 150, cut(1, "on fold"))
    slanting = ((0.0, 0.0), (400.0, 0.0), (380.0, 150.0), (0.0, 150.0))
    half = replace(half, outline=slanting, hem=((400.0, 0.0), (380.0, 150.0)))
    with pytest.raises(InputError, match="square to the fold"):
        enter(job(half, border=Border("lower", 50.0)), "fabric", "best")


def test_a_piece_on_the_bias_does_not_go_along_a_border():
    part = replace(panel("1", 300.0, 200.0, cut(1)), bias=True)
    with pytest.raises(InputError, match="on the bias and goes with its hem along the border"):
        enter(job(part, border=Border("lower", 100.0)), "fabric", "open")
    # On other cloth it is cut on the bias like any piece.
    assert enter(job(part), "fabric", "open").runners


def bias(part):
    return replace(part, bias=True)


@pytest.mark.parametrize("nap", [False, True])
def test_left_and_right_are_cut_on_opposite_diagonals(nap):
    answer = laid(job(bias(piece("1", wedge(), cut(2, "mirrored"))), nap=nap), fold="open")
    ways = {p.mirrored: p.rotation for p in answer.placements}
    if nap:
        assert ways == {False: 45.0, True: 315.0}
    else:
        assert ways[False] % 180.0 == 45.0 and ways[True] % 180.0 == 135.0


def test_strips_without_a_hand_lie_on_opposite_diagonals_when_cut_in_pairs():
    answer = laid(job(bias(piece("1", rectangle(400, 40), cut(2, "mirrored")))), fold="open")
    assert {p.rotation % 180.0 for p in answer.placements} == {45.0, 135.0}


def test_two_layers_give_a_pair_on_the_bias():
    answer = laid(job(bias(piece("1", wedge(), cut(2, "mirrored")))), fold="lengthwise fold")
    (placement,) = answer.placements
    assert placement.copies == 2 and placement.rotation % 90.0 == 45.0


def test_a_square_on_the_bias_takes_its_diagonal():
    # 300 mm square: its diagonal is 424.26 mm, along and across.
    answer = laid(job(bias(piece("1", rectangle(300, 300), cut(1))), width=430.0), fold="open")
    assert answer.length == pytest.approx(300 * 2**0.5, abs=0.5)


def test_nothing_is_cut_on_the_fold_and_on_the_bias():
    with pytest.raises(InputError, match="on the fold and on the bias"):
        enter(job(bias(fold_half("1", 400, 150, cut(1, "on fold")))), "fabric", "best")


def sheared(wide: float, tall: float, lean: float):
    """A parallelogram whose short ends lie along the cloth and whose sides lean by ``lean`` degrees."""
    over = tall * np.tan(np.radians(lean))
    return ((0.0, 0.0), (wide, 0.0), (wide + over, tall), (over, tall))


@pytest.mark.parametrize("tolerance", [0.0, 1.0, 2.0, 5.0])
def test_a_leaning_piece_is_set_upright_as_far_as_the_tolerance_goes(tolerance):
    # Sides of 800 / cos 2 mm lean by 2 degrees, less the tilt; the ends slope by the tilt.
    the_job = job(piece("1", sheared(300, 800, 2.0), cut(1)), grain_tolerance=tolerance)
    answer = laid(the_job, fold="open")
    tilt = min(tolerance, 2.0)
    side = 800.0 / np.cos(np.radians(2.0))
    expected = 300.0 * np.cos(np.radians(tilt)) + side * np.sin(np.radians(2.0 - tilt))
    assert answer.length == pytest.approx(expected, abs=0.01)
    # No tilt within the tolerance is shorter, and the bound knows that.
    assert answer.length - 0.01 <= answer.lower_bound <= answer.length


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize(
    "outline", [sheared(300, 800, 2.0), sheared(500, 90, -4.0), wedge(), wedge(900, 60, 40)]
)
def test_no_tilt_is_shorter_than_the_shortest_one(outline, axis):
    # Against turning by shapely, every hundredth of a degree.
    polygon = Polygon(outline)

    def extent(tilt):
        low_x, low_y, high_x, high_y = rotate(polygon, tilt, origin=(0, 0)).bounds
        return (high_x - low_x, high_y - low_y)[axis]

    least, tilt = shortest(shape(outline, ((0.0, 0.0), (1.0, 0.0)), None, 0.0), 3.0, axis)
    sampled = min(extent(tilt) for tilt in np.linspace(-3.0, 3.0, 601))
    assert abs(tilt) <= 3.0
    assert least == pytest.approx(extent(tilt), abs=1e-6)
    assert sampled - 0.2 < least <= sampled + 2e-6


def test_what_is_proved_along_the_grain_is_not_claimed_for_tilted_pieces():
    # Two of 200 mm do not lie beside each other on 350 mm: 600 mm is best along the grain, and easily proved.
    # With tilts only the areas count: 2 x 300 x 200 / 350.
    part = piece("1", rectangle(300, 200), cut(2))
    straight = laid(job(part, width=350.0), fold="open")
    assert straight.proven and straight.lower_bound == pytest.approx(600.0, abs=0.01)
    tilting = laid(job(part, width=350.0, grain_tolerance=2.0), fold="open")
    assert not tilting.proven and tilting.length == pytest.approx(600.0, abs=0.5)
    assert tilting.lower_bound == pytest.approx(2 * 300 * 200 / 350, abs=0.01)


def test_tilts_come_after_the_straight_ways_and_keep_to_the_tolerance():
    entered = enter(job(piece("1", wedge(), cut(1)), grain_tolerance=3.0), "fabric", "open")
    (stretch,) = entered.runners[0].plan.stretches
    wider = leant(stretch, 0.0, 5.0)
    (before,), (after,) = stretch.laid, wider.laid
    assert after.spots[: len(before.spots)] == before.spots
    (old,), (new,) = stretch.problem.kinds, wider.problem.kinds
    assert new.variants[: len(old.variants)] == old.variants
    off = [(spot.pose.rotation + 90.0) % 180.0 - 90.0 for spot in after.spots]
    assert min(off) == pytest.approx(-3.0) and max(off) == pytest.approx(3.0)
    # Without time for tables everything stays as it is.
    assert leant(stretch, 0.0, 0.0) is stretch


def test_half_turns_and_mirror_images_of_a_tilted_piece_have_the_same_polygon():
    # Tables are shared by polygons that are flips of each other: so they must be, to the last unit.
    form = shape(wedge(310.7, 203.3, 99.1), ((0.0, 0.0), (1.0, 0.0)), None, 3.0)
    plain, _ = posed(form, Pose(False, 2.5), 3.0)
    half, _ = posed(form, Pose(False, 182.5), 3.0)
    face_down, _ = posed(form, Pose(True, 357.5), 3.0)
    assert (half == -plain).all()
    assert (face_down[::-1] * (1, -1) == plain).all()


def test_the_same_effort_gives_the_same_tilts():
    the_job = job(
        piece("1", wedge(), cut(4)), piece("2", sheared(250, 400, 3.0), cut(3)), grain_tolerance=4.0
    )
    one, two = laid(the_job, effort=0.4), laid(the_job, effort=0.4)
    assert one == two
    assert any(placement.rotation % 180.0 for placement in one.placements)


@pytest.mark.parametrize("name", ["market-apron", "harbour-smock"])
def test_a_grain_tolerance_never_costs_cloth(name):
    # The engine's noise is up to 2 % at such a small effort.
    whole = load_job(PIECES / f"{name}.toml", size="M" if name == "harbour-smock" else None).only("fabric")
    strict = replace(whole.fabrics["fabric"], nap=False, grain_tolerance=0.0)
    without = laid(replace(whole, fabrics={"fabric": strict}), effort=1.0)
    tolerant = replace(strict, grain_tolerance=3.0)
    assert laid(replace(whole, fabrics={"fabric": tolerant}), effort=1.0).length <= 1.02 * without.length


def test_a_tilt_within_the_tolerance_makes_a_long_piece_fit_narrower_cloth():
    # A parallelogram leaning by 2 degrees is 235 mm across straight and 200 mm with its long edges along.
    lean = np.tan(np.radians(2.0)) * 1000.0
    outline = ((0.0, 0.0), (1000.0, lean), (1000.0, 200.0 + lean), (0.0, 200.0))
    the_job = job(piece("1", outline, cut(1)), width=210.0, grain_tolerance=3.0)
    (placement,) = laid(the_job, fold="open").placements
    assert placement.rotation % 180.0 == pytest.approx(178.0)
    with pytest.raises(InputError, match="Part 1"):
        laid(job(piece("1", outline, cut(1)), width=210.0), fold="open")


def test_a_tube_is_laid_as_it_is_whatever_would_be_shorter():
    the_job = job(piece("1", rectangle(300, 300), cut(3)), tube=True, width=500.0)
    assert laid(the_job).lay == "tubular"
