"""DXF drawings by the standard: every block with a boundary on layer 1 is a piece in one size."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from marker.errors import InputError
from marker.importing.dxf_layers import BOUNDARY, READ, in_words, number
from marker.importing.dxf_piece import Raw, called, scaled
from marker.importing.dxf_rings import (
    MEETS,
    MOST_OUTLINES,
    gap_in_words,
    inside,
    rings_of,
    slit_strokes,
    untangled,
    wrong_with,
)
from marker.importing.dxf_shapes import Layers, Shapes
from marker.importing.dxf_words import Fields, fields_of
from marker.importing.found import Point
from marker.importing.words import is_automatic
from marker.model.ring import signed_area


def may_be_piece(block: Any, layers: Layers) -> bool:
    """A block that shows something of its own on layer 1, or a piece's name."""
    if block.name.startswith("*") or block.block is None:
        return False
    for entity in block:
        if layers.hide(entity, str(entity.dxf.get("layer", "0"))):
            continue
        if number(str(entity.dxf.get("layer", ""))) == BOUNDARY and entity.dxftype() != "INSERT":
            return True
        if entity.dxftype() == "TEXT" and str(entity.dxf.get("text", "")).lower().startswith("piece name"):
            return True
    return False


def standard(
    path: str | Path, blocks: Sequence[tuple[str, Shapes]], style: Fields, mm: float
) -> tuple[list[Raw], list[str]]:
    """The pieces of blocks (name and shapes in units of the file of ``mm`` millimetres), and notes."""
    sample = style.get("sample size")
    drafts: list[Raw] = []
    notes: list[str] = []
    skipped: Counter[str] = Counter()
    for block, measured in blocks:
        shapes = scaled(measured, mm)
        fields = fields_of(shapes.words)
        name = fields.get("piece name")
        size = fields.get("size") or sample
        who = called(name or block, size)
        lines = [stroke for stroke in shapes.strokes if number(stroke.layer) == BOUNDARY]
        found = rings_of(lines, MEETS)
        if len(found.closed) > MOST_OUTLINES:
            raise InputError(f"{path}: {who} has more than {MOST_OUTLINES} outlines; draw one a piece.")
        if not found.closed:
            if name is None:
                notes.append(f"Block {block} has no closed boundary and no piece name: it is left out.")
                continue
            why = gap_in_words(lines, mm)
            raise InputError(
                f"{path}: {who} has no closed boundary on layer 1{why}; close it and export once more."
            )
        outline, inner, beside = _largest(found.closed)
        parts = untangled(outline)
        outline, *others = sorted(parts.outer or (outline,), key=lambda ring: -abs(signed_area(ring)))
        inner, beside = (*inner, *parts.inner), beside + len(others)
        strokes, remarks = slit_strokes(parts.slits, outline)
        shapes.strokes += strokes
        wrong = wrong_with(outline, mm)
        if wrong:
            raise InputError(f"{path}: {who} {wrong}.")
        if beside:
            notes.append(
                f"{who[0].upper()}{who[1:]}: only the largest of its separate outlines is the piece; "
                f"{beside} left out."
            )
        if found.open:
            notes.append(f"{who[0].upper()}{who[1:]}: open lines on layer 1 left out.")
        if name is None:
            bare = _without_size(block, size)
            name = None if is_automatic(bare, is_id=True) else bare
        for layer in {stroke.layer for stroke in shapes.strokes} | {mark.layer for mark in shapes.marks}:
            if number(layer) not in READ:
                skipped[layer] += 1
        drafts.append(Raw(name, size, outline, shapes, fields, number, inner, notes=tuple(remarks)))
        if shapes.other:
            notes.append(shapes.unread())
    if not drafts:
        raise InputError(
            f"{path}: has no closed boundary on layer 1 in any block, so there is no piece; "
            "close the outlines."
        )
    if skipped:
        words = ", ".join(in_words(layer) for layer in sorted(skipped))
        notes.append(f"Layers that are not read: {words}.")
    notes.append(
        "Boundaries on layer 1 are cutting lines by the standard, so seam allowances are taken as included."
    )
    if style.get("grade rule table") is not None:
        notes.append(
            f"The file names a grade rule table ({style.get('grade rule table')}): grade rules are not read, "
            "only the sizes that are drawn."
        )
    return drafts, notes


def _largest(
    rings: Sequence[tuple[Point, ...]],
) -> tuple[tuple[Point, ...], tuple[tuple[Point, ...], ...], int]:
    """The largest outline, those inside it, and how many lie elsewhere."""
    from shapely import Polygon, prepare

    largest = max(rings, key=lambda ring: abs(signed_area(ring)))
    others = [ring for ring in rings if ring is not largest and not _same(ring, largest)]
    whole = Polygon(largest)
    prepare(whole)
    inner = tuple(ring for ring in others if inside(ring, whole))
    return largest, inner, len(others) - len(inner)


def _same(one: Sequence[Point], other: Sequence[Point]) -> bool:
    """Whether two outlines are the same line drawn twice."""
    return {(round(x, 2), round(y, 2)) for x, y in one} == {(round(x, 2), round(y, 2)) for x, y in other}


def _without_size(block: str, size: str | None) -> str:
    """The name of a block without the size that many programs put behind it."""
    if size and block.lower().endswith(size.lower()) and len(block) > len(size):
        bare = block[: -len(size)]
        if bare[-1] in "-_ ." and bare.strip("-_ ."):
            return bare.rstrip("-_ .")
    return block
