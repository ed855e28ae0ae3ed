"""Remnants: jobs small enough to see on squared paper what fits."""

from dataclasses import replace
from pathlib import Path

import pytest

from marker.api import lay, load_job
from marker.cloth import fill
from marker.cloth.remnant import area_of, edges_of, size_of
from marker.errors import InputError
from marker.model.fabric import Print, Remnant
from marker.model.match import Match
from marker.model.piece import Notch

from .jobs import cut, job, piece, rectangle

SQUARE = rectangle(50.0, 50.0)
ELL = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (50.0, 50.0), (50.0, 100.0), (0.0, 100.0))


def squares(count, *remnants, roll=True, **more):
    one = piece("1", SQUARE, cut(count), grain=((0.0, 10.0), (40.0, 10.0)))
    return job(one, width=200.0, step=10.0, remnants=remnants, roll=roll, **more)


def laid(asked):
    return lay(asked, effort=0.5, cores=1).layout.materials


def on(layouts):
    return {entry.cloth: sum(placement.copies for placement in entry.placements) for entry in layouts}


def test_an_exact_fit_needs_no_roll():
    (entry,) = laid(squares(4, Remnant("offcut", rectangle(100.0, 100.0)), roll=False))
    assert on([entry]) == {"offcut": 4}
    assert (entry.length, entry.buy, entry.missing) == (pytest.approx(100.0), 0.0, ())
    assert entry.width == 100.0 and entry.usable == (0.0, 100.0)


def test_what_the_remnants_cannot_hold_comes_from_the_roll():
    layouts = laid(squares(9, Remnant("one", rectangle(60.0, 60.0)), Remnant("two", rectangle(100.0, 50.0))))
    assert on(layouts) == {"one": 1, "two": 2, "": 6}
    roll = layouts[-1]
    # Six squares of 50 on cloth 200 wide: two rows.
    assert roll.length == pytest.approx(100.0) and roll.buy == 100.0


def test_nothing_is_cut_outside_a_bent_remnant_and_what_is_missing_is_told():
    (entry,) = laid(squares(4, Remnant("bent", ELL), roll=False))
    assert on([entry]) == {"bent": 3}
    assert [(each.piece, each.count) for each in entry.missing] == [("1", 1)]
    # Behind the end the cloth would go on in its full width: 50 more are enough for the fourth.
    assert entry.short == pytest.approx(50.0)


def test_holes_are_not_cut_over():
    hole = rectangle(4.0, 4.0, 70.0, 20.0)
    (entry,) = laid(squares(4, Remnant("torn", rectangle(100.0, 100.0), (hole,)), roll=False))
    assert on([entry]) == {"torn": 3}


def test_the_edges_are_what_the_box_has_over():
    remnant = Remnant("bent", ELL, (rectangle(10.0, 10.0, 5.0, 5.0),))
    assert size_of(remnant) == (100.0, 100.0)
    assert area_of(remnant) == 7500.0 - 100.0
    assert sorted(len(ring) for ring in edges_of(remnant)) == [4, 4]


def test_a_larger_remnant_never_leaves_more_over():
    small = laid(squares(6, Remnant("a", rectangle(100.0, 50.0)), roll=False))
    large = laid(squares(6, Remnant("a", rectangle(150.0, 100.0)), roll=False))
    assert on(small) == {"a": 2} and small[0].missing[0].count == 4
    assert on(large) == {"a": 6} and not large[0].missing


def test_remnants_too_small_for_anything_are_refused():
    with pytest.raises(InputError, match="no piece fits on any of the remnants"):
        laid(squares(1, Remnant("scrap", rectangle(30.0, 30.0)), roll=False))


def test_a_spread_asked_for_that_no_remnant_allows_is_named():
    asked = squares(1, Remnant("offcut", rectangle(100.0, 100.0)), roll=False)
    with pytest.raises(InputError, match="remnants laid 'crosswise fold'; try --fold best"):
        lay(asked, fold="crosswise fold", effort=0.5, cores=1)


def test_no_spare_copies_are_cut_from_a_remnant_that_holds_all_without():
    # Folded in half it would give a second square as well.
    (entry,) = laid(squares(1, Remnant("offcut", rectangle(100.0, 100.0)), roll=False))
    assert [placement.spare for placement in entry.placements] == [0]
    assert entry.length == pytest.approx(50.0) and entry.waste_percent == pytest.approx(50.0)


def test_what_is_missing_is_told_on_a_remnant_wide_enough_for_it():
    # Four squares of 50 fill the first, two of 30 nearly the second; no length of 40 wide holds a square.
    small = piece("2", rectangle(30.0, 30.0), cut(2), grain=((0.0, 10.0), (20.0, 10.0)))
    remnants = Remnant("wide", rectangle(100.0, 100.0)), Remnant("narrow", rectangle(60.0, 40.0))
    one = squares(5, *remnants, roll=False)
    wide, narrow = laid(replace(one, pieces=(*one.pieces, small)))
    assert on([wide, narrow]) == {"wide": 4, "narrow": 2}
    assert [(lack.piece, lack.count) for lack in wide.missing] == [("1", 1)] and not narrow.missing
    # A third row of squares.
    assert (wide.short, narrow.short) == (pytest.approx(50.0), 0.0)


def test_a_scrap_too_small_is_not_used_and_told():
    (roll,) = laid(squares(1, Remnant("scrap", rectangle(30.0, 30.0))))
    assert on([roll]) == {"": 1}
    assert roll.notes == ('Nothing lies on the remnant "scrap": no piece was found that fits.',)


def test_a_remnant_that_the_spread_asked_for_leaves_out_is_told():
    asked = squares(1, Remnant("offcut", rectangle(100.0, 100.0)))
    (roll,) = lay(asked, fold="crosswise fold", effort=0.5, cores=1).layout.materials
    assert on([roll]) == {"": 2}
    (note,) = roll.notes
    assert note.endswith("no piece was found that fits laid 'crosswise fold'; try --fold best.")


def test_a_remnant_with_holes_where_pieces_would_lie_is_no_place_for_them():
    # Its box would hold a square, and the hole leaves no room for one.
    holed = Remnant("torn", rectangle(60.0, 60.0), (rectangle(10.0, 10.0, 25.0, 25.0),))
    (roll,) = laid(squares(1, holed))
    assert on([roll]) == {"": 1}
    assert roll.notes == ('Nothing lies on the remnant "torn": no piece was found that fits.',)


def test_a_remnant_that_is_not_needed_is_told():
    remnants = Remnant("large", rectangle(100.0, 100.0)), Remnant("small", rectangle(60.0, 60.0))
    (large,) = laid(squares(4, *remnants, roll=False))
    assert on([large]) == {"large": 4}
    assert large.notes == ('Nothing lies on the remnant "small": what would fit on it lies on others.',)


def test_pairs_keep_their_hands_across_cloths():
    wedge = ((0.0, 0.0), (90.0, 0.0), (90.0, 30.0), (0.0, 50.0))
    one = piece("1", wedge, cut(4, "mirrored"))
    remnant = Remnant("strip", rectangle(100.0, 110.0))
    layouts = laid(job(one, width=200.0, step=10.0, remnants=(remnant,)))
    # The check counts hands over all cloths; here only that both cloths are used and nothing is left.
    assert set(on(layouts)) == {"strip", ""} and sum(on(layouts).values()) >= 4
    assert not any(entry.missing for entry in layouts)


def test_the_same_effort_gives_the_same_layouts():
    asked = squares(9, Remnant("one", rectangle(60.0, 60.0)), Remnant("bent", ELL))
    assert laid(asked) == laid(asked)


def test_a_print_is_not_matched_across_cloths():
    asked = squares(2, Remnant("one", rectangle(60.0, 60.0)), print=Print("stripes across", 40.0, None))
    marked = replace(asked.pieces[0], notches=(Notch("side", (25.0, 0.0)),))
    asked = replace(asked, pieces=(marked,), matches=(Match("pair", "1", True, False),))
    with pytest.raises(InputError, match="cannot be matched across several pieces of cloth"):
        laid(asked)
    assert sum(on(laid(replace(asked, matching="none"))).values()) == 2


def test_a_large_piece_is_not_lost_to_small_ones_that_have_room_elsewhere(monkeypatch):
    """The body takes most of one remnant; the small pieces would take its place, and fit on the other."""
    monkeypatch.setattr(fill, "TRIALS", 4)
    pieces = Path(__file__).parents[2] / "pieces"
    asked = load_job(pieces / "market-apron.toml", fabrics=[pieces / "remnants-ticking.toml"])
    for seed in (1, 2, 3):
        answer = lay(asked, effort=0.01, cores=1, seed=seed)
        assert answer.missing == ()
        assert len(answer.layout.materials) == 2
