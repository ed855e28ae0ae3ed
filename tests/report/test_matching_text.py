"""The report in words on printed cloth, borders and remnants: facts by hand, and nothing made up."""

from __future__ import annotations

from dataclasses import replace

import pytest

from marker.model.job import Job
from marker.model.layout import Layout, MaterialLayout
from marker.model.match import Match
from marker.report.cautions import cautions, cautions_in_short
from marker.report.chart import chart_notes, cutting_chart, grain_text
from marker.report.shopping import shopping_list
from marker.report.text import render
from tests.report import printed, samples


def layout(*materials: MaterialLayout) -> Layout:
    return Layout("Deck skirt", "M", "A", 1, materials)


def told(material: MaterialLayout, job: Job, baseline: Layout | None = None) -> str:
    return " ".join(render(layout(material), job, width=100, baseline=baseline).split())


def test_what_matches_how_closely_and_in_which_repeat() -> None:
    text = told(*printed.checked())
    assert "check, repeat 9 cm along, 6 cm across" in text
    assert "Matched the main seams, to 1 mm at the stitching line" in text
    assert "side: crosswise and lengthwise lines of 1 Front panel and 2 Back panel meet" in text
    assert "3 Patch pocket: centred on a bar (lengthwise lines)" in text
    assert "on a line of the print 68 cm from the lower selvage" in text


def test_the_length_grows_to_whole_repeats_by_what_arithmetic_says() -> None:
    # The back ends at 640 + 550 = 1190 mm; 14 repeats of 90 are 1260.
    assert "pieces take 1.19 m; with whole repeats 1.26 m (14 of 9 cm)" in told(*printed.checked())
    # The back of the striped lay ends at 565; 6 repeats of 100 are 600.
    assert "pieces take 56.5 cm; with whole repeats 60 cm (6 of 10 cm)" in told(*printed.striped())
    material, job = printed.striped()
    assert "whole repeats" not in told(replace(material, length=565.0), job)
    assert "whole repeats" not in told(replace(material, matched="none"), job)


def test_an_uneven_print_says_so_and_notes_are_passed_on() -> None:
    text = told(*printed.uneven())
    assert "uneven check" in text and "with a one-way print, so all pieces face one way" in text
    assert "no two are mirror images in the print" in text
    assert "Mind An uneven print cannot be mirrored: left and right of piece 3 differ." in text


def test_left_and_right_of_an_uneven_print_are_not_said_to_be_alike() -> None:
    material, job = printed.uneven()
    pair = replace(job, matches=(Match("pair", "3", True, True),))
    assert "3 Patch pocket: crosswise and lengthwise lines alike on all copies" in told(material, pair)
    (pocket,) = [each for each in material.placements if each.piece == "3"]
    turned = replace(pocket, mirrored=True)
    both = replace(material, placements=(*material.placements, turned))
    assert (
        "3 Patch pocket: crosswise lines alike on all copies; lengthwise lines cannot be alike on left and "
        "right of an uneven print"
    ) in told(both, pair)


def test_a_print_that_was_not_matched_is_not_said_to_match() -> None:
    material, job = printed.striped()
    text = told(replace(material, matched="none"), job)
    assert "Matched nothing" in text and "meet" not in text
    assert "Matched" not in told(samples.folded(), samples.job())


def test_what_direction_costs_is_told_only_against_a_baseline() -> None:
    material, job = printed.striped()
    assert "Direction" not in told(material, job)
    plain = layout(replace(material, length=450.0, buy=500.0, matched="none"))
    text = told(material, job, plain)
    # 600 less 450 mm; 100 mm bought more at 14 EUR a metre.
    assert "60 cm used, 45 cm if the cloth had neither nap nor print: 15 cm for the direction" in text
    assert "to buy, 1.40 EUR more" in text
    same = told(material, job, layout(material))
    assert "nothing for the direction" in same and "EUR more" not in same
    assert "Direction" not in told(material, job, layout(replace(material, material="lining")))


def test_a_border_names_the_hems_along_it() -> None:
    text = told(*printed.bordered())
    assert "14 cm from the lower selvage inwards; hems along it: 1 Front panel, 2 Back panel" in text
    material, job = printed.bordered()
    assert grain_text(cutting_chart(material, job)[0], printed.BORDERED).endswith("straight across")


def test_bias_pieces_are_named() -> None:
    material, job = printed.striped()
    biased = tuple(replace(piece, bias=piece.number == "3") for piece in job.pieces)
    assert "Bias 3 Patch pocket: grain line at 45 degrees" in told(material, replace(job, pieces=biased))


def test_a_remnant_tells_what_lies_on_it_and_what_is_missing() -> None:
    material, job = printed.remnant()
    text = told(material, job)
    assert 'cut from the remnant "left from the sail bags", in hand' in text
    assert "no room for 2 Back panel (1 copy)" in text
    assert "the remnant would have to be 21.5 cm longer" in text
    assert "Lies on it 1 Front panel (1 copy), 3 Patch pocket (1 copy)" in text
    assert "Buy" not in text.replace("Buy it in one go", "") and "selvage" not in text
    assert "Cutting chart: fabric, left from the sail bags" in text


def test_only_what_is_bought_is_on_the_list_and_is_paid_for() -> None:
    material, job = printed.remnant()
    assert shopping_list(layout(material), job) == []
    assert "Nothing is bought" in told(material, job) and "EUR" not in told(material, job)
    bought, _ = printed.striped()
    both = layout(material, replace(bought, matched="none"))
    (item,) = shopping_list(both, job)
    # 0.6 m at 14 EUR a metre.
    assert item.amount == "0.6 m" and item.cost == pytest.approx(8.4)


def test_charts_of_remnants_measure_from_edges_and_say_which() -> None:
    material, job = printed.remnant()
    assert {row.measure_from for row in cutting_chart(material, job)} == {"near edge", "far edge"}
    assert {"edge", "cut end"} <= {what for what, _ in chart_notes(material, job)}
    assert "edge" not in {what for what, _ in chart_notes(*printed.striped())}
    assert "print" in {what for what, _ in chart_notes(*printed.striped())}


def test_cautions_about_prints_and_remnants_are_those_that_apply() -> None:
    striped, checked, remnant = (
        " ".join(cautions(layout(material), job))
        for material, job in (printed.striped(), printed.checked(), printed.remnant())
    )
    assert "Measure the repeat on the washed cloth" in striped and "one repeat (10 cm once washed)" in striped
    assert "Pin the lines of the print together" in checked and "Pin the lines" not in striped
    assert "repeat" not in remnant and "dye lot" not in remnant and "on a remnant" in remnant
    material, job = printed.striped()
    shrinking = replace(printed.STRIPED, shrink_along=0.2)
    # A repeat of 100 mm washed is 125 mm as it is sold: the 600 mm of lay and it take 875 mm.
    sold = " ".join(told(material, replace(job, fabrics={"fabric": shrinking})).split())
    assert "(60 cm and one repeat of 10 cm to begin on, together 70 cm, once washed is 87.5 cm before" in sold
    # The figure holds: nothing asks for cloth on top of it.
    assert "more" not in sold.split("Before you cut")[1].replace("if yours shrinks more, you need more", "")


@pytest.mark.parametrize("width", [80, 100])
@pytest.mark.parametrize("name", sorted(printed.ALL))
def test_no_line_is_too_long_and_nothing_is_cut_off(name: str, width: int) -> None:
    material, job = printed.ALL[name]()
    text = render(layout(material), job, width=width)
    assert "…" not in text and max(map(len, text.splitlines())) <= width


def test_what_of_the_wash_is_counted_on_a_remnant_is_said() -> None:
    """Unwashed cloth that loses a fifth along and a tenth across; 215 mm washed are 268.75 mm before it."""
    material, job = printed.remnant()
    shrinking = replace(printed.LEFT_OVER, shrink_along=0.2, shrink_across=0.1)
    washed = replace(job, fabrics={"fabric": shrinking})
    raw = replace(shrinking, remnants=(replace(printed.REMNANT, washed=False),))
    unwashed = replace(job, fabrics={"fabric": raw})
    assert "washed" not in told(material, job).split("Before you cut")[0]
    assert "washed already, so no shrinkage is taken off" in told(material, washed)
    assert "would have to be 21.5 cm longer" in told(material, washed)
    text = " ".join(told(material, unwashed).split())
    assert "70 cm wide at most once washed; still to be washed, for which 20 % along and 10 % across" in text
    assert "the remnant would have to be 26.9 cm longer" in text
    assert "Wash the remnants before you lay the paper on" in text
    assert "Wash the remnants" not in told(material, washed)
    assert any("Wash the remnants first" in line for line in cautions_in_short(layout(material), unwashed))
