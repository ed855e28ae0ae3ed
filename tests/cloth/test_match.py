"""What lies where on a print, by hand, and held against the checker, which shares no code with it."""

import math
import random
from dataclasses import replace
from pathlib import Path

import pytest

from marker.api import load_job
from marker.check import verify
from marker.cloth.choose import enter
from marker.cloth.demand import needs
from marker.cloth.match import ties_of
from marker.cloth.place import cloth_length, material_layout, whole_repeats
from marker.cloth.tilt import leant
from marker.errors import InputError
from marker.model.fabric import Print
from marker.model.layout import Layout
from marker.model.match import Match
from marker.model.piece import Notch
from marker.nest.problem import Placing, Solution
from tests.cloth.jobs import cut, fold_half, job, piece, rectangle, wedge

PIECES = Path(__file__).parents[2] / "pieces"


def notched(part, **marks):
    """The part with notches: name = (x, y), or ((x, y), (x, y) on the stitching line)."""
    notches = tuple(
        Notch(name, *at) if isinstance(at[0], tuple) else Notch(name, at) for name, at in marks.items()
    )
    return replace(part, notches=notches)


def printed(*parts, matches, design, level="main", **fabric):
    return replace(job(*parts, print=design, **fabric), matches=tuple(matches), matching=level)


def meet(name, lines="crosswise", level="main"):
    return Match("meet", name, lines != "lengthwise", lines != "crosswise", level)


def centre(number, lines="lengthwise", at=""):
    return Match("centre", number, lines != "lengthwise", lines != "crosswise", at=at)


def pair(number, lines="both"):
    return Match("pair", number, lines != "lengthwise", lines != "crosswise")


ACROSS = Print("stripes across", 100.0, None)
ALONG = Print("stripes along", None, 60.0)
CHECK = Print("check", 100.0, 60.0, (30.0, 20.0))


def scattered(plan, rng, astray=0.0):
    """Solutions with every shape anywhere on its lattices, at random phases, overlaps and all.

    ``astray``: millimetres by which one shape that is tied is put off its lattice along the cloth.
    """
    solutions = []
    for stretch in plan.stretches:
        phases = ({}, {})

        def place(lattice, axis, low, high, phases=phases):
            if lattice is None:
                return rng.randint(low, high)
            phase = 0.0
            if lattice.group >= 0:
                phase = phases[axis].setdefault(lattice.group, rng.random() * lattice.period)
            base = lattice.offset + lattice.sign * phase
            first = math.ceil((low - base) / lattice.period)
            last = max(first, math.floor((high - base) / lattice.period))
            return round(base + rng.randint(first, last) * lattice.period)

        placings = []
        for k, kind in enumerate(stretch.problem.kinds):
            for _ in range(kind.count):
                v = rng.randrange(len(kind.variants))
                variant = kind.variants[v]
                x = place(variant.x_lattice, 0, variant.x_lo, variant.x_lo + 2_000_000)
                if astray and variant.x_lattice:
                    x, astray = x + round(astray * 1000), 0.0
                placings.append(Placing(k, v, x, place(variant.y_lattice, 1, variant.y_lo, variant.y_hi)))
        solutions.append(Solution(6_000_000, tuple(placings)))
    return solutions


def faults(the_job, seed=1, fold="best", astray=0.0):
    """What the checker says of the print on layouts with every shape somewhere on its lattices."""
    entered = enter(the_job, "fabric", fold)
    rng = random.Random(seed)
    found = []
    for runner in entered.runners:
        for _ in range(5):
            solutions = scattered(runner.plan, rng, astray)
            laid = material_layout(
                "fabric", entered.fabric, runner.plan, entered.needs, solutions, [0] * len(solutions)
            )
            laid = replace(laid, matched=entered.matched)
            layout = Layout(the_job.pattern, the_job.size, the_job.view, 0, (laid,), the_job.quantity)
            found += [
                fault.message
                for fault in verify(layout, the_job.only("fabric"))
                if not any(word in fault.message for word in ("overlap", "mm apart and", "reaches"))
            ]
    return found


def variants(the_job, fold="open"):
    """All variants with what they mean: (piece number, pose, variant)."""
    (runner,) = enter(the_job, "fabric", fold).runners
    (stretch,) = runner.plan.stretches
    return [
        (laid.need.piece.number, spot.pose, variant)
        for laid, kind in zip(stretch.laid, stretch.problem.kinds, strict=True)
        for spot, variant in zip(laid.spots, kind.variants, strict=True)
    ]


TWO = (
    notched(piece("1", rectangle(250, 300), cut(1)), side=(70.0, 0.0)),
    notched(piece("2", rectangle(180, 200), cut(1)), side=(40.0, 200.0)),
)


def test_two_rectangles_show_the_same_place_of_the_repeat_at_their_notch():
    the_job = printed(*TWO, matches=[meet("side")], design=ACROSS)
    first, second = (
        next(v.x_lattice for n, pose, v in variants(the_job) if n == number and pose.rotation == 0.0)
        for number in "12"
    )
    # The notch is 55 left of the first rectangle's middle and 50 left of the second's.
    assert (first.period, first.sign, first.group) == (100_000.0, 1, 0)
    assert (second.period, second.sign, second.group) == (100_000.0, 1, 0)
    assert (first.offset - 55_000) % 100_000 == pytest.approx((second.offset - 50_000) % 100_000)


def test_end_for_end_the_phase_runs_the_other_way():
    the_job = printed(*TWO, matches=[meet("side")], design=replace(ACROSS, start=(30.0, 0.0)))
    turned = [v.x_lattice for n, pose, v in variants(the_job) if n == "1" and pose.rotation == 180.0]
    straight = [v.x_lattice for n, pose, v in variants(the_job) if n == "1" and pose.rotation == 0.0]
    assert [lattice.sign for lattice in turned + straight] == [-1, 1]
    # Turned about a bar's middle a place of the print comes to lie as far behind it.
    assert (turned[0].offset + straight[0].offset) % 100_000 == pytest.approx(60_000)


def test_lines_meet_at_the_stitching_line_not_at_the_cutting_line():
    # On a slanting seam the stitching line is 4 mm further along than the notch in the cutting line.
    sewn = (
        notched(piece("1", rectangle(250, 300), cut(1)), side=((70.0, 0.0), (74.0, 15.0))),
        TWO[1],
    )

    def offset(parts):
        found = variants(printed(*parts, matches=[meet("side")], design=ACROSS))
        one, other = (
            next(v.x_lattice for n, pose, v in found if n == number and pose.rotation == 0.0)
            for number in "12"
        )
        return (other.offset - one.offset) % 100_000

    assert (offset(sewn) - offset(TWO)) % 100_000 == pytest.approx(4_000)


@pytest.mark.parametrize("design", [ACROSS, CHECK, replace(CHECK, even_along=False)])
def test_the_checker_finds_every_notch_where_it_must_be(design):
    the_job = printed(*TWO, matches=[meet("side")], design=design, nap=not design.even_along)
    assert faults(the_job) == []


def test_a_shape_off_its_lattice_is_found_by_the_checker():
    the_job = printed(*TWO, matches=[meet("side")], design=ACROSS)
    assert any("side" in message for message in faults(the_job, fold="open", astray=2.0))


def test_left_and_right_of_a_pair_are_mirror_images_on_the_print():
    the_job = printed(piece("1", wedge(), cut(2, "mirrored")), matches=[pair("1")], design=CHECK)
    assert faults(the_job) == []
    found = {(pose.mirrored, pose.rotation): variant for _, pose, variant in variants(the_job, "open")}
    drawn, mirrored = found[False, 0.0], found[True, 0.0]
    assert drawn.x_lattice == mirrored.x_lattice
    assert (drawn.y_lattice.sign, mirrored.y_lattice.sign) == (1, -1)
    # Mirrored about the middle of a bar, 20 mm up.
    assert (drawn.y_lattice.offset + mirrored.y_lattice.offset) % 60_000 == pytest.approx(40_000)


def gores(slope):
    """Two gores with a seam between them: the first widens towards the hem at the right by ``slope``."""
    one = ((0.0, 0.0), (400.0, 0.0), (400.0, 100.0 + 400 * slope), (0.0, 100.0))
    other = ((0.0, 0.0), (400.0, -400 * slope), (400.0, 100.0), (0.0, 100.0))
    return (
        notched(piece("1", one, cut(1)), seam=(200.0, 100.0 + 200 * slope)),
        notched(piece("2", other, cut(1)), seam=(200.0, -200 * slope)),
    )


@pytest.mark.parametrize(("slope", "sign"), [(0.2, -1), (0.0, 1)])
def test_stripes_meet_in_a_chevron_between_gores_and_run_on_along_the_grain(slope, sign):
    the_job = printed(*gores(slope), matches=[meet("seam", "lengthwise")], design=ALONG)
    lattices = {n: v.y_lattice for n, pose, v in variants(the_job) if pose.rotation == 0.0}
    assert lattices["1"].sign * lattices["2"].sign == sign
    assert faults(the_job) == []


def test_edges_on_the_same_side_along_the_grain_meet_as_mirror_images():
    parts = (
        notched(piece("1", rectangle(400, 100), cut(1)), seam=(200.0, 100.0)),
        notched(piece("2", rectangle(300, 130), cut(1)), seam=(100.0, 130.0)),
    )
    found = variants(printed(*parts, matches=[meet("seam", "lengthwise")], design=ALONG))
    assert {n: v.y_lattice.sign for n, pose, v in found if pose.rotation == 0.0} == {"1": 1, "2": -1}


def test_a_patch_runs_on_with_the_piece_it_is_sewn_on():
    front = replace(piece("1", rectangle(400, 300), cut(1)), marks=(Notch("corner", (100.0, 200.0)),))
    pocket = notched(piece("2", rectangle(120, 110), cut(1)), corner=(0.0, 110.0))
    the_job = printed(front, pocket, matches=[meet("corner", "both")], design=CHECK)
    assert faults(the_job) == []
    found = {n: v for n, pose, v in variants(the_job) if pose.rotation == 0.0}
    # The pocket's middle lies (60, -55) from its corner, the front's (100, -50) from the mark.
    for axis, step, period in (("x_lattice", 60 - 100, 100), ("y_lattice", -55 + 50, 60)):
        one, other = (getattr(found[n], axis) for n in "12")
        assert (one.sign, one.group) == (other.sign, other.group)
        assert (other.offset - one.offset) % (period * 1000) == pytest.approx(step % period * 1000)


def test_a_centred_piece_has_its_middle_on_a_bar():
    the_job = printed(piece("1", rectangle(300, 200), cut(1)), matches=[centre("1")], design=CHECK)
    lattices = {v.y_lattice for _, _, v in variants(the_job)}
    assert {(lattice.offset, lattice.group) for lattice in lattices} == {(20_000.0, -1)}
    assert all(v.x_lattice is None for _, _, v in variants(the_job))
    assert faults(the_job) == []


def test_a_piece_is_centred_at_the_notch_that_is_named():
    part = notched(piece("1", wedge(), cut(2, "mirrored")), back=(300.0, 30.0))
    the_job = printed(part, matches=[centre("1", "both", at="back")], design=CHECK)
    assert faults(the_job) == []
    drawn = next(v for _, pose, v in variants(the_job) if pose.rotation == 0.0 and not pose.mirrored)
    # The middle of the wedge is at (150, 100), 150 before the notch and 70 above it.
    assert drawn.x_lattice.offset == pytest.approx((30 - 150) % 100 * 1000)
    assert drawn.y_lattice.offset == pytest.approx((20 + 70) % 60 * 1000)


HALF = fold_half("1", 400, 150, cut(1, "on fold"))
SIDE = piece("2", wedge(), cut(2, "mirrored"))


def folds(the_job, name):
    (runner, *_) = (r for r in enter(the_job, "fabric", "best").runners if r.plan.spread.family == name)
    return [fold for strip in runner.plan.stretches[0].section.strips for fold in strip.folds]


def test_the_fold_lies_on_a_line_of_symmetry_below_the_middle():
    # 1000 mm of cloth, bars 60 mm apart from 20 mm: symmetrical about 20, 50 ... 470, 500.
    the_job = printed(SIDE, matches=[pair("2")], design=CHECK)
    assert folds(the_job, "lengthwise fold") == [500.0]
    shifted = replace(CHECK, start=(0.0, 25.0))
    assert folds(printed(SIDE, matches=[pair("2")], design=shifted), "lengthwise fold") == [475.0]
    # A whole piece on the fold has to show the middle of a bar there: 25 + 7 x 60.
    on_fold = printed(HALF, matches=[centre("1")], design=shifted)
    assert folds(on_fold, "lengthwise fold") == [445.0]
    # 151 mm of the half and its margin would do: 1000 - 150.1 is not on a middle, 805 is.
    assert folds(on_fold, "partial fold") == [805.0]
    assert faults(on_fold) == []


def test_a_tube_matches_if_its_folds_happen_to_lie_on_lines_of_symmetry():
    # Folds at 0 and 600 of a tube 1200 mm round: bars 60 mm apart from 30 mm are the same about both.
    lying = printed(
        SIDE, matches=[pair("2")], design=replace(CHECK, start=(0.0, 30.0)), tube=True, width=600.0
    )
    assert [runner.plan.spread.name for runner in enter(lying, "fabric", "best").runners] == ["tubular"]
    assert faults(lying) == []
    askew = printed(SIDE, matches=[pair("2")], design=CHECK, tube=True, width=600.0)
    with pytest.raises(
        InputError, match="the folds of the tube do not lie on lines about which the print is the same"
    ):
        enter(askew, "fabric", "best")


def test_lines_along_the_cloth_alone_leave_the_fold_in_the_middle():
    half = notched(HALF, side=(100.0, 150.0))
    side = notched(SIDE, side=(100.0, 0.0))
    the_job = printed(half, side, matches=[meet("side")], design=CHECK)
    assert folds(the_job, "lengthwise fold") == [500.0]
    assert faults(the_job) == []


def test_flaws_past_a_fold_below_the_middle_are_folded_over_with_it():
    spot = rectangle(50, 50, 100, 600)
    shifted = replace(CHECK, start=(0.0, 25.0))
    the_job = printed(SIDE, matches=[pair("2")], design=shifted, flaws=(spot,))
    (runner,) = enter(the_job, "fabric", "lengthwise fold").runners
    (obstacle,) = runner.plan.stretches[0].problem.obstacles
    assert sorted({y for _, y in obstacle.tolist()}) == [300_000, 350_000]
    # 950 to 1000 hangs over the lower edge where the cloth is folded at 475.
    hanging = printed(SIDE, matches=[pair("2")], design=shifted, flaws=(rectangle(50, 40, 100, 955),))
    (runner,) = enter(hanging, "fabric", "lengthwise fold").runners
    assert runner.plan.stretches[0].problem.obstacles == ()


@pytest.mark.parametrize("name", ["selvages to the middle", "crosswise fold", "mixed"])
def test_spreads_on_which_nothing_matches_are_refused_with_a_reason(name):
    the_job = printed(SIDE, matches=[pair("2")], design=CHECK)
    assert "print" in enter(the_job, "fabric", "best").refused[name]
    with pytest.raises(InputError, match="print"):
        enter(the_job, "fabric", name)


def test_an_uneven_print_is_cut_from_one_layer_with_left_and_right_unlike():
    uneven = replace(CHECK, even_across=False)
    the_job = printed(SIDE, matches=[pair("2")], design=uneven, nap=True)
    entered = enter(the_job, "fabric", "best")
    assert [runner.plan.spread.name for runner in entered.runners] == ["open"]
    assert entered.refused["lengthwise fold"] == (
        "an uneven print cannot be cut in two layers: the second would run the other way"
    )
    assert any("uneven print cannot be mirrored" in note for note in entered.notes)
    found = variants(the_job)
    assert all(v.y_lattice is None and v.x_lattice is not None for _, _, v in found)
    assert {pose.rotation for _, pose, _ in found} == {0.0}
    assert faults(the_job) == []


def test_on_an_uneven_print_copies_that_are_all_alike_show_the_same():
    uneven = replace(CHECK, even_across=False)
    for how, shape in (("alike", wedge()), ("mirrored", rectangle(300, 200))):
        the_job = printed(piece("2", shape, cut(2, how)), matches=[pair("2")], design=uneven, nap=True)
        assert enter(the_job, "fabric", "open").notes == ()
        assert all(v.x_lattice and v.y_lattice for _, _, v in variants(the_job))
        assert faults(the_job) == []


def test_on_an_uneven_print_either_hand_runs_on_into_the_whole_piece_on_its_side():
    # The drawn side piece is sewn to the whole piece's edge at greater y by its own at lesser y.
    whole = notched(HALF, side=(200.0, 150.0))
    side = notched(SIDE, side=(200.0, 0.0))
    uneven = replace(CHECK, even_across=False)
    the_job = printed(whole, side, matches=[meet("side", "lengthwise")], design=uneven, nap=True)
    assert faults(the_job) == []
    found = {(n, pose.mirrored): v.y_lattice for n, pose, v in variants(the_job)}
    assert {lattice.group for lattice in found.values()} == {0}
    middle = found["1", False].offset
    # The whole piece's notches are 150 either side of its middle, the side piece's 100 below its own.
    assert (found["2", False].offset - 100_000) % 60_000 == pytest.approx((middle + 150_000) % 60_000)
    assert (found["2", True].offset + 100_000) % 60_000 == pytest.approx((middle - 150_000) % 60_000)


def test_pieces_drawn_for_opposite_sides_of_the_body_are_told_on_an_uneven_print():
    uneven = replace(CHECK, even_across=False)
    low = notched(SIDE, side=(200.0, 0.0))
    alike = notched(piece("3", wedge(), cut(2, "mirrored")), side=(200.0, 0.0))
    the_job = printed(low, alike, matches=[meet("side", "lengthwise")], design=uneven, nap=True)
    assert any("not sewn together" in note for note in enter(the_job, "fabric", "best").notes)
    other = notched(piece("3", rectangle(300, 130), cut(2, "mirrored")), side=(200.0, 130.0))
    the_job = printed(low, other, matches=[meet("side", "lengthwise")], design=uneven, nap=True)
    assert enter(the_job, "fabric", "best").notes == ()
    assert faults(the_job) == []


def test_tied_pieces_do_not_tilt_and_others_may():
    the_job = printed(
        *TWO, piece("3", wedge(), cut(1)), matches=[meet("side")], design=ACROSS, grain_tolerance=3.0
    )
    (runner,) = enter(the_job, "fabric", "open").runners
    (stretch,) = runner.plan.stretches
    rotations = {
        laid.need.piece.number: {spot.pose.rotation for spot in laid.spots}
        for laid in leant(stretch, 0.0, seconds=10.0).laid
    }
    assert rotations["1"] == rotations["2"] == {0.0, 180.0}
    assert {3.0, 357.0, 177.0, 183.0} <= rotations["3"]


def test_regions_and_other_materials_are_not_tied():
    part = replace(TWO[0], cuts=(cut(1), cut(1, region=rectangle(50, 40, 10, 10), region_name="tab")))
    the_job = printed(part, TWO[1], matches=[meet("side")], design=ACROSS)
    (runner,) = enter(the_job, "fabric", "open").runners
    (stretch,) = runner.plan.stretches
    tied = {
        (laid.need.piece.number, laid.need.region): kind.variants[0].x_lattice is not None
        for laid, kind in zip(stretch.laid, stretch.problem.kinds, strict=True)
    }
    assert tied == {("1", ""): True, ("1", "tab"): False, ("2", ""): True}


def test_matching_none_lays_as_on_plain_cloth():
    plain = job(*TWO)
    the_job = printed(*TWO, matches=[meet("side")], design=ACROSS, level="none")
    assert all(v.x_lattice is None for _, _, v in variants(the_job))
    entered = enter(the_job, "fabric", "best")
    assert (
        entered.matched == "none" and entered.refused.keys() == enter(plain, "fabric", "best").refused.keys()
    )


def test_a_match_for_everything_is_left_out_when_the_main_seams_are_asked():
    the_job = printed(*TWO, matches=[meet("side", level="everything")], design=ACROSS)
    assert all(v.x_lattice is None for _, _, v in variants(the_job))
    every = replace(the_job, matching="everything")
    assert all(v.x_lattice is not None for _, _, v in variants(every))


def test_notches_that_cannot_all_meet_are_told_with_millimetres_and_size():
    one = notched(piece("1", rectangle(250, 300), cut(1)), hip=(70.0, 0.0), knee=(170.0, 0.0))
    other = notched(piece("2", rectangle(250, 200), cut(1)), hip=(40.0, 200.0), knee=(150.0, 200.0))
    the_job = printed(one, other, matches=[meet("hip"), meet("knee")], design=ACROSS)
    with pytest.raises(InputError, match=r"size M.*“knee” does not match when “hip” does.*by 10\.0 mm"):
        enter(the_job, "fabric", "best")
    # What a wider tolerance allows is left to it.
    enter(
        replace(
            the_job,
            fabrics={"fabric": replace(the_job.fabrics["fabric"], print=replace(ACROSS, tolerance=10.5))},
        ),
        "fabric",
        "open",
    )


def test_what_misses_by_just_the_tolerance_is_allowed():
    one = notched(piece("1", rectangle(250, 300), cut(1)), hip=(70.0, 0.0), knee=(170.0, 0.0))
    other = notched(piece("2", rectangle(250, 200), cut(1)), hip=(40.0, 200.0), knee=(141.0, 200.0))
    the_job = printed(one, other, matches=[meet("hip"), meet("knee")], design=ACROSS)
    assert faults(the_job) == []
    further = notched(other, hip=(40.0, 200.0), knee=(141.1, 200.0))
    with pytest.raises(InputError, match=r"by 1\.1 mm, and 1 mm are allowed"):
        enter(replace(the_job, pieces=(one, further)), "fabric", "open")


def test_a_whole_piece_that_cannot_be_centred_and_meet_is_told():
    parts = (
        notched(fold_half("1", 400, 150, cut(1, "on fold")), side=(200.0, 150.0)),
        notched(fold_half("2", 400, 130, cut(1, "on fold")), side=(200.0, 130.0)),
    )
    with pytest.raises(
        InputError, match=r"“side” does not match when the middle of piece 1.*piece 2.*by 20\.0 mm"
    ):
        enter(printed(*parts, matches=[meet("side", "lengthwise")], design=ALONG), "fabric", "best")


def test_pieces_on_the_bias_cannot_match():
    part = replace(TWO[0], bias=True)
    with pytest.raises(InputError, match=r"Part 1.*bias"):
        enter(printed(part, TWO[1], matches=[meet("side")], design=ACROSS), "fabric", "best")


def test_a_piece_as_wide_as_the_cloth_may_find_no_bar_to_lie_on():
    # 995 of 1000 mm: the middle lies at 497.5 to 502.5, and the nearest bar at 25 + 8 x 60 = 505.
    design = replace(ALONG, start=(0.0, 25.0))
    wide = piece("1", rectangle(300, 995), cut(1))
    with pytest.raises(InputError, match=r"Part 1.*no place across the cloth where its print would match"):
        enter(printed(wide, matches=[centre("1")], design=design), "fabric", "best")


def test_a_marker_is_a_whole_number_of_repeats_long():
    # So that each ply starts at the same point of the repeat (Vilumsone-Nemes, Industrial Cutting of
    # Textile Materials, p. 231).
    assert whole_repeats(901.0, 100.0) == 1000.0
    assert whole_repeats(900.0005, 100.0) == 900.0
    entered = enter(printed(*TWO, matches=[meet("side")], design=ACROSS), "fabric", "open")
    (runner,) = entered.runners
    assert cloth_length(runner.plan, [430_000], entered.fabric) == pytest.approx(500.0)
    # Lines along the cloth ask for no length.
    entered = enter(printed(TWO[0], matches=[centre("1")], design=CHECK), "fabric", "open")
    assert cloth_length(entered.runners[0].plan, [430_000], entered.fabric) == pytest.approx(430.0)


def test_a_race_is_over_when_a_shorter_layout_would_take_the_same_whole_repeats():
    entered = enter(printed(*TWO, matches=[meet("side")], design=ACROSS), "fabric", "open")
    (runner,) = entered.runners
    (bound,) = runner.bounds
    runner.best[0] = Solution(round(whole_repeats(bound / 1000, 100.0) * 1000), ())
    assert runner.done()
    runner.best[0] = Solution(runner.best[0].length + 1000, ())
    assert not runner.done()


@pytest.mark.parametrize("name", ["gored-skirt", "harbour-smock", "market-apron"])
@pytest.mark.parametrize("even", [True, False])
@pytest.mark.parametrize("level", ["main", "everything"])
def test_the_demo_patterns_match_wherever_their_shapes_lie_on_their_lattices(name, even, level):
    the_job = load_job(PIECES / f"{name}.toml", size=None if name == "market-apron" else "M")
    design = Print("check", 90.0, 60.0, (45.0, 30.0), even_across=even)
    fabric = replace(the_job.fabrics["fabric"], print=design, nap=not even)
    the_job = replace(the_job, fabrics={**the_job.fabrics, "fabric": fabric}, matching=level)
    assert faults(the_job) == []


def test_every_size_of_the_demo_patterns_can_match():
    for name, sizes in (("gored-skirt", ("S", "L", "XL")), ("harbour-smock", ("XS", "S", "L", "XL"))):
        for size in sizes:
            the_job = replace(load_job(PIECES / f"{name}.toml", size=size), matching="everything")
            design = Print("check", 90.0, 60.0, (45.0, 30.0))
            fabric = replace(the_job.fabrics["fabric"], print=design)
            the_job = replace(the_job, fabrics={**the_job.fabrics, "fabric": fabric})
            ties = ties_of(needs(the_job, "fabric"), the_job.asked_of("fabric"), design, "here")
            assert ties.crosswise and ties.lengthwise
