"""The page for the cutting table: everything on it, one page if legible, readable in grey."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest
import shapely
from matplotlib.colors import to_rgb

from marker.api import lay, load_job
from marker.model.job import Job
from marker.model.layout import Layout, Placement
from marker.report import picture
from marker.report.chart import chart_cells, chart_notes, cutting_chart, grain_text
from marker.report.ground import spread_in_words
from marker.report.shopping import shopping_list
from marker.report.table_sheet import LEGIBLE, SMALL, Chart, Notes, table_sheet_pdf
from tests.report import printed, samples
from tests.report.pdf_reading import Page, read

A4, LETTER = (210.0, 297.0), (215.9, 279.4)
ONE_PAGE = ["both", "imperial", "mixed", "tube", "flawed"]
NAMES = [*ONE_PAGE, "very_long_lay"]


@cache
def sample(name: str) -> tuple[Layout, Job]:
    job = samples.job(pieces=(*samples.PIECES, samples.BINDING))
    if name == "both":
        return samples.layout(), job
    if name == "imperial":
        return samples.layout(samples.imperial(), samples.interfacing()), samples.imperial_job()
    return samples.layout(samples.ALL[name]()), job


@cache
def pages(name: str) -> list[Page]:
    return read(table_sheet_pdf(*sample(name)))


@pytest.mark.parametrize("name", NAMES)
def test_paper_by_the_units_of_the_cloth(name: str) -> None:
    # ISO 216; ANSI/ASME Y14.1.
    for page in pages(name):
        size = LETTER if name == "imperial" else A4
        assert sorted((page.width, page.height)) == pytest.approx(size, abs=0.05)


@pytest.mark.parametrize("name", ONE_PAGE)
def test_one_page_for_a_garment(name: str) -> None:
    assert len(pages(name)) == 1


def test_each_chart_is_read_by_the_words_that_hold_for_it() -> None:
    """One lay measured from a crosswise fold, one from its cut end: both are told, each by its name."""
    layout = samples.layout(samples.ALL["crosswise_from_fold"](), samples.interfacing())
    job = samples.job(pieces=(*samples.PIECES, samples.BINDING))
    reading = Notes(layout, job).reading
    starts = {what: text for what, text in reading if what.startswith("Starts")}
    assert set(starts) == {"Starts (fabric)", "Starts (interfacing)"}
    assert "crosswise fold" in starts["Starts (fabric)"]
    assert "cut end" in starts["Starts (interfacing)"]
    assert [what for what, _ in reading].count("Distances") == 1
    for material in layout.materials:
        for what, text in chart_notes(material, job):
            heads = [head for head, told in reading if told == text]
            assert len(heads) == 1 and heads[0] in (what, f"{what} ({material.material})")


def test_the_way_of_the_pile_is_told_and_drawn() -> None:
    layout, job = sample("both")
    laid = layout.materials[0]
    napped = replace(
        job, fabrics={**job.fabrics, laid.material: replace(job.fabrics[laid.material], nap=True)}
    )
    one_way = replace(
        laid,
        placements=tuple(p if p.grain[1][0] > p.grain[0][0] else turned(p) for p in laid.placements),
    )
    text = close(read(table_sheet_pdf(replace(layout, materials=(one_way,)), napped))[0].text)
    assert close("tops of all pieces point away from the cut end") in text
    assert close("pile runs this way: tops of all pieces point so") in text
    plain = close(read(table_sheet_pdf(replace(layout, materials=(laid,)), job))[0].text)
    assert close("the pile") not in plain and close("pile runs") not in plain


def turned(placement: Placement) -> Placement:
    return replace(placement, grain=(placement.grain[1], placement.grain[0]))


def close(text: str) -> str:
    """Without blanks: how many of them stand between two columns is the reader's guess."""
    return "".join(text.split())


@pytest.mark.parametrize("name", NAMES)
def test_every_line_of_every_chart_and_list_is_on_it(name: str) -> None:
    layout, job = sample(name)
    text = close(" ".join(page.text for page in pages(name)))
    for material in layout.materials:
        fabric = job.fabrics[material.material]
        for row in cutting_chart(material, job):
            assert close("".join(chart_cells(row, fabric))) in text
        for what, about in chart_notes(material, job):
            assert close(what + about) in text or len(layout.materials) > 1
        assert close(spread_in_words(material.lay)) in text
    for item in shopping_list(layout, job):
        assert close(item.amount + item.what[0].upper() + item.what[1:]) in text
        assert all(close(word) in text for word in item.detail.split())
    assert close("Harbour smock, size M, view B") in text
    assert close("Shopping list") in text


@pytest.mark.parametrize("name", NAMES)
def test_no_word_on_another_and_none_in_the_margin(name: str) -> None:
    for page in pages(name):
        words = page.words
        assert len(words) > 20
        shapes = [shapely.box(*box) for _, box, _ in words]
        paper = shapely.box(9.0, 9.0, page.width - 9.0, page.height - 9.0)
        for (text, _, _), shape in zip(words, shapes, strict=True):
            assert paper.covers(shape), text
        small = [shape.buffer(-0.15) for shape in shapes]
        for i, j in shapely.STRtree(small).query(small, predicate="intersects").T:
            if i < j and not small[i].is_empty and not small[j].is_empty:
                assert small[i].intersection(small[j]).area < 0.3, (words[i][0], words[j][0])


@pytest.mark.parametrize("name", NAMES)
def test_type_is_large_enough_to_read_on_a_table(name: str) -> None:
    # Labels on tiny pieces may go down to 4.2 points as in the pictures; words of the chart may not.
    layout, job = sample(name)
    chart = {
        close(grain_text(row, job.fabrics[material.material]))
        for material in layout.materials
        for row in cutting_chart(material, job)
    }
    seen = 0
    for page in pages(name):
        for text, _, size in page.words:
            assert size >= 4.19
            if close(text) in chart and len(text) > 5:
                assert size >= SMALL
                seen += 1
    assert seen > 0


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour (W3C, Web Content Accessibility Guidelines 2.1)."""
    parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def test_legible_in_grey() -> None:
    # WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for text; only luminance counts, so grey print is as good.
    dark = luminance(picture.INK)
    for fill in (*picture.TINTS, "#ececec", "#ffffff", picture.ONE_LAYER, picture.TWO_LAYERS):
        assert (luminance(fill) + 0.05) / (dark + 0.05) >= 4.5


def test_pieces_stand_out_from_the_cloth_in_the_printed_grey() -> None:
    (page,) = pages("both")
    grey = page.pixels(60)
    # Paper, pieces, cloth, ink: the picture has them all, so grey print does not melt them together.
    shades = [
        int(((grey >= low) & (grey < high)).sum())
        for low, high in ((250, 256), (215, 250), (150, 215), (0, 90))
    ]
    assert all(count > 200 for count in shades)


@pytest.mark.parametrize("name", ONE_PAGE)
def test_pictures_on_the_one_page_are_not_too_small(name: str) -> None:
    """The rulers tell the scale: their numbers, and how far apart these stand on paper."""
    (page,) = pages(name)
    unit = 25.4 if name == "imperial" else 10.0
    marks = [(int(text), box) for text, box, size in page.words if abs(size - 6.0) < 0.01 and text.isdigit()]
    scales = []
    for number, (x0, y0, x1, _) in marks:
        for other, (u0, v0, u1, _) in marks:
            # The next number to the right on the same line.
            if other > number and abs(y0 - v0) < 0.3 and 0 < u0 - x0 < 40.0:
                scales.append(((u0 + u1) / 2 - (x0 + x1) / 2) / ((other - number) * unit))
    assert scales
    # The metric interfacing beside imperial cloth is measured with the wrong unit here, hence the middle.
    assert sorted(scales)[len(scales) // 2] >= 0.97 * LEGIBLE


@pytest.mark.parametrize("name", ["remnant", "folded_remnant"])
def test_where_all_is_cut_from_remnants_nothing_is_bought(name: str) -> None:
    (page,) = read(table_sheet_pdf(*printed_sample(name)))
    assert close("Shopping list Nothing is bought: the cloth is in hand.") in close(page.text)


def printed_sample(name: str) -> tuple[Layout, Job]:
    material, job = printed.ALL[name]()
    return Layout("Deck skirt", "M", "A", 1, (material,)), replace(job, notions=())


def test_a_long_chart_goes_on_from_page_to_page() -> None:
    layout, job = sample("very_long_lay")
    material = layout.materials[0]
    many = tuple(
        replace(p, outline=tuple((x + 0.5 * k, y) for x, y in p.outline))
        for k in range(2)
        for p in material.placements
    )
    sheets = read(table_sheet_pdf(replace(layout, materials=(replace(material, placements=many),)), job))
    text = " ".join(page.text for page in sheets[1:])
    assert len(sheets) > 2
    lines = re.findall(r"(?<=\s)(\d+) (?:2 Back|3 Sleeve) ?2", text)
    assert [int(line) for line in lines] == list(range(1, len(many) + 1))
    assert "(continued)" in text
    assert f"page {len(sheets)} of {len(sheets)}" in text


def test_a_lay_of_any_length_gets_its_pages() -> None:
    """Four hundred metres with three pieces: too long for any legible scale, still no error."""
    layout, job = sample("tube")
    material = layout.materials[0]
    band = replace(material.bands[0], x=(0.0, 400_000.0))
    far = tuple(
        replace(p, outline=tuple((x + 199_000.0 * k, y) for x, y in p.outline))
        for k, p in enumerate(material.placements)
    )
    material = replace(material, bands=(band,), length=400_000.0, placements=far)
    sheets = read(table_sheet_pdf(replace(layout, materials=(material,)), job))
    assert "1 Front" in " ".join(page.text for page in sheets)


def test_the_same_layout_gives_the_same_bytes() -> None:
    assert table_sheet_pdf(*sample("tube")) == table_sheet_pdf(*sample("tube"))


@pytest.mark.parametrize("name", NAMES)
def test_what_a_chart_in_short_leaves_out_is_said_above_it(name: str) -> None:
    layout, job = sample(name)
    for material in layout.materials:
        chart = Chart(material, job, close=True)
        rows = [chart_cells(row, job.fabrics[material.material]) for row in cutting_chart(material, job)]
        for row, cells in zip(rows, chart.cells, strict=True):
            told = dict(zip(chart.shown, cells, strict=True))
            for k, text in enumerate(row):
                left = text.replace("opened out", "opened").removeprefix(told.get(k, "")).strip()
                assert left in chart.said, (left, chart.said)
        assert chart.narrowest_width() <= chart.natural_width()


def test_a_garment_of_thirty_pieces_in_two_materials_stands_on_one_page() -> None:
    job = load_job("pieces/harbour-smock.toml", size="M")
    layout = lay(job, effort=0, cores=1).layout
    (page,) = read(table_sheet_pdf(layout, job))
    text = close(page.text)
    lines = sum(len(material.placements) for material in layout.materials)
    assert lines >= 25
    for words in ("Cutting chart: fabric", "Cutting chart: interfacing", "Shopping list", "Before you cut"):
        assert close(words) in text
    starts = {
        chart_cells(row, job.fabrics[material.material])[7]
        for material in layout.materials
        for row in cutting_chart(material, job)
    }
    sizes = [size for word, _, size in page.words if word.strip() in starts]
    assert len(sizes) >= lines
    assert min(sizes) >= 6.0
