"""Ways to shake a layout that is stuck: most of it stays as it is, the rest is laid anew."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from marker.nest.bench import Bench

_Float = NDArray[np.float64]

SHIFTS = 0.6
"""How often the phase of a lattice is shifted when its last shape reaches beyond the end."""


def shift_behind(bench: Bench, at: float, by: float) -> None:
    """Moves all shapes whose middle lies behind ``at`` along the strip by ``by``."""
    n = bench.movable
    middle = bench.x[:n] + bench.tables.box[bench.variant, 0] / 2
    bench.x[:n] += np.where(middle > at, np.rint(by), 0.0)
    bench.clamp()


def swap_similar(bench: Bench, rng: np.random.Generator) -> None:
    """Exchanges two shapes of different kinds, most often of about the same size, each in any variant."""
    kinds = bench.tables.kind
    size = np.log(np.maximum(1.0, bench.tables.size[kinds]))
    i = int(rng.integers(len(kinds)))
    others = np.flatnonzero(kinds != kinds[i])
    if len(others) == 0:
        return
    unlike = np.abs(size[others] - size[i]) + 0.3 * rng.random(len(others))
    rank = int(abs(rng.normal(0.0, 0.15)) * len(others))
    j = int(others[np.argsort(unlike, kind="stable")[min(len(others) - 1, rank)]])
    x, y = centres(bench)
    _lay(bench, i, _any_variant(bench, i, rng), x[j], y[j])
    _lay(bench, j, _any_variant(bench, j, rng), x[i], y[i])
    bench.clamp()


def swap_slices(bench: Bench, rng: np.random.Generator) -> None:
    """Exchanges two neighbouring slices of the strip."""
    x, _ = centres(bench)
    a, b, c = np.sort(rng.uniform(0.0, bench.length, 3))
    n = bench.movable
    bench.x[:n] += np.where((x >= a) & (x < b), np.rint(c - b), 0.0)
    bench.x[:n] -= np.where((x >= b) & (x < c), np.rint(b - a), 0.0)
    bench.clamp()


def turn_slice(bench: Bench, rng: np.random.Generator) -> None:
    """Turns a slice of the strip by 180° or turns it over, shapes together with their places.

    A shape for which the turned outline is not allowed keeps its own.
    """
    x, y = centres(bench)
    a, b = np.sort(rng.uniform(-0.2, 1.2, 2)) * bench.length
    a, b = max(0.0, a), min(float(bench.length), b)
    flip = int(rng.integers(3))
    width = _width(bench)
    turned = bench.tables.turned[flip]
    for i in np.flatnonzero((x >= a) & (x < b)):
        v = int(bench.variant[i])
        _lay(
            bench,
            int(i),
            int(turned[v]) if turned[v] >= 0 else v,
            a + b - x[i] if flip in (0, 2) else x[i],
            width - y[i] if flip in (0, 1) else y[i],
        )
    bench.clamp()


def scatter(bench: Bench, rng: np.random.Generator, share: float = 0.08) -> None:
    """Throws some shapes, those round about a random one, to random places."""
    n = bench.movable
    x, y = centres(bench)
    i = int(rng.integers(n))
    near = np.argsort(np.hypot(x - x[i], y - y[i]), kind="stable")[: max(2, round(share * n))]
    width = _width(bench)
    for j in near:
        _lay(
            bench,
            int(j),
            _any_variant(bench, int(j), rng),
            rng.uniform(0, bench.length),
            rng.uniform(0, width),
        )
    bench.clamp()


def shift_phases(bench: Bench, rng: np.random.Generator) -> None:
    """Of lattices whose last shapes reach beyond the end of the strip, shifts phases so that they do not.

    Only some of the time: the other way is for those shapes to go to other places of their lattices.
    """
    ties = bench.tables.ties
    assert ties is not None
    n = bench.movable
    over = bench.x[:n] + bench.tables.window[bench.variant, 1] - bench.length
    sign, group = ties.row[bench.variant, 2], ties.row[bench.variant, 3]
    phase = bench.phase.copy()
    for g in range(ties.along):
        last = np.flatnonzero((group == g) & (over > 0))
        if len(last) and rng.random() < SHIFTS:
            most = last[np.argmax(over[last])]
            phase[g] -= sign[most] * over[most]
    bench.set_phase(phase)
    if not bench.fits(bench.length):
        other = ties.phases(rng, bench.length)
        if other is not None:
            bench.set_phase(other)


def change_phase(bench: Bench, rng: np.random.Generator) -> None:
    """Gives one group of lattices another phase; its shapes move with it."""
    ties = bench.tables.ties
    assert ties is not None
    chosen = ties.phases(rng, bench.length)
    if chosen is None:
        return
    g = int(rng.integers(len(chosen)))
    one = bench.phase.copy()
    one[g] = chosen[g]
    before = bench.layout()
    bench.set_phase(one)
    if not bench.fits(bench.length):
        bench.load(before)
        bench.set_phase(chosen)


def centres(bench: Bench) -> tuple[_Float, _Float]:
    """Middles of the boxes of all shapes."""
    n = bench.movable
    box = bench.tables.box[bench.variant]
    return bench.x[:n] + box[:, 0] / 2, bench.y[:n] + box[:, 1] / 2


def _lay(bench: Bench, i: int, v: int, x: float, y: float) -> None:
    box = bench.tables.box[v]
    bench.put(i, v, np.rint(x - box[0] / 2), np.rint(y - box[1] / 2))


def _width(bench: Bench) -> float:
    t = bench.tables
    return float((t.window[:, 3] + t.box[:, 1]).max() + t.window[:, 2].min())


def _any_variant(bench: Bench, i: int, rng: np.random.Generator) -> int:
    t = bench.tables
    first, last = t.first_variant[t.kind[i]], t.first_variant[t.kind[i] + 1]
    usable = [
        v
        for v in range(first, last)
        if t.window[v, 2] <= t.window[v, 3] and t.window[v, 0] + t.window[v, 1] <= bench.length
    ]
    return int(rng.choice(usable))
