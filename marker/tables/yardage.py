"""Length to buy for sizes, widths and both ways of laying, like the back of a pattern envelope."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from marker.files.cloth_words import ClothWords
from marker.model.fabric import Fabric
from marker.model.match import Matching
from marker.plain import csv_text
from marker.report.console import capital, size_words
from marker.report.ground import spread_in_words
from marker.report.measure import bought, width_text
from marker.tables.direction import no_worse
from marker.tables.grid import NOTHING, Footnotes, Grid, markdown, terminal_parts
from marker.tables.outcome import Outcome
from marker.tables.source import Source
from marker.tables.task import Search, Task, task

Laid = Literal["plain", "nap"]
LAID: tuple[Laid, ...] = ("plain", "nap")

SHORT = {
    "lengthwise fold": "folded",
    "selvages to the middle": "to middle",
    "partial fold": "part-folded",
    "crosswise fold": "crosswise",
    "mixed": "mixed",
    "tubular": "tube",
    "open": "open",
}
"""How a cell tells the spread; the lines below the table say more."""

ONE_WAY = "The print of this cloth runs one way, so it cannot be laid plain."


@dataclass(frozen=True)
class Entry:
    """A cell before it is solved. ``task`` is None where ``why`` says that it cannot be laid."""

    material: str
    size: str
    view: str
    laid: Laid
    fabric: Fabric
    task: Task | None
    why: str = ""


@dataclass(frozen=True)
class Cell:
    """A cell of the table, solved or not."""

    entry: Entry
    outcome: Outcome


@dataclass(frozen=True)
class Yardage:
    """The whole table and what it was made for."""

    pattern: str
    quantity: int
    search: Search
    matching: Matching
    cells: tuple[Cell, ...]

    @property
    def complete(self) -> bool:
        return all(cell.outcome.solved for cell in self.cells)


def entries(
    source: Source,
    *,
    sizes: Sequence[str] = (),
    views: Sequence[str] = (),
    widths: Mapping[str, Sequence[float]] | None = None,
    fabrics: Mapping[str, Fabric] | None = None,
    laid: Sequence[Laid] = LAID,
    fold: str = "best",
    matching: Matching = "main",
    words: ClothWords | None = None,
    search: Search,
) -> tuple[Entry, ...]:
    """Every cell asked for: all sizes and the first view if none are named, the cloths' own widths
    where no others are; ``words`` win over the cloths of files. Raises InputError."""
    found = []
    for view in views or (None,):
        for size in sizes or source.pattern.sizes:
            # Widths that suit no cloth are refused here, each with its sentence.
            for width in range(max((len(each) for each in (widths or {}).values()), default=1)):
                chosen = {
                    material: each[width] for material, each in (widths or {}).items() if width < len(each)
                }
                job = source.job(
                    size=size, view=view, fabrics=fabrics, widths=chosen, matching=matching, words=words
                )
                for material in job.materials:
                    if width and material not in chosen:
                        continue
                    cloth = job.fabrics[material]
                    for how in _ways(cloth, laid):
                        why = ONE_WAY if how == "plain" and _one_way(cloth) else ""
                        fabric = replace(cloth, nap=how == "nap")
                        one = replace(job, fabrics={**job.fabrics, material: fabric})
                        made = None if why else task(one, material, fold, search)
                        found.append(Entry(material, job.size, job.view, how, fabric, made, why))
    return tuple(found)


def _ways(fabric: Fabric, laid: Sequence[Laid]) -> tuple[Laid, ...]:
    """A cloth without a grain has no nap that counts; a one-way print leaves nothing but nap to list."""
    if fabric.grain == "any":
        return ("plain",)
    one_way = _one_way(fabric) and "nap" in laid
    return tuple(how for how in LAID if how in laid and not (one_way and how == "plain"))


def _one_way(fabric: Fabric) -> bool:
    return fabric.print is not None and not (fabric.print.even_along and fabric.print.even_across)


def yardage(
    source: Source,
    wanted: Sequence[Entry],
    search: Search,
    solved: Callable[[Sequence[Task]], Mapping[str, Outcome]],
    matching: Matching = "main",
) -> Yardage:
    """Solve the entries with ``solved``, which gives outcomes by their tasks' keys."""
    found = solved([entry.task for entry in wanted if entry.task is not None])
    napped = {_place(entry): entry.task for entry in wanted if entry.laid == "nap"}
    cells = []
    for entry in wanted:
        outcome = found[entry.task.key] if entry.task is not None else Outcome(why=entry.why)
        with_nap = napped.get(_place(entry)) if entry.laid == "plain" else None
        if with_nap is not None and entry.task is not None:
            outcome = no_worse(outcome, found[with_nap.key], entry.task)
        cells.append(Cell(entry, outcome))
    return Yardage(source.pattern.name, source.quantity, search, matching, tuple(cells))


def _place(entry: Entry) -> tuple[str, str, str, float]:
    return entry.material, entry.size, entry.view, entry.fabric.width


def title(table: Yardage) -> str:
    many = f", {table.quantity} garments" if table.quantity > 1 else ""
    views = list(dict.fromkeys(cell.entry.view for cell in table.cells if cell.entry.view))
    word = "view" if len(views) == 1 else "views"
    view = f", {word} {', '.join(views)}" if views else ""
    return f"{table.pattern}{view}: how much to buy{many}"


def grids(table: Yardage) -> list[Grid]:
    """A grid for each material: widths down, sizes across."""
    return [_grid(table, material) for material in dict.fromkeys(cell.entry.material for cell in table.cells)]


def _grid(table: Yardage, material: str) -> Grid:
    cells = [cell for cell in table.cells if cell.entry.material == material]
    views = list(dict.fromkeys(cell.entry.view for cell in cells))
    sizes = list(dict.fromkeys(cell.entry.size for cell in cells))
    notes = Footnotes()
    rows: dict[tuple[str, float, str], dict[str, str]] = {}
    for cell in cells:
        entry = cell.entry
        row = rows.setdefault((entry.view, entry.fabric.width, entry.laid), {})
        row[entry.size] = _cell_text(cell, notes)
    order = sorted(rows, key=lambda at: (views.index(at[0]), at[1], LAID.index(at[2])))
    system = cells[0].entry.fabric.system
    lead = len(views) > 1
    headings = (*(("View",) if lead else ()), "Width", "Laid", *(_size_heading(size) for size in sizes))
    texts = tuple(
        (
            *((view,) if lead else ()),
            width_text(width, system),
            laid,
            *(rows[view, width, laid].get(size, "") for size in sizes),
        )
        for view, width, laid in order
    )
    used = {
        cloth.lay.partition(":")[0] for cell in cells for cloth in cell.outcome.cloths if cell.outcome.solved
    }
    key = [f"{capital(word)}: {spread_in_words(name)}." for name, word in SHORT.items() if name in used]
    if any(cell.entry.task and cell.entry.task.job.asked_of(material) for cell in cells):
        key.append(f"The print is matched: {_matched_words(table.matching)}.")
    names = dict.fromkeys(cell.entry.fabric.name for cell in cells)
    figures = frozenset(range(len(headings) - len(sizes), len(headings)))
    return Grid(f"{capital(material)}: {', '.join(names)}", headings, texts, figures, (*key, *notes.lines()))


def _matched_words(matching: str) -> str:
    return "everything that the pattern names" if matching == "everything" else "main seams"


def _size_heading(size: str) -> str:
    return capital(size_words(size))


def _cell_text(cell: Cell, notes: Footnotes) -> str:
    outcome = cell.outcome
    if not outcome.solved:
        return f"{NOTHING} {notes.mark(outcome.why)}"
    spreads = [cloth.lay.partition(":")[0] for cloth in outcome.cloths]
    words = dict.fromkeys(SHORT.get(name, name) for name in spreads)
    amount = bought(outcome.buy, cell.entry.fabric.system) if outcome.buy > 0 else "nothing"
    return f"{amount} {' and '.join(words)}"


def endings(table: Yardage) -> list[str]:
    """What a reader of the table should know."""
    return [
        "Lengths are as bought: shrinkage counted, and where a print must match along the cloth one repeat "
        "to begin on; rounded up to the step that the cloth is sold in. "
        "Plain: pieces may point either way along the cloth; nap: all face one way.",
        f"Each entry is a layout found for this pattern and verified ({table.search.words()}); "
        "a longer search may find a shorter one. Measure the width of the cloth, and how much it shrinks, "
        "before you rely on it.",
    ]


def terminal(table: Yardage, width: int, color: bool) -> str:
    """The table for the terminal."""
    from marker.report.console import styled, to_text

    parts: list[Any] = [styled((title(table), "bold"))]
    parts += terminal_parts(grids(table), width)
    parts += ["", *endings(table)]
    return to_text(parts, width=width, color=color)


def as_markdown(table: Yardage) -> str:
    return markdown(title(table), grids(table), endings(table))


COLUMNS = (
    "material",
    "cloth",
    "size",
    "view",
    "quantity",
    "width_mm",
    "width",
    "laid",
    "spread",
    "buy_mm",
    "buy",
    "used_mm",
    "begin_on_mm",
    "waste_percent",
    "lower_bound_mm",
    "cost",
    "currency",
    "note",
)


def figures(table: Yardage) -> list[dict[str, Any]]:
    """A dictionary for each cell with the names of COLUMNS; None where there is no figure."""
    return [_figures(cell, table.quantity) for cell in table.cells]


def _figures(cell: Cell, quantity: int) -> dict[str, Any]:
    entry, outcome = cell.entry, cell.outcome
    fabric = entry.fabric
    solved = outcome.solved
    cost = outcome.cost(fabric) if solved else None
    return {
        "material": entry.material,
        "cloth": fabric.name,
        "size": entry.size,
        "view": entry.view,
        "quantity": quantity,
        "width_mm": round(fabric.width, 3),
        "width": width_text(fabric.width, fabric.system),
        "laid": entry.laid,
        "spread": outcome.lay if solved else None,
        "buy_mm": round(outcome.buy, 3) if solved else None,
        "buy": bought(outcome.buy, fabric.system) if solved else None,
        "used_mm": round(outcome.used, 3) if solved else None,
        "begin_on_mm": round(outcome.begin_on, 3) if solved else None,
        "waste_percent": round(outcome.waste_percent, 3) if solved else None,
        "lower_bound_mm": round(sum(c.lower_bound for c in outcome.cloths), 3) if solved else None,
        "cost": None if cost is None else round(cost, 2),
        "currency": fabric.currency or None,
        "note": outcome.why or None,
    }


def as_csv(table: Yardage) -> str:
    return csv_text(COLUMNS, [[row[column] for column in COLUMNS] for row in figures(table)])


def as_json(table: Yardage) -> dict[str, Any]:
    """The table for other programs: every figure, lengths in millimetres."""
    return {
        "marker_yardage": 1,
        "pattern": table.pattern,
        "quantity": table.quantity,
        "seed": table.search.seed,
        "seconds": table.search.seconds,
        "effort": table.search.effort,
        "match": table.matching,
        "entries": figures(table),
    }
