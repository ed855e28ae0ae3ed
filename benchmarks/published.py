"""Densities in percent that others have published for the open instances.

From Gardeyn, Vanden Berghe & Wauters (2025), arXiv:2509.13329, Tables 2 and 3: their own averages over 100
runs of 20 minutes with three threads of a current desktop processor, their restatement of the averages of
Sato et al. (2019, EJOR 279), Elkeran (2013, EJOR 231) and Leung et al. (2012, C&OR 39), and the best known.
Of jakobs2 the strip is 0.01 % wider there, and the older two are left out.
"""

from __future__ import annotations

import statistics

from benchmarks.instance import GARMENTS

COLUMNS = ("average 2025", "Sato 2019", "Elkeran 2013", "Leung 2012", "best known")

DENSITIES: dict[str, tuple[float | None, ...]] = {
    "albano": (89.47, 87.55, 87.47, 87.38, 89.82),
    "dagli": (89.26, 87.50, 87.06, 86.27, 90.17),
    "mao": (86.14, 83.76, 82.93, 82.57, 86.87),
    "marques": (90.93, 89.97, 89.40, 88.32, 92.02),
    "shirts": (89.66, 87.62, 87.59, 87.20, 90.92),
    "swim": (78.26, 74.29, 74.49, 74.10, 79.83),
    "trousers": (91.73, 90.48, 89.02, 88.29, 92.62),
    "fu": (92.24, 91.95, 90.68, 90.00, 92.41),
    "jakobs2": (84.77, 83.56, None, None, 87.73),
    "shapes0": (68.60, 68.73, 67.26, 66.85, 69.98),
    "shapes1": (75.69, 75.86, 73.79, 74.24, 76.73),
    "shapes2": (84.68, 83.02, 82.40, 82.55, 86.23),
}

JIGSAWS = {"dighe1": 100.0, "dighe2": 100.0}
"""Cut out of a square of 100 x 100 (Dighe & Jakiela 1996), so the best density is known."""


def best_known(name: str) -> float:
    """The best density anyone has published, percent."""
    best = JIGSAWS.get(name) or DENSITIES[name][-1]
    assert best is not None
    return best


def row(name: str) -> list[float | None]:
    """The published columns of an instance; ``None`` where nothing is published."""
    if name in JIGSAWS:
        return [None] * (len(COLUMNS) - 1) + [JIGSAWS[name]]
    return list(DENSITIES[name])


def garment_means() -> list[float]:
    """The published columns averaged over the garment instances."""
    return [statistics.fmean(column) for column in zip(*(DENSITIES[n] for n in GARMENTS), strict=True)]
