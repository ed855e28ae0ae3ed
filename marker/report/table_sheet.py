"""One printed page for the cutting table: the lays, the cutting chart and the shopping list."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from typing import Any

from marker.model.job import Job
from marker.model.layout import Layout, MaterialLayout
from marker.report.cautions import cautions_in_short
from marker.report.chart import HEADINGS, SAID_WHERE_IT_HOLDS, chart_cells, chart_notes, cutting_chart
from marker.report.cloths import cloth_title, cloth_words, missing_words
from marker.report.compose import Composition, KeyEntry, compose_on, inner_words, key_height, symbols_used
from marker.report.console import capital
from marker.report.ground import spread_of, stretches
from marker.report.labels import POINT, text_width
from marker.report.measure import length
from marker.report.page import LARGEST_SCALE, LEFT, RIGHT, ROW_GAP, RULER, WORDS, Row, Sheet, breaks
from marker.report.picture import Pen, blank_page, ink, pages_pdf
from marker.report.sheet_canvas import wrapped
from marker.report.shopping import NOTHING, money, shopping_list
from marker.report.text import job_title

MARGIN = 10.0
GAP = 5.0
"""Millimetres left blank at the edges of the page, and between blocks."""

TEXT = 7.2
SMALL = 6.5
"""Points of the chart, and of what explains it."""

LEGIBLE = 1 / 16
"""Scale below which a picture is not squeezed onto one page with the chart."""
LEAST_LEGIBLE = 1 / 20
"""The same where the lines of the chart stand close together, so that one page may do after all."""

LINE = 3.2
CLOSE = 2.75
"""Millimetres from line to line of text, and where they stand close together."""
HEAD = 9.4
"""Height of a chart's heading with the names of its columns."""
PLIES, YIELDS, FACE, FROM, GRAIN, ARROW = 2, 3, 4, 5, 6, 8
SAYABLE = {PLIES: "{} plies", FACE: "face {}", FROM: "from the {}", GRAIN: "grain line {}", ARROW: "arrow {}"}
"""Columns of the chart that may be told once above it where all lines say the same, and how."""
SHORTENED = (FROM, GRAIN)
"""Of these the last word will do: selvage, straight."""
FEWEST_LINES = 3
"""A chart is not torn for fewer lines."""
MOST_ROWS = 6
TINIEST = 1 / 200
TALLEST_KEY = 50.0
HEADING = 10.0
NARROWEST = 56.0


def table_sheet_pdf(layout: Layout, job: Job) -> bytes:
    """The page as a PDF file: A4 or Letter by the unit family of the first cloth.

    Everything stands on one page where pictures stay legible on it, else the chart goes on further
    pages. The same layout gives the same bytes.
    """
    return pages_pdf(table_sheet(layout, job), job_title(layout, job))


def table_sheet(layout: Layout, job: Job) -> list[Any]:
    """The pages as matplotlib figures."""
    page = _page_size(layout, job)
    contents = Contents(
        [Lay(m, job) for m in layout.materials],
        Shopping(layout, job),
        [Chart(m, job) for m in layout.materials],
        Notes(layout, job),
    )
    contents.explain([symbols_used(m) for m in layout.materials])
    for _ in range(4):
        plan = _best_plan(page, contents)
        if plan.pages > 1:
            close = _closer(page, contents)
            if close is None and not contents.terse:
                keyed = [lay.keyed for lay in contents.lays]
                contents.be_terse(True)
                close = _closer(page, contents)
                if close is None:
                    contents.be_terse(False)
                    for lay, key in zip(contents.lays, keyed, strict=True):
                        lay.keyed = key
            plan = plan if close is None else close
        drawn = [compose_on(lay.sheet(*plan.at[k]), lay.material, job) for k, lay in enumerate(contents.lays)]
        before = [len(lay.keyed) for lay in contents.lays]
        shown = [lay.keyed for lay in contents.lays]
        contents.explain([page_.key for page_ in drawn])
        if all(len(lay.keyed) <= n for lay, n in zip(contents.lays, before, strict=True)):
            break
        # Keys only grow, or two plans could take turns for ever.
        for lay, old in zip(contents.lays, shown, strict=True):
            lay.keyed = max(lay.keyed, old, key=len)
            if contents.terse:
                lay.keyed = _symbols(lay.keyed)
    compositions = [replace(c, key=lay.keyed) for c, lay in zip(drawn, contents.lays, strict=True)]
    return _drawn(plan, contents, compositions, layout, job)


def _page_size(layout: Layout, job: Job) -> tuple[float, float]:
    systems = [job.fabrics[m.material].system for m in layout.materials]
    return (215.9, 279.4) if systems and systems[0] == "imperial" else (210.0, 297.0)


class Lay:
    """The picture of one lay with its caption and key, drawn as large as asked for."""

    def __init__(self, material: MaterialLayout, job: Job) -> None:
        self.material = material
        self.job = job
        self.keyed: tuple[KeyEntry, ...] = ()
        self._rows: dict[int, list[tuple[float, float, float]]] = {}
        words = inner_words(material)
        self.right = max(RIGHT, 4.0 + max((text_width(w, 6.5) for _, w in words), default=0.0))

    def rows(self, count: int) -> list[tuple[float, float, float]]:
        """Start, end and height of each row, cloth millimetres."""
        if count not in self._rows:
            found = []
            for a, b in pairwise(breaks(self.material, count)):
                here = [s for s in stretches(self.material) if s.start < b - 1e-6 and s.end > a + 1e-6]
                found.append((a, b, max(s.high.y for s in here)))
            self._rows[count] = found
        return self._rows[count]

    def size(self, scale: float, count: int) -> tuple[float, float]:
        """Width and height on paper, caption and key included."""
        rows = self.rows(count)
        wide = LEFT + max(b - a for a, b, _ in rows) * scale + self.right
        wide = max(wide, NARROWEST)
        high = sum(WORDS + tall * scale + WORDS + RULER for _, _, tall in rows) + (count - 1) * ROW_GAP
        return wide, high + self.caption_height(wide) + key_height(self.keyed, wide)

    def caption(self, wide: float) -> list[tuple[str, float, bool]]:
        """Lines of text with their size and weight."""
        m, fabric = self.material, self.job.fabrics[self.material.material]
        head = f"{capital(cloth_title(m))}: {cloth_words(m, fabric)}"
        words = spread_of(m, fabric.system)
        spread = f"{capital(m.lay)}: {words}." if words != m.lay else f"{capital(m.lay)}."
        used = f"{length(m.length, fabric.system)} used, waste {m.waste_percent:.1f} %."
        if m.missing:
            used += f" No room for {missing_words(m)}."
        down = " Hatched pieces lie face down." if any(p.mirrored for p in m.placements) else ""
        lines = [(line, 9.0, True) for line in wrapped(head, wide, 9.0, True)]
        return lines + [(line, 7.0, False) for line in wrapped(f"{spread} {used}{down}", wide, 7.0)]

    def caption_height(self, wide: float) -> float:
        return sum(1.35 * size * POINT for _, size, _ in self.caption(wide)) + 1.0

    def sheet(self, left: float, top: float, scale: float, count: int) -> Sheet:
        """Where the cloth and its key go on paper, with the block's upper left corner at left, top."""
        wide, _ = self.size(scale, count)
        y = top - self.caption_height(wide)
        rows = []
        for a, b, tall in self.rows(count):
            bottom = y - WORDS - tall * scale
            rows.append(Row(a, b, tall, left + LEFT, bottom, scale))
            y = bottom - WORDS - RULER - ROW_GAP
        high = key_height(self.keyed, wide)
        return Sheet(0.0, 0.0, scale, 1.0, tuple(rows), (left, y + ROW_GAP - high + 2.0, wide, high), False)

    def draw(self, pen: Pen, page: Composition, left: float, top: float, scale: float, count: int) -> None:
        wide, _ = self.size(scale, count)
        y = top
        for text, size, bold in self.caption(wide):
            y -= 1.35 * size * POINT
            pen.level(left, y + 0.6 * size * POINT, text, size, bold=bold, across="left")
        ink(pen, page, self.material, self.job)


@dataclass(frozen=True)
class Shopping:
    """What to buy, with a box to tick for each; or that nothing is bought."""

    layout: Layout
    job: Job

    @cached_property
    def lines(self) -> list[tuple[str, str, str]]:
        items = shopping_list(self.layout, self.job)
        return [
            (
                item.amount,
                capital(item.what) + (f", {item.detail}" if item.detail else ""),
                money(item.cost, item.currency) if item.cost is not None else "",
            )
            for item in items
        ] or [("", NOTHING, "")]

    def _columns(self, wide: float) -> tuple[float, float, float]:
        first = max(text_width(a, TEXT, True) for a, _, _ in self.lines) + 2.0
        last = max(text_width(c, TEXT) for _, _, c in self.lines) + 2.0
        return 5.0 + first, wide - 5.0 - first - last, last

    def natural_width(self) -> float:
        first, _, last = self._columns(100.0)
        words = max(text_width(b, TEXT) for _, b, _ in self.lines)
        return min(max(first + words + last + 1.0, NARROWEST), 120.0)

    def height(self, wide: float) -> float:
        _, room, _ = self._columns(wide)
        return 6.0 + sum(_line_height(len(wrapped(b, room, TEXT))) for _, b, _ in self.lines)

    def draw(self, pen: Pen, left: float, top: float, wide: float) -> None:
        pen.level(left, top - 2.6, "Shopping list", 9.0, bold=True, across="left")
        lead, room, _ = self._columns(wide)
        y = top - 6.0
        for amount, words, cost in self.lines:
            texts = wrapped(words, room, TEXT)
            if amount:
                _tick_box(pen, left, y)
            pen.level(left + lead - 2.0, y - 2.1, amount, TEXT, bold=True, across="right")
            for text in texts:
                pen.level(left + lead, y - 2.1, text, TEXT, across="left")
                if text is texts[0]:
                    pen.level(left + wide, y - 2.1, cost, TEXT, across="right")
                y -= LINE
            y -= _line_height(len(texts)) - LINE * len(texts)


def _line_height(lines: int) -> float:
    return LINE * lines + 0.7


def _tick_box(pen: Pen, left: float, top: float) -> None:
    x0, y0, side = left + 0.3, top - 3.1, 2.5
    pen.line([(x0, y0), (x0 + side, y0), (x0 + side, y0 + side), (x0, y0 + side), (x0, y0)], 0.5)


@dataclass(frozen=True)
class Chart:
    """The cutting chart of one lay, or a stretch of its lines, with a box to tick for each line."""

    material: MaterialLayout
    job: Job
    first: int = 0
    last: int | None = None
    close: bool = False
    """Small type, lines close together."""

    @property
    def _type(self) -> float:
        return SMALL if self.close else TEXT

    @property
    def _line(self) -> float:
        return CLOSE if self.close else LINE

    def _row_height(self, lines: int) -> float:
        return self._line * lines + (0.5 if self.close else 0.7)

    @cached_property
    def _all(self) -> list[tuple[str, ...]]:
        fabric = self.job.fabrics[self.material.material]
        return [chart_cells(row, fabric) for row in cutting_chart(self.material, self.job)]

    @cached_property
    def _shorter(self) -> tuple[list[tuple[str, ...]], list[int], str]:
        """The cells, which columns they are, and what is the same in all lines and stands above them."""
        columns = list(range(len(HEADINGS)))
        if not self.close or len(self._all) < FEWEST_LINES:
            return self._all, columns, ""
        rows = [list(row) for row in self._all]
        said = []
        for k, words in SAYABLE.items():
            ends = {row[k].rpartition(" ")[2] for row in rows}
            if len({row[k] for row in rows}) == 1:
                text = "1 ply" if (k, rows[0][k]) == (PLIES, "1") else words.format(rows[0][k])
                columns.remove(k)
            elif k in SHORTENED and len(ends) == 1 and all(" " in row[k] for row in rows):
                text = words.format(ends.pop())
                for row in rows:
                    row[k] = row[k].rpartition(" ")[0]
            else:
                continue
            said.append(text)
        for row in rows:
            row[YIELDS] = row[YIELDS].replace("opened out", "opened")
        cells = [tuple(row[k] for k in columns) for row in rows]
        return cells, columns, f"All lines: {', '.join(said)}." if said else ""

    @property
    def cells(self) -> list[tuple[str, ...]]:
        return self._shorter[0][self.first : self.last]

    @property
    def shown(self) -> list[int]:
        return self._shorter[1]

    @property
    def names(self) -> list[str]:
        """What stands above the columns."""
        return ["Grain" if k == GRAIN and self.close else HEADINGS[k] for k in self.shown]

    @property
    def lead(self) -> float:
        """Width of the tick boxes."""
        return 4.0 if self.close else 5.0

    @cached_property
    def _narrow_name(self) -> float:
        """Width of the column of names at the least: that of the longest word, if room is short."""
        if not self.close:
            return 22.0
        words = [word for row in self._all for word in row[1].split()]
        return max((text_width(word, self._type, True) for word in words), default=20.0) + self.between

    @property
    def said(self) -> str:
        return self._shorter[2]

    @property
    def head(self) -> float:
        """Height of the heading with the names of the columns."""
        return HEAD + (3.0 if self.said else 0.0)

    @property
    def between(self) -> float:
        """Millimetres from column to column."""
        return 1.8 if self.close else 2.6

    @cached_property
    def _natural(self) -> list[float]:
        names = self.names
        columns = enumerate(zip(names, *self._shorter[0], strict=True))
        return [
            max(text_width(column[0], SMALL, True), *(text_width(t, self._type, k == 1) for t in column[1:]))
            + self.between
            for k, column in columns
        ]

    def widths(self, wide: float | None) -> list[float]:
        """Millimetres of each column with its gap; the names narrowed where ``wide`` asks for it."""
        found = list(self._natural)
        if wide is not None and sum(found) + self.lead > wide:
            found[1] = max(self._narrow_name, found[1] - (sum(found) + self.lead - wide))
        return found

    def natural_width(self) -> float:
        return max(sum(self.widths(None)) + self.lead, text_width(self.said, SMALL))

    def narrowest_width(self) -> float:
        """With names over several lines, all type in its full size."""
        return max(sum(self.widths(0.0)) + self.lead, text_width(self.said, SMALL))

    def row_heights(self, wide: float) -> list[float]:
        name = self.widths(wide)[1] - self.between
        if name >= self._natural[1] - self.between:
            return [self._row_height(1)] * len(self.cells)
        return [self._row_height(len(wrapped(row[1], name, self._type, True))) for row in self.cells]

    def height(self, wide: float) -> float:
        return self.head + sum(self.row_heights(wide))

    def draw(self, pen: Pen, left: float, top: float, wide: float) -> None:
        more = " (continued)" if self.first else ""
        heading = f"Cutting chart: {cloth_title(self.material)}{more}"
        size = min(9.0, 9.0 * wide / text_width(heading, 9.0, True))
        pen.level(left, top - 2.6, heading, size, bold=True, across="left")
        if self.said:
            pen.level(left, top - 6.2, self.said, SMALL, across="left")
            top -= 3.0
        widths = self.widths(wide)
        names = widths[1] - self.between + 0.01
        scale = min(1.0, wide / (sum(widths) + self.lead))
        widths = [w * scale for w in widths]
        y = top - 7.2
        starts, gap = [left + self.lead], self.between * scale
        for w in widths[:-1]:
            starts.append(starts[-1] + w)
        for index, (column, name) in enumerate(zip(self.shown, self.names, strict=True)):
            self._cell(pen, starts[index], widths[index], y, column, name, SMALL * scale, gap, True)
        y -= 1.9
        right = left + self.lead + sum(widths)
        pen.line([(left, y), (right, y)], 0.8)
        heights = self.row_heights(wide)
        for number, (row, high) in enumerate(zip(self.cells, heights, strict=True)):
            if number % 2:
                pen.area([(left, y), (right, y), (right, y - high), (left, y - high)], "#ececec", 0.5)
            _tick_box(pen, left, y + 0.2 if self.close else y - 0.3)
            for index, text in enumerate(row):
                lines = wrapped(text, names, self._type, True) if index == 1 else [text]
                for k, line in enumerate(lines):
                    down = y - (1.7 if self.close else 2.0) - self._line * k
                    column = self.shown[index]
                    self._cell(pen, starts[index], widths[index], down, column, line, self._type * scale, gap)
            y -= high
        pen.line([(left, y), (right, y)], 0.5)

    @staticmethod
    def _cell(
        pen: Pen,
        x: float,
        wide: float,
        y: float,
        index: int,
        text: str,
        size: float,
        gap: float,
        bold: bool = False,
    ) -> None:
        if index in (0, PLIES, 7):
            pen.level(x + wide - gap, y, text, size, bold=bold, across="right")
        else:
            pen.level(x, y, text, size, bold=bold or index == 1, across="left")

    def split(self, wide: float, room: float) -> tuple[Chart, Chart | None]:
        """As many lines as fit into ``room`` millimetres, and the rest."""
        high, fits = self.head, 0
        for row in self.row_heights(wide):
            high += row
            if high > room:
                break
            fits += 1
        if fits >= len(self.cells):
            return self, None
        cut = self.first + max(fits, 1)
        return replace(self, last=cut), replace(self, first=cut)


@dataclass(frozen=True)
class Notes:
    """How to read the chart, and what to mind before cutting."""

    layout: Layout
    job: Job

    @cached_property
    def reading(self) -> list[tuple[str, str]]:
        """The notes of all charts; one that does not hold for all of them names those it holds for."""
        charts = [dict(chart_notes(material, self.job)) for material in self.layout.materials]
        titles = [cloth_title(material) for material in self.layout.materials]
        found: list[tuple[str, str]] = []
        for what in dict.fromkeys(what for chart in charts for what in chart):
            for text in dict.fromkeys(chart[what] for chart in charts if what in chart):
                holds = [name for name, chart in zip(titles, charts, strict=True) if chart.get(what) == text]
                saying = sum(what in chart for chart in charts)
                everywhere = saying if what in SAID_WHERE_IT_HOLDS else len(charts)
                found.append((what if len(holds) == everywhere else f"{what} ({'; '.join(holds)})", text))
        return found

    def height(self, wide: float) -> float:
        return 2.5 + 3.0 * len(self._lines(self.reading, wide))

    def cautions_height(self, wide: float) -> float:
        return 6.0 + 3.0 * len(self._lines(self._cautions, wide))

    @cached_property
    def _cautions(self) -> list[tuple[str, str]]:
        return [("•", text) for text in cautions_in_short(self.layout, self.job)]

    def draw(self, pen: Pen, left: float, top: float, wide: float) -> None:
        self._draw(pen, self.reading, left, top - 2.5, wide)

    def draw_cautions(self, pen: Pen, left: float, top: float, wide: float) -> None:
        pen.level(left, top - 2.6, "Before you cut", 9.0, bold=True, across="left")
        self._draw(pen, self._cautions, left, top - 6.0, wide)

    def _draw(self, pen: Pen, what: Sequence[tuple[str, str]], left: float, y: float, wide: float) -> None:
        for line in self._lines(what, wide):
            for x, word, bold in line:
                pen.level(left + x, y - 1.6, word, SMALL, bold=bold, across="left")
            y -= 3.0

    @staticmethod
    def _lines(what: Sequence[tuple[str, str]], wide: float) -> list[list[tuple[float, str, bool]]]:
        """Running text, the heads in bold: each line's words with the x they begin at."""
        gap = text_width(" ", SMALL)
        lines: list[list[tuple[float, str, bool]]] = [[]]
        x = 0.0
        for head, text in what:
            for k, word in enumerate([head, *text.split()]):
                takes = text_width(word, SMALL, k == 0)
                if x > 0 and x + takes > wide:
                    lines.append([])
                    x = 0.0
                lines[-1].append((x, word, k == 0))
                x += takes + gap
            x += 2 * gap
        return lines


Columns = tuple[float, tuple[list[Chart], list[Chart]]]
"""Height of two columns of charts, and the charts of each."""


@dataclass
class Contents:
    """Everything that goes on the page or pages."""

    lays: list[Lay]
    shopping: Shopping
    charts: list[Chart]
    notes: Notes
    terse: bool = False
    """Keys without the names of numbered pieces."""
    _columns: dict[float, Columns | None] = field(default_factory=dict, init=False)

    def in_columns(self, wide: float) -> Columns | None:
        """The charts and the shopping list, last, in two columns of that width: their height, and the charts
        of each."""
        if wide not in self._columns:
            self._columns[wide] = _two_columns(self.charts, self.shopping.height(wide), wide)
        return self._columns[wide]

    def be_terse(self, terse: bool) -> None:
        self.terse = terse
        for lay in self.lays:
            lay.keyed = _symbols(lay.keyed) if terse else lay.keyed

    def explain(self, keys: Sequence[Sequence[KeyEntry]]) -> None:
        """Give each lay its key; what an earlier one explains is not explained again."""
        seen: set[str] = set()
        for lay, key in zip(self.lays, keys, strict=True):
            lay.keyed = tuple(entry for entry in key if entry.number or entry.symbol not in seen)
            if self.terse or key_height(lay.keyed, TALLEST_KEY * 3) > TALLEST_KEY:
                lay.keyed = _symbols(lay.keyed)
            seen |= {entry.symbol for entry in key if not entry.number}


def _symbols(key: Sequence[KeyEntry]) -> tuple[KeyEntry, ...]:
    """The key without the names of pieces: the chart names them, too."""
    return tuple(entry for entry in key if not entry.number)


@dataclass(frozen=True)
class Scales:
    """How large the lays are drawn: the longest in ``count`` rows, the others ``share`` times its scale."""

    scale: float
    longest: int
    count: int
    share: float

    def of(self, index: int) -> tuple[float, int]:
        """Scale and number of rows of one lay."""
        if index == self.longest:
            return self.scale, self.count
        return self.share * self.scale, 1


Box = tuple[float, float, float, float]
"""Left, top, width and height on a page, in millimetres."""
Block = tuple[int, Box, Shopping | Chart | Notes]
"""The page a block is on, where, and the block."""


@dataclass(frozen=True)
class Plan:
    """Where everything goes. ``at`` holds left, top, scale and rows of each lay, all on the first page;
    ``free`` is room left over on the last page."""

    scales: Scales
    size: tuple[float, float]
    at: list[tuple[float, float, float, int]]
    blocks: list[Block]
    pages: int
    free: Box
    least: float = LEGIBLE
    """Scale at which its pictures are legible."""

    @property
    def smallest(self) -> float:
        return min(scale for _, _, scale, _ in self.at)

    @property
    def merit(self) -> tuple[bool, int, float]:
        """Legible, on few pages, large; in this order. Where nothing is large enough, size goes first."""
        large = self.scales.scale * self.scales.share**0.5 * (0.75 if self.scales.count > 1 else 1.0)
        if self.smallest >= (LEGIBLE if self.pages > 1 else self.least):
            return True, -self.pages, large
        return False, 0, large * 0.8**self.pages


Arrange = Callable[[tuple[float, float], Contents, Scales], Plan | None]


def _best_plan(page: tuple[float, float], contents: Contents) -> Plan:
    """The arrangement with the largest pictures on one page, or on more where that is not legible."""
    upright, across = page, (page[1], page[0])
    ways: list[tuple[tuple[float, float], Arrange]] = [
        (upright, _stacked),
        (across, _stacked),
        (across, _beside),
        (upright, _apart),
        (across, _apart),
    ]
    plans = [plan for size, way in ways for plan in _largest(size, contents, way)]
    return max(plans, key=lambda plan: plan.merit)


def _closer(page: tuple[float, float], contents: Contents) -> Plan | None:
    """One page with the lines of the charts close together; None if pictures would not be legible on it."""
    closer = replace(contents, charts=[replace(chart, close=True) for chart in contents.charts])
    plans = [
        replace(plan, least=LEAST_LEGIBLE)
        for size, way in (
            (page, _stacked),
            (page[::-1], _stacked),
            (page[::-1], _beside),
            (page, _in_columns),
            (page[::-1], _in_columns),
        )
        for plan in _largest(size, closer, way)
    ]
    return max(
        (plan for plan in plans if plan.smallest >= LEAST_LEGIBLE), key=lambda plan: plan.merit, default=None
    )


def _largest(size: tuple[float, float], contents: Contents, arrange: Arrange) -> list[Plan]:
    """For every number of rows and every share, the plan with the largest scale that fits."""
    longest = max(range(len(contents.lays)), key=lambda k: contents.lays[k].material.length)
    long = contents.lays[longest].material.length
    found = []
    for count in range(1, MOST_ROWS + 1):
        for share in (1.0, 0.75, 0.55) if len(contents.lays) > 1 else (1.0,):
            low, high, best = min(TINIEST, 100.0 * count / long), LARGEST_SCALE, None
            for _ in range(10):
                scale = low if best is None else (low + high) / 2
                plan = arrange(size, contents, Scales(scale, longest, count, share))
                if plan is not None:
                    low, best = scale, plan
                elif best is None:
                    break
                else:
                    high = scale
            if best is not None:
                found.append(best)
    return found


def _flow(
    contents: Contents, scales: Scales, wide: float, shopping: bool = True
) -> tuple[list[Box], float] | None:
    """Pictures, then the shopping list if asked for, beside and below each other: the depth of each counts
    from the top of the first; and the depth of all."""
    placed: list[Box] = []
    x = depth = tall = 0.0
    for index in range(len(contents.lays) + shopping):
        if index < len(contents.lays):
            w, h = contents.lays[index].size(*scales.of(index))
        else:
            w = min(contents.shopping.natural_width(), wide)
            if x > 0 and x + w > wide and wide - x >= NARROWEST:
                # What stands beside a picture may be narrower.
                w = wide - x
            h = contents.shopping.height(w)
            # Under a short picture beside a tall one is room, too.
            last = placed[-1] if placed else None
            if last is not None:
                below, under = last[1] + last[3] + GAP, max(last[2], NARROWEST)
                narrow = contents.shopping.height(under)
                if x > 0 and x + w > wide and below + narrow <= depth + tall + GAP + h:
                    placed.append((last[0], below, under, narrow))
                    tall = max(tall, below + narrow - depth)
                    continue
        if x > 0 and x + w > wide + 1e-6:
            x, depth, tall = 0.0, depth + tall + GAP, 0.0
        if w > wide + 1e-6:
            return None
        placed.append((x, depth, w, h))
        x += w + GAP
        tall = max(tall, h)
    return placed, depth + tall


def _plan(
    size: tuple[float, float],
    contents: Contents,
    scales: Scales,
    placed: list[Box],
    blocks: list[Block],
    pages: int,
    free: Box,
) -> Plan:
    top = size[1] - MARGIN - HEADING
    at = [
        (MARGIN + x, top - depth, *scales.of(k))
        for k, (x, depth, _, _) in enumerate(placed[: len(contents.lays)])
    ]
    x, depth, wide, high = placed[-1]
    shopping: Block = (0, (MARGIN + x, top - depth, wide, high), contents.shopping)
    return Plan(scales, size, at, [shopping, *blocks], pages, free)


def _stacked(size: tuple[float, float], contents: Contents, scales: Scales) -> Plan | None:
    """Pictures and the shopping list at the top, the charts across the page below."""
    charts, notes = contents.charts, contents.notes
    wide, room = size[0] - 2 * MARGIN, size[1] - 2 * MARGIN - HEADING
    top = size[1] - MARGIN - HEADING
    flowed = _flow(contents, scales, wide)
    if flowed is None:
        return None
    placed, depth = flowed
    chart_wide = min(wide, max(chart.natural_width() for chart in charts))
    blocks: list[Block] = []
    begin = depth + GAP
    for chart in charts:
        depth += GAP
        high = chart.height(chart_wide)
        blocks.append((0, (MARGIN, top - depth, chart_wide, high), chart))
        depth += high
    beside = wide - chart_wide - 2 * GAP
    if beside >= 45.0:
        x, high = MARGIN + chart_wide + 2 * GAP, notes.height(beside)
        blocks.append((0, (x, top - begin, beside, high), notes))
        depth = max(depth, begin + high)
        below = begin + high + GAP
        free = (x, top - below, beside, room - below)
        if notes.cautions_height(beside) > free[3]:
            free = (MARGIN, top - depth - GAP, wide, room - depth - GAP)
    else:
        high = notes.height(wide)
        blocks.append((0, (MARGIN, top - depth, wide, high), notes))
        depth += high
        free = (MARGIN, top - depth - GAP, wide, room - depth - GAP)
    if depth > room or notes.cautions_height(free[2]) > free[3]:
        return None
    return _plan(size, contents, scales, placed, blocks, 1, free)


def _beside(size: tuple[float, float], contents: Contents, scales: Scales) -> Plan | None:
    """Pictures and the shopping list at the left, charts at the right."""
    charts, notes = contents.charts, contents.notes
    room = size[1] - 2 * MARGIN - HEADING
    top = size[1] - MARGIN - HEADING
    chart_wide = max(chart.natural_width() for chart in charts)
    wide = size[0] - 2 * MARGIN - chart_wide - 2 * GAP
    flowed = _flow(contents, scales, wide) if wide >= NARROWEST else None
    if flowed is None or flowed[1] > room:
        return None
    placed, depth = flowed
    x, down = size[0] - MARGIN - chart_wide, 0.0
    blocks: list[Block] = []
    for chart in charts:
        high = chart.height(chart_wide)
        blocks.append((0, (x, top - down, chart_wide, high), chart))
        down += high + GAP
    down -= GAP
    high = notes.height(chart_wide)
    blocks.append((0, (x, top - down, chart_wide, high), notes))
    down += high
    if down > room:
        return None
    free = (x, top - down - GAP, chart_wide, room - down - GAP)
    if notes.cautions_height(chart_wide) > free[3]:
        free = (MARGIN, top - depth - GAP, wide, room - depth - GAP)
        if notes.cautions_height(wide) > free[3]:
            return None
    return _plan(size, contents, scales, placed, blocks, 1, free)


def _in_columns(size: tuple[float, float], contents: Contents, scales: Scales) -> Plan | None:
    """Pictures at the top, the charts and the shopping list below one after another in two columns."""
    notes = contents.notes
    wide, room = size[0] - 2 * MARGIN, size[1] - 2 * MARGIN - HEADING
    top = size[1] - MARGIN - HEADING
    column = (wide - 1.5 * GAP) / 2
    if any(chart.narrowest_width() > column for chart in contents.charts):
        return None
    flowed = _flow(contents, scales, wide, shopping=False)
    if flowed is None:
        return None
    placed, depth = flowed
    depth += GAP
    below = notes.height(wide)
    divided = contents.in_columns(column)
    if divided is None or depth + divided[0] + below > room:
        return None
    deepest, parts = divided
    blocks: list[Block] = []
    for index, charts in enumerate(parts):
        x, down = MARGIN + index * (column + 1.5 * GAP), 0.0
        for chart in charts:
            high = chart.height(column)
            blocks.append((0, (x, top - depth - down, column, high), chart))
            down += high + GAP
    placed.append((column + 1.5 * GAP, depth + down, column, contents.shopping.height(column)))
    depth += deepest
    blocks.append((0, (MARGIN, top - depth, wide, below), notes))
    depth += below
    free = (MARGIN, top - depth - GAP, wide, room - depth - GAP)
    if notes.cautions_height(wide) > free[3]:
        return None
    return _plan(size, contents, scales, placed, blocks, 1, free)


def _two_columns(charts: Sequence[Chart], below: float, wide: float) -> Columns | None:
    """The height of two columns as even as can be, ``below`` millimetres left under the second, and the
    charts of each; None for too few lines."""
    best: Columns | None = None
    for index, chart in enumerate(charts):
        before = sum(c.height(wide) + GAP for c in charts[:index])
        after = list(charts[index + 1 :])
        heights = chart.row_heights(wide)
        for fits in range(len(heights) + 1):
            if 0 < fits < len(heights) and min(fits, len(heights) - fits) < FEWEST_LINES:
                continue
            first, rest = (
                chart.split(wide, chart.head + sum(heights[:fits]) + 0.01) if fits else (None, chart)
            )
            left = [*charts[:index], *([first] if first else [])]
            right = [*([rest] if rest else []), *after]
            if not left:
                continue
            down = before + (first.height(wide) if first else -GAP)
            beside = sum(c.height(wide) + GAP for c in right) + below
            deep = max(down, beside)
            if best is None or deep < best[0]:
                best = deep, (left, right)
    return best


def _apart(size: tuple[float, float], contents: Contents, scales: Scales) -> Plan | None:
    """Pictures and the shopping list on the first page, the charts on as many more as they take."""
    notes = contents.notes
    wide, room = size[0] - 2 * MARGIN, size[1] - 2 * MARGIN - HEADING
    top = size[1] - MARGIN - HEADING
    flowed = _flow(contents, scales, wide)
    if flowed is None or flowed[1] > room:
        return None
    blocks: list[Block] = []
    page, down = 1, 0.0
    for whole in contents.charts:
        chart: Chart | None = whole
        while chart is not None:
            # A heading and three lines at least, or the chart begins on the next page.
            if down > 0 and room - down < HEAD + 3 * _line_height(1):
                page, down = page + 1, 0.0
            part, chart = chart.split(wide, room - down)
            high = part.height(wide)
            blocks.append((page, (MARGIN, top - down, wide, high), part))
            down += high + GAP
            if chart is not None:
                page, down = page + 1, 0.0
    high = notes.height(wide)
    if down + high + notes.cautions_height(wide) > room:
        page, down = page + 1, GAP
    blocks.append((page, (MARGIN, top - down + GAP, wide, high), notes))
    down += high
    free = (MARGIN, top - down, wide, room - down)
    return _plan(size, contents, scales, flowed[0], blocks, page + 1, free)


def _drawn(
    plan: Plan, contents: Contents, compositions: Sequence[Composition], layout: Layout, job: Job
) -> list[Any]:
    figures, pens = [], []
    width, height = plan.size
    for number in range(1, plan.pages + 1):
        figure, pen = blank_page(width, height)
        name = job_title(layout, job)
        size, room = 14.0, width - 2 * MARGIN - (95.0 if number == 1 < plan.pages else 30.0)
        takes = text_width(name, size, True)
        size = size if takes <= room else size * room / takes
        pen.level(MARGIN, height - MARGIN - 3.0, name, size, bold=True, across="left")
        if plan.pages > 1:
            page = f"page {number} of {plan.pages}"
            if number == 1:
                page = f"too much for one page; the cutting chart is on page 2. {page}"
            pen.level(width - MARGIN, height - MARGIN - 3.0, page, 8.0, across="right")
        pen.line([(MARGIN, height - MARGIN - 7.0), (width - MARGIN, height - MARGIN - 7.0)], 0.8)
        figures.append(figure)
        pens.append(pen)
    for lay, composition, at in zip(contents.lays, compositions, plan.at, strict=True):
        lay.draw(pens[0], composition, *at)
    for number, (left, top, wide, _), block in plan.blocks:
        block.draw(pens[number], left, top, wide)
    left, top, wide, _ = plan.free
    contents.notes.draw_cautions(pens[-1], left, top, wide)
    return figures
