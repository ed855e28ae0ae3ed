"""Remnants that do not hold everything: no room is left for what is missing; how much longer is enough."""

from dataclasses import replace

import pytest
import shapely

from marker.api import lay
from marker.check import verify
from marker.cloth.cloths import Cloths, with_placements
from marker.cloth.more import with_more
from marker.cloth.remnant import longer, size_of
from marker.model.fabric import Remnant
from marker.model.layout import Layout

from .jobs import cut, job, piece, rectangle, wedge

SQUARE = piece("1", rectangle(50.0, 50.0), cut(5), grain=((0.0, 10.0), (40.0, 10.0)))
BAG = (
    piece("1", rectangle(300.0, 170.0), cut(4)),
    piece("2", wedge(260.0, 210.0, 90.0), cut(6, "mirrored")),
    piece("3", rectangle(120.0, 80.0), cut(5)),
)


def on_remnant(*parts, along, across=400.0, **more):
    remnant = Remnant("offcut", rectangle(along, across))
    return job(*parts, width=across, remnants=(remnant,), roll=False, **more)


def filled_with(cloths, copies, along):
    """The first remnant with copies laid, of which those that begin behind ``along`` are taken away again."""
    from marker.cloth.choose import Clock

    laid = cloths.lay(cloths.remnants[0], copies, Clock(None, 0.1, 1, 1, lambda: False))
    kept = tuple(p for p in laid.layout.placements if min(x for x, _ in p.outline) < along)
    left = cloths._copies(kept, copies)
    length = max(x for p in kept for x, _ in p.outline)
    return with_placements(laid, cloths.wanted(left), kept, left, length)


@pytest.mark.parametrize("gap", [0.0, 3.0])
def test_what_has_room_beside_what_lies_there_is_put_there(gap):
    asked = on_remnant(*BAG, along=1500.0, gap=gap)
    cloths = Cloths(asked, "fabric", "open")
    thinned = filled_with(cloths, cloths.every, 400.0)
    left = cloths.rest(thinned.copies)
    assert left
    more = with_more(cloths, thinned, left)
    # Behind what lies there 600 mm and more are bare: all of it has room.
    assert len(more.copies) > len(thinned.copies)
    told = replace(more.layout, buy=0.0, buy_text="nothing", parts=None, tried=(), proven=False)
    from marker.cloth.fill import _missing

    told = replace(told, missing=_missing(cloths, cloths.rest(more.copies)))
    assert verify(Layout("Test", "M", "A", 1, (told,)), asked) == []
    # What lay there has not moved.
    before = {p.outline for p in thinned.layout.placements}
    assert before <= {p.outline for p in told.placements}


def test_no_room_is_said_only_where_there_is_none():
    asked = on_remnant(SQUARE, along=160.0, across=60.0)
    (entry,) = lay(asked, effort=0.2, cores=1).layout.materials
    assert sum(p.copies for p in entry.placements) == 3
    assert entry.missing[0].count == 2
    bare = shapely.box(0, 0, 160, 60).difference(
        shapely.union_all([shapely.Polygon(p.outline) for p in entry.placements])
    )
    # No square has room in what is bare: it is nowhere 50 deep.
    assert bare.buffer(-24.9, join_style="mitre").is_empty
    # Five in a row take 250.
    assert entry.short == pytest.approx(90.0, abs=0.05)
    # No two have room side by side across 60, so none of the 90 can be saved.
    assert entry.short_least == pytest.approx(90.0, abs=0.5)
    assert entry.short_least <= entry.short


def test_a_bound_that_claims_more_than_can_be_shown_is_refused():
    asked = on_remnant(SQUARE, along=160.0, across=60.0)
    answer = lay(asked, effort=0.2, cores=1)
    (entry,) = answer.layout.materials
    for more in (2.0, 30.0):
        bold = replace(entry, short=entry.short + more, short_least=entry.short_least + more)
        faults = verify(replace(answer.layout, materials=(bold,)), asked)
        assert any("never to be enough" in fault.message for fault in faults)


@pytest.mark.parametrize("along", [500.0, 650.0, 800.0])
def test_as_much_longer_as_told_takes_all_of_it(along):
    asked = on_remnant(*BAG, along=along)
    (entry,) = lay(asked, effort=0.5, cores=1).layout.materials
    assert entry.missing
    assert entry.short_least <= entry.short
    area = sum(shapely.Polygon(p.outline).area * n for p, n in ((part, part.cuts[0].count) for part in BAG))
    # No layout is denser than the cloth.
    assert along + entry.short >= area / 400.0
    enough = on_remnant(*BAG, along=along + entry.short + 0.1)
    (whole,) = lay(enough, effort=2.0, cores=1).layout.materials
    assert not whole.missing
    never = on_remnant(*BAG, along=along + entry.short_least - 1.0)
    (part,) = lay(never, effort=0.5, cores=1).layout.materials
    assert part.missing


def test_a_longer_remnant_goes_on_in_its_full_width():
    ell = Remnant(
        "bent", ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (50.0, 50.0), (50.0, 100.0), (0.0, 100.0))
    )
    more = longer(ell, 150.0)
    assert size_of(more) == (150.0, 100.0)
    assert shapely.Polygon(more.outline).area == pytest.approx(7500.0 + 5000.0)
