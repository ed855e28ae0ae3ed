"""What placed pieces are called in drawings that other programs and machines read."""

from __future__ import annotations

from collections import Counter

from marker.model.layout import MaterialLayout, Placement


def names_of(material: MaterialLayout) -> list[str]:
    """A name for each placement: number, name and region of the piece; a counter tells repeats apart."""
    plain = [_name(placed) for placed in material.placements]
    often = Counter(plain)
    seen: Counter[str] = Counter()
    names = []
    for name in plain:
        seen[name] += 1
        names.append(f"{name} ({seen[name]} of {often[name]})" if often[name] > 1 else name)
    return names


def numbers_of(material: MaterialLayout) -> list[str]:
    """A number for each placement, its piece's own with a counter behind it if the piece lies there often."""
    often = Counter(placed.piece for placed in material.placements)
    seen: Counter[str] = Counter()
    numbers = []
    for placed in material.placements:
        seen[placed.piece] += 1
        more = f".{seen[placed.piece]}" if often[placed.piece] > 1 else ""
        numbers.append(f"{placed.piece}{more}")
    return numbers


def quantity_words(placed: Placement) -> str:
    """``right,left`` as the standard writes quantities: what cutting this placement yields."""
    if placed.copies == 2 and not placed.on_fold:
        return "1,1"
    return f"0,{placed.copies}" if placed.mirrored else f"{placed.copies},0"


def _name(placed: Placement) -> str:
    return f"{placed.piece} {placed.name}{f', {placed.region}' if placed.region else ''}"
