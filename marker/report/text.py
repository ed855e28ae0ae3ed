"""The whole report as text: what to buy, how to lay it, what to cut, what to mind."""

from __future__ import annotations

from typing import Any

from marker.model.amount import amount
from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import Layout, MaterialLayout, Tried
from marker.report.cautions import cautions
from marker.report.chart import chart_notes, chart_table, title
from marker.report.cloths import cloth_title, missing_words, short_words, to_wash, wash_words
from marker.report.console import NARROWEST, capital, facts, screen_width, size_words, styled, table, to_text
from marker.report.ground import spread_of
from marker.report.matching import match_rows, repeat_to_begin_on, unmatched
from marker.report.measure import at_least, bought, length, step_text, width_text
from marker.report.pieces import piece_counts
from marker.report.shopping import cost, money, shopping_table


def render(
    layout: Layout,
    job: Job,
    *,
    width: int | None = None,
    color: bool = False,
    baseline: Layout | None = None,
) -> str:
    """The report, ``width`` columns wide (``None``: the terminal's), with terminal colours if asked.

    Every material of ``layout`` needs its fabric in ``job.fabrics``. ``baseline``: the same job laid as if
    the cloth had neither nap nor print; what the direction costs is told only against one.
    """
    wide = max(width or screen_width(), NARROWEST)
    parts: list[Any] = [_heading(layout, job), "", *_answers(layout, job)]
    for material in layout.materials:
        parts += ["", _rule(capital(cloth_title(material))), "", *_material(material, job, wide, baseline)]
    parts += ["", _rule("Pieces"), "", *_pieces(layout, job, wide)]
    for material in layout.materials:
        parts += ["", _rule(f"Cutting chart: {cloth_title(material)}"), ""]
        parts += [chart_table(material, job, wide), "", facts(chart_notes(material, job))]
    parts += ["", _rule("Shopping list"), "", shopping_table(layout, job, wide)]
    parts += ["", _rule("Before you cut"), "", facts(("•", line) for line in cautions(layout, job))]
    return to_text(parts, width=wide, color=color)


TO_THE_MILLIMETRE = 1.0
"""Millimetres by which a layout found to be shortest may be longer than its bound."""


def job_title(layout: Layout, job: Job) -> str:
    """The garment in a line: pattern, size, view and how many."""
    view = f", view {layout.view}" if layout.view else ""
    many = f", {job.quantity} garments" if job.quantity > 1 else ""
    return f"{layout.pattern}, {size_words(layout.size)}{view}{many}"


def spare_text(material: MaterialLayout) -> str:
    """The copies cut that nobody asked for, by piece; empty without any."""
    counts: dict[str, int] = {}
    for placement in material.placements:
        if placement.spare:
            name = title(placement.piece, placement.name, placement.region)
            counts[name] = counts.get(name, 0) + placement.spare
    return "; ".join(f"{count} of {name}" for name, count in counts.items())


def _heading(layout: Layout, job: Job) -> Any:
    return styled((job_title(layout, job), "bold"))


def _rule(text: str) -> Any:
    from rich.rule import Rule
    from rich.text import Text

    return Rule(Text(text, style="bold"), align="left", style="dim")


def _answers(layout: Layout, job: Job) -> list[Any]:
    from rich import box
    from rich.panel import Panel

    rows = []
    for material in layout.materials:
        fabric = job.fabrics[material.material]
        if material.cloth:
            text = styled("cut from the remnant ", (f'"{material.cloth}"', "bold green"), ", in hand")
        else:
            wide = width_text(fabric.width, fabric.system)
            text = styled((f"buy {material.buy_text}", "bold green"), f" of {fabric.name}, {wide} wide")
        rows.append((f"{capital(material.material)}:", text))
        if loose := unmatched(material, job):
            rows.append(("", styled((loose, "yellow"))))
        if material.missing:
            short = f"; {_short(material, fabric)}" if material.short > 0 else ""
            rows.append(("", styled((f"no room for {missing_words(material)}{short}", "bold red"))))
    return [Panel(facts(rows), box=box.HEAVY, expand=False, padding=(0, 1))]


def _short(material: MaterialLayout, fabric: Fabric) -> str:
    cloth = "remnant" if material.cloth else "cloth"
    may_do = " (less may do)" if material.short_least < 1.0 else ""
    return f"the {cloth} would have to be {short_words(material, fabric)} longer{may_do}"


def _material(material: MaterialLayout, job: Job, width: int, baseline: Layout | None = None) -> list[Any]:
    fabric = job.fabrics[material.material]
    system = fabric.system
    spread = spread_of(material, system)
    bought_rows = [("Buy", styled((material.buy_text, "bold"), f"  {_why_so_much(material, job)}"))]
    rows: list[tuple[str, Any]] = [
        *([] if material.cloth else bought_rows),
        ("Cloth", _cloth(material, fabric)),
        ("Spread", styled((material.lay, "bold"), f" ({spread})")),
        ("Used", f"{length(material.length, system)} of the length; {material.waste_percent:.1f} % waste"),
        *([] if material.cloth else [("Shorter", _bound(material, fabric))]),
        *match_rows(material, job),
    ]
    if fabric.border is not None and not material.cloth:
        rows.append(("Border", _border(material, job)))
    bias = [title(p.number, p.name) for p in job.pieces if p.bias and _lies(p.number, material)]
    if bias:
        rows.append(("Bias", f"{', '.join(bias)}: grain line at 45 degrees to the length of the cloth"))
    price = cost(material, fabric)
    if price is not None and not material.cloth:
        rows.append(("Cost", money(price, fabric.currency)))
    against = None if baseline is None else _against(material, fabric, baseline)
    if against:
        rows.append(("Direction", against))
    if material.cloth:
        rows.append(("Lies on it", _lying(material)))
    if material.missing:
        rows.append(("No room for", missing_words(material)))
    if material.short > 0:
        rows.append(("Too short", _short(material, fabric)))
    spare = spare_text(material)
    if spare:
        rows.append(("Spare", f"{spare}: cut because two layers lie there, counted as waste"))
    rows += [("Mind" if k == 0 else "", note) for k, note in enumerate(material.notes)]
    parts: list[Any] = [facts(rows)]
    if material.tried:
        parts += [
            "",
            f"  Spreads tried for {cloth_title(material)}:",
            _tried(material, fabric, width),
        ]
    return parts


def _lies(number: str, material: MaterialLayout) -> bool:
    return any(placement.piece == number for placement in material.placements)


def _border(material: MaterialLayout, job: Job) -> str:
    """Where the border runs, and whose hems lie along it."""
    fabric = job.fabrics[material.material]
    border = fabric.border
    assert border is not None
    text = f"{width_text(border.width, fabric.system)} from the {border.side} selvage inwards"
    hemmed = [title(p.number, p.name) for p in job.pieces if p.hem and _lies(p.number, material)]
    return f"{text}; hems along it: {', '.join(hemmed)}" if hemmed else f"{text}; no piece has its hem on it"


def _lying(material: MaterialLayout) -> str:
    """Every piece on a cloth with the copies that it yields there."""
    counts: dict[str, int] = {}
    for placement in material.placements:
        name = title(placement.piece, placement.name, placement.region)
        counts[name] = counts.get(name, 0) + placement.copies - placement.spare
    return ", ".join(f"{name} ({'1 copy' if n == 1 else f'{n} copies'})" for name, n in counts.items())


def _against(material: MaterialLayout, fabric: Fabric, baseline: Layout) -> str:
    """What nap and print cost in length and money, against the same cloth laid without them."""
    plain = next(
        (m for m in baseline.materials if (m.material, m.cloth) == (material.material, material.cloth)), None
    )
    if plain is None:
        return ""
    used, least = length(material.length, fabric.system), length(plain.length, fabric.system)
    more = material.length - plain.length
    text = f"{used} used, {least} if the cloth had neither nap nor print"
    text += (
        f": {length(more, fabric.system)} for the direction" if more >= 0.5 else ": nothing for the direction"
    )
    now, then = cost(material, fabric), cost(plain, fabric)
    if now is not None and then is not None and not material.cloth and abs(now - then) >= 0.005:
        way = "more" if now > then else "less"
        text += f"; to buy, {money(abs(now - then), fabric.currency)} {way}"
    return text


def _cloth(material: MaterialLayout, fabric: Fabric) -> str:
    system = fabric.system
    if material.cloth:
        wide = width_text(material.width, system)
        once = " once washed" if to_wash(material, fabric) else ""
        text = f'remnant "{material.cloth}" of {fabric.name}, {wide} wide at most{once}'
        if material.usable[0] > 0:
            text += f", {width_text(material.usable[0], system)} kept clear at each edge"
        wash = wash_words(material, fabric)
        text += f"; {wash}" if wash else ""
        return f"{text}; all pieces face one way" if fabric.nap else text
    text = f"{fabric.name}, {width_text(fabric.width, system)} wide"
    if fabric.tube:
        text += " as the tube lies"
    if fabric.shrink_across:
        left = width_text(material.width, system)
        text += f" ({left} after shrinking {_percent(fabric.shrink_across)} across)"
    if fabric.selvage:
        text += f", {width_text(fabric.selvage, system)} kept clear at each selvage"
    if fabric.nap:
        uneven = fabric.print is not None and not (fabric.print.even_along and fabric.print.even_across)
        text += f"; with {'a one-way print' if uneven else 'nap'}, so all pieces face one way"
    if fabric.grain == "any":
        text += "; no grain, so pieces may lie any way"
    return text


def _why_so_much(material: MaterialLayout, job: Job) -> str:
    """The parts of the length to buy: the lay, a repeat to begin on, shrinkage and rounding."""
    fabric = job.fabrics[material.material]
    system, repeat = fabric.system, repeat_to_begin_on(material, job)
    parts = amount(material.length, fabric, repeat)
    step = f"rounded up to the {step_text(fabric.step, system)} it is sold in"
    used = length(material.length, system)
    if repeat:
        together = length(material.length + repeat, system)
        used = f"{used} and one repeat of {length(repeat, system)} to begin on, together {together},"
    if not fabric.shrink_along:
        return f"({used} {step}; no shrinkage counted)"
    before = length(parts.bought - parts.rounding, system)
    shrinks = f"before it shrinks {_percent(fabric.shrink_along)} along"
    return f"({used} once washed is {before} {shrinks}; {step})"


def _bound(material: MaterialLayout, fabric: Fabric) -> str:
    square = ", with every piece along or across the cloth" if fabric.grain == "any" else ""
    if material.proven:
        return f"no: proven shortest of this spread{square}"
    least = at_least(material.lower_bound, fabric.system)
    if material.searched > material.length - TO_THE_MILLIMETRE:
        return (
            "no, by the search's own account: it went through every case and found none of this spread that "
            f"is shorter{square}; checked apart from it, none can be shorter than {least}"
        )
    if material.searched > material.lower_bound:
        known = at_least(material.searched, fabric.system)
        return (
            f"not proven shortest: no layout of this spread can be shorter than {least}, by the search's own "
            f"account not than {known}{square}, and one between may be possible"
        )
    return (
        f"not proven shortest: no layout of this spread can be shorter than {least}, "
        "and one between may be possible"
    )


def _percent(fraction: float) -> str:
    return f"{100.0 * fraction:.3g} %"


def _tried(material: MaterialLayout, fabric: Fabric, width: int) -> Any:
    chosen = next((t for t in material.tried if t.lay == material.lay and t.buy is not None), None)
    rows = [_tried_row(t, fabric, t is chosen) for t in material.tried]
    return table(("  Spread", "Buy", "Used", "Outlines", ""), rows, right=(1, 2, 3), whole=(0,), width=width)


def _tried_row(tried: Tried, fabric: Fabric, chosen: bool) -> tuple[str, ...]:
    name = f"{'>' if chosen else ' '} {tried.lay}"
    if tried.length is None or tried.buy is None:
        return name, "no", "", "", tried.why
    note = "chosen" if chosen else ""
    note = f"{note}; {tried.why}" if note and tried.why else note or tried.why
    outlines = "" if tried.outlines is None else str(tried.outlines)
    return name, bought(tried.buy, fabric.system), length(tried.length, fabric.system), outlines, note


def _pieces(layout: Layout, job: Job, width: int) -> list[Any]:
    # Several cloths of one material share one column.
    materials = list(dict.fromkeys(m.material for m in layout.materials))
    counts = piece_counts(job)
    rows = []
    for row in counts:
        cells = [row.cut.get(material, "") for material in materials]
        note = "guide, never cut" if row.guide else ""
        if row.guide and materials:
            cells[0] = note
        rows.append((row.number, row.name, *cells))
    totals = [str(sum(row.totals.get(material, 0) for row in counts)) for material in materials]
    rows.append(("", "pieces in all", *totals))
    parts: list[Any] = [table(("No.", "Piece", *materials), rows, right=(0,), width=width)]
    if job.quantity > 1:
        parts += ["", f"Counts are for {job.quantity} garments together."]
    return parts
