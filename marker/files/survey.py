"""All that can be said of a pattern or fabric file at once: every mistake, what is missing, what looks odd.

Loading stops at the first mistake. Here what is wrong is told and left out, and the rest is read on.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from marker.errors import InputError, StillMissing
from marker.files.blanks import blanks
from marker.files.fabric import build_fabrics
from marker.files.kinds import kind_of, refuse_other
from marker.files.messages import all_from_validation, listed, nearest, piece_words, place
from marker.files.pattern import build_pattern, unit_of
from marker.files.schema import FabricFile, PatternFile
from marker.files.toml import read_toml
from marker.model.fabric import Fabric
from marker.model.pattern import Pattern
from marker.model.ring import extent
from marker.model.sewn import differences
from marker.plain import counted
from marker.units import format_position, unit_size

Loc = tuple[int | str, ...]

_ONE_OF_MANY = ("piece", "notion", "match", "views", "fabric")
"""Fields whose entries can be left out one by one."""
_GROUND = ("unit", "sizes", "piece")
"""Fields without which nothing more can be said of a pattern."""


@dataclass(frozen=True)
class Survey:
    """What a file holds, in sentences without its name.

    ``summary`` is one for all, ``read`` tells the cloths as they were understood. ``mistakes`` must be put
    right and what is ``missing`` be written before the file can be used; what is ``odd`` may be meant.
    """

    summary: str
    read: tuple[str, ...] = ()
    mistakes: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    odd: tuple[str, ...] = ()


def survey(path: str | Path) -> Survey:
    """What is in a pattern or fabric file. Raises InputError for one that cannot be read as TOML at all."""
    data = read_toml(path)
    kind = kind_of(data)
    refuse_other(path, data, "fabric" if kind == "fabric" else "pattern")
    found = _Found(path, data)
    return _fabric_file(found) if kind == "fabric" else _pattern_file(found)


class _Found:
    """Mistakes and what is missing, in the order in which they were told, and the data without them."""

    def __init__(self, path: str | Path, data: dict[str, Any]) -> None:
        self.path, self.data = path, copy.deepcopy(data)
        self.mistakes: list[str] = []
        self.missing: list[str] = []
        self.bad: set[Loc] = set()
        for loc, hint in blanks(data):
            where = ", ".join(place(loc, data))
            self.missing.append(f"{where}: is still blank: {hint or 'write its value'}")
            self.bad.add(loc)

    def tell(self, error: InputError) -> None:
        told = str(error).removeprefix(f"{self.path}: ").rstrip(".")
        of_kind = self.missing if isinstance(error, StillMissing) else self.mistakes
        if told not in of_kind:
            of_kind.append(told)

    def validated(self, model: type[BaseModel], context: Mapping[str, Any]) -> Any:
        """The tables, without those that are wrong; None if there is nothing to go on with."""
        told = set(self.bad)
        try:
            model.model_validate(self.data, context=context)
        except ValidationError as error:
            problems = all_from_validation(self.path, error, self.data, model)
            unknown = {loc[:-1]: str(loc[-1]) for loc, each in problems if "is not a field here" in str(each)}
            for loc, each in problems:
                if any(loc[: len(blank)] == blank or blank[: len(loc)] == loc for blank in told):
                    continue
                self.bad.add(loc)
                misspelt = unknown.get(loc[:-1])
                if not isinstance(each, StillMissing) or not (misspelt and nearest(misspelt, [str(loc[-1])])):
                    self.tell(each)
        if any(loc[0] in _GROUND and len(loc) == 1 for loc in self.bad):
            return None
        self._leave_out()
        try:
            return model.model_validate(self.data, context=context)
        except ValidationError:
            return None

    def _leave_out(self) -> None:
        """Take what is wrong out of the data: one of many whole, the pattern's name in place of another."""
        for name in _ONE_OF_MANY:
            bad = {loc[1] for loc in self.bad if loc[0] == name and len(loc) > 1}
            entries = self.data.get(name)
            if bad and isinstance(entries, dict):
                self.data[name] = {key: entry for key, entry in entries.items() if key not in bad}
            elif bad and isinstance(entries, list):
                self.data[name] = [entry for i, entry in enumerate(entries) if i not in bad]
        for name in {str(loc[0]) for loc in self.bad if loc[0] not in _ONE_OF_MANY or len(loc) == 1}:
            if name in ("name", "seam_allowance"):
                self.data[name] = "0 mm"
            else:
                self.data.pop(name, None)

    def result(self, held: str, read: Sequence[str], odd: Sequence[str]) -> Survey:
        if self.mistakes:
            summary = counted(len(self.mistakes), "mistake")
            if self.missing:
                summary += f", and {counted(len(self.missing), 'thing is', 'things are')} missing"
        elif self.missing:
            summary = f"so far right; {'this is' if len(self.missing) == 1 else 'these are'} missing"
        else:
            summary = f"valid {held}"
        return Survey(summary, tuple(read), tuple(self.mistakes), tuple(self.missing), tuple(odd))


def _fabric_file(found: _Found) -> Survey:
    unit = found.data.get("unit")
    file = found.validated(FabricFile, {"unit": unit if unit is None else unit_of(found.data)})
    fabrics = build_fabrics(found.path, file.fabric, file.unit or "mm", found.tell) if file else {}
    held = "fabric file: " + ", ".join(f"{name} ({cloth.name})" for name, cloth in fabrics.items())
    return found.result(held, [_cloth(name, cloth) for name, cloth in fabrics.items()], ())


def _pattern_file(found: _Found) -> Survey:
    every = found.data.get("piece")
    numbers = (
        [str(piece["number"]) for piece in every if isinstance(piece, Mapping) and "number" in piece]
        if isinstance(every, list)
        else []
    )
    file = found.validated(PatternFile, {"unit": unit_of(found.data)})
    if file is None:
        return found.result("", (), ())
    kept = [piece.number for piece in file.piece]
    left_out = [number for number in numbers if number not in kept]
    if any(loc[0] == "views" for loc in found.bad):
        # Notions may name a view that was left out.
        file = file.model_copy(update={"notion": []})
    pattern = build_pattern(found.path, file, found.tell, left_out)
    materials = list(dict.fromkeys(cut.material for piece in file.piece for cut in piece.cuts))
    cloths = {**dict.fromkeys(pattern.fabrics), **dict.fromkeys(file.fabric)}
    cloths.update(dict.fromkeys(str(loc[1]) for loc in found.bad if loc[0] == "fabric" and len(loc) > 1))
    odd = [*_materials(found, file, materials, list(cloths)), *pattern.odd]
    if not found.mistakes and not found.missing:
        odd += _seams(pattern)
    read = [_cloth(name, cloth) for name, cloth in pattern.fabrics.items()]
    return found.result(_held(pattern), read, odd)


def _held(pattern: Pattern) -> str:
    pieces = pattern.pieces[pattern.sizes[0]]
    guides = sum(piece.is_guide for piece in pieces)
    of_them = f", {counted(guides, 'of them a guide', 'of them guides')}" if guides else ""
    sizes = f"{'size' if len(pattern.sizes) == 1 else 'sizes'} {', '.join(pattern.sizes)}"
    return (
        f"pattern: {pattern.name}; {counted(len(pieces), 'piece')}{of_them}; {sizes}; "
        f"{'view' if len(pattern.views) == 1 else 'views'} {', '.join(view.name for view in pattern.views)}"
    )


def _cloth(material: str, cloth: Fabric) -> str:
    """How wide a cloth is, or how large its remnants, as they were understood."""

    def say(mm: float) -> str:
        return f"{format_position(mm, cloth.system)}".removesuffix(" in").removesuffix(" cm")

    unit = "in" if cloth.system == "imperial" else "cm"
    said = []
    if cloth.roll:
        said.append(f"{say(cloth.width)} {unit} wide" + (", lying flat as a tube" if cloth.tube else ""))
    shrinks = cloth.shrink_along > 0 or cloth.shrink_across > 0
    for remnant in cloth.remnants:
        long, wide = extent(remnant.outline)
        size = f'"{remnant.name}" {say(long)} x {say(wide)} {unit}'
        said.append(f"{size} once washed" if shrinks and not remnant.washed else size)
    return f"{material}: {'; '.join(said)}"


def _materials(
    found: _Found, file: PatternFile, materials: Sequence[str], cloths: Sequence[str]
) -> Iterator[str]:
    """A material that no cloth is named for is misspelt if it is like another, else a question."""
    for material in materials:
        if material in cloths:
            continue
        piece = next(piece for piece in file.piece if any(cut.material == material for cut in piece.cuts))
        where = f"{piece_words(piece.number, piece.name)}, cuts"
        like = nearest(material, [*cloths, *(other for other in materials if other != material)])
        if like is not None and _letters(like) != _letters(material) and like in cloths:
            found.mistakes.append(
                f"{where}: no cloth is named for {material}; did you mean {like}? "
                f"Else add [fabric.{material}]"
            )
        elif like is not None and _letters(like) != _letters(material):
            yield f"{where}: {material} is almost {like}; if it is the same cloth, give it the same name"
        elif cloths:
            yield f"{where}: no cloth is named for {material}; add [fabric.{material}], or use --fabric"
    unused = [material for material in cloths if material not in materials]
    if unused and materials and not found.missing:
        yield f"no piece is cut from {listed(unused)}, though a cloth is named for it"


def _letters(name: str) -> str:
    return "".join(char for char in name.lower() if char.isalpha())


def _seams(pattern: Pattern) -> Iterator[str]:
    """Seams whose two edges differ in length: ease, or a slip."""
    size = unit_size(pattern.unit or "mm")
    for each in differences(pattern):
        lengths = ", ".join(
            f"{piece_words(number, name)} {mm / size:.4g}"
            for (number, name), mm in zip(each.pieces, each.lengths, strict=True)
        )
        apart = abs(each.lengths[0] - each.lengths[1]) / size
        in_size = f" (size {each.size})" if len(pattern.sizes) > 1 else ""
        yield (
            f'from notch "{each.notches[0]}" to notch "{each.notches[1]}"{in_size}: {lengths} '
            f"{pattern.unit}, {apart:.2g} {pattern.unit} apart: eased in, or a slip?"
        )
