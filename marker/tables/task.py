"""One layout to be solved: a material of a job, how to search for it, and a key that tells its content."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from marker.model.job import Job

ENGINE = ("nest", "cloth", "model", "api.py", "units.py")
"""The parts of this package that decide what a layout looks like."""
LIBRARIES = ("numba", "numpy", "ortools", "pyclipper", "shapely")
UNSEEN = ("name", "price", "price_per", "currency")
"""Fields of a fabric that no layout depends on."""


@dataclass(frozen=True)
class Search:
    """How each layout is searched for: ``seconds`` or ``effort``, one of them given, on one core."""

    seed: int = 1
    seconds: float | None = None
    effort: float | None = None

    def words(self) -> str:
        """What was spent on each layout, for reading."""
        amount = f"{self.seconds:g} seconds" if self.seconds is not None else f"effort {self.effort:g}"
        return f"{amount} for each layout, seed {self.seed}"


@dataclass(frozen=True)
class Task:
    """The material of ``job``, which holds nothing else, to be laid out. ``engine``: the code it is for."""

    job: Job
    material: str
    fold: str
    search: Search
    engine: str

    @cached_property
    def key(self) -> str:
        """64 hexadecimal digits, the same for the same content and only then.

        Content is what a layout depends on: the pieces, the cloth without its name and price, what has
        to match, the garments, the fold, the search and the code. Sizes and views that cut the same
        pieces have the same key.
        """
        fabric = _plain(self.job.fabrics[self.material])
        printed = self.job.fabrics[self.material].print is not None
        content = {
            "pieces": _plain(self.job.pieces),
            "fabric": {name: value for name, value in fabric.items() if name not in UNSEEN},
            "matching": self.job.matching if printed else "none",
            "matches": _plain(self.job.asked_of(self.material)),
            "quantity": self.job.quantity,
            "material": self.material,
            "fold": self.fold,
            "search": _plain(self.search),
            "engine": self.engine,
        }
        text = json.dumps(content, sort_keys=True, ensure_ascii=True, allow_nan=True)
        return hashlib.sha256(text.encode()).hexdigest()


def task(job: Job, material: str, fold: str, search: Search) -> Task:
    """The task of laying out one material of a job."""
    return Task(job.only(material), material, fold, search, engine_version())


@cache
def engine_version() -> str:
    """A digest of the code that makes layouts, and of the libraries whose versions may change one."""
    from importlib.metadata import version

    root = Path(__file__).parent.parent
    digest = hashlib.sha256()
    for part in ENGINE:
        path = root / part
        for file in sorted(path.glob("*.py")) if path.is_dir() else [path]:
            digest.update(f"{file.relative_to(root).as_posix()}\n".encode())
            digest.update(file.read_bytes().replace(b"\r\n", b"\n"))
    for library in LIBRARIES:
        digest.update(f"{library} {version(library)}\n".encode())
    return digest.hexdigest()


def _plain(value: Any) -> Any:
    """Dataclasses, mappings and tuples as JSON holds them."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {each.name: _plain(getattr(value, each.name)) for each in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(held) for key, held in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(held) for held in value]
    return value
