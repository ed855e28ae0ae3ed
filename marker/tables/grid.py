"""A table of texts, told for the terminal, in Markdown and as comma-separated values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

NOTHING = "—"
"""What stands where there is no answer; a footnote says why."""


@dataclass(frozen=True)
class Grid:
    """Headings and rows of texts; ``right`` are the columns of figures."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int] = frozenset()
    lines: tuple[str, ...] = ()
    """Sentences that belong below it: what letters mean, footnotes."""


class Footnotes:
    """Numbers for sentences; the same sentence keeps its number."""

    def __init__(self) -> None:
        self.texts: list[str] = []

    def mark(self, text: str) -> str:
        """The mark that points to a sentence: (1), (2) and so on."""
        if text not in self.texts:
            self.texts.append(text)
        return f"({self.texts.index(text) + 1})"

    def lines(self) -> list[str]:
        return [f"({number}) {text}" for number, text in enumerate(self.texts, start=1)]


def terminal_parts(grids: Sequence[Grid], width: int) -> list[Any]:
    """The grids as parts for ``report.console.to_text``."""
    from marker.report.console import styled, table

    parts: list[Any] = []
    for grid in grids:
        parts += ["", styled((grid.title, "bold")), ""]
        parts.append(table(grid.headings, grid.rows, right=grid.right, width=width))
        parts += ["", *grid.lines] if grid.lines else []
    return parts


def markdown(title: str, grids: Sequence[Grid], ending: Sequence[str]) -> str:
    """A Markdown document: a heading, each grid under one of its own, and closing sentences."""
    out = [f"# {_marked(title)}", ""]
    for grid in grids:
        out += [f"## {_marked(grid.title)}", "", _row(grid.headings)]
        out.append(
            "|" + "|".join(" ---: " if i in grid.right else " --- " for i in range(len(grid.headings))) + "|"
        )
        out += [_row(row) for row in grid.rows]
        out.append("")
        for line in grid.lines:
            out += [_marked(line), ""]
    for line in ending:
        out += [_marked(line), ""]
    return "\n".join(out).rstrip() + "\n"


def _row(cells: Sequence[str]) -> str:
    return "| " + " | ".join(_marked(cell) for cell in cells) + " |"


def _marked(text: str) -> str:
    """Text from files as Markdown shows it unchanged."""
    for sign in "\\|*_`<[&~$":
        text = text.replace(sign, f"\\{sign}")
    return " ".join(text.split())
