"""Waste of the demo garments beside published figures.

Waste at cutting: 10 to 20 % (Feyerabend 2004), about 15 % on average for adult outerwear (Cooklin 1997).
"""

from pathlib import Path

import pytest

from marker.api import lay, load_job

PIECES = Path(__file__).parent.parent / "pieces"


def waste(pattern, effort, **options):
    answer = lay(load_job(PIECES / f"{pattern}.toml", **options), fold="open", effort=effort, cores=1)
    return next(m.waste_percent for m in answer.layout.materials if m.material == "fabric")


@pytest.mark.parametrize("view", ["A", "B"])
def test_the_smock_wastes_what_published_cutting_rooms_waste(view):
    assert 10.0 <= waste("harbour-smock", 0.4, size="M", view=view) <= 18.0


def test_the_apron_wastes_at_most_the_published_most():
    # Five pieces, one as long as the whole lay: nothing is left to fill the gaps with.
    assert 10.0 <= waste("market-apron", 0.1) <= 20.0


def test_the_skirt_wastes_a_little_more_and_why():
    # Six wedges and nothing small to lie between them: the published band is for whole garment ranges.
    assert 10.0 <= waste("gored-skirt", 0.4, size="M", matching="none") <= 23.0
