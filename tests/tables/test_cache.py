"""Layouts are found again by their content, and only if they still hold."""

import json

import pytest

from marker.tables.cache import Cache, usual_folder
from marker.tables.solve import solve
from marker.tables.task import Search, task


@pytest.fixture
def one(pennants):
    return task(pennants.job(size="S"), "fabric", "open", Search(effort=0.01))


@pytest.fixture
def kept(one, tmp_path):
    cache = Cache(tmp_path / "kept")
    outcome = solve(one)
    cache.put(one, outcome)
    return cache, outcome


def test_what_is_kept_is_what_was_found(one, kept):
    cache, outcome = kept
    held = cache.get(one)
    assert (held.buy, held.lay) == (outcome.buy, outcome.lay)
    assert held.used == pytest.approx(outcome.used, abs=1e-5)
    # Whole or not at all: no half-written files beside it.
    assert [file.name for file in cache.path(one).parent.iterdir()] == [f"{one.key}.json"]


def test_the_same_content_of_another_size_is_found(pennants, tmp_path):
    cache, search = Cache(tmp_path / "kept"), Search(effort=0.01)
    small, large = (task(pennants.job(size=size), "stiffening", "open", search) for size in ("S", "L"))
    cache.put(small, solve(small))
    assert cache.get(large).solved


def test_fresh_does_not_look(one, kept):
    assert Cache(kept[0].folder, fresh=True).get(one) is None


@pytest.mark.parametrize("damage", ["", "{", '{"marker_layout": 1}', "[]", "\x00\x00"])
def test_a_broken_file_is_ignored_and_written_anew(one, kept, damage):
    cache, outcome = kept
    cache.path(one).write_text(damage)
    assert cache.get(one) is None
    cache.put(one, outcome)
    assert cache.get(one).solved


def test_a_layout_that_does_not_hold_is_not_shown(one, kept):
    cache, _ = kept
    layout = json.loads(cache.path(one).read_text())
    placed = layout["materials"][0]["placements"][0]
    placed["outline"] = [[x + 30.0, y] for x, y in placed["outline"]]
    cache.path(one).write_text(json.dumps(layout))
    assert cache.get(one) is None


def test_a_shorter_length_made_up_is_not_shown(one, kept):
    cache, _ = kept
    layout = json.loads(cache.path(one).read_text())
    layout["materials"][0]["buy"]["length"] = 100.0
    cache.path(one).write_text(json.dumps(layout))
    assert cache.get(one) is None


def test_the_usual_folder_is_the_users_own(monkeypatch, tmp_path):
    # The base directory specification of freedesktop.org names this variable; macOS has its own place.
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    folder = usual_folder()
    assert folder.name == "layouts" and folder.parent.name == "boathouse-marker"
    assert tmp_path in folder.parents or "Caches" in folder.parts
