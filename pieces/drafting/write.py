"""Drafted pieces as the text of a pattern file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from drafting.curves import Edge, Point, end, start
from drafting.piece import Cut, Drawing, Piece

_PER_UNIT = {"mm": (1.0, 1), "cm": (10.0, 2)}
"""Millimetres in the unit, and the decimals that make a tenth of a millimetre."""
_TIES_UP = 1e-7
"""Added before rounding, so that no digit of a file hangs on the last bit of a computation."""


def pattern_text(head: str, pieces: Iterable[Piece], unit: str = "mm") -> str:
    """The whole file; numbers to a tenth of a millimetre in ``unit`` ("mm" or "cm")."""
    note = "# Drafted by pieces/draft.py: change the draft and run it again rather than editing this file."
    return "\n\n".join([note, head.strip(), *(_piece(piece, unit) for piece in pieces)]) + "\n"


def _piece(piece: Piece, unit: str) -> str:
    rows = ["[[piece]]", f'number = "{piece.number}"', f'name = "{piece.name}"']
    if piece.seam_allowance is not None:
        rows.append(f'seam_allowance = "{piece.seam_allowance}"')
    if piece.bias:
        rows.append("bias = true")
    if piece.cuts:
        rows += ["cuts = [", *(f"  {_cut(cut)}," for cut in piece.cuts), "]"]
    else:
        rows.append("cuts = []  # a guide, never cut")
    return "\n\n".join(["\n".join(rows), *(_drawing(s, d, unit) for s, d in piece.drawings.items())])


def _cut(cut: Cut) -> str:
    region = f', region = "{cut.region}"' if cut.region else ""
    return f'{{ material = "{cut.material}", count = {cut.count}, how = "{cut.how}"{region} }}'


def _drawing(size: str, drawing: Drawing, unit: str) -> str:
    rows = [
        f"[piece.drawing.{_key(size)}]",
        f'outline = "{_closed(drawing.edges, unit)}"',
        f"grain = {_points(drawing.grain, unit)}",
    ]
    if drawing.fold:
        rows.append(f"fold = {_points(drawing.fold, unit)}")
    if drawing.hem:
        rows.append(f"hem = {_points((start(drawing.hem), end(drawing.hem)), unit)}")
    if drawing.notches:
        rows += ["notches = [", *(_notch(name, at, unit) for name, at in drawing.notches), "]"]
    if drawing.marks:
        rows += ["marks = [", *(_notch(name, at, unit) for name, at in drawing.marks), "]"]
    if drawing.drills:
        rows.append(f"drills = {_points(drawing.drills, unit)}")
    if drawing.lines:
        rows += ["lines = [", *(f'  "{_path(edge, unit)}",' for edge in drawing.lines), "]"]
    if drawing.allowances:
        rows += ["allowances = [", *(_allowance(edge, w, unit) for edge, w in drawing.allowances), "]"]
    for name, edges in drawing.regions.items():
        rows.append(f'regions = {{ {_key(name)} = "{_closed(edges, unit)}" }}')
    return "\n".join(rows)


def _notch(name: str, at: Point, unit: str) -> str:
    return f'  {{ name = "{name}", at = {_point(at, unit)} }},'


def _allowance(edge: Edge, width: float, unit: str) -> str:
    stretch = f"from = {_point(start(edge), unit)}, to = {_point(end(edge), unit)}"
    return f'  {{ {stretch}, width = "{width:g} mm" }},'


def _closed(edges: Sequence[Edge], unit: str) -> str:
    """SVG path data of the edges in a row; a last straight segment back to the start is left to Z."""
    segments = [segment for edge in edges for segment in edge]
    if len(segments[-1]) == 2 and _pair(segments[-1][-1], unit) == _pair(segments[0][0], unit):
        segments.pop()
    return f"{_path(tuple(segments), unit)} Z"


def _path(edge: Edge, unit: str) -> str:
    words = [f"M {_pair(start(edge), unit)}"]
    for segment in edge:
        letter = "L" if len(segment) == 2 else "C"
        words.append(" ".join([letter, *(_pair(point, unit) for point in segment[1:])]))
    return " ".join(words)


def _points(points: Iterable[Point], unit: str) -> str:
    return f"[{', '.join(_point(point, unit) for point in points)}]"


def _point(point: Point, unit: str) -> str:
    return f"[{_number(point[0], unit)}, {_number(point[1], unit)}]"


def _pair(point: Point, unit: str) -> str:
    return f"{_number(point[0], unit)} {_number(point[1], unit)}"


def _number(value: float, unit: str) -> str:
    per_unit, decimals = _PER_UNIT[unit]
    text = f"{value / per_unit + _TIES_UP:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _key(name: str) -> str:
    return name if name.isalnum() else f'"{name}"'
