"""The cutting chart: how to lay each paper piece with nothing but a tape measure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import MaterialLayout, Placement
from marker.plain import csv_text
from marker.report.design import start_words
from marker.report.flat import asked
from marker.report.ground import Edge, EdgeName, edges, fold_across, span, stretches
from marker.report.measure import position, position_unit, position_word
from marker.report.oneway import one_way_words

STRAIGHT = 0.5
"""Millimetres the two ends of a grain line may differ and still count as equal: finer than a tape reads."""


@dataclass(frozen=True)
class ChartRow:
    """One paper piece to lay. Distances in millimetres.

    ``grain_tail`` and ``grain_head`` are the distances of the ends of the grain line from ``edge``,
    across the cloth. ``side`` tells edges of one name apart, seen with the cut end at one's left hand;
    it is empty where there is but one. ``start`` is the distance of the outline's nearest point from
    ``start_edge`` along the cloth. ``arrow`` is where the head of the grain line points. ``off_grain``
    in degrees, 0 straight along the cloth, 90 straight across.
    """

    order: int
    piece: str
    name: str
    region: str
    copies: int
    layers: int
    spare: int
    face: Literal["up", "down"]
    on_fold: bool
    opened: bool
    edge: EdgeName
    side: Literal["near", "middle", "far", ""]
    grain_tail: float
    grain_head: float
    arrow: Literal["right", "left", "up", "down"]
    off_grain: float
    start: float
    start_edge: Literal["cut end", "crosswise fold"]

    @property
    def measure_from(self) -> str:
        """The edge to measure from, in words: fold, near selvage and so on."""
        return f"{self.side} {self.edge}".strip()

    @property
    def straight(self) -> bool:
        """Both ends equally far from the edge: the piece lies on the straight grain."""
        return abs(self.grain_tail - self.grain_head) <= STRAIGHT


def cutting_chart(material: MaterialLayout, job: Job) -> list[ChartRow]:
    """The pieces of one material in laying order: from the cut end on, then from the lower edge up."""
    begin, _ = span(material)
    across = fold_across(material)
    from_fold = across is not None and abs(across - begin) < 0.01
    rows = []
    for order, placement in enumerate(in_laying_order(material), start=1):
        (tail, head) = placement.grain
        middle = (tail[1] + head[1]) / 2
        # A whole piece on a fold is measured from that fold, whatever else is nearer.
        choices = [e for e in edges(material, placement.band) if e.name == "fold" or not placement.on_fold]
        edge = min(choices, key=lambda e: abs(e.y - middle))
        dx, dy = head[0] - tail[0], head[1] - tail[1]
        rows.append(
            ChartRow(
                order=order,
                piece=placement.piece,
                name=placement.name,
                region=placement.region,
                copies=placement.copies,
                layers=material.bands[placement.band].layers,
                spare=placement.spare,
                face="down" if placement.mirrored else "up",
                on_fold=placement.on_fold,
                opened=placement.opened,
                edge=edge.name,
                side=_side(edge, material, placement.band),
                grain_tail=abs(tail[1] - edge.y),
                grain_head=abs(head[1] - edge.y),
                arrow=_arrow(dx, dy),
                off_grain=math.degrees(math.atan2(abs(dy), abs(dx))),
                start=max(0.0, min(x for x, _ in placement.outline) - begin),
                start_edge="crosswise fold" if from_fold else "cut end",
            )
        )
    return rows


def in_laying_order(material: MaterialLayout) -> list[Placement]:
    """Placements by their nearest point to the cut end, then by their lowest point (whole millimetres)."""

    def key(placement: Placement) -> tuple[float, float, str]:
        low_x = min(x for x, _ in placement.outline)
        low_y = min(y for _, y in placement.outline)
        return round(low_x), round(low_y), placement.piece

    return sorted(material.placements, key=key)


def _side(edge: Edge, material: MaterialLayout, band: int) -> Literal["near", "middle", "far", ""]:
    here = next(s for s in stretches(material) if band in s.bands)
    alike = sorted({e.y for b in here.bands for e in edges(material, b) if e.name == edge.name})
    if len(alike) == 1:
        return ""
    return "near" if edge.y == alike[0] else "far" if edge.y == alike[-1] else "middle"


def _arrow(dx: float, dy: float) -> Literal["right", "left", "up", "down"]:
    if abs(dx) >= abs(dy):
        return "right" if dx >= 0 else "left"
    return "up" if dy >= 0 else "down"


HEADINGS = ("Line", "Piece", "Plies", "Yields", "Face", "From", "Grain line", "Starts", "Arrow")


def chart_cells(row: ChartRow, fabric: Fabric) -> tuple[str, ...]:
    """One line of the printed chart, under ``HEADINGS``."""
    return (
        str(row.order),
        title(row.piece, row.name, row.region),
        str(row.layers),
        yields(row),
        row.face,
        row.measure_from,
        grain_text(row, fabric),
        position(row.start, fabric.system),
        row.arrow,
    )


def title(piece: str, name: str, region: str = "") -> str:
    """How a piece is called everywhere: its number, its name and what part of it, if not all."""
    return f"{piece} {name} ({region})" if region else f"{piece} {name}"


def yields(row: ChartRow) -> str:
    """The cut pieces that come off the table when this outline is cut."""
    text = str(row.copies)
    if row.on_fold:
        text += " on fold"
    elif row.opened:
        text += " opened out"
    return f"{text}, {row.spare} spare" if row.spare else text


def grain_text(row: ChartRow, fabric: Fabric) -> str:
    """Distance of the grain line from its edge: one number when straight, both ends when not."""
    if row.straight:
        return f"{position((row.grain_tail + row.grain_head) / 2, fabric.system)} straight"
    tail, head = position(row.grain_tail, fabric.system), position(row.grain_head, fabric.system)
    if fabric.grain == "any":
        return f"{tail} to {head}"
    for angle, words in ((45.0, "on the bias"), (90.0, "straight across")):
        if abs(row.off_grain - angle) < 0.05:
            return f"{tail} to {head}, {words}"
    return f"{tail} to {head}, {row.off_grain:.1f}° off"


def chart_notes(material: MaterialLayout, job: Job) -> list[tuple[str, str]]:
    """How to read the chart: each column that needs it, and what it says."""
    fabric = job.fabrics[material.material]
    rows = cutting_chart(material, job)
    begin = rows[0].start_edge if rows else "cut end"
    notes = [
        ("Distances", f"in {position_word(fabric.system)}."),
        ("Plies", "how many layers of cloth lie there."),
        ("Grain line", "how far the grain arrow lies from the edge named under From."),
        ("straight", "both ends of the grain arrow measure the same."),
        ("Starts", f"how far the nearest point of the piece lies from the {begin}."),
        ("Arrow", f"where its head points, seen with the {begin} at your left hand."),
    ]
    if not any(row.straight for row in rows):
        notes = [note for note in notes if note[0] != "straight"]
    if any(not row.straight for row in rows):
        free = "; this material has no grain to keep to" if fabric.grain == "any" else ""
        notes.append(("x to y", f"the tail of the grain arrow, then its head{free}."))
    if any(row.side for row in rows):
        notes.append(("near, far", f"seen with the {begin} at your left hand, near is the edge before you."))
    if any(row.face == "down" for row in rows):
        notes.append(("down", "turn the paper piece over, its printed side to the cloth."))
    if material.cloth:
        notes.append(("edge", "the line along the grain that touches the remnant there from outside."))
        notes.append(("cut end", "the line square to it that touches the remnant's left end."))
    one_way = one_way_words(material, fabric, begin)
    if one_way:
        notes.append(("one way", one_way))
    if fabric.print is not None and asked(material, job):
        start = start_words(fabric.print, fabric.system, bool(material.cloth))
        notes.append(
            (
                "print",
                f"the distances hold for the {start}; if yours begins elsewhere, move all pieces alike.",
            )
        )
    if any(row.opened for row in rows):
        notes.append(("opened out", "whole, in one layer; turn half a paper piece over at its fold edge."))
    return notes


SAID_WHERE_IT_HOLDS = ("straight", "x to y", "near, far", "down", "edge", "opened out")
"""Words of the chart itself: a note on one of them is read only where the word stands."""


def chart_table(material: MaterialLayout, job: Job, width: int) -> Any:
    """The cutting chart as a rich table at most ``width`` columns wide."""
    from marker.report.console import table

    fabric = job.fabrics[material.material]
    cells = [chart_cells(row, fabric) for row in cutting_chart(material, job)]
    return table(HEADINGS, cells, right=(0, 2, 7), width=width)


CSV_FIELDS = (
    "order",
    "piece",
    "name",
    "region",
    "copies",
    "layers",
    "spare",
    "face",
    "on_fold",
    "opened",
    "measure_from",
    "grain_tail_mm",
    "grain_head_mm",
    "straight",
    "arrow",
    "start_from",
    "start_mm",
    "grain_line",
    "starts",
    "unit",
)


def chart_csv(material: MaterialLayout, job: Job) -> str:
    """The cutting chart as CSV with a heading line; distances in millimetres with one decimal,
    and again at the end as the printed chart gives them, in the unit of this cloth."""
    lines = []
    fabric = job.fabrics[material.material]
    for row in cutting_chart(material, job):
        lines.append(
            [
                row.order,
                row.piece,
                row.name,
                row.region,
                row.copies,
                row.layers,
                row.spare,
                row.face,
                _yes(row.on_fold),
                _yes(row.opened),
                row.measure_from,
                f"{row.grain_tail:.1f}",
                f"{row.grain_head:.1f}",
                _yes(row.straight),
                row.arrow,
                row.start_edge,
                f"{row.start:.1f}",
                grain_text(row, fabric),
                position(row.start, fabric.system),
                position_unit(fabric.system),
            ]
        )
    return csv_text(CSV_FIELDS, lines, "\n")


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"
