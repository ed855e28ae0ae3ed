"""The engine on open instances: what is published about them, and what it must reach with little work.

Numbers of pieces and best-known densities: Gardeyn, Vanden Berghe & Wauters (2025), arXiv:2509.13329.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from shapely.geometry import Polygon

from benchmarks import published
from benchmarks.instance import FOLDER, GARMENTS, Task, load, names, to_task
from benchmarks.layout import TOLERANCE, faults, second_opinion, to_layout
from benchmarks.parting import measure
from benchmarks.strip_packing import main
from benchmarks.table import main as tables
from benchmarks.table import newest
from marker.files.layout_file import write_layout
from marker.nest.budget import Budget
from marker.nest.problem import Placing, Solution
from marker.nest.search import prepare, solve

PIECES = {
    "albano": 24,
    "dagli": 30,
    "mao": 20,
    "marques": 24,
    "shirts": 99,
    "swim": 48,
    "trousers": 64,
    "fu": 12,
    "shapes0": 43,
    "shapes1": 43,
    "shapes2": 28,
    "jakobs2": 25,
}

FLOORS = {
    "shirts": 84.5,
    "swim": 71.0,
    "trousers": 87.0,
    "albano": 85.5,
    "marques": 87.0,
    "dagli": 82.8,
    "mao": 81.0,
    "dighe2": 99.99,
    "jakobs2": 79.0,
}
"""Densities in percent that the better of two searches, an effort of 0.4 each on one core, must reach."""


@pytest.mark.parametrize("name", PIECES)
def test_instance_has_the_published_number_of_pieces(name: str) -> None:
    assert load(name).count == PIECES[name]
    assert to_task(load(name)).problem.total == PIECES[name]


@pytest.mark.parametrize("name", names())
def test_area_is_that_of_the_file_outlines(name: str) -> None:
    data = json.loads((FOLDER / f"{name}.json").read_text())
    area = sum(piece["quantity"] * Polygon(piece["outline"]).area for piece in data["pieces"])
    instance = load(name)
    assert instance.area == pytest.approx(area, rel=1e-12)
    assert to_task(instance).problem.area == pytest.approx(area * instance.scale**2, rel=1e-12)


@pytest.mark.parametrize("name", published.JIGSAWS)
def test_jigsaw_pieces_fill_their_square_exactly(name: str) -> None:
    # Dighe & Jakiela (1996): cut from a square of 100 x 100, which is therefore the optimum.
    instance = load(name)
    assert instance.strip_width == 100
    assert instance.area == 100 * 100
    assert instance.density(100) == 100


@pytest.mark.parametrize("name", names())
def test_every_variant_is_the_outline_turned_on_the_lattice(name: str) -> None:
    task = to_task(load(name))
    for kind, rotations in zip(task.problem.kinds, task.rotations, strict=True):
        assert len(kind.variants) == len(rotations)
        for variant in kind.variants:
            shape = Polygon(variant.polygon)
            assert shape.is_valid and shape.exterior.is_ccw
            assert shape.area == pytest.approx(kind.area, rel=1e-5)
            assert variant.polygon.min(axis=0).tolist() == [0, 0]
            assert variant.y_hi + variant.polygon[:, 1].max() == task.problem.width


@pytest.mark.parametrize("name", FLOORS)
def test_density_with_little_effort_is_above_the_floor_and_not_above_the_best_known(name: str) -> None:
    task = to_task(load(name))
    prepared = prepare(task.problem)
    densities = []
    for seed in (1, 2):
        layout = to_layout(task, solve(prepared, Budget(effort=0.4), seed=seed, cores=1), seed)
        assert faults(task, layout) == []
        densities.append(task.instance.density(layout.materials[0].length))
    assert FLOORS[name] <= max(densities) <= published.best_known(name) + 0.001


def test_faults_of_a_layout_are_found() -> None:
    task = to_task(load("dighe2"))
    at_once = Solution(task.problem.width, tuple(Placing(k, 0, 0, 0) for k in range(len(task.problem.kinds))))
    assert any("overlap" in fault for fault in faults(task, to_layout(task, at_once, 1)))
    placings = in_a_row(task)
    assert faults(task, to_layout(task, placings, 1)) == []
    short = Solution(placings.length - 10, placings.placings)
    assert any("outside" in fault for fault in faults(task, to_layout(task, short, 1)))
    missing = Solution(placings.length, placings.placings[1:])
    assert any("where 1 are wanted" in fault for fault in faults(task, to_layout(task, missing, 1)))


def test_a_density_above_the_best_known_is_looked_at_twice() -> None:
    task = to_task(load("dighe2"))
    fair = in_a_row(task)
    assert "a record" in second_opinion(task, fair, to_layout(task, fair, 1))
    pushed = Solution(fair.length, (*fair.placings[:-1], replace(fair.placings[-1], x=fair.placings[-2].x)))
    assert "an overlap" in second_opinion(task, pushed, to_layout(task, pushed, 1))


def test_the_command_writes_a_layout_file_and_a_table_beside_published_densities(tmp_path: Path) -> None:
    arguments = [
        "dighe2",
        "--effort",
        "0.1",
        "--seed",
        "1",
        "--cores",
        "1",
        "--out",
        str(tmp_path / "layout.json"),
    ]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 0, result.output
    assert "best known" in result.stdout and "| dighe2" in result.stdout
    layout = json.loads((tmp_path / "layout.json").read_text())
    assert layout["marker_layout"] == 1 and len(layout["materials"][0]["placements"]) == 10
    assert CliRunner().invoke(main, ["nothing-like-it"]).exit_code == 2


def test_several_searches_leave_layouts_a_dated_file_and_a_plot(tmp_path: Path) -> None:
    arguments = [
        "dighe2",
        "--effort",
        "0.05",
        "--seeds",
        "2",
        "--cores",
        "1",
        "--out",
        str(tmp_path / "runs"),
    ]
    assert CliRunner().invoke(main, arguments).exit_code == 0
    found = sorted(path.suffix for path in (tmp_path / "runs").iterdir())
    assert found == ["", ".json", ".png"]
    assert len(list((tmp_path / "runs" / "layouts").glob("dighe2-seed[12].json"))) == 2
    (dated,) = (tmp_path / "runs").glob("????-??-??-effort0.05.json")
    data = json.loads(dated.read_text())
    assert {"date", "processor", "packages", "commit", "options", "runs"} <= set(data)
    assert [run["seed"] for run in data["runs"]] == [1, 2]
    for run in data["runs"]:
        assert run["progress"][-1][1] == pytest.approx(run["density"], abs=1e-3)
    printed = CliRunner().invoke(tables, [str(dated)]).stdout
    mean = sum(run["density"] for run in data["runs"]) / 2
    assert f"| {mean:.2f} |" in printed and data["commit"] in printed and "100.00" in printed
    assert newest(tmp_path / "runs") == [dated]
    older = dated.with_name("2020-01-01-effort0.05.json")
    older.write_text(dated.read_text())
    assert newest(tmp_path / "runs") == [dated]


def test_layouts_are_parted_more_easily_the_thinner_the_slice() -> None:
    prepared = prepare(to_task(load("dagli")).problem)
    thin, thick = (measure(prepared, slice_, 6, 60, 0.3) for slice_ in (0.0, 0.2))
    assert thin.trials == thick.trials == 6
    # Nothing cut out leaves nothing to part; a fifth of a dense strip cannot be spared.
    assert thin.successes == 6 and thin.moves == 0
    assert thick.successes == 0 and thick.moves > 0 and thick.seconds > 0.0


def in_a_row(task: Task) -> Solution:
    x, placings = 0, []
    for k, kind in enumerate(task.problem.kinds):
        placings.append(Placing(k, 0, x, 0))
        x += kind.variants[0].x_back
    return Solution(x, tuple(placings))


def test_a_layout_file_of_an_instance_can_be_checked_by_anyone(tmp_path: Path) -> None:
    task = to_task(load("dighe2"))
    write_layout(to_layout(task, in_a_row(task), seed=1), tmp_path / "layout.json")
    (material,) = json.loads((tmp_path / "layout.json").read_text())["materials"]
    shapes = [Polygon(placement["outline"]) for placement in material["placements"]]
    data = json.loads((FOLDER / "dighe2.json").read_text())
    assert sum(s.area for s in shapes) == pytest.approx(100 * 100)
    assert sorted(round(s.area, 6) for s in shapes) == sorted(
        Polygon(p["outline"]).area for p in data["pieces"]
    )
    ends = np.array([s.bounds for s in shapes])
    assert (
        ends[:, :2].min() >= 0 and ends[:, 3].max() <= 100 and ends[:, 2].max() <= material["length"] + 1e-6
    )
    for i, a in enumerate(shapes):
        assert all(a.intersection(b).area < 1e-3 for b in shapes[i + 1 :])


def test_the_tolerance_is_a_few_millionths_of_the_strip() -> None:
    assert all(TOLERANCE / load(name).scale <= 2.1e-6 * load(name).strip_width for name in GARMENTS)
