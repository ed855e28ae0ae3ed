"""When the message that the search is being prepared is due."""

import os
from types import SimpleNamespace

import pytest

from marker.nest import compiling
from marker.nest.landscape import make_tables


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """A file of kernels with compiled ones kept beside it, in a process that has not loaded them yet."""
    source = tmp_path / "kernels.py"
    source.write_text("")
    construct = SimpleNamespace(
        __name__="construct", signatures=(), stats=SimpleNamespace(cache_path=str(tmp_path))
    )
    fake = SimpleNamespace(__file__=str(source), CACHE=True, construct=construct, construct_tied=construct)
    monkeypatch.setattr(compiling, "kernels", fake)
    monkeypatch.setattr(compiling, "solve", lambda *problem, **more: None)
    return tmp_path


def dated(path, seconds):
    path.touch()
    os.utime(path, (seconds, seconds))


def test_kernels_compiled_since_their_file_was_written_are_not_announced(kept):
    dated(kept / "kernels.py", 1000)
    dated(kept / "kernels.construct-1.py311.nbi", 2000)
    told = []
    assert not compiling.compile_kernels(False, lambda: told.append(1))
    assert told == []


def test_a_new_date_alone_is_announced_once(kept):
    # As after a checkout or a copy: numba finds what it has by the text and would not write it again.
    dated(kept / "kernels.construct-1.py311.nbi", 1000)
    dated(kept / "kernels.py", 2000)
    told = []
    assert compiling.compile_kernels(False, lambda: told.append(1))
    assert not compiling.compile_kernels(False, lambda: told.append(2))
    assert told == [1]


def test_without_a_folder_for_compiled_kernels_every_process_announces_it(kept):
    compiling.kernels.CACHE = False
    told = []
    assert compiling.compile_kernels(False, lambda: told.append(1))
    assert compiling.compile_kernels(False, lambda: told.append(2))
    assert told == [1, 2]


@pytest.mark.parametrize("tied", [False, True])
def test_warming_up_goes_through_exact_fits(monkeypatch, tied):
    seen = []
    monkeypatch.setattr(compiling, "solve", lambda problem, *more, **also: seen.append(problem))
    compiling.warm_up(tied)
    assert make_tables(seen[0]).gridded
