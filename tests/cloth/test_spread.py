"""Spreads account for every millimetre of the flat cloth (facts of geometry)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.cloth.spread import NAMES, known, spreads
from marker.errors import InputError
from marker.model.fabric import Fabric

widths = st.floats(300, 3000)
selvages = st.floats(0, 30)


def by_name(fabric, depths=(200.0,)):
    found, refused = spreads(fabric, depths)
    return {spread.name: spread for spread in found}, refused


@given(widths, selvages)
def test_usable_layers_add_up_to_the_usable_flat_cloth(width, selvage):
    found, _ = by_name(Fabric("cloth", width, selvage=selvage), depths=(width / 5 + selvage,))
    for name in ("open", "lengthwise fold", "selvages to the middle", "partial fold"):
        (section,) = found[name].sections
        usable = sum(strip.height * strip.layers for strip in section.strips)
        # Cloth that lies under a turned-in selvage is kept clear as well.
        lost = {"partial fold": 3, "selvages to the middle": 4}.get(name, 2) * selvage
        # A partial fold also keeps clear of the turned-in selvage in the layer below it.
        assert usable == pytest.approx(width - lost, abs=1e-6), name


@given(widths, selvages)
def test_every_fold_bounds_a_band_of_two_layers(width, selvage):
    found, _ = by_name(Fabric("cloth", width, selvage=selvage))
    for spread in found.values():
        for section in spread.sections:
            for strip in section.strips:
                assert strip.layers == 2 or not strip.folds
                assert all(fold in (strip.low, strip.high) for fold in strip.folds)


def test_the_worked_figures_of_a_140_cm_cloth():
    found, _ = by_name(Fabric("cloth", 1400.0, selvage=10.0))
    (band,) = found["lengthwise fold"].sections[0].strips
    assert (band.low, band.high, band.folds) == (10.0, 700.0, (700.0,))
    low, high = found["selvages to the middle"].sections[0].strips
    assert (low.low, low.high, low.folds) == (0.0, 340.0, (0.0,))
    assert (high.low, high.high, high.folds) == (360.0, 700.0, (700.0,))


def test_shrinkage_across_narrows_the_cloth():
    found, _ = by_name(Fabric("cloth", 1000.0, shrink_across=0.05))
    assert found["open"].sections[0].strips[0].high == pytest.approx(950.0)


def test_nap_refuses_the_crosswise_fold_with_the_reason():
    # Second layer turned end for end: its nap runs the other way (common practice, no source).
    found, refused = by_name(Fabric("velvet", 1400.0, nap=True))
    assert "crosswise fold" not in found
    assert "nap" in refused["crosswise fold"]


def test_only_a_tube_lies_as_a_tube():
    found, refused = by_name(Fabric("jersey", 900.0, tube=True))
    (band,) = found["tubular"].sections[0].strips
    assert band.folds == (0.0, 900.0)
    assert "tubular" not in refused
    assert "tubular" in by_name(Fabric("poplin", 900.0))[1]


def test_an_unknown_fold_lists_the_known():
    with pytest.raises(InputError) as told:
        known("sideways")
    assert all(name in str(told.value) for name in NAMES)
