"""What the layers of a DXF piece mean: numbers by the standard, words by the SVG convention."""

from __future__ import annotations

from collections.abc import Mapping

from marker.importing.phrases import Kind, read_words

BOUNDARY, TURN, CURVE, NOTCH, MIRROR, GRAIN, INNER, CUT_OUT, DRILL, SEW, NOTE = (
    1,
    2,
    3,
    4,
    6,
    7,
    8,
    11,
    13,
    14,
    15,
)
NOTCHES = (NOTCH, 80, 81, 82, 83)
READ = frozenset({BOUNDARY, TURN, CURVE, *NOTCHES, MIRROR, GRAIN, INNER, CUT_OUT, DRILL, SEW, NOTE})
NOT_READ: Mapping[int, str] = {
    5: "grade reference",
    9: "stripe reference",
    10: "plaid reference",
    84: "curves for validation",
    85: "curves for validation",
    86: "curves for validation",
    87: "curves for validation",
}
IGNORED = -1
"""The number of a layer that is no part of the pattern."""
_KINDS: Mapping[Kind, int] = {
    "outline": BOUNDARY,
    "notch": NOTCH,
    "fold": MIRROR,
    "grain": GRAIN,
    "line": INNER,
    "drill": DRILL,
    "ignore": IGNORED,
}


def number(layer: str) -> int | None:
    """The number of a layer, None if it is called by a word."""
    return int(layer) if layer.isascii() and layer.isdigit() and len(layer) < 6 else None


def meaning(layer: str) -> int | None:
    """What a layer of a plain drawing means, as the number the standard has for it; None if nothing."""
    numbered = number(layer)
    if numbered is not None:
        return numbered if numbered in READ else IGNORED if numbered in NOT_READ else None
    kind = read_words(layer.replace("_", " ").replace("-", " ")).kind
    return None if kind is None else _KINDS.get(kind)


def in_words(layer: str) -> str:
    """The layer as notes call it."""
    what = NOT_READ.get(number(layer) or 0)
    return f"{layer} ({what})" if what else layer
