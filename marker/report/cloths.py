"""Which cloth a layout lies on, what is bought of it and what has no place on it, in words."""

from __future__ import annotations

from marker.model.fabric import Fabric
from marker.model.layout import MaterialLayout
from marker.report.chart import title
from marker.report.measure import at_least, at_most, width_text


def cloth_title(material: MaterialLayout) -> str:
    """The material, and which remnant of it, if it is one."""
    return f"{material.material}, {material.cloth}" if material.cloth else material.material


def to_wash(material: MaterialLayout, fabric: Fabric) -> bool:
    """Whether it lies on a remnant that is still to be washed and will lose something by it."""
    shrinks = bool(fabric.shrink_along or fabric.shrink_across)
    return shrinks and any(each.name == material.cloth and not each.washed for each in fabric.remnants)


def wash_words(material: MaterialLayout, fabric: Fabric) -> str:
    """What of the wash is counted on a remnant; empty where the cloth loses nothing."""
    if not material.cloth or not (fabric.shrink_along or fabric.shrink_across):
        return ""
    if not to_wash(material, fabric):
        return "washed already, so no shrinkage is taken off"
    ways = (("along", fabric.shrink_along), ("across", fabric.shrink_across))
    lost = " and ".join(f"{100.0 * share:.3g} % {way}" for way, share in ways if share)
    return f"still to be washed, for which {lost} is taken off"


def as_it_lies(mm: float, material: MaterialLayout, fabric: Fabric) -> float:
    """A length along the washed cloth of a remnant, as it is before the wash if that is still to come."""
    return mm / (1.0 - fabric.shrink_along) if to_wash(material, fabric) else mm


def short_words(material: MaterialLayout, fabric: Fabric) -> str:
    """By how much a cloth is too short: what was found to be enough, and what cannot be."""
    enough = at_most(as_it_lies(material.short, material, fabric), fabric.system)
    never = at_least(as_it_lies(material.short_least, material, fabric), fabric.system)
    return enough if enough == never or material.short_least < 1.0 else f"between {never} and {enough}"


def cloth_words(material: MaterialLayout, fabric: Fabric) -> str:
    """The fabric's name and width; of a remnant how wide it is at its widest."""
    if material.cloth:
        once = " once washed" if to_wash(material, fabric) else ""
        return f"{fabric.name}, remnant {width_text(material.width, fabric.system)} wide at most{once}"
    return f"{fabric.name}, {width_text(fabric.width, fabric.system)} wide"


def answer_words(material: MaterialLayout, fabric: Fabric) -> str:
    """The length to buy, or that the cloth is in hand, or by how much it is too short."""
    if material.missing:
        return f"Too short by {short_words(material, fabric)}" if material.short > 0 else "Not enough cloth"
    return "In hand" if material.cloth else f"Buy {material.buy_text}"


def missing_words(material: MaterialLayout) -> str:
    """The copies that found no place: 4 Cuff (2 copies), 5 Pocket (flap) (1 copy). Empty if all lie."""
    told = []
    for lost in material.missing:
        copies = "1 copy" if lost.count == 1 else f"{lost.count} copies"
        told.append(f"{title(lost.piece, lost.name, lost.region)} ({copies})")
    return ", ".join(told)
