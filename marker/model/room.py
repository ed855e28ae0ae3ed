"""Whether what is printed on a cloth, and what is wrong with it, has room on its width."""

from __future__ import annotations

from marker.model.fabric import Fabric

_SLACK = 0.01
"""Millimetres that shrinking and rounding may bring in."""


def no_room(fabric: Fabric) -> tuple[str, str] | None:
    """The field of the fabric that does not fit across its flat width, and what is wrong; None if all do.

    A repeat must not be longer than the cloth is wide, a border narrower than the cloth, and a flaw must
    touch the cloth. Lengths in the words are those of the cloth as it lies, after it has shrunk.
    """
    wide = fabric.flat_width
    words = f"a cloth that lies {_say(wide)} wide"
    design, border = fabric.print, fabric.border
    if design is not None and design.across is not None and design.across > wide + _SLACK:
        return "print, across", (
            f"a repeat of {_say(design.across)} does not fit across {words}; "
            "check the number and the unit, or leave the print out"
        )
    if border is not None and border.width >= wide - _SLACK:
        return "border, width", (
            f"a border of {_say(border.width)} is as wide as the cloth or wider, on {words}; "
            "check the number and the unit, or leave the border out"
        )
    for i, flaw in enumerate(fabric.flaws):
        xs, ys = [x for x, _ in flaw], [y for _, y in flaw]
        if min(ys) >= wide or max(ys) <= 0:
            where = f"{_say(min(ys))} to {_say(max(ys))} from the lower selvage"
            return (
                f"flaw {i + 1}",
                f"lies outside the cloth: {where}, on {words}; check its place, or leave it out",
            )
        if max(xs) <= 0:
            return f"flaw {i + 1}", "lies before the cut end of the cloth; check its place, or leave it out"
    return None


def _say(mm: float) -> str:
    return f"{mm:.4g} mm"
