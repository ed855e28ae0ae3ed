"""Body measurements that the harbour smock is graded by, and the ease it is drafted with.

The table is the club's own, rounded; ease for a garment worn over a jersey is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

CHEST_EASE = 180.0
NECK_EASE = 22.0
BICEPS_EASE = 92.0
CUFF_EASE = 70.0
"""Wrist ease, 25 mm of it the overlap for the button."""
CAP_EASE_FRONT, CAP_EASE_BACK = 6.0, 8.0
"""What the sleeve cap is longer than the armhole: little, so that the seam can be felled flat."""


@dataclass(frozen=True)
class Measures:
    """One size. Millimetres; ``length`` nape to hem, ``shoulders`` across the back from bone to bone,
    ``sleeve`` shoulder bone to wrist, ``slit`` the opening of the front below the neck."""

    chest: float
    neck: float
    length: float
    shoulders: float
    sleeve: float
    biceps: float
    wrist: float
    slit: float
    slit_buttons: int


SIZES = {
    "XS": Measures(840, 350, 660, 396, 590, 280, 158, 220, 4),
    "S": Measures(900, 365, 680, 414, 605, 300, 165, 230, 4),
    "M": Measures(960, 380, 700, 432, 620, 320, 172, 240, 4),
    "L": Measures(1040, 400, 720, 454, 635, 346, 181, 250, 5),
    "XL": Measures(1120, 420, 740, 476, 650, 372, 190, 260, 5),
}
