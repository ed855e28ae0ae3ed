"""What the demo patterns ask to match can match: notches lie as far apart on both pieces, in all sizes.

Measured on the drawings, with nothing of the loader. y downwards: u runs up the piece, v to the right.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from marker.files.fabric import load_fabrics
from marker.files.pattern import load_pattern
from marker.model.choose import choose
from marker.model.job import Job
from marker.model.match import Match, Matching
from tests.pieces.drawn import PIECES, Drawn, drawn, read

APRON, SKIRT, SMOCK = "market-apron.toml", "gored-skirt.toml", "harbour-smock.toml"
TOLERANCE = 1.0
"""Millimetres: what the demo prints allow lines to miss each other by."""
SIZES = [(name, size) for name in (APRON, SKIRT, SMOCK) for size in read(name)["sizes"]]

XY = tuple[float, float]


@dataclass(frozen=True)
class Place:
    """A notch or mark of a piece: up the piece and to the right of the left edge of its sheet."""

    piece: str
    u: float
    v: float


def places(name: str, size: str, called: str) -> list[Place]:
    found = []
    for piece in read(name)["piece"]:
        drawing = drawn(name, piece["number"], size)
        tail, head = drawing.grain()
        assert (head.x == tail.x and head.y < tail.y) or not _is_named(drawing, called), "grain is upright"
        points = [*drawing.notches(called), *(at for mark, at in drawing.marks().items() if mark == called)]
        found += [Place(piece["number"], -point.y, point.x) for point in points]
    return found


def _is_named(drawing: Drawn, called: str) -> bool:
    return called in {notch["name"] for notch in drawing.raw.get("notches", [])} | {*drawing.marks()}


def asked(name: str, lines: str) -> Iterator[tuple[str, str]]:
    """(what, name) of everything that the file asks of crosswise or lengthwise lines, on any level."""
    usual = {"meet": "crosswise", "centre": "lengthwise", "pair": "both"}
    for table in read(name)["match"]:
        (what,) = usual.keys() & table.keys()
        if table.get("lines", usual[what]) in (lines, "both"):
            names = table[what] if isinstance(table[what], list) else [table[what]]
            yield from ((what, called) for called in names)


@pytest.mark.parametrize(("name", "size"), SIZES)
def test_bars_across_can_meet_at_all_notches_together(name: str, size: str) -> None:
    """Lay each piece so high that its notch meets; every other notch of the piece then meets as well."""
    heights: dict[str, float] = {}
    meets = [places(name, size, called) for what, called in asked(name, "crosswise") if what == "meet"]
    assert meets and all(len({place.piece for place in meet}) > 1 for meet in meets)
    # From piece to piece over notches they share; all that hang together must come to one height.
    while any(place.piece not in heights for meet in meets for place in meet):
        heights[next(p.piece for meet in meets for p in meet if p.piece not in heights)] = 0.0
        for _, meet in itertools.product(range(len(meets)), meets):
            for known, new in itertools.permutations(meet, 2):
                if known.piece in heights and new.piece not in heights:
                    heights[new.piece] = heights[known.piece] + known.u - new.u
    for meet in meets:
        at = [heights[place.piece] + place.u for place in meet]
        assert max(at) - min(at) < TOLERANCE


@pytest.mark.parametrize("size", read(SKIRT)["sizes"])
def test_bars_along_meet_in_chevrons_all_down_the_seams_of_the_gores(size: str) -> None:
    """The seams of two gores are mirror images, so that bars which meet at one notch meet at the other.

    The back gore is drawn as the half that meets the other side back gore, turned over.
    """
    for seam in ("front", "side", "back"):
        hips, knees = places(SKIRT, size, f"{seam} hip"), places(SKIRT, size, f"{seam} knee")
        assert [place.piece for place in hips] == [place.piece for place in knees] and len(hips) == 2
        (one, other) = (knee.v - hip.v for hip, knee in zip(hips, knees, strict=True))
        assert (one * other < 0) is (seam != "back") and abs(abs(one) - abs(other)) < TOLERANCE
        (one, other) = (hip.u - knee.u for hip, knee in zip(hips, knees, strict=True))
        assert abs(one - other) < TOLERANCE


@pytest.mark.parametrize("size", read(SKIRT)["sizes"])
def test_bars_along_are_not_asked_to_close_the_round_of_the_skirt(size: str) -> None:
    """With the centres on bars and chevrons at three seams, front and back gore would have to be as wide."""
    meeting = {called for what, called in asked(SKIRT, "lengthwise") if what == "meet"}
    assert meeting == {"front hip", "back hip"}
    front, back = drawn(SKIRT, "1", size), drawn(SKIRT, "4", size)
    wider = front.notch("front hip").x - back.notch("back hip").x
    assert TOLERANCE < wider < 60 - TOLERANCE


@pytest.mark.parametrize(
    ("name", "size"), [(APRON, "one size"), *((SMOCK, size) for size in read(SMOCK)["sizes"])]
)
def test_the_corner_of_the_pocket_lies_on_the_mark(name: str, size: str) -> None:
    """The pocket as drawn lies on the half that is drawn, upright as it is, all of it on the piece."""
    front, pocket = [place.piece for place in places(name, size, "pocket corner")]
    on_front, on_pocket = drawn(name, front, size), drawn(name, pocket, size)
    mark, corner = on_front.marks()["pocket corner"], on_pocket.notch("pocket corner")
    left, top, right, low = on_pocket.polygon.bounds
    assert (corner.x, corner.y) == (left, top)
    assert (
        mark.x + right - left < on_front.polygon.bounds[2] and mark.y + low - top < on_front.polygon.bounds[3]
    )
    drills = [10 * x if name == APRON else x for x, _ in on_front.raw["drills"]]
    assert mark.x in drills and any(math.isclose(mark.x + right - left, x, abs_tol=0.2) for x in drills)
    # One for either hand: the mark is on the inner corner of both.
    (cut,) = next(piece for piece in read(name)["piece"] if piece["number"] == pocket)["cuts"]
    assert (cut["count"], cut["how"]) == (2, "mirrored")


@pytest.mark.parametrize("name", [APRON, SKIRT, SMOCK])
def test_pieces_on_the_middle_of_a_bar_are_whole(name: str) -> None:
    pattern = load_pattern(PIECES / name)
    centred = {match.name for match in pattern.matches if match.what == "centre"}
    assert centred
    for piece in pattern.pieces[pattern.sizes[0]]:
        if piece.number in centred:
            assert {cut.how for cut in piece.cuts if cut.material == "fabric"} == {"on fold"}


@pytest.mark.parametrize("name", [APRON, SKIRT, SMOCK])
def test_nothing_cut_the_other_way_has_to_match(name: str) -> None:
    """Cuffs, bands, straps and bindings have their grain along them, or on the bias."""
    pattern = load_pattern(PIECES / name)
    tied = {match.name for match in pattern.matches}
    for piece in pattern.pieces[pattern.sizes[0]]:
        (ax, _), (bx, _) = piece.grain
        if ax != bx:
            assert piece.number not in tied
            assert not tied & {mark.name for mark in (*piece.notches, *piece.marks)}


def job(name: str, fabric: str, matching: Matching = "main") -> Job:
    cloths = load_fabrics(PIECES / fabric)
    return choose(load_pattern(PIECES / name), size="M", fabrics=cloths, matching=matching)


def told(found: tuple[Match, ...]) -> set[tuple[str, str, bool, bool]]:
    return {(match.what, match.name, match.crosswise, match.lengthwise) for match in found}


def test_bars_across_the_smock_ask_for_nothing_along_it() -> None:
    found = job(SMOCK, "stripe-wide-140.toml").asked_of("fabric")
    assert told(found) == {
        ("meet", "side", True, False),
        ("meet", "armhole front", True, False),
        ("meet", "pocket corner", True, False),
        ("pair", "4", True, False),
    }


def test_a_plaid_asks_of_the_skirt_what_its_seams_can_do() -> None:
    main = job(SKIRT, "plaid-uneven-150.toml")
    assert main.fabrics["fabric"].nap
    seams = {f"{seam} {at}" for seam in ("front", "side", "back") for at in ("hip", "knee")} | {"zip"}
    across = {("meet", name, True, False) for name in seams}
    middles = {("centre", number, False, True) for number in ("1", "4")}
    assert told(main.asked_of("fabric")) == across | middles
    everything = job(SKIRT, "plaid-uneven-150.toml", matching="everything")
    chevrons = {("meet", name, False, True) for name in ("front hip", "back hip")}
    assert told(everything.asked_of("fabric")) == across | middles | chevrons
    assert job(SKIRT, "plaid-uneven-150.toml", matching="none").asked_of("fabric") == ()


def test_the_skirt_is_for_a_check_as_it_comes_and_the_apron_and_smock_are_plain() -> None:
    design = load_pattern(PIECES / SKIRT).fabrics["fabric"].print
    assert design is not None and design.kind == "check" and design.even_along and design.even_across
    # As sold 90 by 60 mm; the cloth shrinks by 2 % and 1 %.
    assert (design.along, design.across) == pytest.approx((88.2, 59.4))
    for name in (APRON, SMOCK):
        assert all(fabric.print is None for fabric in load_pattern(PIECES / name).fabrics.values())


@pytest.mark.parametrize(("name", "numbers"), [(APRON, ["1"]), (SMOCK, ["1", "2"])])
def test_hems_are_the_lowest_edges(name: str, numbers: list[str]) -> None:
    pattern = load_pattern(PIECES / name)
    for size in pattern.sizes:
        hemmed = {piece.number: piece for piece in pattern.pieces[size] if piece.hem}
        assert [*hemmed] == numbers
        for piece in hemmed.values():
            assert piece.hem is not None
            lowest = min(y for _, y in piece.outline)
            assert [y for _, y in piece.hem] == pytest.approx([lowest, lowest], abs=0.05)
            assert 0.0 in [x for x, _ in piece.hem], "it begins at the fold"


def test_the_binding_goes_round_the_arm_edge_on_the_bias() -> None:
    pattern = load_pattern(PIECES / APRON)
    (binding,) = (piece for piece in pattern.pieces["one size"] if piece.bias)
    assert pattern.views[0].optional == (binding.number,)
    arm = drawn(APRON, "1", "one size").edges[1].length
    assert drawn(APRON, binding.number, "one size").polygon.bounds[2] == pytest.approx(arm + 2 * 20, abs=0.5)


def test_the_remnants_have_room_for_the_apron() -> None:
    """Not that it fits, which only a layout shows; but neither has room for all of it alone."""
    ticking = load_fabrics(PIECES / "remnants-ticking.toml")["fabric"]
    assert not ticking.roll and len(ticking.remnants) == 2
    from shapely import Polygon

    rooms = [Polygon(r.outline).area - sum(Polygon(h).area for h in r.holes) for r in ticking.remnants]
    pieces = [
        cut.count * Polygon(piece.outline).area * (2 if cut.how == "on fold" else 1)
        for piece in choose(load_pattern(PIECES / APRON)).pieces
        for cut in piece.cuts
    ]
    assert max(rooms) < sum(pieces) < sum(rooms)
    assert sum(len(remnant.holes) for remnant in ticking.remnants) == 1


@pytest.mark.parametrize(
    "file", sorted(path.name for path in Path(PIECES).glob("*-1*.toml") if "linen" not in path.name)
)
def test_printed_cloths_load_and_their_names_tell_the_width(file: str) -> None:
    (fabric,) = load_fabrics(PIECES / file).values()
    assert (fabric.print is None) != (fabric.border is None)
    assert file.rpartition("-")[2] == f"{fabric.width / 10:g}.toml"
    assert fabric.nap is (
        fabric.print is not None and not (fabric.print.even_along and fabric.print.even_across)
    )
