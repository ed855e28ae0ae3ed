"""Lengths as people write them.

Outside facts: the international yard and pound agreement of 1959 (1 yd = 0.9144 m exactly) and NIST
Special Publication 811 (2008), appendix B.8, which lists inch, foot and yard in metres, in bold for exact.
"""

import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.errors import InputError
from marker.plain import enumerated
from marker.units import (
    NotALength,
    format_buy,
    format_length,
    format_position,
    lengths_in,
    parse_length,
    parse_length_system,
    parse_percent,
    round_up_to_step,
    spell_units,
    unit_size,
    unit_system,
)

NIST_SP_811 = {"in": "2.54 E-02", "ft": "3.048 E-01", "yd": "9.144 E-01"}


@pytest.mark.parametrize(("unit", "metres"), NIST_SP_811.items())
def test_units_are_those_of_the_1959_agreement(unit, metres):
    exact = Fraction(metres.replace(" ", "")) * 1000
    assert Fraction(str(parse_length(f"1 {unit}"))) == exact
    assert unit_size(unit) == float(exact)
    assert unit_system(unit) == "imperial"


def test_eighths_of_a_yard_and_sixteenths_of_an_inch_are_exact():
    for eighths in range(1, 65):
        assert parse_length(f"{eighths}/8 yd") == float(Fraction(9144, 10) * eighths / 8)
    for sixteenths in range(1, 65):
        assert parse_length(f"{sixteenths}/16 in") == float(Fraction(254, 10) * sixteenths / 16)


@pytest.mark.parametrize(
    ("text", "mm", "system"),
    [
        ("1400 mm", 1400.0, "metric"),
        ("140 cm", 1400.0, "metric"),
        ("140cm", 1400.0, "metric"),
        ("1.4 m", 1400.0, "metric"),
        ("1,5 m", 1500.0, "metric"),
        ("0,125 m", 125.0, "metric"),
        ("55 in", 1397.0, "imperial"),
        ("1 3/8 yd", 1257.3, "imperial"),
        ("1-3/8 yd", 1257.3, "imperial"),
        ("5/8 in", 15.875, "imperial"),
        ('5/8"', 15.875, "imperial"),
        ("5/8″", 15.875, "imperial"),
        ("⅝ in", 15.875, "imperial"),
        ("1½ in", 38.1, "imperial"),
        ("1 ½ Inches", 38.1, "imperial"),
        ("2 ft", 609.6, "imperial"),
        ("2 ft 6 in", 762.0, "imperial"),
        ("5' 6\"", 1676.4, "imperial"),
        ("  3\u00a0yd ", 2743.2, "imperial"),
        (".5 in", 12.7, "imperial"),
        ("0 mm", 0.0, "metric"),
    ],
)
def test_lengths_as_people_write_them(text, mm, system):
    assert parse_length_system(text) == (mm, system)


def test_a_bare_number_counts_in_the_unit_of_the_file():
    assert parse_length_system(12) == (12.0, "metric")
    assert parse_length_system("12", "cm") == (120.0, "metric")
    assert parse_length_system(0.1, "in") == (2.54, "imperial")
    assert parse_length_system("3 5/8", "in") == (92.075, "imperial")


@pytest.mark.parametrize(
    "bad",
    [
        "",
        "  ",
        "wide",
        "mm",
        "-5 cm",
        "−5 cm",
        "5 parsec",
        "nan",
        "inf mm",
        "1/0 in",
        "3 4",
        "1.5 3/8 in",
        "1e3 mm",
    ]
    + ["1 m 2 in", "5 mm wide", "1,400.5 mm", "1 3/8 yd 2", "9" * 80 + " mm", "5//8 in", "½½ in"],
)
def test_what_is_no_length_is_refused_in_one_sentence(bad):
    with pytest.raises(InputError) as caught:
        parse_length(bad)
    message = str(caught.value)
    assert message.endswith(".") and "\n" not in message and len(message) < 200


@pytest.mark.parametrize(
    "bad", [float("nan"), float("inf"), float("-inf"), -1, -0.5, True, None, [1], 10**400]
)
def test_numbers_that_are_no_length_are_refused(bad):
    with pytest.raises(InputError):
        parse_length(bad)


def test_a_comma_that_may_mean_thousands_is_asked_about_rather_than_guessed():
    with pytest.raises(InputError, match=r"two ways: write 1400, or 1\.400"):
        parse_length("1,400 mm")


def test_percentages():
    assert parse_percent("3 %") == parse_percent("3%") == parse_percent(3) == parse_percent("3") == 0.03
    assert parse_percent("2,5 %") == parse_percent(2.5) == 0.025
    assert parse_percent("½ %") == 0.005
    for bad in ("", "%", "-3 %", "three", "3 % %", float("nan"), float("inf"), -1, True, None):
        with pytest.raises(InputError):
            parse_percent(bad)


def test_lengths_for_reading():
    assert [format_length(mm, "metric") for mm in (0, 3, 645, 1900, 1652.3)] == [
        "0 mm",
        "3 mm",
        "64.5 cm",
        "1.9 m",
        "1.652 m",
    ]
    assert [format_length(inches * 25.4, "imperial") for inches in (0, 12.625, 36, 49.5, 40)] == [
        "0 in",
        "12 5/8 in",
        "1 yd",
        "1 3/8 yd",
        "40 in",
    ]


def test_amounts_to_buy():
    assert format_buy(1900.0, "metric") == "1.9 m"
    assert format_buy(500.0, "metric") == "0.5 m"
    assert format_buy(parse_length("2 1/8 yd"), "imperial") == "2 1/8 yd"
    assert format_buy(parse_length("3/8 yd"), "imperial") == "3/8 yd"
    assert format_buy(parse_length("50 in"), "imperial") == "50 in"


def test_positions_on_the_table_round_to_what_a_tape_shows():
    assert format_position(645.4, "metric") == "64.5 cm"
    assert format_position(645.5, "metric") == "64.6 cm"
    assert format_position(0.0, "metric") == "0 cm"
    assert format_position(25.4 * 25.375, "imperial") == "25 3/8 in"
    assert format_position(25.4 * 25.51, "imperial") == "25 1/2 in"
    assert format_position(-10.0, "metric") == "-1 cm"


def test_buying_rounds_up_and_forgives_only_rounding_noise():
    assert round_up_to_step(1652.3, 100.0) == 1700.0
    assert round_up_to_step(1700.0, 100.0) == 1700.0
    assert round_up_to_step(1700.0000001, 100.0) == 1700.0
    assert round_up_to_step(1700.01, 100.0) == 1800.0
    assert round_up_to_step(0.0, 100.0) == 0.0
    assert round_up_to_step(1700.0, 114.3) == parse_length("1 7/8 yd")


@settings(deadline=None)
@given(st.integers(0, 10_000))
def test_positions_come_back_from_their_text(mm):
    assert parse_length(format_position(mm, "metric")) == mm
    assert parse_length(format_length(mm, "metric")) == mm


@settings(deadline=None)
@given(st.integers(0, 20_000))
def test_sixteenths_come_back_from_their_text(sixteenths):
    mm = sixteenths * 25.4 / 16
    for text in (format_position(mm, "imperial"), format_length(mm, "imperial")):
        assert parse_length(text) == pytest.approx(mm, abs=1e-9)


@settings(deadline=None)
@given(st.integers(1, 400), st.sampled_from([100.0, 250.0, 500.0, 1000.0]))
def test_metric_amounts_come_back_from_their_text(steps, step):
    assert parse_length(format_buy(steps * step, "metric")) == steps * step


@settings(deadline=None)
@given(st.integers(1, 800))
def test_yards_come_back_from_their_text(eighths):
    mm = parse_length(f"{eighths}/8 yd")
    assert parse_length_system(format_buy(mm, "imperial")) == (mm, "imperial")


@settings(deadline=None)
@given(st.floats(0, 1e5), st.sampled_from([1.0, 10.0, 100.0, 114.3, 228.6, 914.4, 1000.0]))
def test_nobody_buys_short_nor_a_step_too_much(mm, step):
    bought = round_up_to_step(mm, step)
    assert mm - 0.001001 <= bought < mm + step


@settings(deadline=None)
@given(st.floats(0.01, 1e5), st.sampled_from(["metric", "imperial"]))
def test_an_amount_in_words_is_never_less_than_the_amount(mm, system):
    assert parse_length(format_buy(mm, system)) >= mm - 0.002


@settings(deadline=None)
@given(st.text(max_size=30))
def test_any_text_is_a_finite_length_or_one_sentence(text):
    try:
        value = parse_length(text)
    except InputError as error:
        assert "\n" not in str(error)
    else:
        assert 0 <= value < float("inf")


def test_units_load_nothing_heavy():
    loaded = "import sys, marker.units; print(*sys.modules)"
    names = subprocess.run(
        [sys.executable, "-c", loaded], capture_output=True, text=True, check=True
    ).stdout.split()
    assert not {"pydantic", "numpy", "shapely", "numba", "fontTools"} & {*names}


@pytest.mark.parametrize(
    ("text", "unit", "spelled"),
    [
        ("44", "in", "44 in"),
        ("44 1/2", "in", "44 1/2 in"),
        ("44in", "cm", "44in"),
        ("1,5", "m", "1,5 m"),
        ("4x6 cm", "in", "4 cm x 6 cm"),
        ("150 x 112", "cm", "150 cm x 112 cm"),
        ("3 stripes along", "cm", "3 cm stripes along"),
        ("1.5mx112cm", None, "1.5mx112cm"),
        ("included", None, "included"),
    ],
)
def test_bare_numbers_get_their_unit(text, unit, spelled):
    assert spell_units(text, unit) == spelled


def test_a_bare_number_without_a_unit_to_count_in_is_asked_about():
    with pytest.raises(NotALength, match="44 what"):
        spell_units("44")


@given(
    st.integers(1, 9999),
    st.sampled_from(["", ".5", ",25", " 3/8", " 1/2"]),
    st.sampled_from(["mm", "cm", "in", "yd"]),
)
def test_a_bare_number_is_as_long_as_the_same_with_its_unit(whole, part, unit):
    bare = f"{whole}{part}"
    assert parse_length(spell_units(bare, unit)) == parse_length(bare, unit)
    # Spelled once, it stays.
    assert spell_units(spell_units(bare, unit), "yd") == spell_units(bare, unit)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("1.5 m x 112 cm", ["1.5 m", "x", "112 cm"]),
        ("1.5mx112cm", ["1.5m", "x", "112cm"]),
        ('2 ft 6 in x 45"', ["2 ft 6 in", "x", '45"']),
        ("1½ yd by 45 in", ["1 1/2 yd", "by", "45 in"]),
        ("3 in stripes, along", ["3 in", "stripes", "along"]),
        ("1,5 m × 1,12 m", ["1,5 m", "x", "1,12 m"]),
    ],
)
def test_lengths_are_found_between_words(text, parts):
    assert lengths_in(text) == parts


@pytest.mark.parametrize(
    ("names", "told"),
    [([], ""), (["1"], "1"), (["1", "2"], "1 and 2"), (["6", "17", "25", "304"], "6, 17, 25 and 304")],
)
def test_several_are_told_with_commas_and_one_and(names, told):
    assert enumerated(names) == told
