"""A pattern from a spreadsheet saved as CSV: rows of settings, a row of headings, then the pieces.

A piece begins where its name stands and goes on to the next name. Rectangles take one row, other shapes a row
for each corner or edge. Whatever is wrong is told by row and column.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from marker.errors import InputError
from marker.files.messages import problem_words, sentence
from marker.files.outline import Wrong
from marker.files.schema import CornerTable
from marker.files.typed import WrongCorner
from marker.new import words
from marker.new.cells import WIDTH, Cell, Sheet, read_cells
from marker.new.draft import (
    Grain,
    NewCut,
    NewPattern,
    NewPiece,
    Unit,
    checked,
    come_home,
    corner,
    rectangle,
    shape_of,
)
from marker.new.text import new_text
from marker.units import unit_size

FIRST_ROW = ("on fold", "wide", "long", "top", "allowance")
"""Columns that say something about the whole piece."""

TEMPLATE = """\
pattern,Oar bag
unit,cm
seam allowance,1.5 cm
width of fabric,150 cm
width of interfacing,90 cm

piece,cut from,copies,pairs,on fold,wide,long,right,down,edge,turn,curve,top,allowance
Body,fabric,1,,yes,24,80,,,,,,up,
Strap,fabric,2,,,8,60,,,,,,up,
Flap,fabric,2,no,,,,0,0,,,,up,
,interfacing,1,,,,,48,0,,,,,
,,,,,,,48,12,,,,,
,,,,,,,24,24,,,through,,
,,,,,,,0,12,,,,,
Gusset,fabric,2,yes,,,,,,10,90,,up,1 cm
,,,,,,,,,40,105,bulge 1.5,,
,,,,,,,,,20,,,,
"""
"""An example of everything: rectangles, one of them on the fold, corners with a curve, edges with turns."""


@dataclass
class _Group:
    """The rows of one piece."""

    rows: list[Mapping[str, Cell]] = field(default_factory=list)

    @property
    def name(self) -> Cell:
        return self.rows[0]["piece"]

    @property
    def where(self) -> str:
        first, last = self.name.row, self.rows[-1]["piece"].row
        return f"row {first}" if first == last else f"rows {first} to {last}"


def read_sheet(path: Path, target: Path) -> tuple[str, int]:
    """The text of the pattern file that a spreadsheet tells, and how many pieces it has.

    Commas, semicolons or tabs between the cells; UTF-8, UTF-16 or Windows' Western European letters.
    Raises InputError that names the row and the column.
    """
    sheet = read_cells(path)
    unit: Unit = sheet.read(_setting(sheet, "unit", "cm"), words.unit_of)
    allowance = sheet.read(
        _setting(sheet, "seam allowance", "1.5 cm, or included"), lambda text: words.allowance(text, unit)
    )
    name = target.stem.replace("-", " ").replace("_", " ").strip().capitalize() or "My pattern"
    if "pattern" in sheet.settings:
        name = sheet.read(sheet.settings["pattern"], words.name)
    groups = list(_groups(sheet))
    pieces = tuple(_piece(sheet, group, unit) for group in groups)
    widths = {
        key.removeprefix(WIDTH): sheet.read(cell, lambda text: _width(text, unit))
        for key, cell in sheet.settings.items()
        if key.startswith(WIDTH)
    }
    text = new_text(NewPattern(name, unit, allowance, pieces, widths))
    try:
        checked(path, text)
    except InputError as problem:
        told = re.match(r"(.*?): piece (\d+) ", str(problem))
        if told is None or not told[1] == str(path):
            raise
        where = groups[int(told[2]) - 1].where
        raise InputError(f"{path}: {where}: {str(problem)[len(told[1]) + 2 :]}") from None
    return text, len(pieces)


def _width(text: str, unit: Unit) -> str:
    words.length(text, unit)
    return words.with_unit(text, unit)


def _setting(sheet: Sheet, key: str, like: str) -> Cell:
    if key not in sheet.settings:
        raise sentence(
            sheet.path, [], f'there is no row "{key}"; write one above the headings, with {like} in column B'
        )
    return sheet.settings[key]


def _groups(sheet: Sheet) -> Iterator[_Group]:
    group: _Group | None = None
    for row in sheet.rows:
        if row["piece"].text.strip():
            if group is not None:
                yield group
            group = _Group()
        elif group is None:
            cell = next(cell for cell in row.values() if cell.text.strip())
            raise sheet.wrong(cell, "belongs to no piece; write the name of its piece into the column piece")
        group.rows.append(row)
    if group is None:
        raise sentence(sheet.path, [], "has no piece; write a row for each below the headings")
    yield group


def _piece(sheet: Sheet, group: _Group, unit: Unit) -> NewPiece:
    first = group.rows[0]
    name = sheet.read(group.name, words.name)
    for row in group.rows[1:]:
        for heading in FIRST_ROW:
            if row[heading].text.strip():
                raise sheet.wrong(row[heading], f'is about all of "{name}"; write it into its first row')
    cuts = _cuts(sheet, group, name)
    fold = sheet.read(first["on fold"], words.yes)
    if fold and not cuts:
        raise sheet.wrong(first["on fold"], "the piece is never cut; leave this out, or write copies")
    corners = _corners(sheet, group, name, unit)
    top: Grain = sheet.read(first["top"], lambda text: words.grain(text or "up"))
    own = first["allowance"]
    allowance = sheet.read(own, lambda text: words.allowance(text, unit)) if own.text.strip() else None
    return NewPiece(name, cuts, corners, fold, top, allowance)


def _cuts(sheet: Sheet, group: _Group, name: str) -> tuple[NewCut, ...]:
    cuts: list[NewCut] = []
    for row in group.rows:
        material, copies, pairs = row["cut from"], row["copies"], row["pairs"]
        if not any(cell.text.strip() for cell in (material, copies, pairs)):
            continue
        if not copies.text.strip():
            raise sheet.wrong(copies, "is empty; write how often it is cut for one garment, or 0 for a guide")
        count = sheet.read(copies, words.count)
        if not count:
            continue
        cloth = sheet.read(material, words.name) if material.text.strip() else "fabric"
        if cloth in (cut.material for cut in cuts):
            raise sheet.wrong(material, f'"{name}" is cut from {cloth} already; add the copies up in one row')
        hands: Any = None
        if pairs.text.strip():
            hands = "mirrored" if sheet.read(pairs, words.yes) else "alike"
            if hands == "mirrored" and count % 2:
                raise sheet.wrong(pairs, f"{count} does not make mirrored pairs; write an even count, or no")
        cuts.append(NewCut(cloth, count, hands))
    if not cuts and not group.rows[0]["copies"].text.strip():
        raise sheet.wrong(
            group.rows[0]["copies"], "is empty; write how often it is cut for one garment, or 0 for a guide"
        )
    return tuple(cuts)


def _corners(sheet: Sheet, group: _Group, name: str, unit: Unit) -> tuple[CornerTable, ...]:
    """The corners of a piece, whichever way they are told."""
    first = group.rows[0]
    ways = {
        "a rectangle": ("wide", "long"),
        "corners": ("right", "down"),
        "edges": ("edge", "turn"),
    }
    told = {
        way: next((row[h] for row in group.rows for h in headings if row[h].text.strip()), None)
        for way, headings in ways.items()
    }
    given = [(way, cell) for way, cell in told.items() if cell is not None]
    if not given:
        raise sheet.wrong(
            group.name, f'"{name}" has no shape; write wide and long, or right and down, or edge and turn'
        )
    if len(given) > 1:
        (one, _), (other, cell) = given[:2]
        raise sheet.wrong(cell, f'"{name}" is told as {one} and as {other}; leave one out')
    rows: list[CornerTable] = []
    places: list[Cell] = []
    if given[0][0] == "a rectangle":
        for heading in ("wide", "long"):
            if not first[heading].text.strip():
                raise sheet.wrong(first[heading], "is empty; a rectangle has a width and a length")
        sides = [sheet.read(first[h], lambda text: words.length(text, unit)) for h in ("wide", "long")]
        rows = list(rectangle(sides[0], sides[1], unit))
        places = [first["wide"]] * 4
    elif given[0][0] == "corners":
        for row in group.rows:
            if not any(row[h].text.strip() for h in ("right", "down", "curve")):
                continue
            rows.append(_made(sheet, row["right"], _place(sheet, row, unit), unit))
            places.append(row["right"])
    else:
        rows.append(corner({"at": [0.0, 0.0]}, unit))
        places.append(first["edge"])
        turn: float | None = None
        for row in group.rows:
            if not any(row[h].text.strip() for h in ("edge", "turn", "curve")):
                continue
            if not row["edge"].text.strip():
                raise sheet.wrong(row["edge"], "is empty; write the length of the edge")
            fields: dict[str, Any] = {
                "go": sheet.read(row["edge"], lambda text: words.length(text, unit)) / unit_size(unit),
                **_curve(sheet, row["curve"], unit, corners=False),
            }
            if turn is not None:
                fields["turn"] = turn
            rows.append(_made(sheet, row["edge"], fields, unit))
            places.append(row["edge"])
            turn = sheet.read(row["turn"], words.degrees) if row["turn"].text.strip() else 90.0
    try:
        home = tuple(rows) if given[0][0] == "a rectangle" else come_home(rows, unit)
        shape_of(home, unit)
    except WrongCorner as wrong:
        raise sheet.wrong(places[wrong.number - 1], f'a corner of "{name}" that {wrong}') from None
    except Wrong as wrong:
        raise sentence(sheet.path, [group.where], f'the outline of "{name}" {wrong}') from None
    return home


def _place(sheet: Sheet, row: Mapping[str, Cell], unit: Unit) -> dict[str, Any]:
    at = []
    for heading in ("right", "down"):
        if not row[heading].text.strip():
            raise sheet.wrong(
                row[heading], "is empty; a corner has a place to the right and down, at least 0"
            )
        at.append(sheet.read(row[heading], lambda text: words.signed(text, unit)))
    curve = _curve(sheet, row["curve"], unit, corners=True)
    return {"through": at} if curve.pop("through", None) else {"at": at, **curve}


def _curve(sheet: Sheet, cell: Cell, unit: Unit, *, corners: bool) -> dict[str, Any]:
    """The fields of a corner that say how the edge that leads to it is curved."""
    text = sheet.read(cell, str)
    if not text:
        return {}
    if corners and text.lower() == "through":
        return {"through": True}
    match = re.fullmatch(r"(bulge|hollow)\s+(.+)", text, re.IGNORECASE)
    if match is None:
        ways = 'write "through", "bulge 2" or "hollow 2"' if corners else 'write "bulge 2" or "hollow 2"'
        raise sheet.wrong(cell, f'"{text}" is no curve; {ways}')
    depth = sheet.read(cell, lambda _: words.length(match[2], unit))
    return {match[1].lower(): depth / unit_size(unit)}


def _made(sheet: Sheet, cell: Cell, fields: Mapping[str, Any], unit: Unit) -> CornerTable:
    try:
        return corner(fields, unit)
    except ValidationError as error:
        raise sheet.wrong(cell, problem_words(error)) from None
