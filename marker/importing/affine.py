"""Affine maps of the plane."""

from __future__ import annotations

from dataclasses import dataclass

from marker.importing.found import Point


@dataclass(frozen=True)
class Affine:
    """x' = a x + c y + e, y' = b x + d y + f, in the order of SVG's ``matrix(a b c d e f)``."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __call__(self, point: Point) -> Point:
        x, y = point
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    def then_inside(self, inner: Affine) -> Affine:
        """The map of what lies inside: ``inner`` first, then this one."""
        e, f = self((inner.e, inner.f))
        return Affine(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            e,
            f,
        )
