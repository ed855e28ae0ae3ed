"""The usual cautions, only those that bear on this job. The maker's instructions come first."""

from __future__ import annotations

from marker.model.job import Job
from marker.model.layout import Layout
from marker.report.cloths import to_wash
from marker.report.matching import asked, repeat_to_begin_on
from marker.report.measure import length

MAKERS = "Where the makers of cloth, interfacing, iron or blades say otherwise, do as they say."


def cautions(layout: Layout, job: Job) -> list[str]:
    """A sentence or two each (common practice, no source)."""
    found = []
    fabrics = [job.fabrics[m.material] for m in layout.materials]
    shrinking = any(f.shrink_along or f.shrink_across for f in fabrics)
    counted = (
        "The shrinkage counted here is what the fabric file says"
        if shrinking
        else "No shrinkage is counted here"
    )
    found.append(
        f"Prewash the cloth and measure how much it shrinks before you cut. {counted}; "
        "if yours shrinks more, you need more."
    )
    found.append("Check the print scale of the paper pieces with a ruler before you cut anything.")
    if any(not m.cloth for m in layout.materials):
        found.append(
            "Buy it in one go and not too short: another dye lot may not match, and crooked cut ends cost "
            "length."
        )
    if any(m.cloth for m in layout.materials):
        found.append(
            "Lay every paper piece on a remnant before you cut the first: the layout holds for the outline "
            "and the grain as measured."
        )
    if any(to_wash(m, job.fabrics[m.material]) for m in layout.materials):
        found.append(
            "Wash the remnants before you lay the paper on: the layout is for what the wash leaves of them "
            "(of one that has been washed say so: washed = true in the fabric file, or washed behind --have)."
        )
    found += _printed(layout, job)
    layered = any(b.layers > 1 for m in layout.materials for b in m.bands)
    found.append(
        "Blades: cut away from your body and your other hand, guard a rotary blade when you put it down"
        + ("; pin or weight stacked layers so that the lower one cannot creep." if layered else ".")
    )
    if any("interfacing" in m.material.lower() for m in layout.materials):
        found.append(
            "Fusing: the iron and fresh-fused cloth are hot; try heat, time and steam on a scrap first."
        )
    found.append(MAKERS)
    return found


def cautions_in_short(layout: Layout, job: Job) -> list[str]:
    """The same for the printed page, a line each (common practice, no source)."""
    fabrics = [job.fabrics[m.material] for m in layout.materials]
    counted = "the fabric file's" if any(f.shrink_along or f.shrink_across for f in fabrics) else "none"
    found = [
        f"Prewash and measure the shrinkage before you cut (counted here: {counted}).",
        "Check the print scale of the paper pieces.",
    ]
    if any(not m.cloth for m in layout.materials):
        found.append("Buy in one go, not too short: dye lots differ, cut ends are crooked.")
    if any(m.cloth for m in layout.materials):
        found.append("Lay every paper piece on a remnant before you cut the first.")
    if any(to_wash(m, job.fabrics[m.material]) for m in layout.materials):
        found.append("Wash the remnants first: their shrinkage is taken off.")
    matched = [m for m in layout.materials if asked(m, job)]
    if matched:
        found.append("Measure the repeat on the washed cloth: another repeat does not match.")
    if any(repeat_to_begin_on(m, job) for m in matched):
        found.append("Begin the lay where the print is as drawn, and cut off what is before.")
    if any(band.layers > 1 for m in matched for band in m.bands):
        found.append("Pin the lines of the print together through both layers.")
    layered = any(b.layers > 1 for m in layout.materials for b in m.bands)
    found.append(
        "Blades: cut away from body and hand, guard a rotary blade"
        + ("; pin or weight stacked layers." if layered else ".")
    )
    if any("interfacing" in m.material.lower() for m in layout.materials):
        found.append("Fusing: iron and fresh-fused cloth are hot; try a scrap first.")
    return [*found, MAKERS]


def _printed(layout: Layout, job: Job) -> list[str]:
    """What a print adds; once for the job, the largest repeat counting."""
    matched = [m for m in layout.materials if asked(m, job)]
    if not matched:
        return []
    found = [
        "Measure the repeat on the washed cloth over several repeats: it often differs from the label, and "
        "a layout made for another repeat does not match."
    ]
    for m in matched:
        repeat = repeat_to_begin_on(m, job)
        if repeat:
            whose = f" of {m.material}" if len(layout.materials) > 1 else ""
            found.append(
                "The shop's cut may fall anywhere in the repeat, so one repeat "
                f"({length(repeat, job.fabrics[m.material].system)} once washed) is counted in the "
                f"length{whose} to buy: begin the lay where the print is as drawn, and cut off what is "
                "before."
            )
    if any(band.layers > 1 for m in matched for band in m.bands):
        found.append("Pin the lines of the print together through both layers before you lay the paper on.")
    return found
