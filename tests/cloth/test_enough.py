"""Bounds on cloth in hand: what is called impossible is, on jobs that can be counted by hand."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from marker.cloth.enough import shown
from marker.model.fabric import Remnant

from .jobs import cut, fold_half, job, piece, rectangle


def never_fits(asked, material):
    return shown(asked, material).cannot


def on(asked, *sizes, **more):
    """A job with these rectangles of cloth and no roll."""
    remnants = tuple(
        Remnant(f"r{k}", rectangle(along, across), **more) for k, (along, across) in enumerate(sizes)
    )
    fabric = replace(asked.fabrics["fabric"], remnants=remnants, roll=False)
    return replace(asked, fabrics={"fabric": fabric})


def squares(count, side):
    return job(piece("1", rectangle(side, side), cut(count), grain=((0.0, 10.0), (40.0, 10.0))))


def test_more_area_than_there_is_cloth():
    assert never_fits(on(squares(5, 50.0), (100.0, 100.0)), "fabric")
    assert not never_fits(on(squares(4, 50.0), (100.0, 100.0)), "fabric")
    assert never_fits(on(squares(5, 50.0), (100.0, 50.0), (50.0, 100.0)), "fabric")
    assert not never_fits(on(squares(4, 50.0), (100.0, 50.0), (50.0, 100.0)), "fabric")


def test_a_piece_that_no_remnant_has_room_for():
    assert never_fits(on(squares(1, 60.0), (1000.0, 50.0), (50.0, 1000.0)), "fabric")


def test_pieces_over_half_as_wide_lie_one_behind_the_other():
    # By area there is room for three; side by side there is none.
    assert never_fits(on(squares(2, 60.0), (115.0, 110.0)), "fabric")
    assert not never_fits(on(squares(2, 60.0), (121.0, 110.0)), "fabric")


def test_selvages_are_no_room():
    assert not never_fits(on(squares(4, 50.0), (100.0, 100.0)), "fabric")
    assert never_fits(on(squares(4, 50.0), (100.0, 100.0), selvage=3.0), "fabric")
    assert not never_fits(on(squares(4, 50.0), (100.0, 106.0), selvage=3.0), "fabric")


def test_a_piece_on_the_fold_counts_whole():
    asked = job(fold_half("1", 100.0, 60.0, cut(1, "on fold")))
    assert never_fits(on(asked, (150.0, 110.0)), "fabric")
    assert not never_fits(on(asked, (100.0, 120.0)), "fabric")


def test_the_length_told_is_one_that_no_layout_is_below():
    # One behind the other: 120 mm, told a little below since bounds are for a cloth a little wider.
    told = shown(on(squares(2, 60.0), (115.0, 110.0)), "fabric").length
    assert 117.0 <= told <= 120.0
    # Too narrow: no length would help.
    assert shown(on(squares(1, 60.0), (1000.0, 50.0)), "fabric").length == 0.0


def test_the_length_told_is_that_before_the_wash():
    asked = on(squares(2, 60.0), (115.0, 110.0), washed=False)
    fabric = replace(asked.fabrics["fabric"], shrink_along=0.5)
    told = shown(replace(asked, fabrics={"fabric": fabric}), "fabric").length
    assert 2 * 117.0 <= told <= 2 * 120.0


def test_a_hole_is_no_room():
    torn = Remnant("torn", rectangle(100.0, 100.0), (rectangle(30.0, 90.0, 20.0, 5.0),))
    asked = on(squares(4, 50.0), (100.0, 100.0))
    fabric = replace(asked.fabrics["fabric"], remnants=(torn,))
    assert not never_fits(asked, "fabric")
    assert never_fits(replace(asked, fabrics={"fabric": fabric}), "fabric")


def test_a_piece_that_is_too_long_by_less_than_cloth_is_measured_is_not_called_impossible():
    assert not never_fits(on(squares(1, 60.0), (59.5, 59.5)), "fabric")
    assert never_fits(on(squares(1, 60.0), (57.5, 100.0)), "fabric")


def test_a_roll_is_always_enough():
    assert not never_fits(squares(5, 50.0), "fabric")


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_a_rectangle_cut_up_is_never_too_small_for_its_parts(data):
    """Cut anywhere, straight across again and again: the parts do lie on the whole."""
    along, across = data.draw(st.integers(100, 900)), data.draw(st.integers(100, 900))
    parts = [(float(along), float(across))]
    for _ in range(data.draw(st.integers(1, 5))):
        a, b = parts.pop(data.draw(st.integers(0, len(parts) - 1)))
        share = data.draw(st.floats(0.2, 0.8))
        parts += (
            [(a * share, b), (a - a * share, b)]
            if data.draw(st.booleans())
            else [
                (a, b * share),
                (a, b - b * share),
            ]
        )
    pieces = [
        piece(str(k), rectangle(a, b), cut(1), grain=((0.0, b / 2), (a, b / 2)))
        for k, (a, b) in enumerate(parts)
    ]
    assert not never_fits(on(job(*pieces), (float(along), float(across))), "fabric")
