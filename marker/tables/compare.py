"""One job on several cloths, widths, folds or levels of matching, side by side."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from marker.files.cloth_words import ClothWords
from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.match import Matching
from marker.plain import csv_text
from marker.report.console import capital, size_words
from marker.report.measure import bought, length, step_text, width_text
from marker.report.shopping import money
from marker.tables.direction import Extra, direction_of, extra, laid_plain, no_worse
from marker.tables.grid import NOTHING, Footnotes, Grid, markdown, terminal_parts
from marker.tables.outcome import Outcome
from marker.tables.source import Source
from marker.tables.task import Search, Task, task

_Value = TypeVar("_Value")

OWN = "own"
"""In place of a fabric file: the cloths in the pattern file."""


@dataclass(frozen=True)
class Entry:
    """One material of an alternative before it is solved; ``plainly`` is the same cloth laid plain, if
    nap or print make a difference. ``priced_at`` is the width that the file gives the price for."""

    material: str
    fabric: Fabric
    task: Task
    plainly: Task | None
    priced_at: float


@dataclass(frozen=True)
class Alternative:
    """A way to do the job. ``number`` counts from 1; ``files`` are the fabric files, none: the pattern's."""

    number: int
    job: Job
    fold: str
    files: tuple[str, ...]
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class Result:
    """One material of an alternative, solved or not.

    ``extra`` is what nap or print takes over ``plain``, the same cloth laid plain; None where there is
    neither nap nor print, or one of the two could not be laid.
    """

    entry: Entry
    outcome: Outcome
    plain: Outcome
    extra: Extra | None


@dataclass(frozen=True)
class Comparison:
    """All alternatives with a result for each of their materials."""

    pattern: str
    size: str
    view: str
    quantity: int
    search: Search
    rows: tuple[tuple[Alternative, tuple[Result, ...]], ...]

    @property
    def complete(self) -> bool:
        return all(result.outcome.solved for _, results in self.rows for result in results)

    @property
    def materials(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(r.entry.material for _, results in self.rows for r in results))


def alternatives(
    source: Source,
    *,
    size: str | None = None,
    view: str | None = None,
    files: Sequence[str] = (),
    widths: Mapping[str, Sequence[float]] | None = None,
    folds: Sequence[str] = ("best",),
    matchings: Sequence[Matching] = ("main",),
    prints: Mapping[str, Sequence[str]] | None = None,
    nap: Collection[str] = (),
    search: Search,
) -> tuple[Alternative, ...]:
    """Every combination of fabric file, widths, print, fold and matching; those that come to one job once.

    ``prints`` in words by material; the materials of ``nap`` have one on every cloth.

    Raises InputError.
    """
    from marker.cloth.spread import known
    from marker.files.fabric import load_fabrics

    for fold in folds:
        known(fold)
    cloths: list[tuple[tuple[str, ...], dict[str, Fabric]]] = [
        ((), {}) if file == OWN else ((file,), dict(load_fabrics(Path(file)))) for file in files or (OWN,)
    ]
    wide, designs = _choices(widths or {}), _choices(prints or {})
    found: list[Alternative] = []
    seen = set()
    every = itertools.product(cloths, wide, designs, folds, matchings)
    for (named, fabrics), chosen, printed, fold, matching in every:
        job = source.job(
            size=size,
            view=view,
            fabrics=fabrics,
            files=named,
            widths=chosen,
            matching=matching,
            words=ClothWords(prints=printed, nap=nap),
        )
        sold = {**source.pattern.fabrics, **fabrics}
        made = tuple(_entry(job, material, fold, search, sold) for material in job.materials)
        same = (named, tuple((_content(entry), entry.fabric.width) for entry in made))
        if same not in seen:
            seen.add(same)
            found.append(Alternative(len(found) + 1, job, fold, named, made))
    return tuple(found)


def _choices(given: Mapping[str, Sequence[_Value]]) -> list[dict[str, _Value]]:
    """Every way to choose one of the values given for each material."""
    return [dict(zip(given, chosen, strict=True)) for chosen in itertools.product(*given.values())]


def _entry(job: Job, material: str, fold: str, search: Search, sold: Mapping[str, Fabric]) -> Entry:
    plainly = task(laid_plain(job, material), material, fold, search) if direction_of(job, material) else None
    fabric = job.fabrics[material]
    own = sold[material].width if material in sold else fabric.width
    return Entry(material, fabric, task(job, material, fold, search), plainly, own)


def _content(entry: Entry) -> str:
    """A task's key, where a level of matching that asks for nothing is no other task."""
    one = entry.task
    if one.job.asked_of(entry.material):
        return one.key
    return task(replace(one.job, matching="none"), one.material, one.fold, one.search).key


def compare(
    source: Source,
    wanted: Sequence[Alternative],
    search: Search,
    solved: Callable[[Sequence[Task]], Mapping[str, Outcome]],
) -> Comparison:
    """Solve the alternatives with ``solved``, which gives outcomes by their tasks' keys."""
    every = [entry for each in wanted for entry in each.entries]
    tasks = [one for entry in every for one in (entry.task, entry.plainly) if one is not None]
    found = solved(tasks)
    rows = tuple((each, tuple(_result(entry, found) for entry in each.entries)) for each in wanted)
    first = wanted[0].job
    return Comparison(source.pattern.name, first.size, first.view, source.quantity, search, rows)


def _result(entry: Entry, found: Mapping[str, Outcome]) -> Result:
    outcome = found[entry.task.key]
    if entry.plainly is None:
        return Result(entry, outcome, outcome, None)
    plain = no_worse(found[entry.plainly.key], outcome, entry.plainly)
    of = direction_of(entry.task.job, entry.material)
    return Result(entry, outcome, plain, extra(of, outcome, plain, entry.fabric))


def title(table: Comparison) -> str:
    view = f", view {table.view}" if table.view else ""
    many = f", {table.quantity} garments" if table.quantity > 1 else ""
    return f"{table.pattern}, {size_words(table.size)}{view}{many}: compared"


def grids(table: Comparison) -> list[Grid]:
    """A grid for each material, a row for each alternative that differs in it, and one for the extras."""
    found = []
    for material in table.materials:
        found.append(_grid(table, material))
        if any(result.entry.plainly is not None for _, _, result in of_material(table, material)):
            found.append(_extras(table, material))
    return found


def of_material(table: Comparison, material: str) -> list[tuple[list[int], Alternative, Result]]:
    """Results of one material; alternatives that do not differ in it share one."""
    found: dict[Any, tuple[list[int], Alternative, Result]] = {}
    for alternative, results in table.rows:
        for result in results:
            if result.entry.material == material:
                fabric = result.entry.fabric
                same = (_content(result.entry), fabric.name, fabric.price, fabric.price_per, fabric.currency)
                found.setdefault(same, ([], alternative, result))[0].append(alternative.number)
    return list(found.values())


def _grid(table: Comparison, material: str) -> Grid:
    listed = of_material(table, material)
    printed = any(result.entry.fabric.print is not None for _, _, result in listed)
    priced = any(result.entry.fabric.price is not None for _, _, result in listed)
    notes = Footnotes()
    columns = [
        ("No.", True, True),
        ("Cloth", True, False),
        ("Width", True, True),
        ("Spread", True, False),
        ("Match", printed, False),
        ("Used", True, True),
        ("Buy", True, True),
        ("Waste", True, True),
        ("Cost", priced, True),
    ]
    shown = [index for index, (_, there, _) in enumerate(columns) if there]
    rows = []
    for numbers, alternative, result in listed:
        cells = _cells(ranges(numbers), alternative, result, notes)
        rows.append(tuple(cells[index] for index in shown))
    lines = _best_lines(listed) + notes.lines()
    return Grid(
        capital(material),
        tuple(columns[index][0] for index in shown),
        tuple(rows),
        frozenset(place for place, index in enumerate(shown) if columns[index][2]),
        tuple(lines),
    )


def _cells(numbers: str, alternative: Alternative, result: Result, notes: Footnotes) -> tuple[str, ...]:
    fabric, outcome = result.entry.fabric, result.outcome
    system = fabric.system
    match = match_word(result.entry)
    wide = width_text(fabric.width, system)
    if not outcome.solved:
        spread = alternative.fold if alternative.fold != "best" else NOTHING
        gap = f"{NOTHING} {notes.mark(outcome.why)}"
        return numbers, fabric.name, wide, spread, match, NOTHING, gap, NOTHING, NOTHING
    cost = outcome.cost(fabric)
    told = "" if cost is None else money(cost, fabric.currency)
    if cost is not None and abs(result.entry.priced_at - fabric.width) > 0.5:
        told += f" {notes.mark(_price_words(result.entry))}"
    return (
        numbers,
        fabric.name,
        wide,
        outcome.lay,
        match,
        length(outcome.used, system),
        bought(outcome.buy, system) if outcome.buy > 0 else "nothing",
        f"{outcome.waste_percent:.1f} %",
        told,
    )


def _price_words(entry: Entry) -> str:
    """Which price a cost was reckoned with, where the file gives one for another width."""
    fabric = entry.fabric
    assert fabric.price is not None
    per = step_text(fabric.price_per, fabric.system)
    return (
        f"Reckoned with the price of {fabric.name} {width_text(entry.priced_at, fabric.system)} wide, "
        f"{money(fabric.price, fabric.currency)} for {per}: another width may be sold at another price."
    )


def _extras(table: Comparison, material: str) -> Grid:
    """What nap and print take, each against a layout of its own on the same cloth laid plain."""
    notes = Footnotes()
    rows = []
    for numbers, _, result in of_material(table, material):
        if result.entry.plainly is None:
            continue
        system, currency = result.entry.fabric.system, result.entry.fabric.currency
        plain, more = result.plain, result.extra
        lead = (ranges(numbers), direction_of(result.entry.task.job, material))
        if more is None:
            gap = NOTHING if not plain.why else f"{NOTHING} {notes.mark(plain.why)}"
            rows.append((*lead, gap, NOTHING, NOTHING, NOTHING))
            continue
        rows.append(
            (
                *lead,
                f"{length(plain.used, system)}, {plain.lay}",
                length(more.used, system),
                bought(more.buy, system) if more.buy > 0 else "nothing",
                "" if more.cost is None else money(more.cost, currency),
            )
        )
    headings = ("No.", "For", "Laid plain", "More used", "More to buy", "More to pay")
    priced = any(row[5] for row in rows)
    return Grid(
        f"{capital(material)}: what nap and print take",
        headings if priced else headings[:5],
        tuple(row if priced else row[:5] for row in rows),
        frozenset({0, 3, 4, 5} if priced else {0, 3, 4}),
        (
            "Laid plain: the same cloth without nap and print, solved and verified in the same way. Of "
            "layouts with the same length to buy, both times the one with the least to cut is taken.",
            *notes.lines(),
        ),
    )


def match_word(entry: Entry) -> str:
    """The level of matching that was laid by; nothing on a cloth without a print."""
    if entry.fabric.print is None:
        return ""
    return entry.task.job.matching if entry.task.job.asked_of(entry.material) else "none"


def extra_text(result: Result) -> str:
    """What nap or print takes, in a few words; empty where there is nothing to tell."""
    more = result.extra
    if more is None:
        return ""
    if more.used < 0.5 and more.buy < 0.5:
        return f"nothing more for {more.of}"
    system = result.entry.fabric.system
    words = [f"{length(abs(more.used), system)} {'more' if more.used >= 0 else 'less'} used for {more.of}"]
    if more.buy > 0:
        words.append(f"{bought(more.buy, system)} more to buy")
        if more.cost is not None:
            words.append(f"{money(more.cost, result.entry.fabric.currency)} more to pay")
    return ", ".join(words)


def ranges(numbers: Sequence[int]) -> str:
    """1, 2, 3, 6 as "1–3, 6"."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a}–{b}" if b > a + 1 else f"{a}, {b}" for a, b in runs)


def _best_lines(listed: Sequence[tuple[list[int], Alternative, Result]]) -> list[str]:
    """Which take least of cloth, and of money where all are priced in one currency."""
    solved = [(numbers, result) for numbers, _, result in listed if result.outcome.solved]
    if len(solved) < 2:
        return []
    least = min(result.outcome.buy for _, result in solved)
    lines = ["Least to buy: " + _named(n for n, r in solved if r.outcome.buy <= least + 1e-6)]
    costs = [(numbers, result.outcome.cost(result.entry.fabric)) for numbers, result in solved]
    known = [(numbers, cost) for numbers, cost in costs if cost is not None]
    if len(known) == len(costs) and len({result.entry.fabric.currency for _, result in solved}) == 1:
        cheapest = min(cost for _, cost in known)
        lines[0] += "; least to pay: " + _named(n for n, cost in known if cost <= cheapest + 0.005)
    return [lines[0] + "."]


def _named(numbers: Any) -> str:
    return "No. " + ranges(sorted(number for group in numbers for number in group))


def endings(table: Comparison) -> list[str]:
    """What a reader of the table should know."""
    return [
        "What to buy counts shrinkage, and where a print must match along the cloth one repeat to begin on. "
        f"Each row is a layout found for this pattern and verified ({table.search.words()}); "
        "a longer search may find a shorter one. Measure the width of the cloth, and how much it shrinks, "
        "before you rely on it."
    ]


def terminal(table: Comparison, width: int, color: bool) -> str:
    """The table for the terminal."""
    from marker.report.console import styled, to_text

    parts: list[Any] = [styled((title(table), "bold"))]
    parts += terminal_parts(grids(table), width)
    parts += ["", *endings(table)]
    return to_text(parts, width=width, color=color)


def as_markdown(table: Comparison) -> str:
    return markdown(title(table), grids(table), endings(table))


COLUMNS = (
    "number",
    "material",
    "cloth",
    "file",
    "width_mm",
    "width",
    "fold",
    "spread",
    "match",
    "used_mm",
    "begin_on_mm",
    "buy_mm",
    "buy",
    "waste_percent",
    "lower_bound_mm",
    "cost",
    "currency",
    "extra_for",
    "plain_used_mm",
    "plain_spread",
    "extra_used_mm",
    "extra_buy_mm",
    "extra_cost",
    "note",
)


def figures(table: Comparison) -> list[dict[str, Any]]:
    """A dictionary for each material of each alternative, with the names of COLUMNS."""
    return [_figures(alternative, result) for alternative, results in table.rows for result in results]


def _figures(alternative: Alternative, result: Result) -> dict[str, Any]:
    fabric, outcome, more = result.entry.fabric, result.outcome, result.extra
    solved = outcome.solved
    cost = outcome.cost(fabric) if solved else None
    return {
        "number": alternative.number,
        "material": result.entry.material,
        "cloth": fabric.name,
        "file": ", ".join(alternative.files) or None,
        "width_mm": round(fabric.width, 3),
        "width": width_text(fabric.width, fabric.system),
        "fold": alternative.fold,
        "spread": outcome.lay if solved else None,
        "match": match_word(result.entry) or None,
        "used_mm": round(outcome.used, 3) if solved else None,
        "begin_on_mm": round(outcome.begin_on, 3) if solved else None,
        "buy_mm": round(outcome.buy, 3) if solved else None,
        "buy": bought(outcome.buy, fabric.system) if solved else None,
        "waste_percent": round(outcome.waste_percent, 3) if solved else None,
        "lower_bound_mm": round(sum(c.lower_bound for c in outcome.cloths), 3) if solved else None,
        "cost": None if cost is None else round(cost, 2),
        "currency": fabric.currency or None,
        "extra_for": more.of if more else None,
        "plain_used_mm": round(result.plain.used, 3) if more else None,
        "plain_spread": result.plain.lay if more else None,
        "extra_used_mm": round(more.used, 3) if more else None,
        "extra_buy_mm": round(more.buy, 3) if more else None,
        "extra_cost": round(more.cost, 2) if more and more.cost is not None else None,
        "note": outcome.why or None,
    }


def as_csv(table: Comparison) -> str:
    return csv_text(COLUMNS, [[row[column] for column in COLUMNS] for row in figures(table)])


def as_json(table: Comparison) -> dict[str, Any]:
    """The comparison for other programs: every figure, lengths in millimetres."""
    return {
        "marker_compare": 1,
        "pattern": table.pattern,
        "size": table.size,
        "view": table.view,
        "quantity": table.quantity,
        "seed": table.search.seed,
        "seconds": table.search.seconds,
        "effort": table.search.effort,
        "rows": figures(table),
    }
