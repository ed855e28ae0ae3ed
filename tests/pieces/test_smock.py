"""Edges of the harbour smock that are sewn to each other are as long as each other, within stated ease.

Tolerances: a seam may differ by 1 mm, side seams by 2 mm (Vilumsone-Nemes, Industrial Cutting of Textile
Materials, Table 13.1, what the cutting itself may be off); the neckline by 2 mm; a sleeve cap is eased in by
0 to 25 mm (common practice for shirt sleeves, no source).
"""

from __future__ import annotations

import math
import re

import pytest
from shapely import LineString, Point

from tests.pieces.drawn import Drawn, along, drawn, read

FILE = "harbour-smock.toml"
SIZES = ("XS", "S", "M", "L", "XL")
SEAM, SIDE_SEAM, NECK = 1.0, 2.0, 2.0
PLEAT = 30.0
OVERLAP = 15.0
"""Half the finished slit: what the stand goes past the centre front at each end."""

pytestmark = pytest.mark.parametrize("size", SIZES)


def piece(number: str, size: str) -> Drawn:
    return drawn(FILE, number, size)


def front(size: str) -> tuple[LineString, ...]:
    """Neck, yoke seam, armhole, side seam, hem, fold."""
    edges = piece("1", size).edges
    assert len(edges) == 6
    return edges


def back(size: str) -> tuple[LineString, ...]:
    """Yoke seam, armhole, side seam, hem, fold."""
    edges = piece("2", size).edges
    assert len(edges) == 5
    return edges


def yoke(size: str) -> tuple[LineString, ...]:
    """Neck, front seam, armhole from the front backwards, back seam, fold."""
    edges = piece("3", size).edges
    assert len(edges) == 5
    return edges


def sleeve(size: str) -> tuple[LineString, ...]:
    """Cap from the front underarm to the back, back seam, hem from back to front, front seam."""
    edges = piece("4", size).edges
    assert len(edges) == 4
    return edges


def stand_edge(number: str, size: str) -> LineString:
    """The edge of a band or stand that is sewn to the neck: the long one below."""
    edges = piece(number, size).edges
    return max(edges, key=lambda edge: edge.bounds[3] if edge.length > 200 else float("-inf"))


def half_neck(size: str) -> float:
    return float(front(size)[0].length + yoke(size)[0].length)


@pytest.mark.parametrize("number", ["6", "7"])
def test_band_and_stand_are_as_long_as_the_neckline_and_the_overlap(size: str, number: str) -> None:
    seam = stand_edge(number, size)
    assert seam.length == pytest.approx(2 * (half_neck(size) + OVERLAP), abs=NECK)


@pytest.mark.parametrize("number", ["6", "7"])
def test_the_shoulder_notch_of_band_and_stand_meets_the_shoulder(size: str, number: str) -> None:
    seam, shape = stand_edge(number, size), piece(number, size)
    neck = yoke(size)[0]
    to_shoulder = along(neck, piece("3", size).notch("neck shoulder"))
    middle = along(seam, shape.notch("centre back"))
    assert middle == pytest.approx(seam.length / 2, abs=0.5)
    for notch in shape.notches("neck shoulder"):
        assert abs(along(seam, notch) - middle) == pytest.approx(to_shoulder, abs=0.5)


def test_the_collar_is_as_long_as_the_stand_between_its_notches(size: str) -> None:
    stand = piece("7", size)
    upper = min(stand.edges, key=lambda edge: edge.bounds[1])
    left, right = sorted(along(upper, notch) for notch in stand.notches("collar end"))
    _, _, seam, _ = piece("8", size).edges
    assert 2 * seam.length == pytest.approx(right - left, abs=SEAM)


def test_the_collar_ends_at_the_centre_front(size: str) -> None:
    """Straight above the place on the neck seam where the overlap begins."""
    seam = stand_edge("7", size)
    for notch in piece("7", size).notches("collar end"):
        foot = seam.project(notch)
        assert min(foot, seam.length - foot) == pytest.approx(OVERLAP, abs=0.5)


def test_the_collar_covers_the_neck_seam(size: str) -> None:
    stand_at_back = stand_edge("7", size).bounds[3] - piece("7", size).notch("collar centre").y
    outer, _, seam, fold = piece("8", size).edges
    assert fold.length >= stand_at_back + 10
    assert outer.length > seam.length


def test_front_and_yoke_agree(size: str) -> None:
    mine, theirs = front(size)[1], yoke(size)[1]
    assert mine.length == pytest.approx(theirs.length, abs=SEAM)
    assert along(mine, piece("1", size).notch("yoke front")) == pytest.approx(
        along(theirs, piece("3", size).notch("yoke front")), abs=0.5
    )


def test_back_is_wider_than_the_yoke_by_the_pleat(size: str) -> None:
    mine, theirs = back(size)[0], yoke(size)[3]
    assert mine.length - PLEAT == pytest.approx(theirs.length, abs=SEAM)
    assert along(mine, piece("2", size).notch("yoke back"), from_end=True) == pytest.approx(
        along(theirs, piece("3", size).notch("yoke back")), abs=0.5
    )
    assert along(mine, piece("2", size).notch("pleat")) == pytest.approx(PLEAT)


def test_side_seams_are_equal_and_so_are_their_notches(size: str) -> None:
    mine, theirs = front(size)[3], back(size)[2]
    assert mine.length == pytest.approx(theirs.length, abs=SIDE_SEAM)
    for name in ("side", "vent"):
        assert along(mine, piece("1", size).notch(name)) == pytest.approx(
            along(theirs, piece("2", size).notch(name)), abs=0.5
        )


def test_sleeve_cap_takes_little_ease_and_none_is_negative(size: str) -> None:
    """The armhole is front, yoke and back; the cap is halved where it meets the shoulder."""
    cap, hole = sleeve(size)[0], yoke(size)[2]
    at_shoulder = along(hole, piece("3", size).notch("shoulder"))
    front_hole = front(size)[2].length + at_shoulder
    back_hole = back(size)[1].length + hole.length - at_shoulder
    front_cap = along(cap, piece("4", size).notch("shoulder"))
    front_ease, back_ease = front_cap - front_hole, cap.length - front_cap - back_hole
    assert 0 <= front_ease <= back_ease
    assert front_ease + back_ease <= 25


def test_armhole_notches_are_as_far_from_the_underarm_on_body_and_sleeve(size: str) -> None:
    cap = sleeve(size)[0]
    assert along(cap, piece("4", size).notch("armhole front")) == pytest.approx(
        along(front(size)[2], piece("1", size).notch("armhole front"), from_end=True), abs=0.5
    )
    for name in ("armhole back 1", "armhole back 2"):
        assert along(cap, piece("4", size).notch(name), from_end=True) == pytest.approx(
            along(back(size)[1], piece("2", size).notch(name), from_end=True), abs=0.5
        )


def test_sleeve_seam_is_as_long_in_front_as_behind(size: str) -> None:
    _, back_seam, _, front_seam = sleeve(size)
    assert front_seam.length == pytest.approx(back_seam.length, abs=SEAM)


def test_gusset_edges_fit_the_openings_in_side_and_sleeve_seam(size: str) -> None:
    gusset = piece("13", size)
    _, sleeve_back, _, sleeve_front = sleeve(size)
    openings = {
        "gusset front": along(front(size)[3], piece("1", size).notch("gusset front")),
        "gusset back": along(back(size)[2], piece("2", size).notch("gusset back")),
        "gusset sleeve back": along(sleeve_back, piece("4", size).notch("gusset sleeve back")),
        "gusset sleeve front": along(sleeve_front, piece("4", size).notch("gusset sleeve front"), True),
    }
    assert len(gusset.edges) == 4
    for name, to_notch in openings.items():
        edge = min(gusset.edges, key=lambda edge: edge.distance(gusset.notch(name)))
        assert along(edge, gusset.notch(name)) == pytest.approx(to_notch, abs=0.5)
        assert edge.length == pytest.approx(2 * to_notch, abs=SEAM)


def test_cuff_is_the_sleeve_hem_less_its_pleats(size: str) -> None:
    hem = sleeve(size)[2]
    slit, *pleats = sorted((line.coords[0][0] for line in piece("4", size).lines()), reverse=True)
    depth = (pleats[0] - pleats[1]) + (pleats[2] - pleats[3])
    seam, _ = piece("5", size).edges
    assert seam.length == pytest.approx(hem.length - depth, abs=SEAM)
    # Round the wrist from the slit: over the back seam to the notch.
    notch = piece("4", size).notch("cuff")
    way = (hem.bounds[2] - slit) + (notch.x - hem.bounds[0])
    assert piece("5", size).notch("cuff").x == pytest.approx(way, abs=0.5)


def test_vent_facing_reaches_from_above_the_vent_to_the_hem(size: str) -> None:
    facing, side = piece("14", size), front(size)[3]
    vent = along(side, piece("1", size).notch("vent"), from_end=True)
    edge = max(facing.edges, key=lambda edge: edge.length)
    assert edge.bounds[3] - facing.notch("vent").y == pytest.approx(vent, abs=SEAM)


def test_placket_and_guide_are_as_long_as_the_slit(size: str) -> None:
    outline = piece("1", size)
    top = min(outline.fold().coords, key=lambda p: p[1])[1]
    slit = outline.raw["drills"][0][1] - top
    drills = piece("9", size).raw["drills"]
    assert [y for _, y in drills] == pytest.approx([slit, slit], abs=0.2)
    assert piece("15", size).polygon.bounds[3] == pytest.approx(slit, abs=0.2)
    assert all(0 < y < slit for _, y in piece("15", size).raw["drills"])


def test_pocket_is_drilled_where_its_corners_come(size: str) -> None:
    _, (x0, y0), (x1, y1) = piece("1", size).raw["drills"]
    assert y0 == y1
    assert x1 - x0 == pytest.approx(piece("10", size).edges[0].length, abs=0.2)
    corner_clear = front(size)[2].distance(Point(x1, y1))
    assert corner_clear > 15


def test_flap_covers_the_pocket(size: str) -> None:
    pocket, flap = piece("10", size).polygon.bounds, piece("11", size).polygon.bounds
    assert 2 <= (flap[2] - flap[0]) - (pocket[2] - pocket[0]) <= 6


def test_chest_ease_is_that_of_a_loose_overshirt(size: str) -> None:
    """130 to 230 mm over the body's chest, which the file tells (common practice, no source)."""
    chest = 10 * float(re.search(rf"\b{size} (\d+)", read(FILE)["about"])[1])  # type: ignore[index]
    under_front = max(front(size)[2].coords, key=lambda p: p[0])[0]
    under_back = max(back(size)[1].coords, key=lambda p: p[0])[0] - PLEAT
    assert 130 <= 2 * (under_front + under_back) - chest <= 230


def test_buttonholes_and_buttons_agree(size: str) -> None:
    """Buttons: the slit's, one at the neck, one a cuff."""
    holes = len(piece("15", size).raw["drills"])
    buttons = next(n for n in read(FILE)["notion"] if "placket" in n["detail"])
    assert buttons["count"][size] == holes + 1 + 2


def test_necklines_leave_the_centre_at_a_right_angle(size: str) -> None:
    for neck in (front(size)[0], yoke(size)[0]):
        (x0, y0), (x1, y1) = neck.coords[0], neck.coords[1]
        assert abs(y1 - y0) < 0.05 * abs(x1 - x0)


def test_edges_run_on_over_the_yoke_seam(size: str) -> None:
    """Neck and armhole of the front go on in the yoke without a kink: their corners add up to 180 degrees."""
    into, out = front(size)[0:3], yoke(size)[0:3]
    assert _corner(into[0], into[1]) + _corner(out[0], out[1]) == pytest.approx(180, abs=3)
    assert _corner(into[1], into[2]) + _corner(out[1], out[2]) == pytest.approx(180, abs=3)


def _corner(edge: LineString, following: LineString) -> float:
    """Degrees by which the outline turns from one edge to the next."""
    (ax, ay), (bx, by) = edge.coords[-2], edge.coords[-1]
    (cx, cy), (dx, dy) = following.coords[0], following.coords[1]
    turn = math.atan2(dy - cy, dx - cx) - math.atan2(by - ay, bx - ax)
    return abs(math.degrees((turn + math.pi) % (2 * math.pi) - math.pi))
