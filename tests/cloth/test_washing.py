"""Remnants before and after the wash: what is left of them is what can be cut."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.api import lay as lay_out
from marker.api import load_job
from marker.check import missing, verify

SQUARE = """\
name = "Flag"
unit = "mm"
seam_allowance = "included"

[[piece]]
number = "1"
name = "Field"
[[piece.cuts]]
material = "fabric"
count = 1
[piece.drawing.every]
outline = "M 0 0 H 190 V 180 H 0 Z"
grain = [[20, 20], [120, 20]]

[fabric.fabric]
roll = false
shrink_along = "5 %"
shrink_across = "10 %"
remnant = [{{ name = "offcut", length = {long}, width = {wide}{washed} }}]
"""


@pytest.mark.parametrize(
    ("long", "wide", "washed", "fits"),
    [
        # ISO 5077: of 200 mm a loss of 5 % leaves 190 mm, one of 10 % leaves 180 mm.
        (200, 200, "", True),
        (199, 200, "", False),
        (200, 199, "", False),
        (190, 180, ", washed = true", True),
        (190, 180, ", washed = false", False),
    ],
)
def test_a_square_fits_on_what_the_wash_leaves(
    long: int, wide: int, washed: str, fits: bool, tmp_path: Path
) -> None:
    file = tmp_path / "flag.toml"
    file.write_text(SQUARE.format(long=long, wide=wide, washed=washed))
    job = load_job(file)
    if not fits:
        with pytest.raises(Exception, match="no piece fits on any of the remnants"):
            lay_out(job, effort=0.05, cores=1)
        return
    answer = lay_out(job, effort=0.05, cores=1)
    assert verify(answer.layout, job) == [] and not missing(answer.layout)
    # The same layout on cloth that was told to be washed is too large for the remnant still to be washed.
    file.write_text(SQUARE.format(long=190, wide=180, washed=""))
    assert any("remnant" in fault.message for fault in verify(answer.layout, load_job(file)))
