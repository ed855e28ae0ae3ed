"""Printed cloth, borders and remnants in the pictures: every line where arithmetic says it lies."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from itertools import combinations
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from marker.model.fabric import Print
from marker.report import picture
from marker.report.compose import Composition, compose
from marker.report.design import printed, start_words
from marker.report.flat import copies, from_drawing, moved, remnant_areas, shift
from marker.report.picture import draw, picture_bytes
from tests.report import pdf_reading, samples
from tests.report import printed as lays
from tests.report.test_picture import contrast

SVG = "{http://www.w3.org/2000/svg}"
NAMES = sorted(lays.ALL)


@cache
def composed(name: str) -> Composition:
    return compose(*lays.ALL[name]())


@cache
def svg(name: str) -> Any:
    return ElementTree.fromstring(picture_bytes(*lays.ALL[name](), "svg"))


def boxes(name: str) -> dict[str, tuple[float, float, float, float]]:
    """Every named shape of an SVG picture: left, bottom, right, top in millimetres, y upwards."""
    root = svg(name)
    high = float(root.get("viewBox").split()[3])
    found = {}
    for group in root.iter(f"{SVG}g"):
        path = group.find(f"{SVG}path")
        if path is None or not re.match("print|border|cloth|doubled", group.get("id", "")):
            continue
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", path.get("d", ""))]
        # matplotlib writes SVG in points.
        xs = [n * 25.4 / 72 for n in numbers[::2]]
        ys = [(high - n) * 25.4 / 72 for n in numbers[1::2]]
        found[group.get("id", "")] = (min(xs), min(ys), max(xs), max(ys))
    return found


def test_as_many_bars_as_repeats_and_each_where_it_is_printed() -> None:
    # 600 mm of cloth, repeat 100 from 30: bars at 30, 130, ... 530.
    row = composed("striped").sheet.rows[0]
    bars = {k: box for k, box in boxes("striped").items() if k.startswith("print-")}
    assert len(bars) == 600 / 100
    for k in range(6):
        left, bottom, right, top = bars[f"print-row-0-0-crosswise-{k}"]
        assert (left + right) / 2 == pytest.approx(row.left + (30 + 100 * k) * row.scale, abs=0.01)
        assert (bottom, top) == pytest.approx((row.bottom, row.top), abs=0.01)


def test_a_check_folded_on_a_bar_shows_the_lower_layer_s_lines_up_to_the_fold() -> None:
    # The cloth to the fold at 680: bars along at 20 + 60 k for k up to 11, which lies on the fold itself.
    row = composed("checked").sheet.rows[0]
    bars = boxes("checked")
    long = {k: box for k, box in bars.items() if "lengthwise" in k}
    assert len(long) == 12 and len([k for k in bars if "crosswise" in k]) == 1260 / 90
    for k in range(11):
        _, bottom, _, top = long[f"print-row-0-0-lengthwise-{k}"]
        assert (bottom + top) / 2 == pytest.approx(row.y(20 + 60 * k), abs=0.01)
    _, bottom, _, top = long["print-row-0-0-lengthwise-11"]
    assert top == pytest.approx(row.y(680), abs=0.01) and top - bottom == pytest.approx(
        9 * row.scale, abs=0.01
    )


def test_an_uneven_print_looks_uneven_and_an_even_one_does_not() -> None:
    def mirrored_alike(design: Print, x: float, y: float) -> bool:
        area = shapely.union_all([one.shape for one in printed(design, (-400.0, -400.0, 400.0, 400.0))])
        other = shapely.transform(area, lambda points: points * (x, y))
        return bool(area.symmetric_difference(other).area < 1.0)

    for kind in ("check", "motifs"):
        for along, across in ((True, True), (True, False), (False, True), (False, False)):
            design = Print(kind, 90.0, 60.0, even_along=along, even_across=across)  # type: ignore[arg-type]
            assert mirrored_alike(design, -1, 1) is along
            assert mirrored_alike(design, 1, -1) is across


@settings(max_examples=40, deadline=None)
@given(st.floats(8.0, 400.0), st.floats(-1e4, 1e4), st.floats(50.0, 3000.0))
def test_bars_come_once_a_repeat(repeat: float, start: float, long: float) -> None:
    found = printed(Print("stripes across", repeat, None, (start, 0.0)), (0.0, 0.0, long, 100.0))
    whole = [one for one in found if one.shape.bounds[0] > 0 and one.shape.bounds[2] < long]
    assert abs(len(found) - long / repeat) <= 2
    for one in whole:
        k = int(one.name.removeprefix("crosswise-"))
        assert (one.shape.bounds[0] + one.shape.bounds[2]) / 2 == pytest.approx(start + k * repeat, abs=1e-6)


def test_motifs_lie_on_their_lattice() -> None:
    row = composed("motifs").sheet.rows[0]
    found = {k: box for k, box in boxes("motifs").items() if "motif" in k}
    # From 40 every 120 along 600 mm, from 50 every 80 across 1200 mm.
    assert len(found) == 5 * 15
    left, bottom, right, top = found["print-row-0-0-motif-2-3"]
    middle = ((left + right) / 2, (bottom + top) / 2)
    assert middle == pytest.approx(row.at((40 + 2 * 120, 50 + 3 * 80)), abs=0.01)


def test_a_border_runs_along_its_selvage() -> None:
    row = composed("bordered").sheet.rows[0]
    (border,) = [box for k, box in boxes("bordered").items() if k.startswith("border")]
    assert border == pytest.approx((row.left, row.y(0.0), row.right, row.y(140.0)), abs=0.01)
    material, job = lays.bordered()
    upper = replace(lays.BORDERED, border=replace(lays.BORDERED.border, side="upper"))  # type: ignore[type-var]
    (cover,) = compose(material, replace(job, fabrics={"fabric": upper})).covers
    assert cover.shape.bounds[1] == pytest.approx(row.y(1200.0 - 140.0))


def test_a_remnant_has_its_outline_and_holes_and_white_round_it() -> None:
    page = composed("remnant")
    row = page.sheet.rows[0]
    # All 900 mm of it are drawn, though the lay takes 535.
    assert row.end == 900.0
    (cloth,) = [cover.shape for cover in page.covers if cover.kind == "cloth"]
    real = 900 * 700 - 200 * 140 / 2 - 80 * 60
    assert cloth.area / row.scale**2 == pytest.approx(real, rel=1e-6) and len(cloth.interiors) == 1
    material, job = lays.remnant()
    pixels = np.asarray(Image.open(io.BytesIO(picture_bytes(material, job, "png"))).convert("L"))
    dots = pixels.shape[0] / page.sheet.height

    def grey(x: float, y: float) -> int:
        at = row.at((x, y))
        return int(pixels[pixels.shape[0] - 1 - round(at[1] * dots), round(at[0] * dots)])

    assert grey(880, 680) == 255 and grey(640, 460) == 255
    assert grey(800, 300) == grey(300, 600) < 230
    assert boxes("remnant")["cloth-0-0"] == pytest.approx(
        (row.left, row.bottom, row.x(900), row.y(700)), abs=0.01
    )


def test_where_there_is_no_cloth_is_no_flaw_and_a_flaw_is_named() -> None:
    page = composed("remnant")
    row = page.sheet.rows[0]
    (flaw,) = page.flaws
    assert flaw.area / row.scale**2 == pytest.approx(shapely.Polygon(lays.FLAW).area, rel=1e-6)
    (word,) = page.flaw_words
    assert word.lines[0].text == "flaw" and flaw.covers(word.box())


def test_a_flaw_too_small_for_its_word_has_it_beside_it_on_bare_cloth() -> None:
    page = compose(samples.flawed(), samples.job())
    assert len(page.flaws) == len(page.flaw_words) == 2
    small = min(page.flaws, key=lambda flaw: flaw.area)
    word = min(page.flaw_words, key=lambda label: small.distance(shapely.Point(label.at)))
    assert not small.intersects(word.box()) and small.distance(word.box()) < 6.0
    for label in page.flaw_words:
        assert not any(part.shape.intersects(label.box()) for part in page.parts)


def test_a_folded_remnant_has_two_layers_only_where_both_have_cloth() -> None:
    material, _ = lays.folded_remnant()
    once, twice = remnant_areas(
        replace(material, bands=composed("folded_remnant").material.bands), lays.REMNANT
    )
    # Upper half turned down on the lower: the corner (200 by 140 over 2) and the hole are single.
    assert once.area == pytest.approx(900 * 350)
    assert twice.area == pytest.approx(900 * 350 - 200 * 140 / 2 - 80 * 60)
    assert composed("folded_remnant").flaws == ()


@pytest.mark.parametrize("name", ["striped", "checked", "uneven"])
def test_the_level_runs_through_every_notch_that_meets(name: str) -> None:
    page = composed(name)
    row = page.sheet.rows[0]
    for part in page.parts:
        if part.placement.piece not in ("1", "2"):
            continue
        assert part.meets and part.names
        for x, y in part.meets:
            upright = [line for line in part.levels if abs(line[0][0] - line[-1][0]) < 1e-6]
            assert any(abs(line[0][0] - x) < 1e-6 for line in upright)
            # The stitching line, 15 mm inside the edge that the notch is cut into.
            edge = part.shape.exterior.distance(shapely.Point(x, y))
            assert edge == pytest.approx(15.0 * row.scale, abs=1e-6)
        for label in part.names:
            assert " ".join(line.text for line in label.lines) == "side"
            assert part.shape.covers(label.box())
            assert min(shapely.Point(label.at).distance(shapely.Point(p)) for p in part.meets) < 12.0
    if name == "striped":
        # Both panels have their notches at 380, the pocket has none.
        assert {round(x, 6) for part in page.parts for x, _ in part.meets} == {round(row.x(380.0), 6)}


def test_nothing_is_marked_when_nothing_was_matched() -> None:
    material, job = lays.checked()
    page = compose(replace(material, matched="none"), job)
    assert not any(part.levels or part.meets or part.names for part in page.parts)
    assert "level" not in {entry.symbol for entry in page.key}


@pytest.mark.parametrize("name", NAMES)
def test_every_word_is_on_the_page_and_on_no_other(name: str) -> None:
    figure = draw(*lays.ALL[name]())
    renderer = figure.canvas.get_renderer()
    found = []
    for text in figure.axes[0].texts:
        extent = text.get_window_extent(renderer)
        assert figure.bbox.x0 <= extent.x0 and extent.x1 <= figure.bbox.x1, text.get_text()
        assert figure.bbox.y0 <= extent.y0 and extent.y1 <= figure.bbox.y1, text.get_text()
        found.append((text.get_text(), text.get_gid(), extent))
    for (one, gid, a), (two, other, b) in combinations(found, 2):
        if gid and other and gid.rsplit("-", 1)[0] == other.rsplit("-", 1)[0]:
            continue
        wide, high = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
        assert wide <= 0.5 or high <= 0.5, (one, two)


@pytest.mark.parametrize("name", ["checked", "uneven", "striped", "remnant"])
def test_names_and_labels_keep_clear_of_each_other_and_of_levels(name: str) -> None:
    for part in composed(name).parts:
        words = [label.box() for label in (part.label, *part.names) if label is not None]
        assert not any(a.intersects(b) for a, b in combinations(words, 2))
        for level in part.levels:
            assert not any(shapely.LineString(level).intersects(box) for box in words)


def over(fill: str, ink: str, share: float) -> str:
    """A colour with ``share`` of an ink laid over it."""
    pairs = [(int(fill[i : i + 2], 16), int(ink[i : i + 2], 16)) for i in (1, 3, 5)]
    return "#" + "".join(f"{round(a * (1 - share) + b * share):02x}" for a, b in pairs)


@pytest.mark.parametrize("fill", picture.TINTS)
def test_words_stay_legible_where_bars_cross_and_bars_show_in_grey(fill: str) -> None:
    once = over(fill, picture.PRINT, picture.PRINT_SHARE)
    twice = over(once, picture.PRINT, picture.PRINT_SHARE)
    # W3C WCAG 2.1, success criterion 1.4.6 (enhanced contrast): at least 7 to 1.
    assert contrast(picture.INK, twice) >= 7.0
    # Bars are told from the ground in grey by at least 15 of 255 levels (Rec. 601 luma).
    levels = [
        sum(w * int(c[i : i + 2], 16) for w, i in ((0.299, 1), (0.587, 3), (0.114, 5)))
        for c in (fill, once, twice)
    ]
    assert levels[0] - levels[1] >= 15 and levels[1] - levels[2] >= 15


def test_the_key_tells_repeat_and_start() -> None:
    words = " ".join("".join(e.itertext()) for e in svg("checked").iter(f"{SVG}text"))
    assert "check, repeat 9 cm along, 6 cm across" in words
    assert "middle of the first bar 3 cm from the cut end, 2 cm from the lower selvage" in words
    assert "the print meets at this level, at the stitching line" in words
    # 1400 mm folded at 680: the upper half is 720.
    assert "selvage; the other layer's lies 4 cm beyond it" in words
    bordered = " ".join("".join(e.itertext()) for e in svg("bordered").iter(f"{SVG}text"))
    assert "border, 14 cm from the lower selvage" in bordered


def test_a_start_beyond_the_repeat_is_told_within_the_first() -> None:
    assert start_words(Print("stripes across", 100.0, None, (430.0, 0.0)), "metric").endswith(
        "3 cm from the cut end"
    )


def test_a_print_too_fine_to_draw_is_not_drawn() -> None:
    material, job = lays.striped()
    fine = replace(lays.STRIPED, print=Print("check", 4.0, 4.0))
    assert compose(material, replace(job, fabrics={"fabric": fine})).covers == ()


def test_the_pdf_has_the_bars_too() -> None:
    (page,) = pdf_reading.read(picture_bytes(*lays.striped(), "pdf"))
    row = composed("striped").sheet.rows[0]
    width = 0.3 * 100 * row.scale
    bars = [
        path for path in page.paths if path.size == pytest.approx((width, row.top - row.bottom), abs=0.05)
    ]
    middles = sorted((min(x for x, _ in bar.points) + max(x for x, _ in bar.points)) / 2 for bar in bars)
    assert middles == pytest.approx([row.x(30 + 100 * k) for k in range(6)], abs=0.02)


@pytest.mark.parametrize("name", sorted(samples.ALL))
def test_the_way_back_to_the_drawing_holds_for_every_placement(name: str) -> None:
    job = samples.job(pieces=(*samples.PIECES, samples.BINDING))
    pieces = {piece.number: piece for piece in job.pieces}
    for placement in samples.ALL[name]().placements:
        move = from_drawing(pieces[placement.piece], placement)
        for notch, placed in zip(pieces[placement.piece].notches, placement.notches, strict=False):
            assert moved(move, notch.at) == pytest.approx(placed.at, abs=1e-6)


def test_a_second_layer_is_the_mirror_image_in_the_fold() -> None:
    # The pocket of the checked lay lies from 65 to 215; with the fold at 680 its double from 1145 to 1295.
    material, job = lays.checked()
    first, second = [copy for copy in copies(material, job) if copy.piece.number == "3"]
    assert sorted({round(y) for _, y in first.stitching}) == [65, 215]
    assert sorted({round(y) for _, y in second.stitching}) == [1145, 1295]
    assert (first.hand, second.hand) == (1, -1)
    whole = next(copy for copy in copies(material, job) if copy.piece.number == "1")
    assert sorted({round(y) for _, y in whole.stitching}) == [680 - 320, 680 + 320]


def test_where_the_first_layer_comes_from() -> None:
    # Selvages to the middle: the lowest line of the spread is a quarter of 1400 mm from the selvage.
    assert shift(samples.to_middle(), 0) == (0.0, 350.0)
    assert shift(samples.folded(), 0) == shift(samples.mixed(), 1) == (0.0, 0.0)
    assert shift(samples.crosswise(), 0) == (0.0, 0.0)
    # Folded at its start, the layer seen is the cloth from 800 to 1600.
    assert shift(samples.crosswise_from_fold(), 0) == (800.0, 0.0)
