"""The usual cautions, only those that bear on this job. The maker's instructions come first."""

from __future__ import annotations

from marker.model.job import Job
from marker.model.layout import Layout


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
    found.append(
        "Buy it in one go and not too short: another dye lot may not match, and crooked cut ends cost length."
    )
    layered = any(b.layers > 1 for m in layout.materials for b in m.bands)
    found.append(
        "Blades: cut away from your body and your other hand, guard a rotary blade when you put it down"
        + ("; pin or weight stacked layers so that the lower one cannot creep." if layered else ".")
    )
    if any("interfacing" in m.material.lower() for m in layout.materials):
        found.append(
            "Fusing: the iron and fresh-fused cloth are hot; try heat, time and steam on a scrap first."
        )
    found.append("The maker's instructions and local rules govern.")
    return found
