"""Pieces with their measurements: true numbers, an error in the file changes them, all can be read."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.errors import InputError
from marker.files.pattern import load_pattern
from marker.model.pattern import Pattern
from marker.model.piece import Cut, Notch, Piece, Ring
from marker.model.seam import add_allowance
from marker.report import piece_sheet
from marker.report.measured import corner_indices, measure
from marker.report.piece_sheet import (
    View,
    edge_text,
    grain_off,
    piece_sheet_pdf,
    place_words,
    usual_allowance,
)
from tests.report import samples
from tests.report.pdf_reading import read

PATTERNS = Path(__file__).parents[2] / "pieces"
GRAIN = ((50.0, 10.0), (50.0, 90.0))


@cache
def pattern(name: str) -> Pattern:
    return load_pattern(PATTERNS / f"{name}.toml")


def circle(radius: float, count: int) -> Ring:
    return tuple(
        (radius * math.cos(k * math.tau / count), radius * math.sin(k * math.tau / count))
        for k in range(count)
    )


def chords(radius: float, angle: float) -> int:
    """How many chords keep an arc within 0.1 mm: the height of a chord is r (1 - cos(half its angle))."""
    return max(1, math.ceil(angle / (2 * math.acos(1 - 0.1 / radius))))


def test_a_rectangle_has_four_edges_of_its_sides() -> None:
    one = measure(samples.CUFF)
    assert sorted(edge.length for edge in one.edges) == pytest.approx([110.0, 110.0, 250.0, 250.0])
    assert all(edge.straight and edge.allowance is None for edge in one.edges)
    assert one.box == (0.0, 0.0, 110.0, 250.0)


def test_points_along_a_straight_edge_are_no_corners() -> None:
    ring: Ring = ((0.0, 0.0), (40.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0), (0.0, 20.0))
    assert corner_indices(ring) == [0, 2, 3, 4]


@given(st.floats(6.0, 600.0))
def test_a_circle_has_no_corners(radius: float) -> None:
    ring = circle(radius, chords(radius, math.tau))
    assert corner_indices(ring) == []
    (edge,) = measure(Piece("1", "Round", ring, ((0.0, -1.0), (0.0, 1.0)))).edges
    # Archimedes: the chords' length tends to the circumference from below.
    assert 0.97 * math.tau * radius < edge.length < math.tau * radius
    assert not edge.straight


@given(st.floats(8.0, 300.0), st.floats(20.0, 500.0))
def test_curves_run_into_straight_edges_and_corners_stay(radius: float, side: float) -> None:
    """A quarter of a circle between two sides that meet it square: three corners, at its middle and ends."""
    count = chords(radius, math.pi / 2)
    arc = [
        (radius * math.cos(k / count * math.pi / 2), radius * math.sin(k / count * math.pi / 2))
        for k in range(count + 1)
    ]
    ring = ((0.0, 0.0), *arc)
    one = measure(Piece("1", "Fan", ring, ((1.0, 1.0), (1.0, 2.0))))
    assert len(one.edges) == 3
    lengths = sorted(edge.length for edge in one.edges)
    assert lengths[:2] == pytest.approx([radius, radius])
    assert lengths[2] == pytest.approx(radius * math.pi / 2, rel=0.03)


def sewn(widths: tuple[float, float, float, float]) -> Piece:
    """A rectangle of 200 by 100 mm with an allowance of its own on each side, bottom first."""
    ring: Ring = ((0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0))
    return Piece("1", "Flap", add_allowance(ring, widths), GRAIN, (Cut("fabric", 1, "alike"),), ring)


def test_allowances_are_measured_edge_by_edge() -> None:
    one = measure(sewn((40.0, 10.0, 15.0, 10.0)))
    got = {edge.points[0]: edge.allowance for edge in one.edges}
    assert got[(0.0, 0.0)] == pytest.approx((40.0, 40.0))
    assert got[(200.0, 0.0)] == pytest.approx((10.0, 10.0))
    assert got[(200.0, 100.0)] == pytest.approx((15.0, 15.0))
    # Both short sides have 10 mm, 200 mm of edge in all, as much as each long one: any is the usual one.
    usual = usual_allowance(one)
    texts = [edge_text(edge, usual, "metric") for edge in one.edges]
    assert sum("+" in text for text in texts) in (2, 3)
    assert "20.0 +4.0" in texts or usual == pytest.approx(40.0)


def test_an_allowance_that_changes_along_an_edge_says_from_what_to_what() -> None:
    ring: Ring = ((0.0, 0.0), (100.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0))
    piece = Piece("1", "Flap", add_allowance(ring, (10.0, 30.0, 10.0, 10.0, 10.0)), GRAIN, (), ring)
    one = measure(piece)
    bottom = next(edge for edge in one.edges if edge.points[0] == (0.0, 0.0))
    assert bottom.length == pytest.approx(200.0)
    assert bottom.allowance == pytest.approx((10.0, 30.0))
    assert edge_text(bottom, 10.0, "metric") == "20.0 +1.0 to 3.0"


def test_hollow_corners_do_not_spoil_the_allowance() -> None:
    ring: Ring = ((0.0, 0.0), (90.0, 0.0), (90.0, 30.0), (60.0, 30.0), (60.0, 100.0), (0.0, 100.0))
    piece = Piece("1", "Step", add_allowance(ring, (10.0,) * 6), ((20.0, 10.0), (20.0, 80.0)), (), ring)
    for edge in measure(piece).edges:
        assert edge.allowance == pytest.approx((10.0, 10.0), abs=0.05)


def test_the_demo_garments_have_the_allowances_their_files_ask_for() -> None:
    for piece in pattern("harbour-smock").pieces["M"]:
        one = measure(piece)
        if piece.stitching is None:
            continue
        for edge in one.edges:
            assert edge.fold or (edge.allowance is not None and edge.allowance[0] > 9.6)
            assert edge.fold or (edge.allowance is not None and edge.allowance[1] < 30.5)
        assert usual_allowance(one) == pytest.approx(10.0, abs=0.3)


def test_notches_are_measured_from_both_corners() -> None:
    piece = replace(samples.CUFF, notches=(Notch("a", (110.0, 100.0)), Notch("b", (0.0, 0.0))))
    one = measure(piece)
    a, b = one.notches
    assert (a.after_start, a.before_end) == pytest.approx((100.0, 150.0))
    assert min(b.after_start, b.before_end) == pytest.approx(0.0)
    text = read(piece_sheet_pdf(replace(samples.job(), pieces=(piece,))))[0].text
    assert "a 10.0 after" in text and "15.0 before" in text and "b at corner" in text


def test_notches_on_the_cutting_line_are_measured_on_the_stitching_line() -> None:
    piece = replace(sewn((40.0, 10.0, 15.0, 10.0)), notches=(Notch("hem", (60.0, -40.0)),))
    (notch,) = measure(piece).notches
    assert notch.at == pytest.approx((60.0, 0.0))
    assert (notch.after_start, notch.before_end) == pytest.approx((60.0, 140.0))


def test_a_mistyped_corner_shows() -> None:
    """A 9 typed for a 6: the neighbouring edges, the overall width and the sheet tell another number."""
    right: Ring = ((0.0, 0.0), (160.0, 0.0), (160.0, 250.0), (0.0, 250.0))
    wrong: Ring = ((0.0, 0.0), (190.0, 0.0), (160.0, 250.0), (0.0, 250.0))
    texts = []
    for ring in (right, wrong):
        piece = Piece("1", "Cuff", ring, ((50.0, 20.0), (50.0, 200.0)), (Cut("fabric", 1, "alike"),))
        texts.append(read(piece_sheet_pdf(replace(samples.job(), pieces=(piece,))))[0].text)
    assert "16.0 wide and 25.0 high" in texts[0] and "19.0 wide and 25.0 high" in texts[1]
    # Pythagoras: 30 across and 250 up.
    assert f"{math.hypot(3.0, 25.0):.1f}" == "25.2"
    assert "25.2" in texts[1] and "25.2" not in texts[0]


def test_grain_fold_drills_and_regions_are_told() -> None:
    sheets = read(piece_sheet_pdf(samples.job()))
    text = " ".join(page.text for page in sheets)
    assert "63.0 fold" in text and "70.5 fold" in text
    # The pocket: 18 cm wide, 21 high; drills 3 and 15 from the left, 4 from the top.
    assert "Drill points from the left | from the top: 3.0 | 4.0; 15.0 | 4.0" in text
    assert "Region slit strip: 6.0 × 28.0 cm" in text
    assert "Guide, never cut." in text
    leaning = replace(samples.CUFF, grain=((20.0, 20.0), (70.0, 70.0)))
    assert grain_off(leaning) == pytest.approx(45.0)
    assert "45.0° off upright" in read(piece_sheet_pdf(replace(samples.job(), pieces=(leaning,))))[0].text


@pytest.mark.parametrize("name, size", [("harbour-smock", "M"), ("gored-skirt", "S"), ("market-apron", None)])
def test_every_edge_of_every_piece_has_its_number_on_paper(name: str, size: str | None) -> None:
    loaded = pattern(name)
    text = " ".join(page.text for page in read(piece_sheet_pdf(loaded, size)))
    for piece in loaded.pieces[size or loaded.sizes[0]]:
        one = measure(piece)
        assert f"{piece.number} {piece.name}" in text
        for edge in one.edges:
            assert edge_text(edge, usual_allowance(one), "metric") in text
        for notch in piece.notches:
            assert notch.name in text


@pytest.mark.parametrize("name, size", [("harbour-smock", "M"), ("gored-skirt", "S"), ("market-apron", None)])
def test_no_number_hides_another(name: str, size: str | None) -> None:
    loaded = pattern(name)
    for piece in loaded.pieces[size or loaded.sizes[0]]:
        one = measure(piece)
        x0, y0, x1, y1 = shapely.Polygon(piece.outline).bounds
        scale = min(64.0 / (x1 - x0), 70.0 / (y1 - y0))
        view = View(scale, 14.0 - scale * x0, 14.0 - scale * y0)
        words = place_words(one, view, (0.0, 0.0, 92.0, 98.0), "metric")
        named = sum(bool(notch.name) for notch in one.notches)
        assert len(words) >= len(one.edges) + named
        for a, b in combinations(words, 2):
            assert a.box(0.0).intersection(b.box(0.0)).area < 0.15, (piece.name, a.text, b.text)


def test_pages_are_paper_of_the_units() -> None:
    few = (samples.FRONT, samples.POCKET)
    for job, size, unit in (
        (samples.job(), (210.0, 297.0), "in centimetres"),
        (samples.imperial_job(), (215.9, 279.4), "in inches"),
    ):
        job = replace(job, pieces=few)
        sheets = read(piece_sheet_pdf(job))
        assert all((p.width, p.height) == pytest.approx(size, abs=0.05) for p in sheets)
        assert all(unit in page.text for page in sheets)


def test_a_size_is_asked_for_where_there_are_several() -> None:
    with pytest.raises(InputError, match="which size"):
        piece_sheet_pdf(pattern("harbour-smock"))
    with pytest.raises(InputError, match="no size XXS"):
        piece_sheet_pdf(pattern("harbour-smock"), "XXS")


def test_the_same_pieces_give_the_same_bytes() -> None:
    job = replace(samples.job(), pieces=(samples.POCKET,))
    assert piece_sheet_pdf(job) == piece_sheet_pdf(job)


def test_very_many_notches_and_corners_ask_for_bounded_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that holds thousands of them is drawn like one that holds a few dozen: every try to place a
    word asks for its box, so boxes count the work."""
    tries = 0
    box = piece_sheet.Words.box

    def counted(words: piece_sheet.Words, margin: float = 0.25) -> shapely.Polygon:
        nonlocal tries
        tries += 1
        return box(words, margin)

    monkeypatch.setattr(piece_sheet.Words, "box", counted)
    work = []
    for many in (100, 500):
        teeth = [(300.0 * k / many, 3.0 * (k % 2)) for k in range(many)]
        ring: Ring = (*teeth, (300.0, 200.0), (0.0, 200.0))
        notches = tuple(Notch(f"n{k}", at) for k, at in enumerate(teeth))
        piece = Piece("1", "Comb", ring, ((50.0, 20.0), (50.0, 150.0)), notches=notches)
        tries = 0
        words = place_words(measure(piece), View(0.5, 20.0, 20.0), (0.0, 0.0, 200.0, 200.0), "metric")
        work.append(tries)
        told = [text for text in (word.text for word in words) if text.startswith("n")]
        assert told == [f"n{k}" for k in range(40)]
        notes = piece_sheet._notes(measure(piece), "metric")
        assert f"and {many - 40} more." in " ".join(notes)
    assert work[1] < 1.5 * work[0]


def test_lengths_in_inches_are_told_in_words_that_no_sentence_trips_over() -> None:
    first = read(piece_sheet_pdf(samples.imperial_job()))[0]
    assert "in inches, ~ those of curves" in " ".join(first.text.split())
