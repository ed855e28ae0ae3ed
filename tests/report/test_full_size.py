"""Full-size paper, read back and measured: to scale, nothing lost at a join, joins that meet."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.model.job import Job
from marker.model.layout import Band, MaterialLayout
from marker.report.full_size import FullSize, _names, full_size
from marker.report.plane import lay_plane
from marker.report.sheet_canvas import Words
from marker.report.tiles import PAPERS, Grid, Tile, even_joins, row_letters
from tests.report import samples
from tests.report.pdf_reading import Page, found, read

# ISO 216 (A4, A0); ANSI/ASME Y14.1 letter: 8 1/2 x 11 in.
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4), "a0": (841.0, 1189.0)}
MARGIN = 10.0

Point = tuple[float, float]


def stretched() -> MaterialLayout:
    """The lay in one layer with its pieces strewn along 9.8 m: every one of them in a place of its own."""
    base = samples.opened()
    placements = []
    for p in base.placements:
        by = 4.0 * min(x for x, _ in p.outline)
        placements.append(
            replace(
                p,
                outline=tuple((x + by, y) for x, y in p.outline),
                grain=((p.grain[0][0] + by, p.grain[0][1]), (p.grain[1][0] + by, p.grain[1][1])),
                notches=(),
                drills=(),
                lines=(),
                fold_edge=None,
            )
        )
    bands = (Band((0.0, 9800.0), (10.0, 1390.0), 1),)
    return replace(base, bands=bands, length=9800.0, placements=tuple(placements))


@cache
def sample(name: str) -> tuple[MaterialLayout, Job]:
    if name == "imperial":
        return samples.imperial(), samples.imperial_job()
    if name == "stretched":
        return stretched(), samples.job()
    return samples.ALL[name](), samples.job(pieces=(*samples.PIECES, samples.BINDING))


@cache
def made(name: str, paper: str) -> FullSize:
    return full_size(*sample(name), paper)  # type: ignore[arg-type]


@cache
def pages(name: str, paper: str) -> list[Page]:
    return read(made(name, paper).pdf)


def length(points: tuple[Point, ...]) -> float:
    return sum(math.dist(a, b) for a, b in pairwise((*points, points[0])))


def shift_of(page: Page, material: MaterialLayout) -> tuple[Point, tuple[float, float, float, float]]:
    """How the lay is moved on a page, and the box it shows through, from an outline that is drawn there."""
    seen = []
    for placement in material.placements:
        for path in found(page, placement.outline):
            (x, y), (px, py) = path.points[0], placement.outline[0]
            seen.append((x - px, y - py))
    assert seen

    def agree(shift: Point) -> int:
        return sum(math.dist(shift, other) < 0.1 for other in seen)

    # PDFium names no clip for what lies wholly inside it, but something always reaches out.
    (clip,) = {path.clip for path in page.paths if path.clip is not None}
    # Pieces of one form stand for one another; the shift that the most agree on is the page's.
    return max(seen, key=agree), clip


def tiles(name: str, paper: str) -> dict[str, tuple[Page, Point, shapely.Polygon]]:
    """Sheets by their label: the page, the shift of the lay on it, and the part of the lay it shows."""
    material, _ = sample(name)
    sheets = pages(name, paper) if paper == "roll" else pages(name, paper)[1:]
    result = {}
    for page in sheets:
        (dx, dy), clip = shift_of(page, material)
        label = re.findall(r"\b([A-Z]+\d+) (?=Harbour smock)", page.text)[-1]
        assert label not in result
        box = shapely.box(clip[0] - dx, clip[1] - dy, clip[2] - dx, clip[3] - dy)
        result[label] = (page, (dx, dy), box)
    return result


@pytest.mark.parametrize("paper", ["a4", "letter", "a0"])
def test_sheets_are_of_the_paper_asked_for(paper: str) -> None:
    first, *sheets = pages("folded", paper)
    assert sorted((first.width, first.height)) == pytest.approx(
        SIZES["letter" if paper == "letter" else "a4"], abs=0.01
    )
    for page in sheets:
        assert sorted((page.width, page.height)) == pytest.approx(SIZES[paper], abs=0.01)
    assert made("folded", paper).pages == 1 + len(sheets)


@pytest.mark.parametrize(
    "name, paper, side",
    [
        ("folded", "a4", 100.0),
        ("folded", "roll", 100.0),
        ("imperial", "letter", 101.6),
        ("imperial", "roll", 101.6),
    ],
)
def test_the_test_square_measures_what_it_says(name: str, paper: str, side: float) -> None:
    # 4 in are 101.6 mm exactly (international yard and pound agreement of 1959).
    page = pages(name, paper)[0]
    squares = [p for p in page.paths if p.closed and all(abs(s - side) < 2.0 for s in p.size)]
    assert len(squares) == 1
    assert squares[0].size == pytest.approx((side, side), abs=0.05)
    assert ("Test square: 4 in" if side > 101 else "Test square: 100 mm") in page.text
    # And again as pixels, with a ruler that knows nothing of paths: 254 dpi is 10 pixels to the mm.
    grey = page.pixels(254)
    x0 = round(min(x for x, _ in squares[0].points) * 10)
    y = round((page.height - sum(y for _, y in squares[0].points[:3:2]) / 2) * 10)
    dark = (grey[y, :] < 128).nonzero()[0]
    assert min(abs(dark - x0)) <= 2
    assert min(abs(dark - (x0 + 10 * side))) <= 2


def test_one_long_sheet_is_as_wide_as_the_spread_and_as_long_as_the_lay() -> None:
    (page,) = pages("folded", "roll")
    # 700 mm of folded cloth, 1640 mm of lay, margins of 10 mm, and room for words before and below.
    assert 700.0 + 2 * MARGIN <= page.height <= 700.0 + 2 * MARGIN + 12.0
    assert 1640.0 + 100.0 + 2 * MARGIN <= page.width <= 1640.0 + 100.0 + 2 * MARGIN + 35.0


@pytest.mark.parametrize("name", ["folded", "opened", "mixed", "tube", "interfacing", "thin"])
def test_outlines_are_in_true_size_and_in_their_places(name: str) -> None:
    material, _ = sample(name)
    (page,) = pages(name, "roll")
    shifts = set()
    for placement in material.placements:
        matches = found(page, placement.outline)
        assert matches
        assert length(matches[0].points) == pytest.approx(length(placement.outline), abs=0.05)
        shifts.add(
            frozenset(
                (
                    round(m.points[0][0] - placement.outline[0][0], 1),
                    round(m.points[0][1] - placement.outline[0][1], 1),
                )
                for m in matches
            )
        )
    # One shift explains them all: the pieces lie to each other as they do in the layout.
    assert frozenset.intersection(*shifts)


@pytest.mark.parametrize("name, paper", [("folded", "a4"), ("imperial", "letter"), ("mixed", "a0")])
def test_the_same_point_on_two_sheets_meets_when_they_are_joined(name: str, paper: str) -> None:
    material, _ = sample(name)
    sheets = tiles(name, paper)
    step = PAPERS[paper].overlap
    origins = {}
    for label, (page, (dx, dy), box) in sheets.items():
        row, column = re.fullmatch(r"([A-Z]+)(\d+)", label).groups()  # type: ignore[union-attr]
        origins[row, int(column)] = box
        for placement in material.placements:
            for path in found(page, placement.outline):
                here = [(x - dx, y - dy) for x, y in path.points]
                near = min(
                    max(math.dist(a, b) for a, b in zip(here, other.outline, strict=True))
                    for other in material.placements
                    if len(other.outline) == len(here)
                )
                assert near < 0.01
    joined = 0
    for (row, column), box in origins.items():
        beside = origins.get((row, column + 1))
        if beside is not None:
            shared = box.intersection(beside).bounds
            assert shared[2] - shared[0] == pytest.approx(step, abs=0.01)
            joined += 1
        below = origins.get((chr(ord(row) + 1), column))
        if below is not None:
            shared = box.intersection(below).bounds
            assert shared[3] - shared[1] == pytest.approx(step, abs=0.01)
            joined += 1
    assert joined >= len(origins) - 1


def crosses(page: Page, shift: Point) -> list[Point]:
    """Middles of the registration crosses in the lay: each has a small ring of 24 sides round it."""
    rings = [p for p in page.paths if p.closed and len(p.points) in (24, 25) and max(p.size) < 6.0]
    middles = []
    for ring in rings:
        xs, ys = [x for x, _ in ring.points], [y for _, y in ring.points]
        middles.append(((min(xs) + max(xs)) / 2 - shift[0], (min(ys) + max(ys)) / 2 - shift[1]))
    return middles


@pytest.mark.parametrize("name, paper", [("folded", "a4"), ("mixed", "a0"), ("stretched", "roll")])
def test_neighbours_share_crosses(name: str, paper: str) -> None:
    sheets = tiles(name, paper)
    joined = 0
    for label, (page, shift, _) in sheets.items():
        row, column = re.fullmatch(r"([A-Z]+)(\d+)", label).groups()  # type: ignore[union-attr]
        for other in (f"{row}{int(column) + 1}", f"{chr(ord(row) + 1)}{column}"):
            if other not in sheets:
                continue
            there = crosses(sheets[other][0], sheets[other][1])
            common = [a for a in crosses(page, shift) if any(math.dist(a, b) < 0.01 for b in there)]
            assert len(common) >= 3
            assert f"{other} goes over this edge" in page.text
            assert f"lay on {label}" in sheets[other][0].text
            joined += 1
    assert joined >= len(sheets) - 1


@pytest.mark.parametrize(
    "name, paper", [("folded", "a4"), ("imperial", "letter"), ("thin", "a4"), ("stretched", "roll")]
)
def test_nothing_is_lost_at_the_joins(name: str, paper: str) -> None:
    material, _ = sample(name)
    sheets = tiles(name, paper)
    whole = shapely.union_all([box for _, _, box in sheets.values()])
    for placement in material.placements:
        assert whole.covers(shapely.LinearRing(placement.outline))
    # As ink, too: wherever a sheet shows a place on an outline, its picture is dark there.
    dpi = 100 if paper != "roll" else 25
    pixels = {label: page.pixels(dpi) for label, (page, _, _) in sheets.items()}
    seen_twice = 0
    for placement in material.placements:
        ring = shapely.LinearRing(placement.outline)
        for k in range(int(ring.length // 17)):
            at = ring.interpolate(17.0 * k)
            shown = [label for label, (_, _, box) in sheets.items() if box.buffer(-0.5).contains(at)]
            assert shown
            seen_twice += len(shown) > 1
            for label in shown:
                page, (dx, dy), _ = sheets[label]
                column = int((at.x + dx) * dpi / 25.4)
                row = int((page.height - at.y - dy) * dpi / 25.4)
                around = pixels[label][max(0, row - 1) : row + 2, max(0, column - 1) : column + 2]
                assert around.min() < 160, (label, at)
    # A roll is split where no piece lies, if there is such a place.
    assert seen_twice > 0 or paper == "roll"


@pytest.mark.parametrize("name, paper", [("folded", "a4"), ("imperial", "letter")])
def test_margins_stay_blank(name: str, paper: str) -> None:
    for page in pages(name, paper):
        grey = page.pixels(50)
        edge = int((MARGIN - 0.6) * 50 / 25.4)
        for strip in (grey[:edge], grey[-edge:], grey[:, :edge], grey[:, -edge:]):
            assert strip.min() > 250


@pytest.mark.parametrize(
    "name, paper", [("folded", "a4"), ("thin", "a4"), ("imperial", "letter"), ("flawed", "a4")]
)
def test_only_sheets_with_something_on_them(name: str, paper: str) -> None:
    material, _ = sample(name)
    sheets = tiles(name, paper)
    pieces = shapely.union_all([shapely.Polygon(p.outline) for p in material.placements])
    half = PAPERS[paper].overlap / 2
    for _, _, box in sheets.values():
        assert box.buffer(-half, join_style="mitre").intersects(pieces)
    first = pages(name, paper)[0].text
    told = re.search(r"Blank ones are left out: ([A-Z0-9, ]+)\.", first)
    blank = told[1].split(", ") if told else []
    rows, columns = re.search(r"in (\d+) rows? of up to (\d+)", first).groups()  # type: ignore[union-attr]
    every = {f"{row_letters(r)}{c + 1}" for r in range(int(rows)) for c in range(int(columns))}
    assert {*sheets} | {*blank} == every and not {*sheets} & {*blank}
    assert f"{len(sheets)} sheets of" in first


def test_a_lay_longer_than_a_pdf_page_is_split_and_says_so() -> None:
    made_ = made("very_long_lay", "roll")
    sheets = pages("very_long_lay", "roll")
    # ISO 32000-1, annex C: a page has at most 14,400 units of 1/72 in a side, 5.08 m.
    assert len(sheets) > 1
    assert all(max(page.width, page.height) <= 5080.0 + 1e-6 for page in sheets)
    assert b"UserUnit" not in made_.pdf
    (note,) = made_.notes
    assert "14 m" in note and "5.08 m" in note and f"{len(sheets)} sheets" in note
    assert f"split into {len(sheets)} sheets" in sheets[0].text
    assert made("opened", "roll").notes == () and len(pages("opened", "roll")) == 1


@pytest.mark.parametrize("name, paper", [("folded", "a4"), ("folded", "roll"), ("very_long_lay", "roll")])
def test_every_page_asks_for_printing_at_full_size(name: str, paper: str) -> None:
    for page in pages(name, paper):
        assert re.search(r"at 100 %.{0,20}, not fitted to the page", page.text)
    # ISO 32000-1, 12.2: what the print dialogue offers first.
    assert re.search(rb"/PrintScaling\s*/None", made(name, paper).pdf)


def test_words_survive_in_any_script_of_the_typeface() -> None:
    material, job = sample("folded")
    named = replace(job, pattern="Tröja Ωμέγα Рубашка")
    page, *_ = read(full_size(material, named, "roll").pdf)
    assert "Tröja Ωμέγα Рубашка" in page.text
    assert "1 Front" in page.text and "on the fold" in page.text and "line 2 of the chart" in page.text


@pytest.mark.parametrize("name", sorted(samples.ALL))
def test_every_piece_has_its_label_inside(name: str) -> None:
    plane = lay_plane(*sample(name))
    material, _ = sample(name)
    assert len(plane.shown) == len(material.placements)
    for shown in plane.shown:
        assert shown.label is not None
        assert shown.shape.covers(shown.label.box())
        assert shown.label.lines[0].text.split()[0] == shown.number


def test_the_same_layout_gives_the_same_bytes_in_any_process() -> None:
    code = (
        "import hashlib\n"
        "from tests.report import samples\n"
        "from marker.report.full_size import full_size\n"
        "print(hashlib.sha256(full_size(samples.mixed(), samples.job(), 'a4').pdf).hexdigest())"
    )
    prints = set()
    for seed in ("1", "2"):
        env = {**os.environ, "PYTHONHASHSEED": seed}
        done = subprocess.run(
            [sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True
        )
        prints.add(done.stdout)
    assert len(prints) == 1


def test_an_edge_just_on_a_join_is_no_trouble() -> None:
    """An L whose upright ends exactly where the next sheet begins: that sheet gets its foot, and its name."""
    material, job = sample("opened")
    corner = ((0.0, 20.0), (400.0, 20.0), (400.0, 120.0), (180.0, 120.0), (180.0, 400.0), (0.0, 400.0))
    first = replace(material.placements[0], outline=corner, notches=(), drills=(), lines=(), fold_edge=None)
    plane = lay_plane(replace(material, placements=(first,)), job)
    names = _names(plane, Tile(0, 1, 180.0, 0.0, 360.0, 260.0, 5.0))
    assert [word.text for word in names if isinstance(word, Words)] == [plane.shown[0].name]


def test_unknown_paper_is_refused() -> None:
    with pytest.raises(ValueError, match="a3"):
        full_size(*sample("folded"), "a3")  # type: ignore[arg-type]


@given(st.floats(-2000, 2000), st.floats(1, 9000), st.floats(50, 3000))
def test_joins_are_few_and_cover_everything(start: float, long: float, step: float) -> None:
    joins = even_joins(start, start + long, step)
    assert joins[0] == start and joins[-1] == start + long
    assert all(0 < b - a <= step + 1e-6 for a, b in pairwise(joins))
    assert len(joins) - 2 <= long / step


@given(
    st.lists(st.floats(10, 500), min_size=1, max_size=40),
    st.lists(st.floats(10, 500), min_size=1, max_size=5),
)
def test_sheets_divide_the_plane_without_gap_or_overlap(heights: list[float], widths: list[float]) -> None:
    xs, ys = [0.0], [0.0]
    for w in widths:
        xs.append(xs[-1] + w)
    for h in heights:
        ys.append(ys[-1] - h)
    sheets = Grid(tuple(xs), tuple(ys), 5.0).tiles()
    assert len({t.label for t in sheets}) == len(sheets)
    area = sum((t.right - t.left) * (t.top - t.bottom) for t in sheets)
    assert area == pytest.approx(xs[-1] * -ys[-1], rel=1e-9)


def test_rows_after_z_go_on_with_two_letters() -> None:
    assert [row_letters(k) for k in (0, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]
