"""The first layout: shapes laid one after the other, largest first, each where it ends farthest left.

With lattices, their phases are chosen at random first, so several layouts are worth their work.
"""

from __future__ import annotations

import numpy as np

from marker.nest.bench import Bench, Layout

TRIES = 3
"""Orders tried before shapes are laid in a row, should a layout not be certified."""

PHASES = 5
"""Layouts tried beyond the usual if there are phases to choose."""


def first_layout(bench: Bench, rng: np.random.Generator, orders: int, jitter: float) -> Layout:
    """The best of a few layouts built in slightly different orders; certified free of overlap."""
    best = None
    for k in range(orders + (PHASES if bench.tables.ties is not None else 0)):
        layout = build(bench, rng, jitter, fixed=0.5 if k else 0.0)
        if best is None or layout.length < best.length:
            best = layout
    assert best is not None
    return best


def build(bench: Bench, rng: np.random.Generator, jitter: float, fixed: float = 0.5) -> Layout:
    """Lays all shapes in an order by size that is shaken by ``jitter`` (a standard deviation of log size).

    Of the phases of lattices a share of ``fixed`` is drawn at random; others suit the first of their shapes.
    """
    tables = bench.tables
    unset = None
    if tables.ties is not None:
        phase = tables.ties.phases(rng)
        assert phase is not None
        bench.phase[:] = phase % tables.ties.period
        unset = tables.ties.anywhere & (rng.random(len(phase)) >= fixed)
    size = np.log(np.maximum(1.0, tables.size[tables.kind]))
    for _ in range(TRIES):
        order = np.argsort(-(size + jitter * rng.standard_normal(len(size))), kind="stable")
        bench.construct(order, unset)
        if bench.certify():
            return bench.layout()
        jitter += 0.1
    _in_a_row(bench)
    return bench.layout()


def _in_a_row(bench: Bench) -> None:
    """Lays shapes one behind the other, behind all obstacles: always free of overlap."""
    tables = bench.tables
    room = tables.window[:, 2] <= tables.window[:, 3]
    if tables.ties is not None:
        room = tables.ties.room(np.inf, bench.phase)
    end = tables.begin
    length = 0.0
    for i, kind in enumerate(tables.kind):
        v = int(tables.first_variant[kind])
        while not room[v]:
            v += 1
        x, y = max(tables.window[v, 0], end), tables.window[v, 2]
        if tables.ties is not None:
            x, y = tables.ties.first_place(v, bench.phase, x, y)
        bench.put(i, v, x, y)
        end = x + tables.box[v, 0]
        length = max(length, x + tables.window[v, 1])
    bench.length = int(length)
