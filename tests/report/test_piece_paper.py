"""Each piece once in true size, read back with PDFium: sizes, places, what is whole and what is joined.

ISO 216 (A4 210 x 297 mm); an inch is 25.4 mm exactly (international yard and pound agreement of 1959).
"""

from __future__ import annotations

import math
import re
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest
import shapely
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.cli import main
from marker.errors import InputError
from marker.files.pattern import load_pattern
from marker.model.pattern import Pattern
from marker.model.piece import Piece
from marker.report.full_size import FullSize
from marker.report.piece_paper import pieces_full_size
from marker.report.piece_places import on_roll, on_sheets
from marker.report.tiles import PAPERS
from tests.report.pdf_reading import Outline, Page, found, read

DEMOS = {"market-apron": "one size", "harbour-smock": "M", "gored-skirt": "L"}
MARGIN = 10.0


@cache
def pattern(name: str) -> Pattern:
    return load_pattern(Path(f"pieces/{name}.toml"))


@cache
def made(name: str, paper: str) -> FullSize:
    return pieces_full_size(pattern(name), DEMOS[name], paper)  # type: ignore[arg-type]


@cache
def pages(name: str, paper: str) -> list[Page]:
    return read(made(name, paper).pdf)


def upright_or_turned(page: Page, outline: tuple[tuple[float, float], ...]) -> list[tuple[Outline, bool]]:
    """The paths on a page that are this outline, moved, and whether it is turned by 90 degrees."""
    turned = tuple((-y, x) for x, y in outline)
    return [
        *((path, False) for path in found(page, outline)),
        *((path, True) for path in found(page, turned)),
    ]


def parts(name: str, paper: str, piece: Piece) -> list[tuple[Page, Outline, bool]]:
    """The sheets that this piece is on; pieces of one form have the same sheets."""
    return [
        (page, path, turned)
        for page in pages(name, paper)[0 if paper == "roll" else 1 :]
        for path, turned in upright_or_turned(page, piece.outline)
    ]


def on_piece(path: Outline, turned: bool, point: tuple[float, float], piece: Piece) -> tuple[float, float]:
    """Where a point of the page lies on the piece as the pattern has it."""
    (x, y), (px, py) = path.points[0], piece.outline[0]
    dx, dy = point[0] - x, point[1] - y
    return (px + dy, py - dx) if turned else (px + dx, py + dy)


@pytest.mark.parametrize("paper", ["a4", "letter", "a0", "roll"])
@pytest.mark.parametrize("name", DEMOS)
def test_every_piece_is_there_in_true_size_and_complete(name: str, paper: str) -> None:
    for piece in pattern(name).pieces[DEMOS[name]]:
        seen = parts(name, paper, piece)
        assert seen, piece.name
        boxes = []
        for page, path, turned in seen:
            left, bottom, right, top = path.clip or (0.0, 0.0, page.width, page.height)
            corners = [on_piece(path, turned, (x, y), piece) for x in (left, right) for y in (bottom, top)]
            boxes.append(shapely.MultiPoint(corners).envelope)
        assert shapely.union_all(boxes).buffer(0.01).covers(shapely.LinearRing(piece.outline)), piece.name


@pytest.mark.parametrize("name", ["market-apron", "harbour-smock"])
def test_a_piece_that_fits_a_sheet_is_whole_on_one(name: str) -> None:
    # A4 less margins of 10 mm and a foot of 8 mm, less 1 mm on every side for the line itself.
    room = sorted((210.0 - 20.0 - 2.0, 297.0 - 20.0 - 8.0 - 2.0))
    fitting = 0
    for piece in pattern(name).pieces[DEMOS[name]]:
        x0, y0, x1, y1 = shapely.Polygon(piece.outline).bounds
        small = all(a <= b for a, b in zip(sorted((x1 - x0, y1 - y0)), room, strict=True))
        seen = parts(name, "a4", piece)
        if small:
            fitting += 1
            same = sum(
                len(other.outline) == len(piece.outline) and bool(found_like(other, piece))
                for other in pattern(name).pieces[DEMOS[name]]
            )
            assert len(seen) == same
            for _, path, _ in seen:
                assert path.clip is None or inside(path)
        else:
            assert len(seen) > 1
    assert fitting > 0


def found_like(one: Piece, other: Piece) -> bool:
    a, b = (shapely.Polygon(piece.outline) for piece in (one, other))
    (ax, ay, *_), (bx, by, *_) = a.bounds, b.bounds
    moved = shapely.affinity.translate(a, bx - ax, by - ay)
    return bool(moved.symmetric_difference(b).area < 1.0)


def inside(path: Outline) -> bool:
    assert path.clip is not None
    return bool(shapely.box(*path.clip).covers(shapely.LinearRing(path.points)))


def test_small_pieces_share_sheets_and_long_ones_lie_side_by_side() -> None:
    whole = pages("market-apron", "a4")
    sheets = {
        piece.name: {page.number for page, _, _ in parts("market-apron", "a4", piece)}
        for piece in pattern("market-apron").pieces["one size"]
    }
    assert sheets["Neck strap"] & sheets["Tie"]
    assert sum(map(len, sheets.values())) > len(whole) - 1
    smock = {
        piece.name: {page.number for page, _, _ in parts("harbour-smock", "a4", piece)}
        for piece in pattern("harbour-smock").pieces["M"]
    }
    assert sum(len(a & b) > 0 for a, b in combinations(smock.values(), 2)) >= 3


def test_what_is_on_a_piece_is_in_its_place() -> None:
    """Stitching line, drill points and grain line of the smock's cuff, on the plotter's sheet."""
    for name, piece_name in (("harbour-smock", "Cuff"), ("harbour-smock", "Sleeve")):
        piece = next(p for p in pattern(name).pieces[DEMOS[name]] if p.name == piece_name)
        ((page, path, turned),) = parts(name, "roll", piece)
        there = [[on_piece(path, turned, point, piece) for point in other.points] for other in page.paths]
        vertices = [point for points in there for point in points]
        assert piece.stitching is not None
        for corner in piece.stitching:
            assert min(math.dist(corner, point) for point in vertices) < 0.01
        rings = [points for points in there if len(points) in (24, 25)]
        middles = [(sum(x for x, _ in r[:24]) / 24, sum(y for _, y in r[:24]) / 24) for r in rings]
        for drill in piece.drills:
            assert min(math.dist(drill, middle) for middle in middles) < 0.02
        head = piece.grain[1]
        assert min(math.dist(head, point) for point in vertices) < 0.01
        for notch in piece.notches:
            assert min(math.dist(notch.at, point) for point in vertices) < 0.01


def test_nobody_is_told_to_stitch_along_the_fold() -> None:
    front = next(p for p in pattern("harbour-smock").pieces["M"] if p.name == "Back")
    assert front.stitching is not None and front.fold_edge is not None
    ((page, path, turned),) = parts("harbour-smock", "roll", front)
    fold = shapely.LineString(front.fold_edge)
    for other in page.paths:
        if other is path or other.closed or len(other.points) < 2:
            continue
        line = shapely.LineString([on_piece(path, turned, point, front) for point in other.points])
        if line.distance(fold) < 1.0 and len(other.points) > 4:
            assert line.intersection(fold.buffer(0.02)).length < 1.0


@pytest.mark.parametrize("paper", ["a4", "roll"])
def test_words_say_what_the_piece_is_and_how_it_is_cut(paper: str) -> None:
    text = " ".join(page.text for page in pages("harbour-smock", paper))
    for told in (
        "Front",
        "Harbour smock, size M",
        "cut 1 on fold in fabric",
        "cut 2 (pair) in fabric",
        "seam allowance 1.0 cm included",
        "place on the fold",
        "guide, not cut",
        "overlap only",
        "Test square: 100 mm",
    ):
        assert told in text, told
    for page in pages("harbour-smock", paper):
        assert re.search(r"at 100 %.{0,20}, not fitted to the page", page.text)
    assert re.search(rb"/PrintScaling\s*/None", made("harbour-smock", paper).pdf)


@pytest.mark.parametrize("paper", ["a4", "roll"])
@pytest.mark.parametrize("name", DEMOS)
def test_how_often_each_piece_is_cut_is_told_somewhere(name: str, paper: str) -> None:
    text = " ".join(page.text for page in pages(name, paper))
    for piece in pattern(name).pieces[DEMOS[name]]:
        first = f"{piece.number} {piece.name}"
        assert first in text
        for cut in piece.cuts:
            # On the piece or, where it is too small, on the first page.
            assert re.search(
                rf"{re.escape(first)}.{{0,120}}?cut {cut.count}\b.{{0,60}}? in {cut.material}", text
            )


def test_only_what_is_drawn_is_explained(tmp_path: Path) -> None:
    plain = tmp_path / "square.toml"
    plain.write_text(
        'name = "Square"\nunit = "in"\nseam_allowance = "included"\n[fabric.fabric]\nwidth = "45 in"\n'
        '[[piece]]\nnumber = "1"\nname = "Square"\ncuts = [{ material = "fabric", count = 2 }]\n'
        "[piece.drawing.every]\ngrain = [[2, 3], [2, 1]]\ncorners = [[0, 0], [4, 0], [4, 4], [0, 4]]\n",
        encoding="utf-8",
    )
    first, sheet = read(pieces_full_size(load_pattern(plain), None, "letter").pdf)
    inside = tmp_path / "inside.toml"
    told = plain.read_text(encoding="utf-8").replace('"included"', '"included 1/2 in"')
    inside.write_text(told, encoding="utf-8")
    explained, sewn = read(pieces_full_size(load_pattern(inside), None, "letter").pdf)
    assert "stitching line" in explained.text and "seam allowance 1/2 in included" in sewn.text
    assert "Heavy line" in first.text and "One piece" in first.text
    for absent in ("stitching", "fold", "notches", "drill", "Long dashes", "joined"):
        assert absent not in first.text
    assert "seam allowance" not in sheet.text
    # 4 in square, and a test square of 4 in.
    for page in (first, sheet):
        squares = [p for p in page.paths if p.closed and all(abs(s - 101.6) < 0.05 for s in p.size)]
        assert squares
    assert "Test square: 4 in" in first.text


@pytest.mark.parametrize("name, paper", [("harbour-smock", "a4"), ("gored-skirt", "letter")])
def test_margins_stay_blank_and_sheets_have_names_of_their_own(name: str, paper: str) -> None:
    labels = []
    for page in pages(name, paper):
        grey = page.pixels(40)
        edge = int((MARGIN - 0.8) * 40 / 25.4)
        for strip in (grey[:edge], grey[-edge:], grey[:, :edge], grey[:, -edge:]):
            assert strip.min() > 250
        labels += re.findall(r"\b([A-Z]+\d+) (?=[A-Z][a-z ]+, size \w+: pattern pieces\. Print)", page.text)
    assert len(labels) == len(set(labels)) == made(name, paper).pages - 1
    assert f"{len(labels)} sheets of" in pages(name, paper)[0].text


def test_joined_sheets_say_which_they_join_and_others_do_not() -> None:
    joined = 0
    for page in pages("harbour-smock", "a4")[1:]:
        asked = set(re.findall(r"\b([A-Z]+\d+)(?= goes over this edge)", page.text))
        joined += len(asked)
        there = " ".join(other.text for other in pages("harbour-smock", "a4")[1:])
        own = re.findall(r"\b([A-Z]+\d+) (?=Harbour smock, size M: pattern)", page.text)[-1]
        for label in asked:
            assert f"{label} Harbour smock" in there
        whole = not asked and "cut here, then lay on" not in page.text
        if whole:
            assert not re.search(rf"lay on {own}\b|{own} goes over", there)
    assert joined > 10


def test_the_same_pieces_give_the_same_bytes() -> None:
    again = pieces_full_size(pattern("market-apron"), None, "a4")
    assert again.pdf == made("market-apron", "a4").pdf


def rectangle(number: int, size: tuple[float, float]) -> Piece:
    w, h = size
    ring = ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))
    return Piece(str(number), "Part", ring, ((w / 2, 0.2 * h), (w / 2, 0.8 * h)))


sides = st.floats(5.0, 700.0)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(sides, sides), min_size=1, max_size=9), st.sampled_from(["a4", "letter", "roll"]))
def test_pieces_lie_apart_on_their_sheets_each_once(sizes: list[tuple[float, float]], paper: str) -> None:
    pieces = [rectangle(k, size) for k, size in enumerate(sizes)]
    blocks = on_roll(pieces) if paper == "roll" else on_sheets(pieces, PAPERS[paper])
    placed = [piece for block in blocks for piece in block.pieces]
    assert sorted(piece.number for piece in placed) == sorted(piece.number for piece in pieces)
    shapes = [shapely.Polygon(piece.outline) for piece in placed]
    for one, other in combinations(shapes, 2):
        assert one.distance(other) > 7.9
    for block in blocks:
        tiles = block.grid.tiles()
        shown = shapely.union_all([shapely.box(*tile.shown) for tile in tiles])
        for piece in block.pieces:
            shape = shapely.Polygon(piece.outline)
            assert shown.buffer(1e-6, join_style="mitre").covers(shape.buffer(0.99, join_style="mitre"))
        if paper == "roll":
            assert len(tiles) == 1
            continue
        wide, high = PAPERS[paper].room
        for tile in tiles:
            x0, y0, x1, y1 = tile.shown
            assert x1 - x0 <= wide + 1e-6 and y1 - y0 <= high + 1e-6
    for piece, (w, h) in zip(pieces, sizes, strict=True):
        if paper != "roll" and any(
            a + 2.0 <= PAPERS[paper].room[0] and b + 2.0 <= PAPERS[paper].room[1] for a, b in ((w, h), (h, w))
        ):
            (block,) = [b for b in blocks if any(p.number == piece.number for p in b.pieces)]
            assert len(block.grid.tiles()) == 1


def test_a_piece_longer_than_a_pdf_page_is_put_together(tmp_path: Path) -> None:
    blocks = on_roll([rectangle(1, (9000.0, 300.0)), rectangle(2, (300.0, 400.0))])
    assert sorted(len(block.grid.tiles()) for block in blocks) == [1, 2]


def test_the_command_writes_each_size_asked_for(tmp_path: Path) -> None:
    run = CliRunner().invoke(
        main,
        ["check", "pieces/gored-skirt.toml", "pieces/linen-150.toml", "--paper", "a0", "--size", "S"]
        + ["--out", str(tmp_path)],
    )
    assert run.exit_code == 0, run.output
    assert [file.name for file in tmp_path.iterdir()] == ["gored-skirt-S-pieces-a0.pdf"]
    assert "valid pattern" in run.output and "sheets of A0" in run.output
    wrong = CliRunner().invoke(
        main, ["check", "pieces/gored-skirt.toml", "--paper", "a4", "--size", "Q", "--out", str(tmp_path)]
    )
    assert (
        wrong.exit_code == 1 and "there is no size Q" in wrong.output and len(list(tmp_path.iterdir())) == 1
    )


def test_a_pattern_with_several_sizes_needs_one() -> None:
    with pytest.raises(InputError, match="which size"):
        pieces_full_size(pattern("harbour-smock"), None, "a4")
    with pytest.raises(ValueError, match="no such paper"):
        pieces_full_size(pattern("market-apron"), None, "a5")  # type: ignore[arg-type]
