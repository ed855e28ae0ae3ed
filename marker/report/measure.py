"""Lengths as the report prints them: thin words around the units."""

from __future__ import annotations

import math
from typing import Literal

from marker.units import format_buy, format_length, format_position, unit_size

System = Literal["metric", "imperial"]


def position(mm: float, system: System) -> str:
    """A distance to measure off, without its unit: to 1 mm (``64.0``), or to 1/16 in (``25 3/8``)."""
    text = format_position(mm, system).removesuffix(f" {position_unit(system)}")
    # One decimal always, so that figures stand one below the other.
    return f"{text}.0" if system == "metric" and "." not in text else text


def position_unit(system: System) -> str:
    """What ``position`` counts in."""
    return "in" if system == "imperial" else "cm"


def position_word(system: System) -> str:
    """What ``position`` counts in, in words that no sentence trips over."""
    return "inches" if system == "imperial" else "centimetres"


def width_text(mm: float, system: System) -> str:
    """A width with its unit, as shops give it: 140 cm, 55 in."""
    return format_position(mm, system)


def length(mm: float, system: System) -> str:
    """A length along the cloth, with its unit."""
    return format_length(mm, system)


def at_least(mm: float, system: System) -> str:
    """A length rounded down, for a bound that must stay true when rounded."""
    grid = unit_size("in") / 16 if system == "imperial" else 1.0
    return format_length(math.floor(mm / grid + 1e-6) * grid, system)


def at_most(mm: float, system: System) -> str:
    """A length rounded up, for an amount that must be enough when rounded."""
    grid = unit_size("in") / 16 if system == "imperial" else 1.0
    return format_length(math.ceil(mm / grid - 1e-6) * grid, system)


def bought(mm: float, system: System) -> str:
    """An amount to ask for in the shop."""
    return format_buy(mm, system)


def step_text(mm: float, system: System) -> str:
    """The step a shop sells in: 10 cm, 1/8 yd."""
    return format_buy(mm, system) if system == "imperial" else format_length(mm, system)
