"""What has room across a cloth, when it is loaded and when another width is asked for."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.errors import InputError
from marker.model.choose import choose
from marker.model.fabric import Border, Fabric, Print, Remnant
from marker.model.match import Match
from marker.model.room import no_room
from tests.model.test_choose import PATTERN

CHECK = Print("check", 90.0, 600.0)
SPOT = ((10.0, 880.0), (30.0, 880.0), (30.0, 900.0), (10.0, 900.0))
PATCH = Remnant("patch", ((0.0, 0.0), (500.0, 0.0), (500.0, 400.0), (0.0, 400.0)))


def chosen(fabric, **asked):
    return choose(PATTERN, size="S", view="B", fabrics={"fabric": fabric}, **asked)


def told(fabric, **asked):
    with pytest.raises(InputError) as caught:
        chosen(fabric, **asked)
    return str(caught.value)


@pytest.mark.parametrize(
    ("fabric", "words"),
    [
        (Fabric("Check", 1400.0, print=CHECK), ["print, across", "600 mm", "lies 500 mm wide"]),
        (Fabric("Rope", 1400.0, border=Border("upper", 500.0)), ["border, width", "500 mm"]),
        (Fabric("Worn", 1400.0, flaws=(SPOT,)), ["flaw 1", "outside the cloth", "880 mm to 900 mm"]),
    ],
)
def test_what_fits_the_cloth_may_not_fit_a_narrower_one(fabric, words):
    assert no_room(fabric) is None
    assert chosen(fabric).fabrics["fabric"] == fabric
    assert chosen(fabric, widths={"fabric": 950.0}).fabrics["fabric"].width == 950.0
    sentence = told(fabric, widths={"fabric": 500.0})
    for word in ["fabric 500 mm wide", *words]:
        assert word in sentence, sentence
    assert sentence.endswith(".")


def test_a_tube_is_twice_as_wide_as_it_lies():
    assert no_room(Fabric("Tube", 400.0, tube=True, print=CHECK)) is None
    assert no_room(Fabric("Flat", 400.0, print=CHECK)) is not None


def test_a_cloth_of_remnants_only_takes_no_width_and_needs_no_selvage():
    remnants = Fabric("Bits", 400.0, selvage=300.0, remnants=(PATCH,), roll=False)
    assert chosen(remnants).fabrics["fabric"] == remnants
    assert "only remnants of Bits and no roll" in told(remnants, widths={"fabric": 900.0})
    assert "nothing but its two selvages" in told(replace(remnants, roll=True))


@given(st.floats(10, 3000), st.floats(-500, 3500), st.floats(1, 200))
def test_a_flaw_is_refused_only_if_none_of_it_is_on_the_cloth(width, low, high):
    flaw = ((0.0, low), (50.0, low), (50.0, low + high), (0.0, low + high))
    # Two intervals have a point in common inside both if each begins before the other ends.
    touches = low < width and low + high > 0
    assert (no_room(Fabric("Cloth", width, flaws=(flaw,))) is None) is touches


def test_what_a_pattern_asks_to_match_goes_with_the_job():
    matches = (Match("meet", "side", True, False), Match("pair", "1", True, True, "everything"))
    pattern = replace(PATTERN, matches=matches)
    job = choose(pattern, size="S")
    assert job.matches == matches and job.matching == "main"
    assert choose(pattern, size="S", matching="everything").matching == "everything"
    with pytest.raises(InputError, match="matching some: write one of none, main, everything"):
        choose(pattern, size="S", matching="some")  # type: ignore[arg-type]
