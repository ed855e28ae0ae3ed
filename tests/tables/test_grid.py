"""Tables read back from Markdown and CSV are the tables that were written."""

import csv
import io
import re

from hypothesis import given
from hypothesis import strategies as st

from marker.plain import FORMULAS, csv_text
from marker.tables.grid import Footnotes, Grid, markdown

CELLS = st.text(st.characters(blacklist_categories=("Cs", "Cc", "Zs", "Zl", "Zp")), max_size=12)


def read_back(text):
    """The cells of the tables of a Markdown document, by the rules of GitHub's specification:
    a bar with a backslash before it is no border, a backslash before punctuation vanishes."""
    lines = [line for line in text.splitlines() if line.startswith("|")]
    rows = [re.split(r"(?<!\\)(?:\\\\)*\|", line)[1:-1] for line in lines]
    rulers = [row for row in rows if all(re.fullmatch(r" -+:? ", cell) for cell in row)]
    assert rulers
    return [
        [re.sub(r"\\([^\w\s]|_)", r"\1", cell.strip()) for cell in row] for row in rows if row not in rulers
    ]


@given(st.lists(st.tuples(CELLS, CELLS), min_size=1, max_size=3))
def test_csv_reads_back(rows):
    read = list(csv.reader(io.StringIO(csv_text(("one", "other"), rows), newline="")))
    harmless = [[f"'{cell}" if cell[:1] and cell[0] in FORMULAS else cell for cell in row] for row in rows]
    assert read == [["one", "other"], *harmless]


def test_no_figure_is_an_empty_cell():
    assert csv_text(("a", "b"), [(None, 0.0)]) == "a,b\r\n,0.0\r\n"


def test_markdown_reads_back_whatever_cloths_are_called():
    rows = (("Twill | drill", "1.9 m"), ("*_fine_* [lawn] <2>", "— (1)"), ("`back\\slash", ""))
    text = markdown("Title", [Grid("Fabric", ("Cloth", "Buy"), rows, frozenset({1}))], [])
    assert read_back(text) == [["Cloth", "Buy"], *(list(row) for row in rows)]


def test_a_footnote_has_one_number():
    notes = Footnotes()
    assert [notes.mark("too wide"), notes.mark("no fold"), notes.mark("too wide")] == ["(1)", "(2)", "(1)"]
    assert notes.lines() == ["(1) too wide", "(2) no fold"]
