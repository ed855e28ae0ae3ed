"""The cells of a spreadsheet saved as CSV: settings, a row of headings, rows below; each knows its place."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from marker.errors import InputError
from marker.files.messages import listed, nearest, sentence
from marker.files.outline import Wrong
from marker.files.reading import read_bytes
from marker.new.words import Unclear

T = TypeVar("T")

LARGEST = 5_000_000
HEADINGS = (
    "piece", "cut from", "copies", "pairs", "on fold", "wide", "long", "right", "down", "edge", "turn",
    "curve", "top", "allowance",
)  # fmt: skip
SETTINGS = ("pattern", "unit", "seam allowance")
WIDTH = "width of "

_DATE = re.compile(
    r"\d{1,2}[-. /]*(jan|feb|m[aä]r|apr|ma[iy]|jun|jul|aug|sep|o[ck]t|nov|de[cz])[a-zé]*\.?"
    r"|(jan|feb|m[aä]r|apr|ma[iy]|jun|jul|aug|sep|o[ck]t|nov|de[cz])[a-zé]*[-. /]*\d{1,2}"
    r"|\d{1,4}([-./])\d{1,2}\3\d{1,4}(\s.*)?",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Cell:
    """A cell as somebody sees it in the spreadsheet: row counted from 1, column from 0."""

    row: int
    column: int
    heading: str
    text: str

    @property
    def where(self) -> str:
        letter = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[self.column] if self.column < 26 else str(self.column + 1)
        return f"row {self.row}, column {letter}" + (f" ({self.heading})" if self.heading else "")


@dataclass(frozen=True)
class Sheet:
    path: Path
    settings: Mapping[str, Cell]
    rows: Sequence[Mapping[str, Cell]]
    """Below the headings; by heading, with empty cells too. Rows without anything are left out."""

    def wrong(self, cell: Cell, what: str) -> InputError:
        return sentence(self.path, [cell.where], what)

    def read(self, cell: Cell, check: Callable[[str], T]) -> T:
        """What a cell says. Raises InputError in the words of ``check``."""
        try:
            return check(plain(cell.text))
        except (Unclear, Wrong) as problem:
            raise self.wrong(cell, str(problem)) from None


def read_cells(path: Path) -> Sheet:
    """Raises InputError, with the row and column where there are any."""
    text = _text(path)
    best: tuple[int, list[list[str]], int] | None = None
    for mark in _marks(text):
        try:
            rows = list(csv.reader(io.StringIO(text), delimiter=mark))
        except csv.Error as problem:
            raise sentence(path, [], f"cannot be read as CSV ({problem}); save it as CSV again") from None
        if rows and len(rows[0]) <= 2 and rows[0] and rows[0][0].strip().lower().startswith("sep="):
            # A line for the spreadsheet, which it does not show as a row.
            rows = rows[1:]
        for at, row in enumerate(rows):
            known = [cell for cell in row if cell.strip().lower() in HEADINGS]
            if "piece" in (cell.strip().lower() for cell in row) and len(known) > 1:
                if best is None or len(known) > best[0]:
                    best = len(known), rows, at
                break
    if best is None:
        raise sentence(
            path,
            [],
            f"has no row of headings; it needs one with {listed(HEADINGS)}, or some of them "
            "(marker new --template FILE.csv writes a spreadsheet to fill in)",
        )
    _, rows, at = best
    columns = _columns(path, rows[at], at + 1)
    settings = _settings(path, rows[:at])
    below = []
    for number, row in enumerate(rows[at + 1 :], start=at + 2):
        extra = next((i for i, cell in enumerate(row) if cell.strip() and i not in columns), None)
        if extra is not None:
            cell = Cell(number, extra, "", row[extra])
            raise sentence(path, [cell.where], "stands under no heading; move it, or give the column one")
        cells = {
            heading: Cell(number, i, heading, row[i] if i < len(row) else "")
            for i, heading in columns.items()
        }
        if any(cell.text.strip() for cell in cells.values()):
            blank = {
                heading: cells.get(heading, Cell(number, len(columns), heading, "")) for heading in HEADINGS
            }
            below.append(blank)
    return Sheet(path, settings, below)


def _text(path: Path) -> str:
    data = read_bytes(path, LARGEST, "; a pattern is smaller, so it is hardly the file that was meant")
    if data.startswith(b"PK\x03\x04") or data.startswith(b"\xd0\xcf\x11\xe0"):
        raise sentence(path, [], "is a workbook and not CSV; in the spreadsheet choose Save as, and CSV")
    for encoding in ("utf-16",) if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise sentence(path, [], "is not text; in the spreadsheet choose Save as, and CSV")


def _marks(text: str) -> str:
    """What may stand between the cells, or what the file itself says."""
    said = re.match(r"\s*sep=(.)\r?\n", text, re.IGNORECASE)
    return said[1] if said else ";\t,"


def _columns(path: Path, row: Sequence[str], number: int) -> dict[int, str]:
    columns: dict[int, str] = {}
    for i, cell in enumerate(row):
        heading = " ".join(cell.lower().split())
        if not heading:
            continue
        where = [Cell(number, i, "", cell).where]
        if heading not in HEADINGS:
            like = nearest(heading, HEADINGS)
            raise sentence(
                path,
                where,
                f'"{cell.strip()}" is not a heading here; '
                + (f'did you mean "{like}"? ' if like else "")
                + f"the headings are {listed(HEADINGS)}",
            )
        if heading in columns.values():
            raise sentence(path, where, f'the heading "{heading}" stands there twice; leave one out')
        columns[i] = heading
    return columns


def _settings(path: Path, rows: Sequence[Sequence[str]]) -> dict[str, Cell]:
    found: dict[str, Cell] = {}
    for number, row in enumerate(rows, start=1):
        cells = [(i, cell) for i, cell in enumerate(row) if cell.strip()]
        if not cells:
            continue
        at, first = cells[0]
        key = " ".join(first.lower().split())
        where = [Cell(number, at, "", first).where]
        known = key in SETTINGS or (key.startswith(WIDTH) and len(key) > len(WIDTH))
        if not known:
            like = nearest(key, [*SETTINGS, "width of fabric"])
            raise sentence(
                path,
                where,
                f'"{first.strip()}" is not a setting; '
                + (f'did you mean "{like}"? ' if like else "")
                + f"above the headings stand {listed(SETTINGS)} and width of fabric (or another material)",
            )
        if key.startswith(WIDTH):
            key = WIDTH + " ".join(first.split())[len(WIDTH) :]
        if key in found:
            raise sentence(path, where, f'"{key}" stands there twice; leave one out')
        if len(cells) == 1:
            raise sentence(path, where, f'"{key}" has nothing beside it; write it into column B')
        if len(cells) > 2:
            extra = Cell(number, cells[2][0], "", "")
            raise sentence(path, [extra.where], "a setting has one value; leave this out")
        found[key] = Cell(number, cells[1][0], key, cells[1][1])
    return found


def plain(text: str) -> str:
    """A cell without what spreadsheets put round it. Raises Unclear for what they have spoilt."""
    text = " ".join(text.replace("\u00a0", " ").replace("\u202f", " ").split())
    text = text.removeprefix("'").strip()
    if re.fullmatch(r"#[A-ZÄÖÜ0-9/]+[!?]?", text):
        raise Unclear(f'"{text}" is an error of the spreadsheet; mend the formula, or write the number')
    if _DATE.fullmatch(text):
        raise Unclear(
            f'"{text}" is a date, which spreadsheets make of fractions like 1/2; make the cells text, or '
            "write 0.5"
        )
    return text
