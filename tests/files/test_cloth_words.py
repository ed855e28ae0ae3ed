"""Cloth said in a few words, and the same cloth written in a fabric file."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.errors import InputError
from marker.files.cloth_words import ClothWords, in_words, with_print, with_remnants
from marker.files.fabric import load_fabrics
from marker.model.fabric import Border, Fabric

LINEN = Fabric("Linen", 1500.0, selvage=10.0, shrink_along=0.05, shrink_across=0.02)


def written(tmp_path, table):
    path = tmp_path / "cloth.toml"
    path.write_text(
        '[fabric.fabric]\nname = "Linen"\nwidth = "150 cm"\nselvage = "1 cm"\nshrink_along = 5\n'
        f"shrink_across = 2\n{table}\n"
    )
    return load_fabrics(path)["fabric"]


@pytest.mark.parametrize(
    ("texts", "table"),
    [
        (
            [
                "stripes along 3 cm",
                "3 cm stripes along",
                "Stripes, lengthwise, every 30mm",
                "striped along 3,0 cm",
            ],
            'kind = "stripes along"\nacross = "3 cm"',
        ),
        (["stripes across 1 1/2 in", '1½" stripes across'], 'kind = "stripes across"\nalong = "1 1/2 in"'),
        (
            [
                "check 4 cm x 6 cm",
                "check 4 cm along x 6 cm across",
                "6 cm across, 4 cm along, plaid",
            ],
            'kind = "check"\nalong = "4 cm"\nacross = "6 cm"',
        ),
        (["check 4 cm", "gingham 4 cm"], 'kind = "check"\nalong = "4 cm"\nacross = "4 cm"'),
        (["motifs 32 cm by 16 cm"], 'kind = "motifs"\nalong = "32 cm"\nacross = "16 cm"'),
        (["uneven check 4 cm"], 'kind = "check"\nalong = "4 cm"\nacross = "4 cm"\neven = "none"'),
        # Bars of different colours: not their own mirror image across, but the same turned end for end.
        (["stripes along 4 cm uneven"], 'kind = "stripes along"\nacross = "4 cm"\neven = "along"'),
        (["stripes across 4 cm uneven"], 'kind = "stripes across"\nalong = "4 cm"\neven = "across"'),
    ],
)
def test_a_print_in_words_is_the_print_of_a_fabric_file(texts, table, tmp_path):
    filed = written(tmp_path, f"[fabric.fabric.print]\n{table}")
    for text in texts:
        said = with_print(LINEN, text)
        assert (said.print, said.nap) == (filed.print, filed.nap), text


def test_none_takes_the_print_off():
    striped = with_print(LINEN, "stripes along 3 cm")
    assert striped.print is not None
    assert with_print(striped, "none").print is None


def test_a_cloth_that_ran_one_way_still_does_with_another_print():
    # It may have a nap as well: cut the wrong way round that shows, one way too many costs a little cloth.
    uneven = with_print(LINEN, "uneven check 4 cm")
    assert uneven.nap
    assert with_print(uneven, "stripes along 3 cm").nap


@pytest.mark.parametrize(
    "text",
    [
        "1.5 m x 112 cm",
        "1,5m x 112cm",
        "1.5mx112cm",
        "112 cm wide, 1.5 m long",
        "length 1.5 m, width 112 cm",
        "width 112 cm x 1.5 m",
        "1.5 m of 112 cm cloth",
        "150 cm by 1.12 m",
    ],
)
@pytest.mark.parametrize("washed", ["", "washed"])
def test_a_remnant_in_words_is_the_remnant_of_a_fabric_file(text, washed, tmp_path):
    filed = written(
        tmp_path,
        'roll = false\n[[fabric.fabric.remnant]]\nname = "x"\nlength = "1.5 m"\nwidth = "112 cm"\n'
        + (f"{washed} = true" if washed else ""),
    )
    said = with_remnants(LINEN, [f"{text} {washed}"])
    (mine,), (theirs,) = said.remnants, filed.remnants
    assert mine.outline == tuple((pytest.approx(x), pytest.approx(y)) for x, y in theirs.outline)
    assert mine.washed == theirs.washed
    # A file tells of any rectangle; in words it is a length of the cloth, with its selvages.
    assert (mine.selvage, theirs.selvage) == (10.0, 0.0)
    assert not said.roll
    assert (said.shrink_along, said.nap, said.price) == (LINEN.shrink_along, LINEN.nap, LINEN.price)


def test_two_alike_have_names_of_their_own():
    remnants = with_remnants(LINEN, ["1 m x 90 cm"] * 3).remnants
    assert len({each.name for each in remnants}) == 3


def test_cloth_in_inches_is_spoken_of_in_inches():
    assert with_remnants(LINEN, ["2 yd x 45 in"]).system == "imperial"
    assert with_remnants(replace(LINEN, system="imperial"), ["2 m x 110 cm"]).system == "metric"


@given(
    st.integers(10, 500),
    st.integers(10, 300),
    st.sampled_from(
        ["{a} cm x {b} cm", "{b} cm wide {a} cm long", "length {a} cm width {b} cm", "{a} cm by {b} cm"]
    ),
)
def test_every_order_of_words_gives_the_same_rectangle(a, b, form):
    cloth = replace(LINEN, selvage=0.0)
    (remnant,) = with_remnants(cloth, [form.format(a=a, b=b) + " washed"]).remnants
    assert remnant.outline[2] == (pytest.approx(10.0 * a), pytest.approx(10.0 * b))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "no length is given"),
        ("1.5 m", "one length is given"),
        ("1 m x 2 m x 3 m", "3 lengths are given"),
        ("150 x 112", "150 what"),
        ("1.5 m x 1 mm", "absurd"),
        ("1500 m x 1 m", "absurd"),
        ("0 m x 1 m", "nothing"),
        ("1,500 mm x 1 m", "two ways"),
        ("1.5 m tall x 112 cm", '"tall" says nothing here'),
        ("112 cm wide wide 1.5 m", "beside it"),
        ("1 m long x 2 m long", "said twice"),
        ("1.5 m x 2 cm", "selvages"),
        ("1 m x 1 m washed unwashed", "cannot both be"),
    ],
)
def test_a_wrong_remnant_is_one_sentence(text, told):
    with pytest.raises(InputError, match=told) as caught:
        with_remnants(LINEN, [text])
    assert str(caught.value).startswith(f"--have {text}: ")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "say what is printed"),
        ("3 cm", "say what is printed"),
        ("stripes 3 cm", "along the cloth or across it"),
        ("stripes along", "one repeat"),
        ("stripes along 3 cm x 4 cm", "one repeat"),
        ("stripes along across 3 cm", "cannot both be"),
        ("stripes check 3 cm", "cannot both be"),
        ("check", "repeat along the cloth and the one across"),
        ("check 4 cm along", "repeat along the cloth and the one across"),
        ("stripes along 3", "3 what"),
        ("stripes along 0 cm", "nothing"),
        ("stripes along 1 mm", "too small to match"),
        ("stripes across 9 m", "longer than"),
        ("stripes alon 3 cm", "did you mean .along"),
        ("1 " * 200, "longer than 200"),
        ("none 3 cm", "none stands alone"),
        ("stripes along 3 ells", "3 what"),
    ],
)
def test_a_wrong_print_is_one_sentence(text, told):
    with pytest.raises(InputError, match=told) as caught:
        with_print(LINEN, text)
    assert str(caught.value).startswith(f"--print {text}"[:60])


@pytest.mark.parametrize("cloth", [replace(LINEN, tube=True), replace(LINEN, border=Border("lower", 100.0))])
def test_tubes_and_borders_come_on_the_roll_only(cloth):
    with pytest.raises(InputError, match="on the roll only"):
        with_remnants(cloth, ["1 m x 1 m"])


@pytest.mark.parametrize("cloth", [LINEN, replace(LINEN, tube=True)])
def test_no_piece_at_all_is_a_mistake_in_one_sentence(cloth):
    with pytest.raises(InputError, match=r"no piece of .* is named; write length and width"):
        with_remnants(cloth, [])


def test_cloth_in_hand_needs_no_other_cloth():
    found = in_words(ClothWords({"felt": ["18 in x 24 in"]}), {}, {}, "in")
    assert [each.outline[2] for each in found["felt"].remnants] == [
        (pytest.approx(457.2), pytest.approx(609.6))
    ]


def test_a_print_in_words_is_measured_on_the_cloth_as_it_is_now():
    def repeat(*have):
        words = ClothWords({"fabric": have} if have else {}, {"fabric": "stripes across 10 cm"})
        return in_words(words, {"fabric": LINEN}, {}, "cm")["fabric"].print.along

    # Linen shrinks 5 % along; what has been washed shrinks no more.
    assert repeat() == pytest.approx(95.0)
    assert repeat("1 m x 1 m") == pytest.approx(95.0)
    assert repeat("1 m x 1 m washed") == 100.0
    assert repeat("1 m x 1 m washed", "1 m x 1 m") == pytest.approx(95.0)


def test_a_cloth_of_which_only_the_width_is_known_takes_print_and_nap():
    found = in_words(ClothWords(prints={"felt": "check 4 cm"}, nap=["felt"]), {}, {"felt": 900.0}, "cm")
    cloth = found["felt"]
    assert (cloth.width, cloth.nap, cloth.print is not None) == (900.0, True, True)
    # With no width either there is no cloth, which is told where the job is chosen.
    assert in_words(ClothWords(nap=["felt"]), {}, {}, "cm") == {}


def test_what_is_not_said_stays():
    found = in_words(ClothWords(prints={"fabric": "check 4 cm"}, nap=["fabric"]), {"fabric": LINEN}, {}, "cm")
    assert found["fabric"].nap
    assert replace(found["fabric"], name="Linen", nap=False, print=None) == LINEN
