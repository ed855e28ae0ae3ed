"""Alternatives side by side: what direction takes is the difference of two layouts."""

import csv
import io
from dataclasses import replace

import pytest

from marker.report.side_by_side import Panel, side_by_side, side_by_side_files
from marker.tables import compare as tables
from marker.tables.outcome import Outcome
from marker.tables.panels import panels as panels_of
from marker.tables.run import Where, outcomes
from marker.tables.task import Search
from tests.tables.sewn import made_up, stub
from tests.tables.test_grid import read_back

SEARCH = Search(effort=0.02)


def solved(tasks):
    return outcomes(tasks, Where(), None)


def made(source, solver=solved, **how):
    return tables.compare(source, tables.alternatives(source, search=SEARCH, **how), SEARCH, solver)


@pytest.fixture
def velvet(tmp_path):
    file = tmp_path / "velvet.toml"
    file.write_text(
        "unit = 'mm'\n[fabric.fabric]\nname = 'Velvet'\nwidth = 500\nnap = true\nstep = 100\nprice = 30\n"
        "currency = 'EUR'\n"
    )
    return str(file)


def test_what_nap_takes_is_what_geometry_says(pennants, velvet):
    """By hand: interlocked the pennants are 600 mm long, one behind the other 1200 less the 25 mm that
    the second is drawn up along the slope; so 6 steps of 100 mm to buy, or 12."""
    table = made(pennants, size="L", files=["own", velvet], folds=["open"])
    (_, (plain, _)), (_, (napped, _)) = table.rows
    assert plain.extra is None
    assert napped.extra.of == "nap"
    assert napped.extra.used == pytest.approx(575.0, abs=1.0)
    # Six steps more at 30 a metre.
    assert (napped.extra.buy, napped.extra.cost) == (600.0, pytest.approx(18.0))


def test_every_combination_is_there_and_those_that_are_the_same_once(pennants, velvet):
    found = tables.alternatives(
        pennants,
        size="S",
        files=["own", velvet],
        widths={"fabric": [500.0, 600.0]},
        folds=["open", "lengthwise fold"],
        matchings=["none", "main"],
        search=SEARCH,
    )
    # No cloth has a print: the two levels of matching come to the same.
    assert len(found) == 2 * 2 * 2
    assert [each.number for each in found] == list(range(1, 9))
    assert {(each.files, each.job.fabrics["fabric"].width, each.fold) for each in found} == {
        (files, width, fold)
        for files in ((), (velvet,))
        for width in (500.0, 600.0)
        for fold in ("open", "lengthwise fold")
    }


def test_a_search_that_found_less_with_nap_is_no_gain_from_nap(pennants, velvet):
    """A layout whose pieces all face one way lies on plain cloth just as well."""
    table = made(pennants, size="S", files=[velvet], folds=["open"])
    ((alternative, (napped, _)),) = table.rows
    longer = replace(napped.outcome.cloths[0], length=5000.0, buy=5000.0, buy_text="5 m")
    directed, plainly = alternative.entries[0].task.key, alternative.entries[0].plainly.key
    answers = {directed: napped.outcome, plainly: Outcome((longer,))}
    again = tables.compare(
        pennants,
        [alternative],
        SEARCH,
        stub(lambda one: answers.get(one.key, Outcome((made_up("stiffening", 100.0, 100.0),)))),
    )
    result = again.rows[0][1][0]
    assert (result.extra.used, result.extra.buy, result.extra.cost) == (0.0, 0.0, 0.0)
    assert "nothing more for nap" in tables.extra_text(result)
    # A print may take less of the length and more to buy, for the repeat to begin on.
    print_takes = replace(result.extra, used=-36.0, buy=100.0, cost=None, of="print")
    told = tables.extra_text(replace(result, extra=print_takes))
    assert told == "3.6 cm less used for print, 0.1 m more to buy"


def fixed(one):
    fabric = one.job.fabrics[one.material]
    if one.fold == "crosswise fold":
        return Outcome(why="Not on this cloth.")
    used = 900.0 if fabric.nap else 600.0
    return Outcome((made_up(one.material, used, used, width=fabric.width),))


def test_the_tables_tell_every_figure(pennants, velvet):
    table = made(pennants, stub(fixed), size="S", files=["own", velvet], folds=["open", "crosswise fold"])
    assert not table.complete
    rows = list(csv.DictReader(io.StringIO(tables.as_csv(table), newline="")))
    assert len(rows) == 4 * 2
    napped = next(row for row in rows if row["cloth"] == "Velvet" and row["fold"] == "open")
    assert (napped["used_mm"], napped["cost"]) == ("900.0", "27.0")
    assert (napped["extra_for"], napped["extra_used_mm"], napped["plain_used_mm"]) == (
        "nap",
        "300.0",
        "600.0",
    )
    assert (napped["extra_cost"], napped["plain_spread"]) == ("9.0", "open")
    assert tables.as_json(table)["rows"][0]["used_mm"] == 600.0
    read = read_back(tables.as_markdown(table))
    assert read[1:5] == [
        ["1", "Signal cloth", "50 cm", "open", "60 cm", "0.6 m", "20.0 %", "7.20 EUR"],
        ["2", "Signal cloth", "50 cm", "crosswise fold", "—", "— (1)", "—", "—"],
        ["3", "Velvet", "50 cm", "open", "90 cm", "0.9 m", "20.0 %", "27.00 EUR"],
        ["4", "Velvet", "50 cm", "crosswise fold", "—", "— (1)", "—", "—"],
    ]
    assert ["3", "nap", "60 cm, open", "30 cm", "0.3 m", "9.00 EUR"] in read
    # The stiffening is the same whatever the cloth is: a row for each fold.
    assert ["1, 3", "Stiffening", "30 cm", "open", "60 cm", "0.6 m", "20.0 %"] in read
    text = tables.terminal(table, 96, False)
    assert "Least to buy: No. 1; least to pay: No. 1." in text and "(1) Not on this cloth." in text


@pytest.mark.parametrize(
    ("numbers", "words"), [([1], "1"), ([1, 2], "1, 2"), ([1, 2, 3], "1–3"), ([1, 3, 4, 5, 9], "1, 3–5, 9")]
)
def test_numbers_in_a_row_are_told_short(numbers, words):
    assert tables.ranges(numbers) == words


def test_lays_stand_below_each_other_at_one_scale(pennants):
    """Measured on the page: the ends of the two lays are as far from their common start as they are long."""
    table = made(pennants, size="L", widths={"fabric": [500.0, 1000.0]}, folds=["open"])
    shown = panels_of(table, "fabric")
    assert [panel.material.length for panel in shown] == pytest.approx([600.0, 600.0], abs=50)
    figure = side_by_side(shown, "Pennants")
    axes = figure.axes[0]
    boxes = {}
    for artist in axes.patches + axes.artists:
        points = artist.get_path().transformed(artist.get_patch_transform()).vertices
        low, high = points.min(axis=0), points.max(axis=0)
        if artist.get_zorder() == 1.0:
            boxes[round(low[1], 3)] = (low[0], high[0], high[1] - low[1])
    assert len(boxes) == 2
    (wide, narrow) = (boxes[y] for y in sorted(boxes))
    assert wide[0] == pytest.approx(narrow[0])
    scale = narrow[2] / 500.0
    assert wide[2] / 1000.0 == pytest.approx(scale)
    assert [narrow[1] - narrow[0], wide[1] - wide[0]] == pytest.approx(
        [panel.material.length * scale for panel in shown]
    )


def test_the_figure_comes_in_three_formats_and_is_the_same_each_time(pennants):
    table = made(pennants, size="S", folds=["open"])
    (panel,) = panels_of(table, "fabric")
    files = side_by_side_files([panel], "Pennants")
    assert files["png"].startswith(b"\x89PNG") and files["pdf"].startswith(b"%PDF")
    assert b"<svg" in files["svg"] and "Signal cloth" in files["svg"].decode()
    again = side_by_side_files([Panel(panel.material, panel.job, panel.title, panel.about)], "Pennants")
    assert again == files
