"""The figure of the seams: what lies side by side, and by how much its lines miss."""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from PIL import Image

from marker.model.layout import MaterialLayout
from marker.report.seams import MOST, draw_seams, joins, miss_words, seams_bytes
from tests.report import printed, samples


def moved(material: MaterialLayout, piece: str, dx: float, dy: float = 0.0) -> MaterialLayout:
    """The same lay with one piece pushed aside."""

    def there(points):  # type: ignore[no-untyped-def]
        return tuple((x + dx, y + dy) for x, y in points)

    placements = tuple(
        replace(p, outline=there(p.outline), grain=there(p.grain)) if p.piece == piece else p
        for p in material.placements
    )
    return replace(material, placements=placements)


@pytest.mark.parametrize("name", ["striped", "checked", "uneven"])
def test_what_matches_by_hand_misses_by_nothing(name: str) -> None:
    found = joins(*printed.ALL[name]())
    # Two side seams: the left of one panel with the right of the other, and the other way round.
    assert [{join.left.copy.piece.number, join.right.copy.piece.number} for join in found] == [{"1", "2"}] * 2
    for join in found:
        assert join.crosswise == pytest.approx(0.0, abs=1e-6)
        assert (join.lengthwise is None) == (name == "striped")
        assert name == "striped" or join.lengthwise == pytest.approx(0.0, abs=1e-6)
        # Heads up, and the seam of both the same way.
        assert join.left.in_piece == pytest.approx((1.0, 0.0), abs=1e-9)
        assert join.right.in_piece == pytest.approx((1.0, 0.0), abs=1e-9)


@pytest.mark.parametrize(("push", "miss"), [(7.0, 7.0), (93.0, -7.0), (100.0, 0.0), (-30.0, -30.0)])
def test_a_piece_pushed_along_misses_by_that_modulo_the_repeat(push: float, miss: float) -> None:
    material, job = printed.striped()
    first, _ = joins(moved(material, "2", push), job)
    sign = 1.0 if first.left.copy.piece.number == "2" else -1.0
    assert first.crosswise == pytest.approx(sign * miss, abs=1e-6)
    assert miss_words(first) == f"crosswise lines {abs(miss):.1f} mm apart"


def test_a_piece_pushed_across_misses_lengthwise_lines_only() -> None:
    material, job = printed.uneven()
    for join in joins(moved(material, "2", 0.0, 4.0), job):
        assert join.crosswise == pytest.approx(0.0, abs=1e-6)
        assert abs(join.lengthwise or 0.0) == pytest.approx(4.0)


def pixels(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("L"), dtype=float)


def edges_beside_the_seam(material: MaterialLayout, job: object) -> tuple[np.ndarray, np.ndarray]:
    """Where bars begin or end, in pixels down the page, left and right of the first seam."""
    grey = pixels(seams_bytes(material, job, "png"))  # type: ignore[arg-type]
    # Two windows: the first takes the left half of the page less its edges and half the gap.
    dots = grey.shape[1] / 297.0
    seam = (8.0 + (297.0 - 16.0 - 5.0) / 4) * dots
    found = []
    for off in (-6.0, 6.0):
        column = grey[round(32 * dots) : round(180 * dots), round(seam + off * dots)]
        steps = np.flatnonzero(np.abs(np.diff(column)) > 12)
        # The dotted level through the notch, in the middle of the window, is no bar.
        found.append(steps[np.abs(steps + (32 - 109.5) * dots) > 2 * dots])
    return found[0], found[1]


def test_bars_run_on_over_the_seam_as_drawn_and_do_not_when_they_miss() -> None:
    material, job = printed.striped()
    left, right = edges_beside_the_seam(material, job)
    assert len(left) >= 4 and len(left) == len(right)
    assert np.abs(left - right).max() <= 1
    left, right = edges_beside_the_seam(moved(material, "2", 20.0), job)
    assert min(abs(a - b) for a in left for b in right) > 10


def test_words_are_on_the_page_and_apart() -> None:
    for name in ("striped", "checked", "uneven"):
        figure = draw_seams(*printed.ALL[name]())
        renderer = figure.canvas.get_renderer()
        texts = [(t.get_text(), t.get_window_extent(renderer)) for t in figure.axes[0].texts]
        words = [text for text, _ in texts]
        assert words.count("1 Front panel") == words.count("2 Back panel") == 2
        assert sum(text.startswith("side: crosswise lines 0.0 mm") for text in words) == 2
        for text, box in texts:
            assert figure.bbox.x0 <= box.x0 and box.x1 <= figure.bbox.x1, text
            assert figure.bbox.y0 <= box.y0 and box.y1 <= figure.bbox.y1, text
        for (one, a), (two, b) in combinations(texts, 2):
            wide, high = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
            assert wide <= 0.5 or high <= 0.5, (one, two)


def test_many_seams_stop_at_the_most_a_page_holds() -> None:
    material, job = printed.striped()
    many = replace(material, placements=material.placements * 12)
    # Each of 24 long edges of fronts with one of a back.
    assert len(joins(many, job)) == 24
    data = seams_bytes(many, job, "svg")
    assert data.count(b" mm apart</text>") == MOST and b"12 more are not drawn." in data


def test_a_cloth_without_a_print_or_with_nothing_matched_says_so() -> None:
    plain, job = samples.folded(), samples.job()
    assert joins(plain, job) == []
    assert b"No seam of this cloth has to match" in seams_bytes(plain, job, "svg")
    material, printed_job = printed.striped()
    assert joins(replace(material, matched="none"), printed_job) == []


def test_the_same_layout_gives_the_same_bytes_in_every_format() -> None:
    material, job = printed.checked()
    for kind, head in (("png", b"\x89PNG"), ("pdf", b"%PDF"), ("svg", b"<?xml")):
        data = seams_bytes(material, job, kind)  # type: ignore[arg-type]
        assert data.startswith(head) and data == seams_bytes(material, job, kind)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="gif"):
        seams_bytes(material, job, "gif")  # type: ignore[arg-type]
