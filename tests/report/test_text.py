"""The report in words holds the facts of the lay, loses none, and keeps materials apart."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.model.layout import Band, Layout, Tried
from marker.model.piece import Cut, Piece
from marker.report.cautions import cautions
from marker.report.console import table, to_text
from marker.report.measure import at_least, position
from marker.report.text import render
from marker.units import parse_length
from tests.report import samples


def section(text: str, heading: str, until: str) -> str:
    start = text.index(f"\n{heading} ─")
    return text[start : text.index(f"\n{until} ─", start)]


def unwrapped(text: str) -> str:
    """The words of a text whatever the line breaks."""
    return " ".join(text.split())


@pytest.fixture(scope="module")
def report() -> str:
    return render(samples.layout(), samples.job(), width=100)


def test_the_length_to_buy_comes_first_and_for_each_material(report: str) -> None:
    head = report[: report.index("Fabric ─")]
    assert "buy 1.8 m of Deck linen, 140 cm wide" in head
    assert "buy 0.3 m of Light fusible, 90 cm wide" in head


def test_numbers_of_the_fabric(report: str) -> None:
    fabric = unwrapped(section(report, "Fabric", "Interfacing"))
    # 1640 / (1 - 0.04) = 1708.33 mm; the next whole 10 cm is 1.8 m; 1.8 m at 12 EUR a metre.
    assert "1.64 m once washed is 1.708 m before it shrinks 4 % along" in fabric
    assert "rounded up to the 10 cm" in fabric
    assert "21.60 EUR" in fabric
    # The bound of the sample is 0.95 x 1640 = 1558 mm.
    assert "not proven shortest: no layout of this spread can be shorter than 1.558 m" in fabric
    assert "Light fusible" not in fabric and "0.3 m" not in fabric


def test_waste_by_hand() -> None:
    # Two rectangles of 400 x 250 mm from 400 mm of cloth 1 m wide: 0.2 of 0.4 square metres.
    rectangle = Piece("1", "Flap", samples.box(250.0, 400.0), ((100.0, 50.0), (100.0, 350.0)))
    cloth = replace(samples.LINEN, width=1000.0, selvage=0.0)
    bands = (Band((0.0, 400.0), (0.0, 500.0), 2, (500.0,)),)
    laid = samples.finish(
        "fabric",
        cloth,
        "lengthwise fold",
        bands,
        [samples.Lay(bands).put(rectangle, (0.0, 0.0))],
        400.0,
        500.0,
        "0.5 m",
        lower_bound=390.0,
    )
    text = render(samples.layout(laid), samples.job(fabrics={"fabric": cloth}), width=90)
    text = unwrapped(text)
    assert "50.0 % waste" in text
    assert "not proven shortest: no layout of this spread can be shorter than 39 cm" in text


def test_what_only_the_search_can_show_is_told_as_its_own_account() -> None:
    """The check shows 380 mm; the search all 390, or some of it between the bound and the length."""
    bands = (Band((0.0, 390.0), (0.0, 1000.0), 1),)
    rectangle = replace(samples.POCKET, outline=((0.0, 0.0), (390.0, 0.0), (390.0, 500.0), (0.0, 500.0)))
    cloth = replace(samples.LINEN, shrink_along=0.0)
    placed = [samples.Lay(bands).put(rectangle, (0.0, 0.0))]
    laid = samples.finish("fabric", cloth, "open", bands, placed, 390.0, 400.0, "0.4 m", lower_bound=380.0)
    job = samples.job(fabrics={"fabric": cloth})
    whole, part = (
        unwrapped(render(samples.layout(replace(laid, searched=searched)), job, width=90))
        for searched in (390.0, 385.0)
    )
    assert "by the search's own account: it went through every case" in whole
    assert "checked apart from it, none can be shorter than 38 cm" in whole
    assert "can be shorter than 38 cm, by the search's own account not than 38.5 cm" in part


def test_a_proven_lay_says_so_and_shows_no_gap(report: str) -> None:
    interfacing = section(report, "Interfacing", "Pieces")
    assert "proven shortest" in interfacing
    assert "not proven" not in interfacing
    assert "no shrinkage counted" in interfacing


def test_every_spread_tried_is_told_with_its_length_or_the_reason(report: str) -> None:
    fabric = section(report, "Fabric", "Interfacing")
    rows = {line[2:].split("  ")[0]: line for line in fabric.splitlines()}
    assert "1.8 m" in rows["lengthwise fold"] and "chosen" in rows["lengthwise fold"]
    assert "2 m" in rows["open"] and "1.911 m" in rows["open"] and "chosen" not in rows["open"]
    assert "the cloth is not a tube" in rows["tubular"]
    assert "the nap of the second layer would run the other way" in rows["crosswise fold"]


def test_the_name_of_a_spread_stays_on_one_line() -> None:
    layout = samples.layout()
    long = "mixed: lengthwise fold, then open"
    tried = (*layout.materials[0].tried, Tried(long, None, None, "a reason of many words " * 4))
    first = replace(layout.materials[0], tried=tried)
    text = render(replace(layout, materials=(first, *layout.materials[1:])), samples.job(), width=80)
    assert f"\n  {long} " in text


def test_spare_copies_are_named(report: str) -> None:
    spare = "1 of 5 Patch pocket; 1 of 6 Neck placket facing; 1 of 7 Hanging loop: cut because two layers"
    assert spare in unwrapped(report)
    assert "counted as waste" in unwrapped(report)


def test_pieces_and_counts(report: str) -> None:
    pieces = section(report, "Pieces", "Cutting chart: fabric")
    rows = {
        words[1]: line for line in pieces.splitlines() if (words := line.split())[1:] and words[0].isdigit()
    }
    assert "1 on fold" in rows["Front"]
    assert "2 (pair)" in rows["Sleeve"]
    assert "4 alike" in rows["Cuff"] and "2 alike" in rows["Cuff"]
    assert "1, slit strip only" in rows["Neck"]
    assert "guide, never cut" in rows["Buttonhole"]
    # 1 + 1 + 2 + 4 + 1 + 1 + 1 of fabric, 2 + 1 of interfacing.
    assert pieces.rstrip().splitlines()[-1].split() == ["pieces", "in", "all", "11", "3"]


def test_counts_are_for_all_garments() -> None:
    text = render(replace(samples.layout(), quantity=3), samples.job(quantity=3), width=100)
    assert "6 (3 pairs)" in text and "12 alike" in text
    assert "Counts are for 3 garments together." in text


def test_several_cloths_of_one_material_are_counted_once() -> None:
    layout = samples.layout()
    first, *rest = layout.materials
    text = render(
        replace(layout, materials=(replace(first, cloth="offcut"), first, *rest)), samples.job(), width=100
    )
    pieces = section(text, "Pieces", "Cutting chart: fabric, offcut")
    assert pieces.rstrip().splitlines()[-1].split() == ["pieces", "in", "all", "11", "3"]


def test_charts_never_mix_materials(report: str) -> None:
    fabric = section(report, "Cutting chart: fabric", "Cutting chart: interfacing")
    interfacing = section(report, "Cutting chart: interfacing", "Shopping list")
    assert "(slit" in interfacing and "(slit" not in fabric
    assert "Sleeve" in fabric and "Sleeve" not in interfacing


def test_shopping_list_ends_with_notions(report: str) -> None:
    shopping = section(report, "Shopping list", "Before you cut")
    lines = [line.split() for line in shopping.splitlines() if line.strip()]
    assert lines[3][:3] == ["1.8", "m", "fabric"]
    assert lines[4][:3] == ["0.3", "m", "interfacing"]
    assert lines[5][:2] == ["3", "Button"]


def test_imperial_cloth_speaks_inches_and_yards() -> None:
    text = render(samples.layout(samples.imperial()), samples.imperial_job(), width=80)
    assert "buy 2 yd of Deck linen 55 in, 55 in wide" in text
    # 1640 mm / 25.4 = 64.567 in, nearest sixteenth 64 9/16 (international yard and pound, 1959).
    text = unwrapped(text)
    assert "64 9/16 in" in text
    assert "rounded up to the 1/8 yd" in text
    # 2 yd = 1828.8 mm at 12 EUR for 914.4 mm.
    assert "24.00 EUR" in text
    assert " cm" not in text and " m " not in text


@pytest.mark.parametrize("width", [80, 88, 100, 110])
@pytest.mark.parametrize("name", sorted(samples.ALL))
def test_nothing_is_cut_off_and_no_line_is_too_long(name: str, width: int) -> None:
    text = render(samples.layout(samples.ALL[name]()), samples.job(), width=width)
    assert "…" not in text
    assert max(map(len, text.splitlines())) <= width
    assert "\x1b" not in text


def test_long_names_wrap_and_stay_whole() -> None:
    name = "Left upper front yoke facing with extraordinarily long designation"
    laid = samples.folded()
    placements = tuple(replace(p, name=name) if p.piece == "1" else p for p in laid.placements)
    pieces = tuple(replace(p, name=name) if p.number == "1" else p for p in samples.PIECES)
    text = render(samples.layout(replace(laid, placements=placements)), samples.job(pieces=pieces), width=80)
    chart = section(text, "Cutting chart: fabric", "Shopping list")
    for word in name.split():
        assert word in chart and word in section(text, "Pieces", "Cutting chart: fabric")
    assert "…" not in text


def test_names_that_look_like_markup_are_printed_as_they_are() -> None:
    cloth = replace(samples.LINEN, name="Linen [bold]red[/bold] [2/2 twill]")
    text = render(samples.layout(samples.folded()), samples.job(fabrics={"fabric": cloth}), width=110)
    assert "Linen [bold]red[/bold] [2/2 twill]" in text


def test_colour_only_when_asked() -> None:
    plain = render(samples.layout(), samples.job(), width=90)
    coloured = render(samples.layout(), samples.job(), width=90, color=True)
    assert "\x1b[" in coloured and "\x1b" not in plain


def test_cautions_are_those_that_apply() -> None:
    both = " ".join(cautions(samples.layout(), samples.job()))
    open_only = " ".join(cautions(samples.layout(samples.opened()), samples.job()))
    assert "Fusing" in both and "Fusing" not in open_only
    assert "stacked layers" in both and "stacked layers" not in open_only
    for text in (both, open_only):
        assert "Prewash" in text and "print scale" in text and "dye lot" in text
        assert text.endswith(
            "Where the makers of cloth, interfacing, iron or blades say otherwise, do as they say."
        )


def test_a_layout_without_materials_still_lists_the_pieces() -> None:
    text = render(Layout("Harbour smock", "M", "B", 1, ()), samples.job(), width=80)
    assert "Buttonhole guide" in text


@given(st.floats(0.0, 50_000.0), st.sampled_from(["metric", "imperial"]))
def test_a_bound_is_never_rounded_up(mm: float, system: str) -> None:
    told = parse_length(at_least(mm, system))  # type: ignore[arg-type]
    assert told <= mm + 1e-3
    # A millimetre, a sixteenth of an inch, or what yards are told to: a hundredth of an eighth.
    assert told >= mm - 1.6 - 1.2


def test_positions_stand_one_below_the_other() -> None:
    assert position(640.0, "metric") == "64.0"
    assert position(645.2, "metric") == "64.5"
    # 645 mm = 25.394 in; 25 6/16 = 25.375 is nearest.
    assert position(645.0, "imperial") == "25 3/8"


def test_cut_in_pairs_with_one_left_over() -> None:
    odd = replace(samples.SLEEVE, cuts=(Cut("fabric", 3, "mirrored"),))
    text = render(samples.layout(), samples.job(pieces=(odd,)), width=100)
    assert "3 (1 pair and 1 more)" in text


def test_a_word_too_long_for_the_page_is_folded_and_takes_no_room_from_other_columns():
    rows = [["1", "x" * 200, "down"], ["2", "Cuff", "up"]]
    text = to_text([table(["Line", "Piece", "Face"], rows, width=80)], width=80)
    assert text.splitlines()[0].split() == ["Line", "Piece", "Face"]
    assert max(map(len, text.splitlines())) <= 80
    assert text.count("x") == 200 and "down" in text
