"""The pieces of a job, counted for every material."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from marker.model.job import Job
from marker.model.piece import Cut


@dataclass(frozen=True)
class PieceCount:
    """One piece: for each material that it is cut from, what is cut, in words. A guide has none."""

    number: str
    name: str
    cut: Mapping[str, str]
    totals: Mapping[str, int]
    guide: bool


def piece_counts(job: Job) -> list[PieceCount]:
    """Every piece of the job in the pattern's order, counts for all garments together."""
    rows = []
    for piece in job.pieces:
        words: dict[str, list[str]] = {}
        totals: dict[str, int] = {}
        for cut in piece.cuts:
            words.setdefault(cut.material, []).append(in_words(cut, job.quantity))
            totals[cut.material] = totals.get(cut.material, 0) + cut.count * job.quantity
        joined = {material: "; ".join(parts) for material, parts in words.items()}
        rows.append(PieceCount(piece.number, piece.name, joined, totals, piece.is_guide))
    return rows


def in_words(cut: Cut, quantity: int) -> str:
    """How many, how they relate, and what part of the piece if not all of it."""
    count = cut.count * quantity
    if cut.how == "on fold":
        text = f"{count} on fold"
    elif cut.how == "mirrored" and cut.count >= 2:
        pairs = (cut.count // 2) * quantity
        odd = count - 2 * pairs
        text = f"{count} (pair)" if pairs == 1 else f"{count} ({pairs} pairs)"
        if odd:
            text = f"{count} ({pairs} {'pair' if pairs == 1 else 'pairs'} and {odd} more)"
    elif count > 1:
        text = f"{count} alike"
    else:
        text = str(count)
    return f"{text}, {cut.region_name} only" if cut.region_name else text
