"""Whole jobs from demand to verified layout, with little effort."""

from dataclasses import replace
from pathlib import Path

import pytest

from marker.api import lay, load_job
from marker.check import verify
from marker.cloth import choose
from marker.errors import InputError
from tests.cloth.jobs import cut, fold_half, job, piece, rectangle, wedge

MIXED_BAG = (
    fold_half("1", 400, 150, cut(1, "on fold")),
    piece("2", wedge(), cut(2, "mirrored")),
    piece("3", rectangle(120, 80), cut(3), cut(1, material="interfacing")),
)


def laid(the_job, **options):
    answer = lay(the_job, **{"effort": 0.05, "cores": 1, **options})
    assert verify(answer.layout, the_job) == []
    return answer.layout.materials


def test_every_spread_that_is_possible_is_tried_and_told():
    fabric, interfacing = laid(job(*MIXED_BAG))
    lengths = {tried.lay.partition(":")[0]: tried.length for tried in fabric.tried}
    assert {name for name, length in lengths.items() if length} == {
        "lengthwise fold",
        "selvages to the middle",
        "partial fold",
        "crosswise fold",
        "mixed",
        "open",
    }
    assert lengths["tubular"] is None
    assert interfacing.material == "interfacing"
    assert fabric.buy == min(tried.buy for tried in fabric.tried if tried.buy)


@pytest.mark.parametrize(
    "fold",
    ["open", "lengthwise fold", "selvages to the middle", "partial fold", "crosswise fold", "mixed"],
)
def test_the_spread_asked_for_is_the_spread_used(fold):
    (fabric,) = (
        laid(job(*(part for part in MIXED_BAG[:2])), fold=fold)
        if fold != "mixed"
        else (laid(job(MIXED_BAG[0], MIXED_BAG[1], piece("3", rectangle(120, 80), cut(3))), fold=fold))
    )
    assert fabric.lay.startswith(fold)


def test_a_tube_is_laid_as_it_is():
    (fabric,) = laid(job(*MIXED_BAG[:2], tube=True), fold="tubular")
    assert fabric.lay == "tubular"
    assert fabric.width == 2000.0


def test_rectangles_come_out_at_the_length_arithmetic_says():
    # Eight rectangles 250 x 500 in two rows on 1000 mm of cloth: 4 x 250.
    (fabric,) = laid(job(piece("1", rectangle(250, 500), cut(8))), fold="open", effort=0.5)
    assert fabric.length == pytest.approx(1000.0, abs=0.01)


def test_the_same_seed_and_effort_give_the_same_layout():
    assert laid(job(*MIXED_BAG), seed=7) == laid(job(*MIXED_BAG), seed=7)


def test_two_cores_give_the_same_layout_too():
    part = {"effort": 0.1, "cores": 2, "fold": "open"}
    assert laid(job(*MIXED_BAG), **part) == laid(job(*MIXED_BAG), **part)


def test_the_answer_is_what_the_search_returned_not_what_a_core_told_on_the_way(monkeypatch):
    real = choose.solve
    returned = []

    def telling(prepared, budget, *, on_better, **options):
        solution = real(prepared, budget, on_better=None, **options)
        # The other core has found a layout as short, with equal pieces in each other's places.
        on_better(replace(solution, placings=tuple(reversed(solution.placings))))
        returned.append(solution)
        return solution

    kept = []
    monkeypatch.setattr(choose, "solve", telling)
    monkeypatch.setattr(
        choose,
        "_laid_out",
        lambda entered, runner, real=choose._laid_out: kept.append(runner.best[0]) or real(entered, runner),
    )
    laid(job(*MIXED_BAG[:2]), fold="open")
    assert kept[-1] is returned[-1]


def test_moving_the_drawings_changes_nothing():
    def moved(part, dx, dy):
        def shift(points):
            return tuple((x + dx, y + dy) for x, y in points)

        edge = shift(part.fold_edge) if part.fold_edge else None
        return replace(part, outline=shift(part.outline), grain=shift(part.grain), fold_edge=edge)

    plain = laid(job(*MIXED_BAG))
    shifted = laid(job(*(moved(part, 512.0, -256.0) for part in MIXED_BAG)))
    for one, other in zip(plain, shifted, strict=True):
        assert one.length == other.length
        for a, b in zip(one.placements, other.placements, strict=True):
            for near, far in zip(a.outline, b.outline, strict=True):
                assert near == pytest.approx(far, abs=1e-6)


def test_mirroring_the_drawings_keeps_counts_area_and_bound():
    def turned(part):
        outline = tuple((x, -y) for x, y in reversed(part.outline))
        grain = tuple((x, -y) for x, y in part.grain)
        edge = tuple((x, -y) for x, y in reversed(part.fold_edge)) if part.fold_edge else None
        return replace(part, outline=outline, grain=grain, fold_edge=edge)

    for one, other in zip(
        laid(job(*MIXED_BAG), fold="open"), laid(job(*map(turned, MIXED_BAG)), fold="open"), strict=True
    ):
        assert one.lower_bound == pytest.approx(other.lower_bound, abs=0.05)
        assert sorted(p.piece for p in one.placements) == sorted(p.piece for p in other.placements)


def test_wider_cloth_never_has_a_longer_bound():
    bounds = [
        laid(job(*MIXED_BAG, width=width), fold="open")[0].lower_bound for width in (700.0, 900.0, 1200.0)
    ]
    assert bounds == sorted(bounds, reverse=True)


def test_the_gap_is_kept():
    (fabric,) = laid(job(piece("1", rectangle(250, 480), cut(8)), gap=20.0), fold="open", effort=0.5)
    # Four columns with three gaps between them; the checker has measured every gap.
    assert fabric.length == pytest.approx(4 * 250 + 3 * 20, abs=1.5)


def test_nothing_lies_on_a_flaw_of_either_layer():
    spot = rectangle(100, 100, 0, 850)
    (fabric,) = laid(job(piece("1", rectangle(400, 480), cut(2)), flaws=(spot,)), fold="lengthwise fold")
    # The flaw is in the upper layer, 150 mm from the fold: the pair has to start behind it.
    assert min(x for x, _ in fabric.placements[0].outline) >= 100.0 - 0.02


def test_shrinkage_is_bought_and_rounded_up_to_the_step():
    (fabric,) = laid(
        job(piece("1", rectangle(950, 1000), cut(1)), shrink_along=0.05, step=100.0), fold="open"
    )
    # 950 / 0.95 is 1000: not a millimetre more is bought.
    assert fabric.buy == pytest.approx(1000.0)


def test_cloth_too_narrow_says_how_wide_it_would_have_to_be():
    with pytest.raises(InputError, match=r"Part 1.*at least 120(\.\d)? cm wide"):
        laid(job(piece("1", rectangle(300, 1200), cut(1))))


def test_an_early_stop_still_gives_a_verified_layout():
    materials = laid(job(*MIXED_BAG), stop=lambda: True)
    assert [material.material for material in materials] == ["fabric", "interfacing"]


@pytest.mark.parametrize("off", [0.02, 0.07, 0.12, 0.3, 0.6])
@pytest.mark.parametrize("fold", ["open", "lengthwise fold"])
def test_an_almost_symmetric_pair_comes_out_in_both_hands_or_needs_none(off, fold):
    shape = ((0.0, 0.0), (300.0, 0.0), (280.0, 200.0 + off), (20.0, 200.0))
    shape = tuple((y, -x) for x, y in shape)
    # The checker, whose own tolerance differs from the cloth's, must agree at every degree of lopsidedness.
    grain = ((100.0, -150.0), (200.0, -150.0))
    (fabric,) = laid(job(piece("1", shape, cut(2, "mirrored"), grain=grain), nap=True), fold=fold)
    assert sum(p.copies - p.spare for p in fabric.placements) == 2


PAIRS = (
    piece("1", rectangle(300, 240), cut(2)),
    piece("2", rectangle(280, 180), cut(4)),
    piece("3", rectangle(150, 90), cut(6)),
)
"""On 1 m of width laid open or folded; folded, half as many outlines are cut."""


def best_of(material):
    return next(tried for tried in material.tried if tried.lay == material.lay)


def test_of_spreads_that_buy_the_same_the_one_with_fewer_outlines_is_taken():
    for step in (10.0, 100.0, 1000.0, 5000.0):
        (fabric,) = laid(job(*PAIRS, step=step))
        mine = best_of(fabric)
        assert mine.outlines == len(fabric.placements)
        same = [tried for tried in fabric.tried if tried.buy == fabric.buy]
        assert mine.outlines == min(tried.outlines for tried in same)
    # With a step of 5 m all buy the same, and the fold halves the work.
    assert mine.outlines == 6 and len(same) > 1


THIRDS = (piece("1", rectangle(300, 330), cut(6)),)
"""Three lie beside each other on 1 m: two rows of 30 cm. Folded in half, one for each layer: three rows."""


@pytest.mark.parametrize(
    ("simpler", "buy", "outlines"),
    [(0.0, 600.0, 6), (299.0, 600.0, 6), (300.0, 900.0, 3), (5000.0, 900.0, 3)],
)
def test_a_simpler_lay_may_cost_so_much_more_and_no_more(simpler, buy, outlines):
    answer = lay(job(*THIRDS, step=1.0, nap=True), effort=0.05, cores=1, simpler=simpler)
    (fabric,) = answer.layout.materials
    assert verify(answer.layout, answer.job) == []
    assert (fabric.buy, best_of(fabric).outlines, len(fabric.placements)) == (buy, outlines, outlines)


def test_a_layout_that_buys_more_than_another_spread_says_why_or_is_refused():
    answer = lay(job(*THIRDS, step=1.0, nap=True), effort=0.05, cores=1, simpler=300.0)
    plain = replace(answer.layout, asked={**answer.layout.asked, "simpler": 0.0})
    assert any("less than the layout chosen" in fault.message for fault in verify(plain, answer.job))
    (fabric,) = answer.layout.materials
    for wrong in (1, 2, 4, 7):
        told = tuple(
            replace(tried, outlines=wrong) if tried.lay == fabric.lay else tried for tried in fabric.tried
        )
        faked = replace(answer.layout, materials=(replace(fabric, tried=told),))
        assert any("outlines" in fault.message for fault in verify(faked, answer.job))


def test_fewer_outlines_do_not_lead_the_race_away_from_the_spread_that_buys_least():
    """Early on, the smock takes the same to buy folded in part as laid open, and open less in the end."""
    smock = load_job(Path(__file__).parents[2] / "pieces" / "harbour-smock.toml", size="M")
    (best, _) = lay(smock, effort=1.0, cores=2).layout.materials
    (forced, _) = lay(smock, fold="open", effort=0.5, cores=2).layout.materials
    assert best.buy <= forced.buy
