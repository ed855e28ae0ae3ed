"""One thing wrong with a layout."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """What does not hold: ``material`` and ``piece`` (its number) may be empty when it is about neither.

    ``message`` is one sentence for the person at the cutting table; numbers in millimetres.
    """

    material: str
    piece: str
    message: str
