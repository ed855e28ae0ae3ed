"""A key stands for content: equal for what lays out alike, different for anything that may not."""

from dataclasses import replace

import pytest

from marker.tables.task import Search, engine_version, task

SEARCH = Search(effort=0.02)


def made(source, *, material="fabric", fold="best", search=SEARCH, cloth=None, **how):
    job = source.job(size=how.pop("size", "S"), **how)
    if cloth:
        job = replace(job, fabrics={**job.fabrics, material: replace(job.fabrics[material], **cloth)})
    return task(job, material, fold, search)


def test_loading_twice_gives_the_same_key(pennants):
    assert made(pennants).key == made(pennants).key
    assert len(made(pennants).key) == 64


@pytest.mark.parametrize("seen", [{"name": "Other"}, {"price": 3.0}, {"currency": "GBP"}])
def test_name_and_price_of_a_cloth_lay_nothing_out(pennants, seen):
    assert made(pennants, cloth=seen).key == made(pennants).key


def test_sizes_that_cut_the_same_pieces_share_a_key(pennants):
    assert made(pennants, material="stiffening").key == made(pennants, material="stiffening", size="L").key
    assert made(pennants).key != made(pennants, size="L").key


@pytest.mark.parametrize(
    "cloth", [{"nap": True}, {"width": 510.0}, {"gap": 1.0}, {"step": 125.0}, {"shrink_along": 0.01}]
)
def test_what_a_cloth_lays_down_changes_the_key(pennants, cloth):
    assert made(pennants, cloth=cloth).key != made(pennants).key


def test_the_way_of_searching_changes_the_key(pennants):
    searches = [SEARCH, Search(effort=0.03), Search(seconds=0.02), Search(seed=2, effort=0.02)]
    keys = {made(pennants, search=search).key for search in searches}
    keys.add(made(pennants, fold="open").key)
    keys.add(replace(made(pennants), engine="another").key)
    assert len(keys) == 6


def test_matching_counts_where_there_is_something_to_match(panels):
    assert made(panels, size=None).key != made(panels, size=None, matching="none").key
    assert made(panels, size=None, cloth={"print": None}).key == (
        made(panels, size=None, cloth={"print": None}, matching="none").key
    )


def test_the_engine_is_told_by_its_code():
    assert len(engine_version()) == 64
