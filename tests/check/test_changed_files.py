"""Layout files with one thing changed: each is refused, but for what the docs call free.

Every leaf of the file is changed by a visible amount and every entry of a list left out or told twice; of
fields that occur often (corners, notches) some of each kind are taken, more of them in the slow test. What
may be changed is read from the table in the reference of the files, so that the two cannot part.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from shapely import Polygon, hausdorff_distance
from shapely.affinity import affine_transform, translate

from marker.api import Answer, check_layout, load_job, save
from marker.api import lay as lay_out
from marker.check import verify
from marker.errors import InputError
from marker.files.layout_file import read_layout

PIECES = Path(__file__).parents[2] / "pieces"
APRON, SMOCK, SKIRT = (
    str(PIECES / f"{name}.toml") for name in ("market-apron", "harbour-smock", "gored-skirt")
)
SPOTTED = """\
unit = "cm"
[fabric.fabric]
name = "Spotted duck"
width = "150 cm"
selvage = "1 cm"
gap = "3 mm"
shrink_along = "4 %"
flaws = [
  { along = "40 cm", across = "75 cm", radius = "1 cm" },
  { outline = "M 20 149 L 30 149 L 26 146 Z" },
]
"""
JOBS: dict[str, tuple[dict[str, Any], str]] = {
    "folded": ({"pattern": APRON}, "lengthwise fold"),
    "both folds, with flaws": ({"pattern": APRON, "fabrics": ["spotted.toml"]}, "selvages to the middle"),
    "partly folded, with flaws": ({"pattern": APRON, "fabrics": ["spotted.toml"]}, "partial fold"),
    "on the bias": ({"pattern": APRON, "with_": ["6"], "widths": {"": 1300.0}}, "open"),
    "regions": ({"pattern": SMOCK, "size": "M"}, "best"),
    "stripes": ({"pattern": SKIRT, "size": "M", "fabrics": [str(PIECES / "stripe-wide-140.toml")]}, "best"),
    "plaid": ({"pattern": SKIRT, "size": "M", "fabrics": [str(PIECES / "plaid-uneven-150.toml")]}, "best"),
    "border": ({"pattern": SKIRT, "size": "S", "fabrics": [str(PIECES / "border-rope-140.toml")]}, "best"),
    "remnants": ({"pattern": APRON, "fabrics": [str(PIECES / "remnants-ticking.toml")]}, "best"),
}
VISIBLE = 0.03
"""Millimetres by which an outline has to differ for the shears to notice."""
Where = tuple[str | int, ...]
Doc = dict[str, Any]


@dataclass(frozen=True)
class Made:
    """A layout file that holds, as text, and the answer it was written from."""

    path: Path
    text: str
    answer: Answer


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Made]:
    """Layouts by name, each laid once with little effort."""
    folder = tmp_path_factory.mktemp("changed")
    (folder / "spotted.toml").write_text(SPOTTED)
    known: dict[str, Made] = {}

    def of(name: str) -> Made:
        if name not in known:
            asked, fold = JOBS[name]
            files = [str(folder / file) for file in asked.get("fabrics", ())]
            answer = lay_out(load_job(**{**asked, "fabrics": files}), effort=0.05, cores=1, fold=fold)
            out = folder / name.replace(" ", "-")
            save(answer, out, pictures=())
            path = out / "layout.json"
            known[name] = Made(path, path.read_text(), answer)
        return known[name]

    return of


def kind(where: Where) -> str:
    """A place in a file with its counts left out: materials.placements.outline."""
    return ".".join(str(part) for part in where if isinstance(part, str))


def free() -> list[str]:
    """The fields that the reference says are not checked, from its table."""
    text = (PIECES / "README.md").read_text(encoding="utf-8")
    part = text.split("## The layout file")[1].split("\n## ")[0]
    found = re.findall(r"^\| `([a-z_.]+)` \|", part, re.MULTILINE)
    assert found
    return found


def leaves(value: Any, where: Where = ()) -> Iterator[tuple[Where, Any]]:
    """Every leaf and every list of a document."""
    if isinstance(value, dict):
        for key, each in value.items():
            yield from leaves(each, (*where, key))
    elif isinstance(value, list):
        yield where, value
        for index, each in enumerate(value):
            yield from leaves(each, (*where, index))
    else:
        yield where, value


def changes(value: Any) -> list[Any]:
    """Other values for a leaf, or other lists, all visibly different."""
    if isinstance(value, bool):
        return [not value]
    if isinstance(value, int):
        return [value + 1]
    if isinstance(value, float):
        return [value + 0.5, value + 50.0, *([value * 1.01] if abs(value) >= 100 else [])]
    if isinstance(value, str):
        return [value + "x", re.sub(r"\d", lambda digit: str((int(digit[0]) + 1) % 10), value)]
    if value is None:
        return [1.0]
    picked = sorted({0, len(value) // 2, len(value) - 1}) if value else []
    left_out = [value[:k] + value[k + 1 :] for k in picked]
    return left_out + [value[: k + 1] + value[k:] for k in picked]


def claims(field: str, value: Any) -> list[Any] | None:
    """Other values for what may claim less than can be shown, and never more; None for other fields.

    The check may show a little more than the search has.
    """
    if field == "materials.lower_bound":
        return [value + 50.0, value * 1.02]
    if field == "materials.proven":
        return [] if value else [True]
    return None


def is_ring(where: Where, value: list[Any]) -> bool:
    """Whether a list is the corners of an outline that is compared by its shape."""
    of_points = bool(value) and isinstance(value[0], list) and isinstance(value[0][0], float)
    return of_points and kind(where).rpartition(".")[2] in ("outline", "holes", "obstacles")


def says_the_same(doc: Doc, where: Where, old: Any, new: Any) -> bool:
    """A corner more, less or moved that leaves an outline as it is; a file or a piece that is named twice.

    And the other side up of a piece that is its own mirror image.
    """
    if old == new:
        return True
    if where[-1] == "mirrored":
        return own_mirror_image(got(doc, where[:-1]))
    if isinstance(old, list) and where[0] == "asked":
        return set(map(str, old)) == set(map(str, new))
    if isinstance(old, float) and len(where) > 3:
        ring = got(doc, where[:-2])
        if isinstance(ring, list) and is_ring(where[:-2], ring):
            corner = [new if k == where[-1] else value for k, value in enumerate(ring[int(where[-2])])]
            moved = [corner if k == where[-2] else value for k, value in enumerate(ring)]
            return same_outline(ring, moved)
    return isinstance(old, list) and is_ring(where, old) and len(new) >= 3 and same_outline(old, new)


def own_mirror_image(placement: Doc) -> bool:
    """Whether a piece turned over about its grain line has the same outline."""
    (x, y), (head_x, head_y) = placement["grain"]
    axis = math.atan2(head_y - y, head_x - x)
    c, s = math.cos(2 * axis), math.sin(2 * axis)
    shape = Polygon(placement["outline"])
    turned = affine_transform(shape, [c, s, s, -c, 0, 0])
    dx, dy = shape.centroid.x - turned.centroid.x, shape.centroid.y - turned.centroid.y
    return same_outline(list(shape.exterior.coords), list(translate(turned, dx, dy).exterior.coords))


def same_outline(one: list[Any], other: list[Any]) -> bool:
    return bool(hausdorff_distance(Polygon(one), Polygon(other), densify=0.1) < VISIBLE)


def got(doc: Doc, where: Where) -> Any:
    inner: Any = doc
    for part in where:
        inner = inner[part]
    return inner


def put(doc: Doc, where: Where, value: Any) -> None:
    got(doc, where[:-1])[where[-1]] = value


def faults_of(doc: Doc, made: Made, where: Where) -> list[str]:
    """What is said against a changed file, by the reader or the checker."""
    changed = made.path.with_name("changed.json")
    changed.write_text(json.dumps(doc), encoding="utf-8")
    try:
        if where[0] == "materials":
            return [fault.message for fault in verify(read_layout(changed), made.answer.job)]
        return [fault.message for fault in check_layout(changed).faults]
    except InputError as problem:
        return [str(problem)]


def passed(made: Made, most: int) -> list[str]:
    """The changes, at most so many of a kind, that nothing is said against."""
    doc = json.loads(made.text)
    found: dict[str, list[tuple[Where, Any]]] = {}
    for where, value in leaves(doc):
        shape = f"{kind(where)}{[0] * sum(isinstance(part, int) for part in where)}"
        found.setdefault(shape, []).append((where, value))
    unseen = []
    for places in found.values():
        step = max(1, math.ceil(len(places) / most))
        for where, value in places[step // 2 :: step]:
            if kind(where) in free():
                continue
            claimed = claims(kind(where), value)
            for other in changes(value) if claimed is None else claimed:
                if says_the_same(doc, where, value, other):
                    continue
                put(doc, where, other)
                if not faults_of(doc, made, where):
                    unseen.append(f"{where}: {str(value)[:60]} -> {str(other)[:60]}")
                put(doc, where, value)
    assert doc == json.loads(made.text)
    return unseen


@pytest.mark.parametrize("name", JOBS)
def test_the_files_as_they_are_written_hold(name: str, made: Callable[[str], Made]) -> None:
    assert check_layout(made(name).path).faults == ()


@pytest.mark.parametrize("name", JOBS)
def test_no_change_goes_unseen(name: str, made: Callable[[str], Made]) -> None:
    assert passed(made(name), 1) == []


@pytest.mark.slow
@pytest.mark.parametrize("name", JOBS)
def test_no_change_of_many_corners_goes_unseen(name: str, made: Callable[[str], Made]) -> None:
    assert passed(made(name), 15) == []
