"""Pictures: to scale, every piece labelled, no word on another, readable without colour."""

from __future__ import annotations

import io
import math
import os
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw

from marker.model.job import Job
from marker.model.layout import MaterialLayout
from marker.report import picture
from marker.report.compose import Composition, compose
from marker.report.labels import Line, Room, Space, block_extent, wrappings
from marker.report.page import PAGES, breaks
from marker.report.picture import draw, picture_bytes
from tests.report import printed, samples

NAMES = sorted([*samples.ALL, "imperial"])

Box = tuple[float, float, float, float]


@cache
def sample(name: str) -> tuple[MaterialLayout, Job]:
    if name == "imperial":
        return samples.imperial(), samples.imperial_job()
    return samples.ALL[name](), samples.job(pieces=(*samples.PIECES, samples.BINDING))


@pytest.fixture(scope="module")
def composed() -> dict[str, Composition]:
    return {name: compose(*sample(name)) for name in NAMES}


@pytest.fixture(scope="module")
def figures(composed: dict[str, Composition]) -> dict[str, Any]:
    found = {}
    for name in NAMES:
        picture._latest = (*sample(name), composed[name])
        found[name] = draw(*sample(name))
    return found


def svg_words(data: bytes) -> list[str]:
    tree = ElementTree.fromstring(data)
    return ["".join(e.itertext()) for e in tree.iter("{http://www.w3.org/2000/svg}text")]


@pytest.mark.parametrize("name", ["folded", "opened", "mixed", "interfacing"])
def test_svg_keeps_text_as_text(name: str) -> None:
    material, job = sample(name)
    words = svg_words(picture_bytes(material, job, "svg"))
    everything = " ".join(words)
    for placement in material.placements:
        assert any(re.match(rf"{placement.piece}\b", text) for text in words)
        for part in placement.name.split():
            assert part in everything
    assert f"Buy {material.buy_text}" in words
    assert f"waste {material.waste_percent:.1f} %" in everything
    assert "size M" in everything and "view B" in everything
    assert "line 1" in everything


def test_edges_are_worded(figures: dict[str, Any]) -> None:
    def words(name: str) -> list[str]:
        return [text.get_text() for text in figures[name].axes[0].texts]

    assert {"fold", "both selvages", "cut end, two layers", "end of the lay"} <= set(words("folded"))
    assert {"selvage", "cut end, one layer"} <= set(words("opened"))
    assert words("to_middle").count("fold") == 2
    assert {"selvages meet", "two layers"} <= set(words("to_middle"))
    assert {"fold", "selvage", "two layers", "cut end, one layer"} <= set(words("partial"))
    assert "fold" in words("crosswise") and words("crosswise").count("selvage") == 2
    assert "end of the lay" not in words("crosswise_from_fold")
    assert {"fold, two layers", "cut ends"} <= set(words("crosswise_from_fold"))
    assert "selvage, one layer from 74 cm on" in words("mixed")
    assert words("tube").count("fold") == 2 and "selvage" not in words("tube")
    assert "flaw, not cut over" in words("flawed")


def test_a_lay_too_long_for_one_row_says_where_it_goes_on(composed: dict[str, Composition]) -> None:
    rows = composed["very_long_lay"].sheet.rows
    assert len(rows) > 1
    assert rows[0].start == 0.0 and rows[-1].end == 14000.0
    assert all(a.end == b.start for a, b in pairwise(rows))
    words = svg_words(picture_bytes(*sample("very_long_lay"), "svg"))
    assert words.count("continues below") == len(rows) - 1
    assert words.count("continued, two layers") == len(rows) - 1


def test_rows_break_where_fewest_pieces_are_crossed() -> None:
    # Pieces start every 820 mm and none is longer than 820 mm: halfway breaks can cross nothing.
    (_, middle, _) = breaks(samples.long_lay(), 2)
    xs = [[x for x, _ in p.outline] for p in samples.long_lay().placements]
    assert not any(min(x) + 1 < middle < max(x) - 1 for x in xs)
    assert abs(middle - 2500.0) <= 0.08 * 2500.0 + 1e-9


@pytest.mark.parametrize("name", NAMES)
def test_cloth_and_pieces_are_to_scale(name: str, composed: dict[str, Composition]) -> None:
    page = composed[name]
    material, _ = sample(name)
    drawn = sum(part.shape.area for part in page.parts)
    real = sum(shapely.Polygon(p.outline).area for p in material.placements)
    assert drawn / page.sheet.scale**2 == pytest.approx(real, rel=1e-3)
    for row in page.sheet.rows:
        assert row.right - row.left == pytest.approx((row.end - row.start) * page.sheet.scale)


@pytest.mark.parametrize("name", NAMES)
def test_everything_lies_on_the_page(name: str, composed: dict[str, Composition]) -> None:
    sheet = composed[name].sheet
    page = shapely.box(0, 0, sheet.width, sheet.height)
    for part in composed[name].parts:
        assert page.covers(part.shape)
        if part.label is not None:
            assert page.covers(part.label.box())
    # ISO 216: A4 landscape is 297 x 210 mm; larger pages are cut off below the drawing.
    assert (sheet.width, sheet.height) == PAGES[0] or sheet.width in {w for w, _ in PAGES[1:]}


@pytest.mark.parametrize("name", NAMES)
def test_every_placement_has_a_label_with_its_number(name: str, composed: dict[str, Composition]) -> None:
    material, _ = sample(name)
    main = [part for part in composed[name].parts if part.main]
    assert sorted(part.order for part in main) == list(range(1, len(material.placements) + 1))
    for part in main:
        assert part.label is not None
        assert re.match(rf"{part.placement.piece}\b", part.label.lines[0].text)
        told = " ".join(line.text for line in part.label.lines)
        explained = {entry.symbol for entry in composed[name].key if entry.number}
        if "M" not in told:
            assert part.placement.piece in explained
        else:
            assert re.search(r"×\d|\d (copies|copy|on fold|opened out)", told)


@pytest.mark.parametrize("name", NAMES)
def test_labels_lie_inside_their_piece_and_on_nothing_else(
    name: str, composed: dict[str, Composition]
) -> None:
    parts = composed[name].parts
    for part in parts:
        if part.label is None:
            continue
        box = part.label.box()
        if part.leader is None:
            assert part.shape.covers(box)
        else:
            assert not any(other.shape.intersects(box) for other in parts)
            assert shapely.Point(part.leader[1]).distance(part.shape) < 1e-6
        marks = [shapely.LineString(tick) for tick in part.notches]
        marks += [shapely.LineString(line) for line in part.lines]
        marks += [shapely.LineString(line) for line in part.hatch]
        marks += [shapely.Point(p).buffer(1.0) for p in part.drills]
        marks += [shapely.LineString(part.arrow)] if part.arrow else []
        marks += [shapely.LineString(part.bracket[0])] if part.bracket else []
        assert not any(mark.intersects(box) for mark in marks)
    boxes = [part.label.box() for part in parts if part.label is not None]
    assert not any(a.intersects(b) for a, b in combinations(boxes, 2))


@pytest.mark.parametrize("name", NAMES)
def test_no_word_overlaps_another_as_rendered(name: str, figures: dict[str, Any]) -> None:
    figure = figures[name]
    renderer = figure.canvas.get_renderer()
    whole = figure.bbox
    boxes = []
    for text in figure.axes[0].texts:
        if text.get_rotation() % 90 != 0:
            continue
        extent = text.get_window_extent(renderer)
        assert whole.x0 <= extent.x0 and extent.x1 <= whole.x1, text.get_text()
        assert whole.y0 <= extent.y0 and extent.y1 <= whole.y1, text.get_text()
        boxes.append((text.get_text(), text.get_gid(), extent))
    for (one, gid, a), (two, other, b) in combinations(boxes, 2):
        # Lines of one label share their leading; descenders may reach into it.
        if gid and other and gid.rsplit("-", 1)[0] == other.rsplit("-", 1)[0]:
            continue
        overlap_x = min(a.x1, b.x1) - max(a.x0, b.x0)
        overlap_y = min(a.y1, b.y1) - max(a.y0, b.y0)
        assert overlap_x <= 0.5 or overlap_y <= 0.5, (one, two)


def test_measured_text_is_as_wide_as_rendered(figures: dict[str, Any]) -> None:
    figure = figures["folded"]
    renderer = figure.canvas.get_renderer()
    for text in figure.axes[0].texts:
        if text.get_gid() and text.get_rotation() == 0:
            bold = text.get_fontweight() == "bold"
            width, _ = block_extent([Line(text.get_text(), bold)], text.get_fontsize())
            shown = text.get_window_extent(renderer).width / figure.dpi * 25.4
            # Hinting at 150 dpi moves each glyph by up to half a pixel.
            assert shown == pytest.approx(width, abs=0.5 + 0.03 * width)


def grey(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("L"), dtype=float)


def bare(part: Any, page: Composition, pixels: np.ndarray) -> np.ndarray:
    """Grey levels of a piece's inside, away from its words, arrow and edge."""
    inside = part.shape.buffer(-1.5)
    for line in (part.arrow, *part.lines):
        inside = inside.difference(shapely.LineString(line).buffer(2.0))
    inside = inside.difference(part.label.box(1.0))
    scale = pixels.shape[0] / page.sheet.height
    mask = Image.new("1", (pixels.shape[1], pixels.shape[0]))
    pen = ImageDraw.Draw(mask)
    for polygon in getattr(inside, "geoms", [inside]):
        points = [(x * scale, pixels.shape[0] - y * scale) for x, y in polygon.exterior.coords]
        pen.polygon(points, fill=1)
        for hole in polygon.interiors:
            pen.polygon([(x * scale, pixels.shape[0] - y * scale) for x, y in hole.coords], fill=0)
    return pixels[np.asarray(mask)]


def test_face_down_is_told_without_colour(composed: dict[str, Composition]) -> None:
    page = composed["opened"]
    pixels = grey(picture_bytes(*sample("opened"), "png"))
    up, down = (
        next(p for p in page.parts if p.placement.piece == "3" and p.placement.mirrored is face)
        for face in (False, True)
    )
    level_up, level_down = bare(up, page, pixels), bare(down, page, pixels)
    assert len(level_up) > 5000 and len(level_down) > 5000
    assert level_up.std() < 1.0
    assert level_down.std() > 10.0
    # The same tint lies under the hatching.
    assert np.median(level_up) == pytest.approx(np.median(level_down), abs=1.0)


def luminance(colour: str) -> float:
    """Relative luminance, W3C WCAG 2.1."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio from 1 to 21, W3C WCAG 2.1."""
    a, b = sorted((luminance(one), luminance(other)))
    return (b + 0.05) / (a + 0.05)


@pytest.mark.parametrize("fill", [*picture.TINTS, picture.ONE_LAYER, picture.TWO_LAYERS, "#ffffff"])
def test_words_have_contrast_on_every_ground(fill: str) -> None:
    # W3C WCAG 2.1, success criterion 1.4.6 (enhanced contrast): at least 7 to 1.
    assert contrast(picture.INK, fill) >= 7.0


@pytest.mark.parametrize("fill", picture.TINTS)
def test_hatching_shows_on_every_tint(fill: str) -> None:
    # W3C WCAG 2.1, success criterion 1.4.11 (non-text contrast): at least 3 to 1.
    assert contrast(picture.HATCH, fill) >= 3.0


def test_pieces_stand_out_from_the_cloth_and_its_layers_from_each_other_in_grey() -> None:
    darkest = min(luminance(tint) for tint in picture.TINTS)
    grounds = [luminance(c) for c in (picture.ONE_LAYER, picture.TWO_LAYERS, picture.SELVAGE)]
    assert darkest > grounds[0] + 0.02
    assert grounds[0] > grounds[1] + 0.1 and grounds[1] > grounds[2] + 0.1


@pytest.mark.parametrize(("name", "unit", "word"), [("folded", 10.0, "cm"), ("imperial", 25.4, "in")])
def test_rulers_count_in_the_users_unit(
    name: str, unit: float, word: str, figures: dict[str, Any], composed: dict[str, Composition]
) -> None:
    row = composed[name].sheet.rows[0]
    texts = [(t.get_text(), *t.get_position()) for t in figures[name].axes[0].texts]
    along = {
        t: x
        for t, x, y in texts
        if t.isdigit() and -11 < y - row.bottom < -5 and row.left - 1 <= x <= row.right
    }
    across = {t: y for t, x, y in texts if t.isdigit() and x < row.left - 5 and y > row.bottom - 2}
    assert len(along) > 10 and len(across) > 5
    for number, x in along.items():
        assert x == pytest.approx(row.x(int(number) * unit), abs=1e-6)
    heights = [y - row.y(int(number) * unit) for number, y in across.items()]
    assert max(heights) - min(heights) < 1e-6
    assert sum(t == word for t, _, _ in texts) == 2


def test_face_down_and_fold_marks_are_drawn(composed: dict[str, Composition]) -> None:
    for part in composed["folded"].parts:
        assert (part.bracket is not None) == part.placement.on_fold
        assert bool(part.hatch) == part.placement.mirrored
        if part.bracket is not None:
            line, heads = part.bracket
            fold = composed["folded"].sheet.rows[0].y(700.0)
            assert line[0][1] == pytest.approx(fold) and line[-1][1] == pytest.approx(fold)
            assert [head[0][1] for head in heads] == pytest.approx([fold, fold])
            assert all(part.shape.buffer(1e-6).covers(shapely.Point(p)) for p in line)
    opened = {p.placement.piece: p for p in composed["opened"].parts}
    assert opened["1"].centre_line is not None and opened["3"].centre_line is None


def test_the_middle_of_an_opened_piece_is_found_from_the_pattern(composed: dict[str, Composition]) -> None:
    material, job = sample("opened")
    bare_layout = replace(material, placements=tuple(replace(p, fold_edge=None) for p in material.placements))
    told = [p.centre_line for p in composed["opened"].parts]
    found = [p.centre_line for p in compose(bare_layout, job).parts]
    assert sum(line is not None for line in told) == 2
    for one, other in zip(told, found, strict=True):
        assert (one is None) == (other is None)
        if one is not None and other is not None:
            assert shapely.LineString(one).equals_exact(shapely.LineString(other), 1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_grain_arrows_run_along_the_grain_line(name: str, composed: dict[str, Composition]) -> None:
    for part in composed[name].parts:
        if part.arrow is None:
            continue
        (ax, ay), (bx, by) = part.arrow
        (gx, gy), (hx, hy) = part.placement.grain
        turn = math.atan2(by - ay, bx - ax) - math.atan2(hy - gy, hx - gx)
        assert math.cos(turn) == pytest.approx(1.0, abs=1e-9)
        row = min(composed[name].sheet.rows, key=lambda r: abs(r.at((gx, gy))[1] - ay))
        assert shapely.LineString([row.at((gx, gy)), row.at((hx, hy))]).distance(
            shapely.Point(ax, ay)
        ) == pytest.approx(0.0, abs=1e-6)
        assert part.shape.covers(shapely.LineString(part.arrow))


def test_notches_start_on_the_edge_and_point_inwards(composed: dict[str, Composition]) -> None:
    seen = 0
    for part in composed["folded"].parts:
        for foot, tip in part.notches:
            assert shapely.Point(foot).distance(part.shape.exterior) < 1e-6
            assert part.shape.contains(shapely.Point(tip))
            seen += 1
    assert seen == 2 + 1 + 2


def test_a_piece_too_thin_for_its_number_is_called_out_beside_it(composed: dict[str, Composition]) -> None:
    thin = [p for p in composed["thin"].parts if p.placement.piece == "9"]
    assert len(thin) == 2
    others = [p for p in composed["thin"].parts if p.placement.piece != "9"]
    for part in thin:
        assert part.leader is not None and part.label is not None
        leader = shapely.LineString(part.leader)
        assert not any(leader.crosses(p.shape) for p in [*thin, *others])


def test_pdf_is_a4_landscape_and_keeps_its_text() -> None:
    data = picture_bytes(*sample("folded"), "pdf")
    assert data.startswith(b"%PDF")
    (box,) = re.findall(rb"/MediaBox \[ ([\d. ]+) \]", data)
    # ISO 216: 297 x 210 mm at 72 points to the inch of 25.4 mm.
    assert [float(v) for v in box.split()] == pytest.approx(
        [0, 0, 297 / 25.4 * 72, 210 / 25.4 * 72], abs=0.01
    )
    assert b"CreationDate" not in data
    # ISO 32000: an embedded TrueType font, and the table that turns its glyphs back into text.
    assert b"/FontFile2" in data and b"/ToUnicode" in data


def test_the_same_layout_gives_the_same_bytes_in_another_process() -> None:
    code = (
        "import hashlib, sys\n"
        "from tests.report import samples\n"
        "from marker.report.picture import picture_bytes\n"
        "m, j = samples.mixed(), samples.job()\n"
        "for f in ('png', 'svg', 'pdf'): print(hashlib.sha256(picture_bytes(m, j, f)).hexdigest())\n"
        "assert 'matplotlib.pyplot' not in sys.modules\n"
    )
    found = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert found[0] == found[1] and len(found[0].split()) == 3


def test_a_whole_piece_over_two_layers_counts_both(composed: dict[str, Composition]) -> None:
    front = next(p for p in composed["crosswise_from_fold"].parts if p.placement.piece == "1")
    assert front.label is not None
    assert "2 opened out, 1 spare" in " ".join(line.text for line in front.label.lines)


def test_importing_the_report_loads_nothing_heavy() -> None:
    code = (
        "import sys, marker.report, marker.report.text, marker.report.chart, marker.report.shopping\n"
        "heavy = {'matplotlib', 'rich', 'shapely', 'numpy'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_an_unknown_format_is_refused() -> None:
    with pytest.raises(ValueError, match="gif"):
        picture_bytes(*sample("thin"), "gif")  # type: ignore[arg-type]


def test_dollar_signs_in_names_are_no_formulas() -> None:
    material, job = sample("thin")
    named = replace(
        material, placements=tuple(replace(p, name="Cost $5 and $6") for p in material.placements)
    )
    assert "1 Cost $5 and $6" in svg_words(picture_bytes(named, job, "svg"))


def test_labels_take_the_largest_size_that_fits() -> None:
    line = [Line("Pocket")]
    width, height = block_extent(line, 8.0)
    roomy = Room(shapely.box(0, 0, width + 1.0, height + 1.0))
    assert roomy.place(line, 8.0) is not None
    assert roomy.place(line, 10.0) is None
    label = roomy.largest([line], [10.0, 8.0, 6.0])
    assert label is not None and label.size == 8.0


def test_an_upright_strip_gets_an_upright_label() -> None:
    label = Space(shapely.box(0, 0, 5, 60)).fit([[Line("Neck placket facing", True)]], [8.0, 6.0])
    assert label is not None and label.angle == 90.0


def test_a_slanting_strip_gets_a_slanting_label() -> None:
    strip = shapely.LineString([(0, 0), (40, 40)]).buffer(2.5)
    label = Space(strip).fit([[Line("Neck placket facing", True)]], [8.0, 6.0])
    assert label is not None and label.angle == pytest.approx(45.0, abs=1.0)
    assert strip.covers(label.box())


def test_wrapping_keeps_the_words_in_order() -> None:
    words = ["5", "Neck", "placket", "facing"]
    assert wrappings(words, 3) == [
        ("5 Neck placket facing",),
        ("5 Neck", "placket facing"),
        ("5 Neck", "placket", "facing"),
    ]


def test_a_piece_has_one_colour_in_every_view() -> None:
    """By its number alone: a view without the first pieces colours the others as before."""
    laid = samples.folded()
    tints = {part.placement.piece: part.tint for part in compose(laid, samples.job()).parts}
    fewer = tuple(piece for piece in samples.PIECES if piece.number != samples.PIECES[0].number)
    other = {part.placement.piece: part.tint for part in compose(laid, samples.job(pieces=fewer)).parts}
    assert tints == other and len(set(tints.values())) > 2


def test_the_key_explains_only_what_is_drawn() -> None:
    """A print too fine to draw has no entry."""
    laid, job = printed.striped()
    fabric = job.fabrics[laid.material]
    assert fabric.print is not None
    symbols = {entry.symbol for entry in compose(laid, job).key}
    assert "print" in symbols
    fine = replace(fabric, print=replace(fabric.print, along=1.0, across=None))
    symbols = {e.symbol for e in compose(laid, replace(job, fabrics={laid.material: fine})).key}
    assert "print" not in symbols
