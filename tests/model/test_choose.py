"""From a pattern to a job."""

from dataclasses import replace

import pytest

from marker.errors import InputError
from marker.model.choose import MOST_PLACEMENTS, choose
from marker.model.fabric import Fabric
from marker.model.pattern import Notion, Pattern, View
from marker.model.piece import Cut, Piece

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))


def piece(number, name, *cuts):
    return Piece(number, name, SQUARE, ((50.0, 10.0), (50.0, 90.0)), cuts)


PIECES = (
    piece("1", "Front", Cut("fabric", 2, "mirrored")),
    piece("2", "Collar", Cut("fabric", 2, "alike"), Cut("interfacing", 1, "alike")),
    piece("3", "Loop", Cut("fabric", 1, "alike")),
    piece("4", "Guide"),
    piece("5", "Pocket", Cut("lining", 2, "mirrored")),
)
PATTERN = Pattern(
    name="Oar bag",
    path="oar-bag.toml",
    sizes=("S", "M"),
    views=(
        View("A", "Plain", ("1", "2", "4"), ("3", "5")),
        View("B", "With a loop", ("1", "3")),
        View("C", "A guide alone", ("4",)),
    ),
    pieces={"S": PIECES, "M": PIECES},
    fabrics={"fabric": Fabric("Deck canvas", 1400.0, selvage=10.0), "interfacing": Fabric("Fusible", 900.0)},
    notions=(
        Notion("Button", "11 mm", {"S": 6, "M": 7}),
        Notion("Hook", "", {"S": 1, "M": 1}, with_piece="3"),
        Notion("Cord", "", {"S": 1, "M": 1}, views=("B",)),
        Notion("Bead", "", {"S": 0, "M": 2}),
    ),
)


def numbers(job):
    return [piece.number for piece in job.pieces]


def refused(*words, **asked):
    with pytest.raises(InputError) as caught:
        choose(asked.pop("pattern", PATTERN), **asked)
    sentence = str(caught.value)
    assert sentence.startswith("oar-bag.toml: ") and sentence.endswith((".", "?")) and "\n" not in sentence
    for word in words:
        assert word in sentence, sentence


def test_the_first_view_is_the_default_and_keeps_its_guides():
    job = choose(PATTERN, size="S")
    assert (job.size, job.view, job.quantity) == ("S", "A", 1)
    assert numbers(job) == ["1", "2", "4"]
    assert job.pieces[2].is_guide


def test_the_only_size_need_not_be_named():
    assert choose(replace(PATTERN, sizes=("S",))).size == "S"
    refused("which size", "S, M")


def test_upper_and_lower_case_do_not_matter_where_names_stay_apart():
    assert choose(PATTERN, size="m", view="b").view == "B"
    refused(
        "no size s",
        pattern=replace(PATTERN, sizes=("SS", "Ss"), pieces={"SS": PIECES, "Ss": PIECES}),
        size="s",
    )


def test_optional_pieces_come_and_others_go_on_request():
    assert numbers(choose(PATTERN, size="S", with_=["3"])) == ["1", "2", "3", "4"]
    assert numbers(choose(PATTERN, size="S", with_=["loop"])) == ["1", "2", "3", "4"]
    assert numbers(choose(PATTERN, size="S", without=["2"])) == ["1", "4"]
    assert numbers(choose(PATTERN, size="S", with_=["1"])) == ["1", "2", "4"]


def test_only_fabrics_that_are_cut_are_kept():
    assert [*choose(PATTERN, size="S").fabrics] == ["fabric", "interfacing"]
    assert [*choose(PATTERN, size="S", view="B").fabrics] == ["fabric"]


def test_widths_and_fabrics_given_replace_those_of_the_pattern():
    wool = Fabric("Boiled wool", 1500.0, nap=True)
    job = choose(PATTERN, size="S", fabrics={"fabric": wool, "spare": wool}, widths={"interfacing": 450.0})
    assert job.fabrics["fabric"] == wool
    assert job.fabrics["interfacing"] == replace(PATTERN.fabrics["interfacing"], width=450.0)
    both = choose(PATTERN, size="S", fabrics={"fabric": wool}, widths={"fabric": 1400})
    assert both.fabrics["fabric"] == replace(wool, width=1400.0)


def test_notions_follow_size_view_pieces_and_quantity():
    assert choose(PATTERN, size="S").notions == (("Button", "11 mm", 6),)
    assert choose(PATTERN, size="M", quantity=3).notions == (("Button", "11 mm", 21), ("Bead", "", 6))
    assert choose(PATTERN, size="S", with_=["3"]).notions == (("Button", "11 mm", 6), ("Hook", "", 1))
    assert [name for name, _, _ in choose(PATTERN, size="S", view="B").notions] == ["Button", "Hook", "Cord"]


def test_what_does_not_exist_is_told_with_what_does():
    refused("no size XXL", "S, M", size="XXL")
    refused("no view D", "A, B, C", size="S", view="D")
    refused("--with 7", "3 (Loop), 5 (Pocket)", size="S", with_=["7"])
    refused("--with 5", "no optional pieces", size="S", view="B", with_=["5"])
    refused("--without 5", "1 (Front), 3 (Loop)", size="S", view="B", without=["5"])
    refused("piece 3", "both", size="S", with_=["3"], without=["3"])
    refused("cuts nothing", "fabrik", 'did you mean "fabric"', size="S", widths={"fabrik": 1400.0})
    refused("lining", "cuts nothing", size="S", widths={"lining": 1400.0})
    refused("spare", "fabric", "interfacing", size="S", fabrics={"spare": Fabric("Wool", 1500.0)})


def test_a_material_without_a_fabric_is_told_with_the_piece_that_asks_for_it():
    refused('piece 5 "Pocket"', "cuts", "no fabric for lining", "[fabric.lining]", size="S", with_=["5"])
    assert (
        "lining" in choose(PATTERN, size="S", with_=["5"], fabrics={"lining": Fabric("Silk", 900.0)}).fabrics
    )


@pytest.mark.parametrize("quantity", [0, -3, 1.5, True])
def test_a_quantity_is_a_whole_number_of_garments(quantity):
    refused("quantity", "whole number", size="S", quantity=quantity)


@pytest.mark.parametrize("width", [0.0, -5.0, float("nan"), float("inf"), 1e5])
def test_a_width_is_a_length_that_a_cloth_can_have(width):
    refused("width of", "fabric", size="S", widths={"fabric": width})


def test_a_cloth_of_nothing_but_selvages_is_refused():
    refused("selvages", size="S", widths={"fabric": 20.0})


def test_nothing_to_cut_is_told():
    refused("view C", "nothing is cut", size="S", view="C")
    refused("nothing is cut", size="S", view="B", without=["1", "3"])


def test_two_thousand_pieces_are_the_limit_and_not_one_more():
    # View A cuts five pieces a garment.
    assert choose(PATTERN, size="S", quantity=400).quantity == 400
    assert MOST_PLACEMENTS == 400 * 5
    refused("2005 pieces", "2000", size="S", quantity=401)
