"""One small pattern file, right in every respect, to break in one place at a time."""

from pathlib import Path

PATTERN = """\
name = "Oar bag"
unit = "mm"
sizes = ["S", "M"]
seam_allowance = "10 mm"
about = "A bag for a pair of oars."

[views.A]
title = "Plain"
pieces = ["1", "2"]
optional = ["3"]

[views.B]
pieces = ["1", "2", "4"]

[fabric.fabric]
name = "Deck canvas"
width = "140 cm"
selvage = "10 mm"
step = "10 cm"
price = 14.5

[fabric.interfacing]
width = "90 cm"
grain = "any"

[[notion]]
name = "Button"
count = { S = 6, M = 7 }

[[notion]]
name = "Snap hook"
count = 1
with = "3"

[[piece]]
number = "1"
name = "Front"
cuts = [{ material = "fabric", count = 1, how = "on fold" }]

[piece.drawing.S]
outline = "M 0 0 L 200 0 L 220 600 L 0 600 Z"
grain = [[100, 500], [100, 20]]
fold = [[0, 0], [0, 600]]
notches = [{ name = "a", at = [210, 300] }]

[piece.drawing.M]
outline = "M 0 0 L 220 0 L 240 640 L 0 640 Z"
grain = [[100, 500], [100, 20]]
fold = [[0, 0], [0, 640]]
notches = [{ name = "a", at = [230, 320] }]

[[piece]]
number = "2"
name = "Flap"
cuts = [
  { material = "fabric", count = 2 },
  { material = "interfacing", count = 1, how = "alike", region = "tab" },
]

[piece.drawing.every]
outline = "M 0 0 H 300 V 80 A 100 100 0 0 1 200 180 H 0 Z"
grain = [[50, 150], [50, 20]]
drills = [[150, 90]]
lines = ["M 20 20 L 280 20"]
regions = { tab = "M 10 10 H 60 V 100 H 10 Z" }
allowances = [{ from = [300, 0], to = [300, 80], width = "25 mm" }]

[[piece]]
number = "3"
name = "Loop"
cuts = [{ material = "fabric", count = 3 }]

[piece.drawing.every]
outline = "M 0 0 H 120 V 30 H 0 Z"
grain = [[60, 25], [60, 5]]

[[piece]]
number = "4"
name = "Guide"

[piece.drawing.every]
outline = "M 0 0 H 100 V 20 H 0 Z"
grain = [[0, 15], [0, 5]]
"""


def write(folder: Path, text: str, name: str = "oar-bag.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def changed(*changes: tuple[str, str]) -> str:
    """The pattern with the first ``old`` replaced by ``new``, for each change; ``old`` must be there."""
    text = PATTERN
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text
