"""The lays of a comparison as a figure tells them."""

from __future__ import annotations

from marker.model.layout import MaterialLayout
from marker.report.console import capital
from marker.report.measure import bought, length, width_text
from marker.report.shopping import money
from marker.report.side_by_side import Panel
from marker.tables.compare import Comparison, Result, extra_text, match_word, of_material, ranges


def panels(table: Comparison, material: str) -> list[Panel]:
    """A panel for each cloth of each alternative that has a layout; alternatives that are alike share one."""
    found = []
    for numbers, _, result in of_material(table, material):
        fabric, job = result.entry.fabric, result.entry.task.job
        for place, cloth in enumerate(result.outcome.cloths):
            name = f"No. {ranges(numbers)}  {capital(fabric.name)}"
            if cloth.cloth:
                name += f", remnant {cloth.cloth}"
            else:
                name += f", {width_text(fabric.width, fabric.system)} wide"
            found.append(Panel(cloth, job, name, _about(result, cloth, first=place == 0)))
    return found


def _about(result: Result, cloth: MaterialLayout, *, first: bool) -> tuple[str, ...]:
    """Lines about one cloth; what holds for all cloths of the alternative stands with the first."""
    fabric, outcome = result.entry.fabric, result.outcome
    words = []
    if first:
        words.append(f"Buy {bought(outcome.buy, fabric.system)}" if outcome.buy > 0 else "Nothing to buy")
        cost = outcome.cost(fabric)
        if cost:
            words.append(money(cost, fabric.currency))
    words += [
        f"{length(cloth.length, fabric.system)} used",
        f"waste {cloth.waste_percent:.1f} %",
        cloth.lay,
    ]
    match = match_word(result.entry)
    if match:
        words.append(f"matched: {match}")
    if first and result.outcome.why:
        words.append("not all pieces fit")
    lines = [capital("; ".join(words)) + "."]
    more = extra_text(result)
    if first and more:
        lines.append(f"Over the same cloth laid plain: {more}.")
    return tuple(lines)
