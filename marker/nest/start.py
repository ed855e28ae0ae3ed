"""The first layout: shapes laid one after the other, largest first, each where it ends farthest left."""

from __future__ import annotations

import numpy as np

from marker.nest.bench import Bench, Layout

TRIES = 3
"""Orders tried before shapes are laid in a row, should a layout not be certified."""


def first_layout(bench: Bench, rng: np.random.Generator, orders: int, jitter: float) -> Layout:
    """The best of a few layouts built in slightly different orders; certified free of overlap."""
    best = None
    for _ in range(orders):
        layout = build(bench, rng, jitter)
        if best is None or layout.length < best.length:
            best = layout
    assert best is not None
    return best


def build(bench: Bench, rng: np.random.Generator, jitter: float) -> Layout:
    """Lays all shapes in an order by size that is shaken by ``jitter`` (a standard deviation of log size)."""
    tables = bench.tables
    size = np.log(np.maximum(1.0, tables.size[tables.kind]))
    for _ in range(TRIES):
        order = np.argsort(-(size + jitter * rng.standard_normal(len(size))), kind="stable")
        bench.construct(order)
        if bench.certify():
            return bench.layout()
        jitter += 0.1
    _in_a_row(bench)
    return bench.layout()


def _in_a_row(bench: Bench) -> None:
    """Lays shapes one behind the other, behind all obstacles: always free of overlap."""
    tables = bench.tables
    end = tables.begin
    length = 0.0
    for i, kind in enumerate(tables.kind):
        v = int(tables.first_variant[kind])
        while tables.window[v, 3] < tables.window[v, 2]:
            v += 1
        x = max(tables.window[v, 0], end)
        bench.put(i, v, x, tables.window[v, 2])
        end = x + tables.box[v, 0]
        length = max(length, x + tables.window[v, 1])
    bench.length = int(length)
