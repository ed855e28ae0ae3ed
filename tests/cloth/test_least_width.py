"""Cloth too narrow: the width that is told is the least that is taken."""

import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.cloth.choose import NothingFits, enter
from marker.units import parse_length

from .jobs import cut, fold_half, job, piece, rectangle, wedge

FOLDS = (
    "best",
    "open",
    "lengthwise fold",
    "selvages to the middle",
    "partial fold",
    "crosswise fold",
    "mixed",
)
WIDE = piece("1", rectangle(300.0, 733.3), cut(3))
BAG = (
    fold_half("1", 400.0, 500.0, cut(1, "on fold")),
    piece("2", wedge(300.0, 610.0, 500.0), cut(2, "mirrored")),
    piece("3", rectangle(120.0, 80.0), cut(3)),
)
INCH = Fraction(254, 10)


def told(asked, fold):
    """The width that a refusal asks for, as millimetres read back from its words; None: taken as it is."""
    try:
        enter(asked, "fabric", fold)
    except NothingFits as nothing:
        found = re.search(r"at least ([\d ./]+ (?:cm|in)) wide", str(nothing))
        assert found, str(nothing)
        return parse_length(found[1])
    return None


def at(asked, width):
    return replace(asked, fabrics={"fabric": replace(asked.fabrics["fabric"], width=width)})


def holds(asked, fold):
    """The width told is taken; a millimetre less, or a sixteenth of an inch, is not."""
    width = told(asked, fold)
    assert width is not None
    mark = 1.0 if asked.fabrics["fabric"].system == "metric" else float(INCH / 16)
    assert told(at(asked, width), fold) is None
    assert told(at(asked, width - mark), fold) == pytest.approx(width)


@pytest.mark.parametrize("fold", FOLDS)
@pytest.mark.parametrize("system", ["metric", "imperial"])
@pytest.mark.parametrize(("selvage", "shrinks"), [(0.0, 0.0), (12.3, 0.0), (0.0, 0.07), (15.0, 0.034)])
def test_the_width_told_is_taken_and_no_less(fold, system, selvage, shrinks):
    more = {"selvage": selvage, "shrink_across": shrinks, "system": system}
    holds(job(*BAG, width=420.0, **more), fold)
    if fold not in ("partial fold", "mixed"):
        holds(job(WIDE, width=420.0, **more), fold)


def test_arithmetic_by_hand():
    # In half: 733.3 + 10 of selvage, twice, and 5 % that the wash takes: 1486.6 / 0.95 is 1564.8.
    assert told(job(WIDE, selvage=10.0, shrink_across=0.05), "lengthwise fold") == 1565.0
    # Selvages to the middle: (733.3 + 10) x 4.
    assert told(job(WIDE, selvage=10.0), "selvages to the middle") == 2974.0
    assert told(job(WIDE, width=700.0, selvage=10.0), "best") == 754.0


def test_a_tube_is_told_as_it_lies():
    asked = job(WIDE, width=500.0, tube=True, shrink_across=0.02)
    assert told(asked, "best") == 749.0
    holds(asked, "best")


@settings(max_examples=40, deadline=None)
@given(
    across=st.floats(200.0, 900.0),
    half=st.floats(100.0, 500.0),
    selvage=st.floats(0.0, 30.0),
    shrinks=st.floats(0.0, 0.1),
    gap=st.sampled_from([0.0, 3.0]),
    system=st.sampled_from(["metric", "imperial"]),
    fold=st.sampled_from(FOLDS),
)
def test_any_cloth(across, half, selvage, shrinks, gap, system, fold):
    parts = (
        piece("1", wedge(300.0, across, 90.0), cut(3, "mirrored")),
        fold_half("2", 90.0, half, cut(1, "on fold")),
    )
    holds(job(*parts, width=150.0, selvage=selvage, shrink_across=shrinks, gap=gap, system=system), fold)


def test_what_no_width_helps_says_so_without_one():
    asked = job(WIDE, width=420.0, nap=True)
    with pytest.raises(NothingFits) as refusal:
        enter(asked, "fabric", "crosswise fold")
    assert "nap" in str(refusal.value) and "wide" not in str(refusal.value)
