"""Distances of the cutting chart, worked out by hand."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.model.job import Job
from marker.model.layout import Band, MaterialLayout
from marker.report.chart import ChartRow, chart_csv, chart_notes, chart_table, cutting_chart
from marker.report.console import facts, to_text
from marker.report.ground import edges, stretches
from tests.report import samples


def chart_text(material: MaterialLayout, job: Job) -> str:
    """The chart and how to read it, as a report has them."""
    return to_text([chart_table(material, job, 100), "", facts(chart_notes(material, job))], width=100)


def row(material: MaterialLayout, piece: str) -> ChartRow:
    return next(r for r in cutting_chart(material, samples.job()) if r.piece == piece)


def test_on_fold_piece_is_measured_from_its_fold() -> None:
    # The front's grain line is drawn 120 mm from its fold edge; it starts 2 mm from the cut end.
    front = row(samples.folded(), "1")
    assert (front.edge, front.grain_tail, front.grain_head) == (
        "fold",
        pytest.approx(120.0),
        pytest.approx(120.0),
    )
    assert front.straight and front.on_fold and front.copies == 1 and front.layers == 2
    assert front.start == pytest.approx(2.0)
    assert front.off_grain == pytest.approx(0.0)


def test_a_pair_near_the_selvage() -> None:
    # Laid from y = 10 up, grain line 195 mm in: 205 mm from the selvage at 0, 495 mm from the fold.
    sleeve = row(samples.folded(), "3")
    assert sleeve.edge == "selvage"
    assert sleeve.grain_tail == pytest.approx(205.0)
    assert sleeve.straight
    assert (sleeve.face, sleeve.copies, sleeve.arrow) == ("down", 2, "left")


def test_the_selvage_itself_is_measured_from_and_not_the_usable_edge() -> None:
    # Cuffs from y = 10 (usable edge) with the grain line 55 mm in: 65 mm from the selvage.
    assert row(samples.folded(), "4").grain_tail == pytest.approx(65.0)


def test_laying_order_is_from_the_cut_end_on_then_upwards() -> None:
    order = [(r.order, r.piece, round(r.start)) for r in cutting_chart(samples.folded(), samples.job())]
    assert order == [
        (1, "3", 0),
        (2, "1", 2),
        (3, "4", 570),
        (4, "4", 570),
        (5, "6", 570),
        (6, "2", 730),
        (7, "5", 830),
        (8, "7", 1060),
    ]


@given(st.permutations(samples.folded().placements))
def test_the_order_of_placements_in_the_file_does_not_matter(placements: list) -> None:
    shuffled = replace(samples.folded(), placements=tuple(placements))
    assert cutting_chart(shuffled, samples.job()) == cutting_chart(samples.folded(), samples.job())


@given(st.floats(-3.0, 3.0), st.floats(0.0, 500.0))
def test_a_tilted_piece_shows_two_distances(tilt: float, along: float) -> None:
    # The cuff's grain line is 190 mm long: its ends differ by 190 sin(tilt).
    bands = (Band((0.0, 900.0), (10.0, 700.0), 2, (700.0,)),)
    cuff = samples.Lay(bands).put(samples.CUFF, (along, 100.0), angle=tilt)
    laid = samples.finish("fabric", samples.LINEN, "lengthwise fold", bands, [cuff], 900.0, 1000.0, "1 m")
    (only,) = cutting_chart(laid, samples.job())
    rise = 190.0 * math.sin(math.radians(tilt))
    assert only.grain_head - only.grain_tail == pytest.approx(rise, abs=1e-6)
    assert only.straight == (abs(rise) <= 0.5)
    assert only.off_grain == pytest.approx(abs(tilt), abs=1e-6)
    assert only.start == pytest.approx(along, abs=1e-6)


def test_equal_ends_are_called_straight_and_unequal_ones_are_not() -> None:
    straight = chart_text(samples.folded(), samples.job())
    assert "12.0 straight" in straight and "° off" not in straight
    bands = samples.folded().bands
    tilted = samples.Lay(bands).put(samples.CUFF, (0.0, 100.0), angle=2.0)
    text = chart_text(replace(samples.folded(), placements=(tilted,)), samples.job())
    assert "straight " not in text.splitlines()[2]
    assert "2.0° off" in text


def test_selvages_to_the_middle_measure_from_either_fold_or_the_selvage_between() -> None:
    material = samples.to_middle()
    assert [(e.name, e.y) for e in edges(material, 0)] == [("fold", 0.0), ("selvage", 350.0)]
    assert [(e.name, e.y) for e in edges(material, 1)] == [("selvage", 350.0), ("fold", 700.0)]
    # The cuff from y = 5, grain 55 mm in: 60 mm from the fold at 0.
    cuff = row(material, "4")
    assert (cuff.edge, cuff.grain_tail) == ("fold", pytest.approx(60.0))
    # The pocket from y = 400, grain 90 mm in: y = 490, 140 mm from the selvage, 210 mm from the fold.
    pocket = row(material, "5")
    assert (pocket.edge, pocket.grain_tail) == ("selvage", pytest.approx(140.0))


def test_the_single_layer_beside_a_partial_fold_has_one_selvage_only() -> None:
    material = samples.partial()
    assert [(e.name, e.y) for e in edges(material, 0)] == [("selvage", 0.0)]
    assert [(e.name, e.y) for e in edges(material, 1)] == [("selvage", 780.0), ("fold", 1090.0)]
    # The upper cuffs lie from y = 580, grain 55 mm in: far from the one selvage, still measured from it.
    cuffs = [r for r in cutting_chart(material, samples.job()) if r.piece == "4"]
    assert sorted(round(c.grain_tail) for c in cuffs) == [515, 515, 635, 635]
    assert {c.edge for c in cuffs} == {"selvage"}
    assert {c.layers for c in cuffs} == {1}


def test_a_tube_has_folds_only() -> None:
    assert [(e.name, e.y) for e in edges(samples.tube(), 0)] == [("fold", 0.0), ("fold", 700.0)]
    assert {r.edge for r in cutting_chart(samples.tube(), samples.job())} == {"fold"}


def test_edges_of_one_name_are_told_apart() -> None:
    # Fronts at y = 12 to 592 (grain at 182) and backs at y = 640 to 1240 of 1400 mm of open cloth.
    opened = {r.piece: r for r in cutting_chart(samples.opened(), samples.job())}
    assert (opened["1"].measure_from, round(opened["1"].grain_tail)) == ("near selvage", 182)
    # The back is opened out about y = 640 + 300, its grain line 130 mm below: 1400 - 810 from the far one.
    assert (opened["2"].measure_from, round(opened["2"].grain_tail)) == ("far selvage", 590)
    assert {r.measure_from for r in cutting_chart(samples.folded(), samples.job())} == {"fold", "selvage"}
    middle = {r.piece: r.measure_from for r in cutting_chart(samples.to_middle(), samples.job())}
    assert (middle["4"], middle["2"], middle["5"]) == ("near fold", "far fold", "selvage")
    assert "near is the edge before you" in chart_text(samples.opened(), samples.job())
    assert "near is the edge before you" not in chart_text(samples.folded(), samples.job())


def test_the_stretches_of_a_mixed_spread() -> None:
    first, second = stretches(samples.mixed())
    assert (first.start, first.end, first.high.name, first.high.y) == (0.0, 740.0, "fold", 700.0)
    assert (second.start, second.end, second.high.name, second.high.y) == (740.0, 1840.0, "selvage", 1400.0)


def test_a_crosswise_fold_at_the_far_end_leaves_the_cut_end_to_measure_from() -> None:
    assert {r.start_edge for r in cutting_chart(samples.crosswise(), samples.job())} == {"cut end"}


def test_a_crosswise_fold_at_the_near_end_is_measured_from() -> None:
    bands = tuple(replace(band, fold_across=0.0) for band in samples.crosswise().bands)
    rows = cutting_chart(replace(samples.crosswise(), bands=bands), samples.job())
    assert {r.start_edge for r in rows} == {"crosswise fold"}


def test_material_without_grain_shows_both_ends_without_blame() -> None:
    text = chart_text(samples.interfacing(), samples.job())
    # The cuff stands across from y = 0: its grain line runs from 30 to 220 mm.
    assert "3.0 to 22.0" in text
    assert "off" not in text
    assert "no grain" in text


def test_face_down_is_told_and_explained() -> None:
    text = chart_text(samples.opened(), samples.job())
    assert " down " in text and "turn the paper piece over" in text
    assert "turn the paper piece over" not in chart_text(samples.crosswise(), samples.job())


def test_csv_reads_back() -> None:
    rows = list(csv.DictReader(io.StringIO(chart_csv(samples.folded(), samples.job()))))
    assert len(rows) == len(samples.folded().placements)
    front = next(r for r in rows if r["piece"] == "1")
    assert front["measure_from"] == "fold"
    assert (front["grain_tail_mm"], front["grain_head_mm"], front["start_mm"]) == ("120.0", "120.0", "2.0")
    assert (front["straight"], front["on_fold"], front["face"], front["layers"]) == ("yes", "yes", "up", "2")
    assert (front["grain_line"], front["starts"], front["unit"]) == ("12.0 straight", "0.2", "cm")


def test_csv_of_an_imperial_cloth_gives_inches_beside_millimetres() -> None:
    rows = list(csv.DictReader(io.StringIO(chart_csv(samples.imperial(), samples.imperial_job()))))
    front = next(r for r in rows if r["piece"] == "1")
    # 120 mm is 4.724 in, nearest sixteenth 4 3/4.
    assert (front["grain_tail_mm"], front["grain_line"], front["unit"]) == ("120.0", "4 3/4 straight", "in")
