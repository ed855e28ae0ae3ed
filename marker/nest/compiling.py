"""Compiling the kernels, which takes some ten seconds, before they are first needed."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from marker.nest import kernels
from marker.nest.budget import Budget
from marker.nest.problem import Kind, Lattice, Problem, Variant
from marker.nest.search import solve


def is_cold(tied: bool = False) -> bool:
    """Whether the kernels still have to be compiled, which takes some ten seconds (``warm_up``).

    ``tied``: those for problems with lattices, which take as long again.
    """
    kernel = _kernel(tied)
    if kernel.signatures:
        return False
    source = Path(kernels.__file__).stat().st_mtime
    return not any(index.stat().st_mtime >= source for index in _indices(tied))


def _kernel(tied: bool) -> Any:
    """The one that stands for all."""
    return kernels.construct_tied if tied else kernels.construct


def _indices(tied: bool) -> list[Path]:
    """Files in which numba keeps what it has compiled of that kernel; none without a folder for them."""
    if not kernels.CACHE:
        return []
    kernel = _kernel(tied)
    return list(Path(kernel.stats.cache_path).glob(f"kernels.{kernel.__name__}-*.nbi"))


def compile_kernels(tied: bool, on_cold: Callable[[], None] | None = None) -> bool:
    """Compiles the kernels that are not compiled yet, those for lattices too if ``tied``; whether any were.

    ``on_cold`` is called before the first.
    """
    cold = [lattices for lattices in ((False, True) if tied else (False,)) if is_cold(lattices)]
    if cold and on_cold:
        on_cold()
    for lattices in cold:
        warm_up(lattices)
    return bool(cold)


def warm_up(tied: bool = False) -> None:
    """Compiles all kernels, or loads them from numba's cache, by solving a tiny problem.

    ``tied``: those for problems with lattices instead.
    """
    # A prong as wide as the slot beside it, so that exact fits are gone through too.
    fork = np.array(
        [(0, 0), (1000, 0), (1000, 1000), (600, 1000), (600, 300), (300, 300), (300, 1000), (0, 1000)],
        dtype=np.int64,
    )
    lattice = Lattice(1500.0, 0.0, group=0) if tied else None
    upright, turned = Variant(fork, 0, 1000, 0, 1500, lattice), Variant(-fork, 1000, 0, 1000, 2500, lattice)
    kind = Kind((upright, turned), 4, 0.79e6)
    solve(Problem((kind,), 2500, (fork,)), Budget(effort=0.02), cores=1)
    for index in _indices(tied):
        # numba goes by the text of the kernels: if only the date of their file is new, it writes nothing.
        with suppress(OSError):
            index.touch()
