"""Small layouts that cannot be shorter than they claim, shown by going through all cases.

Each outline stands for rectangles that fit inside it side by side. If these have no room in a length, the
outlines have none. Places are whole hundredths of a millimetre: rectangles are smaller by one, so that
whatever has room has room when every outline is moved to the hundredth below.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import shapely
from shapely.affinity import scale, translate
from shapely.geometry import box

FINE = 100
"""Places to the millimetre."""
SLABS = 6
"""Rectangles that an outline stands for."""
MOST = 8
"""Outlines up to which the cases are gone through."""
CONFLICTS = 200
"""Dead ends after which the solver gives up: a count, so that it comes to the same on any machine."""

Span = tuple[int, int, int, int]
"""x from and to, y from and to."""


@dataclass(frozen=True)
class Item:
    """An outline: the forms it may have (upright as they come, or any mirror image of them).

    ``edge``: +1 if it keeps to the upper edge of its strip, -1 to the lower, 0 if it is free; at an edge a
    form is mirrored along the strip only.
    """

    forms: tuple[bytes, ...]
    edge: int = 0


@lru_cache(maxsize=256)
def none_below(items: tuple[Item, ...], height: float, length: float) -> bool:
    """Whether it can be shown that the items have no room in a strip of a height and less than a length.

    False says nothing: there may be room or not. Millimetres.
    """
    from ortools.sat.python import cp_model

    if not 0 < len(items) <= MOST:
        return False
    model = cp_model.CpModel()
    wide, high = int(length * FINE) - 1, int(height * FINE)
    xs: list[Any] = []
    ys: list[Any] = []
    for item, count in Counter(items).items():
        before: Any = None
        shapes = _shapes(item)
        for _ in range(count):
            x, y = model.new_int_var(0, max(wide, 0), ""), model.new_int_var(0, max(high, 0), "")
            chosen = [model.new_bool_var("") for _ in shapes]
            model.add_exactly_one(chosen)
            for (across, up, spans), here in zip(shapes, chosen, strict=True):
                model.add(x + across <= wide).only_enforce_if(here)
                if item.edge:
                    model.add(y == (max(high - up, 0) if item.edge > 0 else 0)).only_enforce_if(here)
                model.add(y + up <= high).only_enforce_if(here)
                for x0, x1, y0, y1 in spans:
                    xs.append(model.new_optional_fixed_size_interval_var(x + x0, x1 - x0, here, ""))
                    ys.append(model.new_optional_fixed_size_interval_var(y + y0, y1 - y0, here, ""))
            if before is not None:
                model.add(before <= x)
            before = x
    model.add_no_overlap_2d(xs, ys)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.catch_sigint_signal = False
    solver.parameters.max_number_of_conflicts = CONFLICTS
    return bool(solver.solve(model) == cp_model.INFEASIBLE)


def _shapes(item: Item) -> list[tuple[int, int, tuple[Span, ...]]]:
    """Every form mirrored each way it may be: its size, and rectangles in it; equal ones once."""
    found: dict[tuple[int, int, tuple[Span, ...]], None] = {}
    for form in item.forms:
        for flip in ((1, 1), (-1, 1)) if item.edge else ((1, 1), (-1, 1), (1, -1), (-1, -1)):
            found.setdefault(_spans(form, flip), None)
    return list(found)


@lru_cache(maxsize=1024)
def _spans(form: bytes, flip: tuple[int, int]) -> tuple[int, int, tuple[Span, ...]]:
    shape = scale(shapely.from_wkb(form), *flip, origin=(0, 0))
    left, low, _, _ = shape.bounds
    shape = translate(shape, -left, -low)
    _, _, across, up = shape.bounds
    spans: list[Span] = []
    joined = False
    for k in range(SLABS):
        x0, x1 = across * k / SLABS, across * (k + 1) / SLABS
        missing = box(x0, -1.0, x1, up + 1.0).difference(shape)
        parts = [part.bounds for part in shapely.get_parts(missing) if part.area > 0]
        covered = sorted((bounds[1], bounds[3]) for bounds in parts)
        best, top = (0.0, 0.0), 0.0
        for y0, y1 in covered:
            if y0 - top > best[1] - best[0]:
                best = (top, y0)
            top = max(top, y1)
        span = _within(x0, x1, *best)
        if span is not None and joined and spans[-1][2:] == span[2:]:
            spans[-1] = (spans[-1][0], *span[1:])
        elif span is not None:
            spans.append(span)
        joined = span is not None
    return int(across * FINE), int(up * FINE), tuple(spans)


def _within(x0: float, x1: float, y0: float, y1: float) -> Span | None:
    ends = [-int(-x0 * FINE // 1), int(x1 * FINE) - 1, -int(-y0 * FINE // 1), int(y1 * FINE) - 1]
    return (ends[0], ends[1], ends[2], ends[3]) if ends[0] < ends[1] and ends[2] < ends[3] else None
