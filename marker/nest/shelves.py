"""A layout by boxes alone: shapes stand in columns across the strip, each behind the one before.

It needs no no-fit polygons and no search, so it is there at once, and nothing that could be wrong with
those is wrong with it.
"""

from __future__ import annotations

from marker.nest.problem import Placing, Problem, Solution, Variant


def shelves(problem: Problem) -> Solution | None:
    """Shapes in columns, the longest first, their boxes apart; None where lattices say where they lie.

    Raises ValueError if a kind has no place on the strip at any length.
    """
    if problem.tied:
        return None
    begin = max((int(obstacle[:, 0].max()) for obstacle in problem.obstacles), default=0)
    boxes = [[_Box(variant) for variant in kind.variants] for kind in problem.kinds]
    shapes = [
        (k, min((box.along for box in boxes[k] if box.fits), default=0))
        for k, kind in enumerate(problem.kinds)
        for _ in range(kind.count)
    ]
    placings: list[Placing] = []
    column: list[tuple[int, int]] = []
    end, length = begin, 0
    for k, _ in sorted(shapes, key=lambda shape: (-shape[1], shape[0])):
        found = _place(boxes[k], column)
        if found is None:
            begin, column = end, []
            found = _place(boxes[k], column)
        if found is None:
            raise ValueError(f"kind {k} fits nowhere on the strip")
        v, y = found
        box = boxes[k][v]
        x = max(box.variant.x_lo, begin - box.left)
        column.append((y + box.low, y + box.high))
        end = max(end, x + box.right)
        length = max(length, x + box.variant.x_back)
        placings.append(Placing(k, v, x, y))
    return Solution(length, tuple(placings))


class _Box:
    """The box of a variant, relative to its reference point."""

    def __init__(self, variant: Variant) -> None:
        self.variant = variant
        self.left, self.low = (int(c) for c in variant.polygon.min(axis=0))
        self.right, self.high = (int(c) for c in variant.polygon.max(axis=0))
        self.along = self.right - self.left
        self.fits = variant.y_lo <= variant.y_hi


def _place(boxes: list[_Box], column: list[tuple[int, int]]) -> tuple[int, int] | None:
    """The shortest variant that has room beside what stands in a column, and where, as low as can be."""
    for v in sorted(range(len(boxes)), key=lambda v: boxes[v].along):
        box = boxes[v]
        if not box.fits:
            continue
        for y in sorted({box.variant.y_lo, *(high - box.low for _, high in column)}):
            clear = all(y + box.high <= low or y + box.low >= high for low, high in column)
            if box.variant.y_lo <= y <= box.variant.y_hi and clear:
                return v, y
    return None
