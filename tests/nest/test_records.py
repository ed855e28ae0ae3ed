"""Layouts denser than the best published ones that we know of, looked at with shapely alone.

Best known densities: Gardeyn, Vanden Berghe & Wauters (2025), arXiv:2509.13329.
"""

from __future__ import annotations

import json
from collections import Counter
from itertools import combinations

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon, box

from benchmarks import published
from benchmarks.instance import FOLDER

RECORDS = FOLDER.parent / "results" / "records"
NAMES = ("trousers",)


def test_every_record_that_is_kept_is_measured() -> None:
    assert {path.stem for path in RECORDS.iterdir()} == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_a_record_has_every_piece_of_the_instance_on_its_strip_and_none_on_another(name: str) -> None:
    data = json.loads((FOLDER / f"{name}.json").read_text())
    (material,) = json.loads((RECORDS / f"{name}.json").read_text())["materials"]
    wanted = {piece["id"]: piece for piece in data["pieces"]}
    laid = [(each, Polygon(each["outline"])) for each in material["placements"]]
    assert Counter(each["piece"] for each, _ in laid) == {
        each: piece["quantity"] for each, piece in wanted.items()
    }
    width, length = float(data["strip_width"]), material["length"]
    # Two millionths of the width, as all results: whole numbers cannot hold every crossing of two edges.
    tolerance = 2e-6 * width
    for each, shape in laid:
        piece = wanted[each["piece"]]
        assert each["rotation"] in piece["rotations"]
        true = affinity.rotate(Polygon(piece["outline"]), each["rotation"], origin=(0, 0))
        shift = np.array(shape.bounds[:2]) - true.bounds[:2]
        assert affinity.translate(true, *shift).hausdorff_distance(shape) < tolerance
        assert box(-tolerance, -tolerance, length + tolerance, width + tolerance).contains(shape)
    for (_, one), (_, other) in combinations(laid, 2):
        assert one.buffer(-tolerance).disjoint(other)
    area = sum(shape.area for _, shape in laid)
    common = sum(one.intersection(other).area for (_, one), (_, other) in combinations(laid, 2))
    assert common < 1e-7 * area
    assert 100 * area / (width * length) > published.best_known(name) + 0.005
