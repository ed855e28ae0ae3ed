"""Which cloth a layout lies on, what is bought of it and what has no place on it, in words."""

from __future__ import annotations

from marker.model.fabric import Fabric
from marker.model.layout import MaterialLayout
from marker.report.chart import title
from marker.report.measure import length, width_text


def cloth_title(material: MaterialLayout) -> str:
    """The material, and which remnant of it, if it is one."""
    return f"{material.material}, {material.cloth}" if material.cloth else material.material


def cloth_words(material: MaterialLayout, fabric: Fabric) -> str:
    """The fabric's name and width; of a remnant how wide it is at its widest."""
    if material.cloth:
        return f"{fabric.name}, remnant {width_text(material.width, fabric.system)} wide at most"
    return f"{fabric.name}, {width_text(fabric.width, fabric.system)} wide"


def answer_words(material: MaterialLayout, fabric: Fabric) -> str:
    """The length to buy, or that the cloth is in hand, or by how much it is too short."""
    if material.missing:
        short = material.short > 0
        return f"Too short by {length(material.short, fabric.system)}" if short else "Not enough cloth"
    return "In hand" if material.cloth else f"Buy {material.buy_text}"


def missing_words(material: MaterialLayout) -> str:
    """The copies that found no place: 4 Cuff (2 copies), 5 Pocket (flap) (1 copy). Empty if all lie."""
    told = []
    for lost in material.missing:
        copies = "1 copy" if lost.count == 1 else f"{lost.count} copies"
        told.append(f"{title(lost.piece, lost.name, lost.region)} ({copies})")
    return ", ".join(told)
