"""Whether cloth in hand can be enough at all: bounds that hold however the pieces are laid and spread."""

from __future__ import annotations

from dataclasses import replace

from marker.cloth.choose import NothingFits
from marker.cloth.cloths import Cloth, Cloths
from marker.model.job import Job

SLACK = 1.0
"""Millimetres by which a bound must be missed before anything is called impossible."""


def never_fits(job: Job, material: str) -> bool:
    """Whether it is shown that the cuts of a material do not all fit on its remnants, with no roll to go on.

    By area, by pieces that have room on none of them, and on a single remnant by the length below which no
    layout exists. Copies from two layers lie beside each other on the cloth opened flat, so what holds for
    the open cloth holds for every spread. False says nothing. Raises InputError for a job that cannot be.
    """
    if job.fabrics[material].roll:
        return False
    cloths = Cloths(replace(job, matching="none"), material, "best")
    room = sum(min(cloth.area, _usable(cloth)) for cloth in cloths.remnants)
    if sum(cloths.area(copy) for copy in cloths.every) > room + SLACK * sum(map(_across, cloths.remnants)):
        return True
    copies = dict.fromkeys(cloths.every)
    if any(not any(cloths.fits(cloth, copy) for cloth in cloths.remnants) for copy in copies):
        return True
    if len(cloths.remnants) > 1:
        return False
    (cloth,) = cloths.remnants
    try:
        return cloths.bound(cloth, cloths.every) > cloth.along + SLACK
    except NothingFits:
        return False


def _across(cloth: Cloth) -> float:
    return cloth.fabric.flat_width - 2.0 * cloth.fabric.selvage


def _usable(cloth: Cloth) -> float:
    """Square millimetres of the box between the selvages."""
    return cloth.along * _across(cloth)
