"""The shopping list: what, how much, what it costs."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from marker.api import load_job
from marker.report.shopping import money, shopping_list, shopping_table
from tests.report import samples


def test_materials_first_then_notions() -> None:
    items = shopping_list(samples.layout(), samples.job())
    assert [(i.what, i.amount) for i in items] == [
        ("fabric", "1.8 m"),
        ("interfacing", "0.3 m"),
        ("Button", "3"),
        ("Thread", "1"),
    ]
    assert items[2].detail == "15 mm, four holes"


def test_cost_is_price_times_length_to_buy() -> None:
    fabric, interfacing = shopping_list(samples.layout(), samples.job())[:2]
    assert fabric.cost == pytest.approx(1.8 * 12.0)
    assert interfacing.cost is None


def test_price_by_the_yard() -> None:
    (fabric, *_) = shopping_list(samples.layout(samples.imperial()), samples.imperial_job())
    # 2 yd at 12 a yard.
    assert fabric.cost == pytest.approx(24.0)


def test_notions_nobody_needs_are_left_out() -> None:
    job = samples.job(notions=(("Button", "", 0), ("Cord", "1 m", 2)))
    assert [i.what for i in shopping_list(samples.layout(), job)] == ["fabric", "interfacing", "Cord"]


def test_costs_in_one_currency_are_added_up() -> None:
    priced = replace(samples.FUSIBLE, price=5.0, currency="EUR")
    job = samples.job(fabrics={"fabric": samples.LINEN, "interfacing": priced})
    from marker.report.console import to_text

    text = to_text([shopping_table(samples.layout(), job, 90)], width=90)
    # 21.60 + 0.3 x 5.00
    assert "23.10 EUR" in text


def test_costs_in_different_currencies_are_not_added_up() -> None:
    from marker.report.console import to_text

    priced = replace(samples.FUSIBLE, price=5.0, currency="USD")
    job = samples.job(fabrics={"fabric": samples.LINEN, "interfacing": priced})
    text = to_text([shopping_table(samples.layout(), job, 90)], width=90)
    assert "21.60 EUR" in text and "1.50 USD" in text
    assert "together" not in text


def test_a_tube_is_called_one() -> None:
    (item, *_) = shopping_list(samples.layout(samples.tube()), samples.job())
    assert "70 cm wide (a tube, as it lies)" in item.detail


@pytest.mark.parametrize(
    ("currency", "told"),
    [
        ("$", "$26.98"),
        ("€", "€26.98"),
        ("A$", "A$26.98"),
        ("EUR", "26.98 EUR"),
        ("kr", "26.98 kr"),
        ("", "26.98"),
    ],
)
def test_a_sign_goes_before_an_amount_and_a_word_behind(currency: str, told: str) -> None:
    assert money(26.98, currency) == told


@pytest.mark.parametrize(("garments", "reels"), [(1, 2), (2, 2), (3, 4), (12, 12)])
def test_reels_that_last_for_several_garments_are_not_bought_for_each(garments: int, reels: int) -> None:
    smock = load_job(Path(__file__).parents[2] / "pieces" / "harbour-smock.toml", size="M", quantity=garments)
    counts = {(name, detail): count for name, detail, count in smock.notions}
    assert counts["Sewing thread", "polyester, 200 m reel"] == reels
    assert counts["Cotton tape", "10 mm wide, 40 cm, to stay the yoke seam"] == garments
