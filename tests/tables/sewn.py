"""A pattern small enough to be worked out by hand, and layouts made up for arithmetic."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from marker.model.layout import Band, MaterialLayout
from marker.tables.outcome import Outcome
from marker.tables.task import Task

PATTERN = """
name = "Pennants"
unit = "mm"
sizes = ["S", "L"]
seam_allowance = "included"

[fabric.fabric]
name = "Signal cloth"
width = 500
step = 100
price = 12.0
currency = "EUR"

[fabric.stiffening]
name = "Stiffening"
width = 300
grain = "any"
step = 100

[[piece]]
number = "1"
name = "Pennant"
cuts = [{ material = "fabric", count = 2, how = "alike" }]
[piece.drawing.S]
outline = "M 0 0 L 480 0 L 0 400 Z"
grain = [[20, 300], [20, 20]]
[piece.drawing.L]
outline = "M 0 0 L 480 0 L 0 600 Z"
grain = [[20, 300], [20, 20]]

[[piece]]
number = "2"
name = "Band"
cuts = [{ material = "stiffening", count = 1 }]
[piece.drawing.every]
outline = "M 0 0 H 250 V 80 H 0 Z"
grain = [[20, 70], [20, 10]]
"""
"""Two right triangles, as wide as the cloth: turned about, two make a rectangle as long as one; all one
way they lie one behind the other."""

PANELS = """
name = "Panels"
unit = "mm"
seam_allowance = "included"

[fabric.fabric]
name = "Barred cloth"
width = 500
step = 10
price = 20.0
currency = "EUR"
[fabric.fabric.print]
kind = "stripes across"
along = 100

[[piece]]
number = "1"
name = "Left panel"
cuts = [{ material = "fabric", count = 1 }]
[piece.drawing.every]
outline = "M 0 0 H 480 V 260 H 0 Z"
grain = [[240, 200], [240, 50]]
notches = [{ name = "a", at = [0, 100] }]

[[piece]]
number = "2"
name = "Right panel"
cuts = [{ material = "fabric", count = 1 }]
[piece.drawing.every]
outline = "M 0 0 H 480 V 260 H 0 Z"
grain = [[240, 200], [240, 50]]
notches = [{ name = "a", at = [480, 100] }]

[[match]]
meet = "a"
"""
"""Two rectangles, 260 long and as wide as the cloth, on bars 100 apart."""


def made_up(
    material: str, length: float, buy: float, *, width: float = 500.0, lay: str = "open"
) -> MaterialLayout:
    """A layout with figures and no placements."""
    band = Band((0.0, length), (0.0, width), 1)
    return MaterialLayout(
        material, width, (0.0, width), lay, length, buy, f"{buy / 1000:g} m", 20.0, 0.8 * length, (band,), ()
    )


def stub(answer: Callable[[Task], Outcome]) -> Callable[[Sequence[Task]], Mapping[str, Outcome]]:
    """A solver that makes its outcomes up."""
    return lambda tasks: {one.key: answer(one) for one in tasks}
