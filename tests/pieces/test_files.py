"""The demo files as files: what the script writes, loadable, graded, with the counts a maker expects."""

from __future__ import annotations

import math
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from shapely import Polygon

from marker.files.fabric import load_fabrics
from marker.files.pattern import load_pattern
from marker.model.pattern import Pattern
from marker.model.piece import Piece
from tests.pieces.drawn import PIECES, Drawn, drawn, read

PATTERNS = ("harbour-smock.toml", "market-apron.toml", "gored-skirt.toml")
LONE = {"harbour-smock.toml": {"pleat"}}
"""Notches that meet nothing but a fold line of their own piece."""


def every_drawing(name: str) -> Iterator[Drawn]:
    file = read(name)
    for piece in file["piece"]:
        for size in file["sizes"]:
            yield drawn(name, piece["number"], size)


def cut_pieces(pattern: Pattern, view: str, material: str) -> int:
    (chosen,) = (v for v in pattern.views if v.name == view)
    return sum(
        cut.count
        for piece in pattern.pieces[pattern.sizes[0]]
        if piece.number in chosen.pieces
        for cut in piece.cuts
        if cut.material == material
    )


def test_the_files_are_what_the_script_writes(tmp_path: Path) -> None:
    subprocess.run([sys.executable, PIECES / "draft.py", tmp_path], check=True, capture_output=True)
    assert {path.name for path in tmp_path.iterdir()} == set(PATTERNS)
    for name in PATTERNS:
        assert (tmp_path / name).read_bytes() == (PIECES / name).read_bytes(), f"run pieces/draft.py: {name}"


@pytest.mark.parametrize(
    ("name", "view", "material", "count"),
    [
        # Front, back, 2 yokes, 2 sleeves, 4 cuffs, 2 bands, placket, 2 pockets, 4 flaps, 2 bindings,
        # 2 gussets, 4 facings; in view B a stand and a collar, two layers each, for the band.
        ("harbour-smock.toml", "A", "fabric", 1 + 1 + 2 + 2 + 4 + 2 + 1 + 2 + 4 + 2 + 2 + 4),
        ("harbour-smock.toml", "B", "fabric", 1 + 1 + 2 + 2 + 4 + 2 + 2 + 1 + 2 + 4 + 2 + 2 + 4),
        # 2 cuffs, the neck, and the region of the placket.
        ("harbour-smock.toml", "A", "interfacing", 2 + 1 + 1),
        ("harbour-smock.toml", "B", "interfacing", 2 + 2 + 1),
        ("market-apron.toml", "A", "fabric", 1 + 1 + 2 + 1 + 2),
        # Six gores, four pocket bags, the band, the zip guard.
        ("gored-skirt.toml", "A", "fabric", 6 + 4 + 1 + 1),
        ("gored-skirt.toml", "A", "interfacing", 1),
    ],
)
def test_counts_of_cut_pieces(name: str, view: str, material: str, count: int) -> None:
    assert cut_pieces(load_pattern(PIECES / name), view, material) == count


def test_the_smock_has_what_a_full_pattern_has() -> None:
    pattern = load_pattern(PIECES / "harbour-smock.toml")
    assert pattern.sizes == ("XS", "S", "M", "L", "XL")
    assert [view.name for view in pattern.views] == ["A", "B"]
    pieces = {piece.number: piece for piece in pattern.pieces["M"]}
    assert all(len(view.pieces) >= 12 for view in pattern.views)
    assert all(view.optional == ("16",) for view in pattern.views)
    assert [piece.name for piece in pieces.values() if piece.is_guide] == ["Buttonhole guide"]
    assert {cut.region_name for cut in pieces["9"].cuts} == {"", "overlap"}
    assert {cut.how for piece in pieces.values() for cut in piece.cuts} == {"mirrored", "alike", "on fold"}


@pytest.mark.parametrize("name", PATTERNS)
def test_sizes_grow(name: str) -> None:
    """No piece gets smaller from one size to the next, and large pieces get larger."""
    pattern = load_pattern(PIECES / name)
    by_size = [pattern.pieces[size] for size in pattern.sizes]
    for piece_by_size in zip(*by_size, strict=True):
        areas = [Polygon(piece.outline).area for piece in piece_by_size]
        assert areas == sorted(areas)
        if areas[0] > 50_000:
            assert len(set(areas)) == len(areas)
        for axis in (0, 1):
            extents = [_extent(piece, axis) for piece in piece_by_size]
            assert all(b >= a - 0.11 for a, b in pairwise(extents))


def _extent(piece: Piece, axis: int) -> float:
    values = [point[axis] for point in piece.outline]
    return max(values) - min(values)


@pytest.mark.parametrize("name", PATTERNS)
def test_outlines_are_simple_and_arrows_lie_inside(name: str) -> None:
    for drawing in every_drawing(name):
        assert drawing.polygon.is_valid
        assert all(drawing.polygon.contains(end) for end in drawing.grain())


@pytest.mark.parametrize("name", PATTERNS)
def test_grain_is_parallel_to_the_fold_and_along_an_axis(name: str) -> None:
    """Pieces on the fold lie with it along the cloth; the others are drawn upright or lengthwise."""
    for drawing in every_drawing(name):
        tail, head = drawing.grain()
        assert head.y < tail.y or (head.y == tail.y and head.x > tail.x)
        if "fold" in drawing.raw:
            assert head.x == tail.x
            assert {x for x, _ in drawing.fold().coords} == {0.0}
            assert drawing.polygon.bounds[0] == 0.0


@pytest.mark.parametrize("name", PATTERNS)
def test_notches_lie_on_the_edge_marks_inside_and_both_have_a_partner(name: str) -> None:
    seen: Counter[str] = Counter()
    for piece in read(name)["piece"]:
        for size in read(name)["sizes"]:
            drawing = drawn(name, piece["number"], size)
            for notch in drawing.raw.get("notches", []):
                assert drawing.polygon.exterior.distance(drawing.notch(notch["name"])) < 0.2
            assert all(drawing.polygon.contains(place) for place in drawing.marks().values())
        drawing = drawn(name, piece["number"], read(name)["sizes"][0])
        seen.update(notch["name"] for notch in drawing.raw.get("notches", []))
        seen.update(list(drawing.marks()))
    assert {notch for notch, count in seen.items() if count == 1} == LONE.get(name, set())


@pytest.mark.parametrize("name", PATTERNS)
def test_numbers_are_round_to_a_tenth_of_a_millimetre(name: str) -> None:
    decimals = {"mm": 1, "cm": 2}[read(name)["unit"]]
    for drawing in every_drawing(name):
        for token in drawing.raw["outline"].split():
            if not token.isalpha():
                assert len(token.partition(".")[2]) <= decimals


@pytest.mark.parametrize("name", PATTERNS)
def test_the_pattern_names_a_cloth_for_everything_that_is_cut(name: str) -> None:
    pattern = load_pattern(PIECES / name)
    materials = {cut.material for piece in pattern.pieces[pattern.sizes[0]] for cut in piece.cuts}
    assert materials == set(pattern.fabrics)


@pytest.mark.parametrize("size", ("XS", "S", "M", "L", "XL"))
@pytest.mark.parametrize("view", ("A", "B"))
def test_fabric_in_a_smock_is_that_of_a_shirt(size: str, view: str) -> None:
    """A long-sleeved shirt takes 1.3 to 2.2 m² of pieces (common practice, no source)."""
    pattern = load_pattern(PIECES / "harbour-smock.toml")
    (chosen,) = (v for v in pattern.views if v.name == view)
    area = sum(
        cut.count * (2 if cut.how == "on fold" else 1) * Polygon(piece.outline).area
        for piece in pattern.pieces[size]
        if piece.number in chosen.pieces
        for cut in piece.cuts
        if cut.material == "fabric"
    )
    assert 1.3e6 < area < 2.2e6


def test_fabric_files_load() -> None:
    linen = load_fabrics(PIECES / "linen-150.toml")["fabric"]
    assert (linen.width, linen.nap, linen.system) == (1500.0, False, "metric")
    cord = load_fabrics(PIECES / "corduroy-57in.toml")["fabric"]
    # The yard agreement of 1959: 1 in = 25.4 mm exactly.
    assert math.isclose(cord.width, 57 * 25.4)
    assert math.isclose(cord.step, 914.4 / 8)
    assert cord.nap and cord.system == "imperial"


@pytest.mark.parametrize("name", ["harbour-smock", "market-apron", "gored-skirt"])
def test_no_cutting_line_doubles_back_on_itself(name):
    pattern = load_pattern(PIECES / f"{name}.toml")
    for size in pattern.sizes:
        for piece in pattern.pieces[size]:
            ring = piece.outline
            for before, at, after in zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1], strict=True):
                turn = math.atan2(after[1] - at[1], after[0] - at[0]) - math.atan2(
                    at[1] - before[1], at[0] - before[0]
                )
                assert abs((turn + math.pi) % (2 * math.pi) - math.pi) < math.radians(170), (
                    size,
                    piece.number,
                )
