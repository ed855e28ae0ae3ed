"""The jobs of a pattern file, read once and chosen from many times."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from marker.errors import InputError
from marker.model.choose import choose, main_material
from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.match import Matching
from marker.model.pattern import Pattern

if TYPE_CHECKING:
    from marker.files.cloth_words import ClothWords


def fabrics_of(files: Sequence[str | Path]) -> dict[str, Fabric]:
    """The cloths of some fabric files by material. Raises InputError, also where two tell of one material."""
    from marker.files.fabric import load_fabrics

    found: dict[str, Fabric] = {}
    told: dict[str, str | Path] = {}
    for file in files:
        for material, fabric in load_fabrics(Path(file)).items():
            if material in told:
                raise InputError(
                    f"{told[material]} and {file} both hold a cloth for {material}; name one of them."
                )
            found[material], told[material] = fabric, file
    return found


@dataclass(frozen=True)
class Source:
    """A pattern and what every job of it has in common."""

    pattern: Pattern
    file: str
    with_: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    quantity: int = 1

    def job(
        self,
        *,
        size: str | None = None,
        view: str | None = None,
        fabrics: Mapping[str, Fabric] | None = None,
        files: Sequence[str] = (),
        widths: Mapping[str, float] | None = None,
        matching: Matching = "main",
        words: ClothWords | None = None,
    ) -> Job:
        """One job; ``fabrics`` are those read from ``files``; ``words`` win over them. Raises InputError."""
        fabrics = dict(fabrics or {})
        if words is not None and words.about:
            from marker.files.cloth_words import in_words

            self._cut(words, self.materials, "the pattern")
            fabrics |= in_words(words, {**self.pattern.fabrics, **fabrics}, widths or {}, self.pattern.unit)
        chosen = choose(
            self.pattern,
            size=size,
            view=view,
            with_=self.with_,
            without=self.without,
            quantity=self.quantity,
            widths=widths or {},
            fabrics=fabrics,
        )
        asked: dict[str, Any] = {
            "pattern": self.file,
            "with": list(self.with_),
            "without": list(self.without),
            "widths": dict(widths or {}),
            "fabrics": list(files),
            "match": matching,
        }
        if words is not None:
            self._cut(words, chosen.fabrics, f"view {chosen.view}")
            asked |= {
                "have": {material: list(texts) for material, texts in words.have.items()},
                "prints": dict(words.prints),
                "nap": list(words.nap),
            }
        return replace(chosen, matching=matching, asked=asked)

    @property
    def materials(self) -> tuple[str, ...]:
        """All materials that anything is cut from, in any view."""
        of_one = self.pattern.pieces[self.pattern.sizes[0]]
        return tuple(dict.fromkeys(cut.material for piece in of_one for cut in piece.cuts))

    def _cut(self, words: ClothWords, materials: Collection[str], what: str) -> None:
        """Raises InputError for a material something is said of, and of which ``what`` cuts nothing."""
        for material, option in words.about.items():
            if material not in materials:
                raise InputError(
                    f"{self.file}: {option} tells of {material}, but {what} cuts nothing from it; "
                    f"it cuts from {', '.join(materials)}."
                )

    def widths(self, asked: Sequence[tuple[str, float]]) -> dict[str, tuple[float, ...]]:
        """Widths by material, each once; "" stands for the main material."""
        found: dict[str, dict[float, None]] = {}
        for material, width in asked:
            found.setdefault(material or self.main_material(), {})[width] = None
        return {material: tuple(widths) for material, widths in found.items()}

    def main_material(self, among: Sequence[str] = ()) -> str:
        """ "fabric" if it is cut, else the first material; of the whole pattern, or of those named."""
        return main_material(self.pattern, among)


def open_source(
    file: str | Path,
    *,
    with_: Sequence[str] = (),
    without: Sequence[str] = (),
    quantity: int = 1,
) -> Source:
    """Read a pattern file. Raises InputError."""
    from marker.files.pattern import load_pattern

    return Source(load_pattern(Path(file)), str(file), tuple(with_), tuple(without), quantity)
