"""Plain text out of rich: fixed width, nothing cut off."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterable, Sequence
from typing import Any

NARROWEST, WIDEST = 80, 110


def screen_width() -> int:
    """Columns of the terminal, kept to what reads well (96 where there is none)."""
    return min(max(shutil.get_terminal_size((96, 24)).columns, NARROWEST), WIDEST)


def to_text(parts: Iterable[Any], *, width: int, color: bool = False) -> str:
    """Render rich objects and texts one below the other; no trailing blanks. At least 80 columns."""
    from rich.console import Console

    out = io.StringIO()
    console = Console(
        file=out,
        width=max(width, NARROWEST),
        force_terminal=color,
        color_system="standard" if color else None,
        highlight=False,
        # Texts hold what files hold: none of it is an instruction.
        markup=False,
        emoji=False,
        legacy_windows=False,
        _environ={},
    )
    for part in parts:
        console.print(part)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def capital(text: str) -> str:
    """The same text with a capital first letter, the rest as written."""
    return text[:1].upper() + text[1:]


def size_words(size: str) -> str:
    """``size M``; a size that calls itself one, like ``one size``, is left as it is."""
    return size if "size" in size.lower() else f"size {size}"


def styled(*parts: str | tuple[str, str]) -> Any:
    """One text of parts that are words, or words and their style."""
    from rich.text import Text

    return Text.assemble(*parts)


def table(
    headings: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    right: Iterable[int] = (),
    whole: Iterable[int] = (),
    width: int | None = None,
) -> Any:
    """A quiet table, ``width`` characters wide at most, that wraps words rather than losing them.

    ``right``: columns of figures. ``whole``: columns that stay on one line.
    """
    from rich import box
    from rich.table import Table
    from rich.text import Text

    aligned = set(right)
    cells = [tuple(row) for row in rows]
    result = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 1, 0, 0))
    widths = column_widths([headings, *cells], (width or WIDEST) - 2 * (len(headings) - 1), whole)
    for index, heading in enumerate(headings):
        justify: Any = "right" if index in aligned else "left"
        result.add_column(Text(heading), justify=justify, overflow="fold", width=widths[index])
    for row in cells:
        result.add_row(*(Text(cell) for cell in row))
    return result


def column_widths(rows: Sequence[Sequence[str]], room: int, whole: Iterable[int] = ()) -> list[int]:
    """Characters for each column: as wide as its cells, the widest narrowed first until all fit in
    ``room``; below its longest word, and the ``whole`` ones at all, only where nothing else is left to give.
    """
    from rich.cells import cell_len

    columns = list(zip(*rows, strict=True))
    widths = [max(map(cell_len, column)) for column in columns]
    words = [
        max((cell_len(word) for cell in column for word in cell.split()), default=1) for column in columns
    ]
    for column in whole:
        words[column] = widths[column]
    while sum(widths) > room:
        wide = [i for i in range(len(widths)) if widths[i] > words[i]] or range(len(widths))
        widths[max(wide, key=lambda i: (widths[i], -i))] -= 1
    return widths


def facts(rows: Iterable[tuple[str, Any]]) -> Any:
    """Two columns: what, and what about it, a text or a styled one."""
    from rich.table import Table
    from rich.text import Text

    result = Table.grid(padding=(0, 2, 0, 0))
    result.add_column(overflow="fold", no_wrap=True)
    result.add_column(overflow="fold")
    for what, about in rows:
        result.add_row(Text(f"  {what}"), Text(about) if isinstance(about, str) else about)
    return result
