"""The text of the pattern file for what somebody told, with words beside the fields for whoever reads on."""

from __future__ import annotations

from collections.abc import Sequence

from marker.files.schema import CornerTable, Measure
from marker.files.toml import key, quoted
from marker.new.draft import FOLD_FOOT, FOLD_TOP, NewCut, NewPattern, NewPiece, Unit, shape_of
from marker.units import unit_size

DIGITS = 5
"""Decimals of a number: within a thousandth of a millimetre also in inches."""

UNIT_WORDS = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}

_HEAD = """\
# A pattern file. Numbers without a unit are {unit}. Check it with: marker check FILE
# Draw every piece with its measurements: marker check FILE --drawings FOLDER"""


def new_text(pattern: NewPattern) -> str:
    """TOML. Raises what ``shape_of`` raises for a piece that has no outline."""
    if pattern.allowance.startswith("included"):
        meaning = "the outlines below are cutting lines"
    else:
        meaning = "added all round: the outlines below are stitching lines"
    head = [
        _HEAD.format(unit=UNIT_WORDS[pattern.unit]),
        f"name = {quoted(pattern.name)}",
        f'unit = "{pattern.unit}"',
        f"seam_allowance = {quoted(pattern.allowance)}  # {meaning}",
    ]
    blocks = ["\n".join(head)]
    for material, width in pattern.widths.items():
        said = f"width = {quoted(width)}  # from selvage to selvage"
        blocks.append(f"[fabric.{key(material)}]\n{said}")
    for number, piece in enumerate(pattern.pieces, start=1):
        blocks.append(_piece(number, piece, pattern.unit))
    return "\n\n".join(blocks) + "\n"


def _piece(number: int, piece: NewPiece, unit: Unit) -> str:
    rows = ["[[piece]]", f'number = "{number}"', f"name = {quoted(piece.name)}"]
    if piece.allowance is not None:
        rows.append(f"seam_allowance = {quoted(piece.allowance)}  # of this piece alone")
    if piece.cuts:
        rows += ["cuts = [", *(f"  {_cut(cut, piece)}," for cut in piece.cuts), "]"]
    else:
        rows.append("cuts = []  # a guide, never cut")
    corners = list(piece.corners)
    if piece.fold:
        corners[0] = corners[0].model_copy(update={"name": FOLD_TOP})
        last = max(i for i, one in enumerate(corners) if one.through is None)
        corners[last] = corners[last].model_copy(update={"name": FOLD_FOOT})
    shape = shape_of(corners, unit)
    wide, high = (number_text(round(side, 3)) for side in shape.size)
    rows += [
        "",
        "[piece.drawing.every]",
        f"# {wide} wide and {high} high; x goes to the right and y down",
        "corners = [",
        *(f"  {_corner(one, unit)}," for one in corners),
        "]",
        f"grain = [{', '.join(_point([round(x, 2) for x in end]) for end in shape.grain(piece.grain))}]"
        "  # tail and head; the head is the top of the garment",
    ]
    if piece.fold:
        rows.append(f'fold = ["{FOLD_TOP}", "{FOLD_FOOT}"]')
    return "\n".join(rows)


def _cut(cut: NewCut, piece: NewPiece) -> str:
    how = "on fold" if piece.fold else cut.hands
    said = f', how = "{how}"' if how is not None else ""
    return f"{{ material = {quoted(cut.material)}, count = {cut.count}{said} }}"


def _corner(corner: CornerTable, unit: Unit) -> str:
    fields = []
    for field in CornerTable.model_fields:
        value = getattr(corner, field)
        if value is None:
            continue
        if isinstance(value, Measure):
            said = number_text(value.mm / unit_size(unit))
        elif isinstance(value, list):
            said = _point(value)
        else:
            said = quoted(value) if isinstance(value, str) else number_text(value)
        fields.append(f"{field} = {said}")
    bare = len(fields) == 1 and corner.at is not None
    return _point(corner.at) if bare and corner.at is not None else f"{{ {', '.join(fields)} }}"


def _point(point: Sequence[float]) -> str:
    return f"[{number_text(point[0])}, {number_text(point[1])}]"


def number_text(value: float) -> str:
    """As few decimals as tell it."""
    text = f"{value:.{DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
