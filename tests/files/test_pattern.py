"""What a right pattern file becomes."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point as ShapelyPoint
from shapely import Polygon
from shapely.geometry import box

from marker.files.fabric import load_fabrics
from marker.files.pattern import load_pattern
from marker.model.ring import signed_area
from tests.files.samples import PATTERN, changed, write


@pytest.fixture
def pattern(tmp_path):
    return load_pattern(write(tmp_path, PATTERN))


def piece_of(pattern, number, size="S"):
    return next(piece for piece in pattern.pieces[size] if piece.number == number)


def one_piece(tmp_path, drawing, seam="0 mm", cuts='{ material = "fabric", count = 1 }'):
    """A pattern of one piece, loaded."""
    text = f'name = "One"\nunit = "mm"\nseam_allowance = "{seam}"\n[[piece]]\nnumber = 1\nname = "One"\n'
    return load_pattern(write(tmp_path, f"{text}cuts = [{cuts}]\n[piece.drawing.every]\n{drawing}\n")).pieces[
        "one size"
    ][0]


def test_every_size_lists_the_same_pieces_in_order(pattern):
    assert pattern.sizes == ("S", "M")
    for size in pattern.sizes:
        assert [piece.number for piece in pattern.pieces[size]] == ["1", "2", "3", "4"]
    assert [piece.is_guide for piece in pattern.pieces["S"]] == [False, False, False, True]


def test_views_and_notions_are_kept(pattern):
    plain, other = pattern.views
    assert (plain.name, plain.title, plain.pieces, plain.optional) == ("A", "Plain", ("1", "2"), ("3",))
    assert other.pieces == ("1", "2", "4")
    button, hook = pattern.notions
    assert dict(button.counts) == {"S": 6, "M": 7} and button.with_piece is None
    assert dict(hook.counts) == {"S": 1, "M": 1} and hook.with_piece == "3"


def test_the_allowance_is_added_on_all_edges_but_the_fold(pattern):
    front = piece_of(pattern, "1")
    assert front.stitching is not None
    assert Polygon(front.stitching).area == pytest.approx(210 * 600)
    assert front.fold_edge == ((0.0, 10.0), (0.0, -610.0))
    assert Polygon(front.outline).bounds[0] == 0.0
    side = math.hypot(20, 600)
    # Top and bottom strips, the slanted side, and the corners by hand: a trapezium 620 high.
    lower, upper = 200 - 10 / 30 + 10 * side / 600, 220 + 10 / 30 + 10 * side / 600
    assert signed_area(front.outline) == pytest.approx((lower + upper) / 2 * 620)


def test_drawing_in_the_other_direction_gives_the_same_piece(tmp_path, pattern):
    turned = changed(
        ("M 0 0 H 300 V 80 A 100 100 0 0 1 200 180 H 0 Z", "M 0 0 V 180 H 200 A 100 100 0 0 0 300 80 V 0 Z"),
        ("from = [300, 0], to = [300, 80]", "from = [300, 80], to = [300, 0]"),
    )
    one, other = piece_of(pattern, "2"), piece_of(load_pattern(write(tmp_path, turned)), "2")
    assert Polygon(one.outline).symmetric_difference(Polygon(other.outline)).area < 1
    assert Polygon(one.outline).bounds == pytest.approx((-10, -190, 325, 10))


def test_a_stretch_drawn_the_other_way_is_all_the_rest_of_the_outline(tmp_path):
    swapped = changed(("from = [300, 0], to = [300, 80]", "from = [300, 80], to = [300, 0]"))
    flap = piece_of(load_pattern(write(tmp_path, swapped)), "2")
    # The arc continues the right-hand edge smoothly, so the step between the two is square.
    assert Polygon(flap.outline).bounds == pytest.approx((-25, -205, 325, 25), abs=0.05)
    assert Polygon(flap.outline).intersection(box(250, -70, 400, -10)).bounds[2] == pytest.approx(310)


def test_an_outline_with_its_allowance_included_is_the_cutting_line(tmp_path):
    text = changed(('seam_allowance = "10 mm"', 'seam_allowance = "included"')).replace(
        'allowances = [{ from = [300, 0], to = [300, 80], width = "25 mm" }]\n', ""
    )
    loop = piece_of(load_pattern(write(tmp_path, text)), "3")
    assert loop.stitching is None
    assert Polygon(loop.outline).equals(box(0, -30, 120, 0))


def test_a_piece_may_have_an_allowance_of_its_own(tmp_path):
    text = changed(('name = "Loop"', 'name = "Loop"\nseam_allowance = "5/8 in"'))
    loop = piece_of(load_pattern(write(tmp_path, text)), "3")
    grown = box(-15.875, -30 - 15.875, 120 + 15.875, 15.875)
    assert Polygon(loop.outline).equals(grown)


def test_notches_lie_on_the_cutting_line_one_allowance_out(pattern):
    for size, at in (("S", (210.0, -300.0)), ("M", (230.0, -320.0))):
        front = piece_of(pattern, "1", size)
        (notch,) = front.notches
        assert notch.at in front.outline
        assert math.dist(notch.at, at) == pytest.approx(10.0)


def test_a_notch_at_the_end_of_the_fold_stays_on_the_fold_line(tmp_path):
    front = piece_of(load_pattern(write(tmp_path, changed(("at = [210, 300]", "at = [0, 0]")))), "1")
    assert front.fold_edge is not None and front.notches[0].at == front.fold_edge[0] == (0.0, 10.0)


def test_points_up_to_a_millimetre_off_snap_to_the_outline(tmp_path):
    text = changed(("fold = [[0, 0], [0, 600]]", "fold = [[0.4, -0.5], [0.3, 600.4]]"))
    assert piece_of(load_pattern(write(tmp_path, text)), "1").fold_edge == ((0.0, 10.0), (0.0, -610.0))


def test_how_is_chosen_when_it_is_left_out(tmp_path, pattern):
    assert [cut.how for cut in piece_of(pattern, "2").cuts] == ["mirrored", "alike"]
    # Three loops: a rectangle has no left and right.
    assert [cut.how for cut in piece_of(pattern, "3").cuts] == ["alike"]
    front = piece_of(load_pattern(write(tmp_path, changed((', how = "on fold"', "")))), "1")
    assert [cut.how for cut in front.cuts] == ["on fold"]


def test_a_region_is_cut_on_fold_only_along_its_own_edge_on_the_fold_line(tmp_path):
    drawing = (
        'outline = "M 0 0 H 100 V 200 H 0 Z"\ngrain = [[50, 150], [50, 50]]\nfold = [[0, 0], [0, 200]]\n'
        'regions = { neck = "M 0 0 H 80 V 30 H 0 Z", tab = "M 20 50 H 60 V 90 H 20 Z" }'
    )
    cuts = ", ".join(
        f'{{ material = "interfacing", count = 2, region = "{name}" }}' for name in ("neck", "tab")
    )
    neck, tab = one_piece(tmp_path, drawing, cuts=cuts).cuts
    assert (neck.how, neck.region_name) == ("on fold", "neck")
    assert (tab.how, tab.region_name) == ("mirrored", "tab")
    assert neck.region is not None and signed_area(neck.region) == pytest.approx(2400)


def test_numbers_written_without_quotes_are_names_too(tmp_path):
    text = changed(('number = "4"', "number = 4"), ('pieces = ["1", "2", "4"]', "pieces = [1, 2, 4]"))
    assert load_pattern(write(tmp_path, text)).views[1].pieces == ("1", "2", "4")


def test_a_file_without_views_has_one_with_every_piece(tmp_path):
    text = PATTERN[: PATTERN.index("[views.A]")] + PATTERN[PATTERN.index("[fabric.fabric]") :]
    (view,) = load_pattern(write(tmp_path, text)).views
    assert view.pieces == ("1", "2", "3", "4")


def test_windows_line_ends_and_a_byte_order_mark_are_welcome(tmp_path, pattern):
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + PATTERN.replace("\n", "\r\n").encode())
    assert load_pattern(path).pieces == pattern.pieces


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(["mm", "cm", "in"]), st.floats(20, 200), st.floats(20, 200))
def test_the_unit_of_the_file_scales_everything_but_lengths_that_name_their_own(tmp_path_factory, unit, a, b):
    size = {"mm": 1.0, "cm": 10.0, "in": 25.4}[unit]
    text = (
        f'name = "One"\nunit = "{unit}"\nseam_allowance = "10 mm"\n[[piece]]\nnumber = 1\nname = "One"\n'
        f"[piece.drawing.every]\noutline = 'M 0 0 H {a} V {b} H 0 Z'\ngrain = [[0, {b}], [0, 0]]\n"
        f"drills = [[{a / 2}, {b / 4}]]\n"
    )
    piece = load_pattern(write(tmp_path_factory.getbasetemp(), text)).pieces["one size"][0]
    assert signed_area(piece.outline) == pytest.approx((a * size + 20) * (b * size + 20))
    assert piece.grain[0] == pytest.approx((0.0, -b * size)) and piece.grain[1] == (0.0, 0.0)
    assert piece.drills[0] == pytest.approx((a * size / 2, -b * size / 4))


def test_fabrics_as_the_shop_sells_them(pattern):
    fabric = pattern.fabrics["fabric"]
    assert (fabric.width, fabric.selvage, fabric.step, fabric.system) == (1400.0, 10.0, 100.0, "metric")
    assert (fabric.price, fabric.price_per) == (14.5, 1000.0)
    assert pattern.fabrics["interfacing"].grain == "any"


def test_a_width_in_inches_speaks_in_yards_and_eighths(tmp_path):
    text = (
        '[fabric.wool]\nname = "Boiled wool"\nwidth = "57 in"\nprice = 22\nnap = true\n'
        'shrink_along = 3\nshrink_across = "1,5 %"\ngrain_tolerance = 2\n'
        '[fabric.lining]\nwidth = "54 in"\nstep = "10 cm"\n'
    )
    fabrics = load_fabrics(write(tmp_path, text))
    wool = fabrics["wool"]
    assert (wool.name, wool.width, wool.step, wool.system) == (
        "Boiled wool",
        57 * 25.4,
        914.4 / 8,
        "imperial",
    )
    assert (wool.price_per, wool.shrink_along, wool.shrink_across) == (914.4, 0.03, 0.015)
    assert wool.nap and wool.grain_tolerance == 2
    assert fabrics["lining"].system == "metric"


def test_a_spot_keeps_at_least_its_circle_clear_and_outlines_stay_as_written(tmp_path):
    text = '[fabric.a]\nwidth = "1 m"\nflaws = [{ along = "30 cm", across = "20 cm", radius = "2 cm" },'
    text += ' { outline = "M 100 10 H 150 V 40 H 100 Z" }]\n'
    spot, patch = load_fabrics(write(tmp_path, text))["a"].flaws
    circle = ShapelyPoint(300, 200).buffer(20, quad_segs=64)
    assert Polygon(spot).buffer(1e-9).covers(circle)
    assert Polygon(spot).area < 1.03 * math.pi * 400
    assert Polygon(patch).equals(box(100, 10, 150, 40))
    assert signed_area(spot) > 0 and signed_area(patch) > 0
