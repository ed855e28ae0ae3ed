"""How fast the search judges places: ``python -m benchmarks.kernel`` prints a table for shirts and swim.

A *place* is one shape somewhere among all others; its overlap with them is what is computed. Without
pruning: every other shape, every edge of the no-fit polygon. With boxes and cells: shapes whose no-fit
box is missed cost a comparison, of the others only the edges that can be nearest are looked at. Pruned:
of a list of near shapes, and no further than a limit, as the search does.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import click
import numba
import numpy as np

from benchmarks.instance import load, to_task
from marker.nest import kernels
from marker.nest.bench import Bench
from marker.nest.budget import Budget
from marker.nest.compiling import warm_up
from marker.nest.search import prepare, solve

PLACES = 2000


@numba.njit(nogil=True)
def _all_edges(shapes, xs, ys, x, y, poly, polys, pf, group, span, edges):
    total = 0.0
    for k in range(shapes.shape[0]):
        i = shapes[k]
        for j in range(x.shape[0]):
            if j != i:
                row = poly[j] * polys + poly[i]
                u = pf[row, 4] * (xs[k] - x[j]) + pf[row, 6]
                v = pf[row, 5] * (ys[k] - y[j]) + pf[row, 7]
                depth = kernels.signed_depth(u, v, span[group[row]], span[group[row] + 1], edges)
                total += max(0.0, depth) * pf[row, 8]
    return total


@numba.njit(nogil=True)
def _listed(
    shapes, xs, ys, limits, reach, polys, cell, pf, pi, first, near, edges, x, y, poly, weights, items, out
):
    for k in range(shapes.shape[0]):
        i = shapes[k]
        p = poly[i]
        if k == 0 or shapes[k - 1] != i:
            n = kernels.neighbours(i, p, x[i], y[i], reach, polys, pf, x, y, poly, items)
        out[k] = kernels.loss_at(
            i,
            p,
            xs[k],
            ys[k],
            n,
            items,
            limits[i],
            polys,
            cell,
            pf,
            pi,
            first,
            near,
            edges,
            x,
            y,
            poly,
            weights,
        )


def _rate(call: Callable[[], Any], amount: int) -> float:
    """Amounts a second, the best of a few tries after one to compile."""
    call()
    times = []
    for _ in range(5):
        began = time.perf_counter()
        call()
        times.append(time.perf_counter() - began)
    return amount / min(times)


def measure(name: str) -> dict[str, float]:
    """Places a second in three ways round a good layout, and the share of a search spent in its kernel."""
    task = to_task(load(name))
    prepared = prepare(task.problem)
    t = prepared.tables
    bench = Bench(t, 1)
    bench.take(solve(prepared, Budget(effort=0.5), seed=1, cores=1))
    n = bench.movable
    rng = np.random.default_rng(1)
    shapes = np.repeat(np.arange(n), -(-PLACES // n))
    reach = 0.02 * task.problem.width
    xs = bench.x[shapes] + rng.uniform(-reach, reach, len(shapes))
    ys = bench.y[shapes] + rng.uniform(-reach, reach, len(shapes))
    overlaps = np.zeros(len(shapes))
    common: tuple[Any, ...] = (t.polys, t.cell, t.pf, t.pi, t.first, t.near, t.edges)
    common += (bench.x, bench.y, bench.poly, bench.weights, np.zeros(kernels.NEAR, dtype=np.int64), overlaps)
    edges = (bench.x, bench.y, bench.poly, t.polys, t.pf, t.group, t.span, t.edges)
    unlimited, everywhere = np.full(n, np.inf), 10.0 * bench.length
    _listed(shapes, xs, ys, unlimited, everywhere, *common)
    losses = overlaps.copy()
    # The search compares with the best place so far: take what a twentieth of the places stay below.
    limits = np.array([np.quantile(losses[shapes == i], 0.05) for i in range(n)])
    return {
        "every edge": _rate(lambda: _all_edges(shapes, xs, ys, *edges), len(shapes)),
        "boxes and cells": _rate(
            lambda: _listed(shapes, xs, ys, unlimited, everywhere, *common), len(shapes)
        ),
        "pruned": _rate(lambda: _listed(shapes, xs, ys, limits, reach, *common), len(shapes)),
        "share": _share_in_kernel(prepared),
    }


def _share_in_kernel(prepared: Any) -> float:
    """Percent of a search of five seconds on one core that is spent inside ``kernels.separate``."""
    inner, spent = kernels.separate, 0.0

    def timed(*arguments: Any) -> Any:
        nonlocal spent
        began = time.perf_counter()
        result = inner(*arguments)
        spent += time.perf_counter() - began
        return result

    kernels.separate = timed
    try:
        began = time.perf_counter()
        solve(prepared, Budget(seconds=5.0), seed=1, cores=1)
        return 100 * spent / (time.perf_counter() - began)
    finally:
        kernels.separate = inner


@click.command()
@click.argument("instances", nargs=-1)
def main(instances: tuple[str, ...]) -> None:
    """Places judged a second, with and without pruning."""
    warm_up()
    click.echo("| instance | every edge /s | boxes and cells /s | pruned /s | % of a search in the kernel |")
    click.echo("|---|---|---|---|---|")
    for name in instances or ("shirts", "swim"):
        found = measure(name)
        rates = " | ".join(f"{found[key]:,.0f}" for key in ("every edge", "boxes and cells", "pruned"))
        click.echo(f"| {name} | {rates} | {found['share']:.1f} |")


if __name__ == "__main__":
    main()
