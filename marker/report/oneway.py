"""Cloth with one way to lie, by its pile or its print: which way the tops of all pieces point on it."""

from __future__ import annotations

from typing import Literal

from marker.model.fabric import Fabric
from marker.model.layout import MaterialLayout


def tops_point(material: MaterialLayout, fabric: Fabric) -> Literal["right", "left"] | None:
    """Where tops point, with the cut end at one's left hand; None on cloth that has no such way."""
    if not fabric.nap or not material.placements:
        return None
    along = sum(head[0] - tail[0] for tail, head in (p.grain for p in material.placements))
    return "right" if along >= 0 else "left"


def one_way_by(fabric: Fabric) -> Literal["pile", "print"]:
    """What makes the cloth one way."""
    design = fabric.print
    return "print" if design is not None and not (design.even_along and design.even_across) else "pile"


def one_way_words(material: MaterialLayout, fabric: Fabric, begin: str) -> str:
    """How the cloth lies for the layout, a sentence; empty on cloth that has no such way. ``begin`` is
    what the chart measures from.

    Up for a deep colour, down for wear: common practice, no source.
    """
    way = tops_point(material, fabric)
    if way is None:
        return ""
    ends = f"{'away from' if way == 'right' else 'towards'} the {begin}"
    if one_way_by(fabric) == "print":
        return f"the print stands upright this way: tops of all pieces point {ends}."
    return (
        f"the pile runs this way all along: tops of all pieces point {ends}; whether it strokes smooth to "
        "the top (deeper colour) or to the hem (wears better), the whole cloth lies alike."
    )
