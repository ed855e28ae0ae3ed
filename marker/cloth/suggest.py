"""What a pattern that asks nothing of a printed cloth could ask, tried for whether it holds together."""

from __future__ import annotations

from dataclasses import dataclass, replace

from marker.cloth.demand import needs
from marker.cloth.match import ties_of
from marker.errors import InputError
from marker.model.job import Job
from marker.model.match import Match

LONGEST = 50
"""Letters of a name that a line of a report has room for."""


@dataclass(frozen=True)
class Suggestion:
    """``matches`` hold together on the print; ``clashing`` are names of notches that would not; ``unnamed``:
    the print has lines for pieces to meet on, and no two pieces have a notch of one name."""

    matches: tuple[Match, ...] = ()
    clashing: tuple[str, ...] = ()
    unnamed: bool = False


def suggestion(job: Job, material: str) -> Suggestion | None:
    """Matches to write into the pattern file; None where the pattern asks for some itself, the user wants
    none, there is no print, or the print cannot be matched across several pieces of cloth."""
    fabric = job.fabrics[material]
    design = fabric.print
    several = len(fabric.remnants) + bool(fabric.roll) > 1
    if design is None or job.matches or job.matching == "none" or several:
        return None
    cuts = [
        (piece, cut)
        for piece in job.pieces
        for cut in piece.cuts
        if cut.material == material and not cut.region_name and not piece.bias
    ]
    along, across = design.along is not None, design.across is not None
    numbers: dict[str, set[str]] = {}
    for piece, _ in cuts:
        for mark in (*piece.notches, *piece.marks):
            numbers.setdefault(mark.name, set()).add(piece.number)
    shared = [name for name in job.meetable if len(numbers.get(name, ())) > 1]
    asked = [Match("meet", name, along, False) for name in shared if len(name) <= LONGEST]
    asked += [Match("centre", piece.number, False, across) for piece, cut in cuts if cut.how == "on fold"]
    asked += [Match("pair", piece.number, along, across) for piece, cut in cuts if cut.how == "mirrored"]
    found: list[Match] = []
    clashing: list[str] = []
    for match in dict.fromkeys(match for match in asked if match.crosswise or match.lengthwise):
        trial = replace(job, matches=(*found, match), matching="main")
        try:
            ties_of(needs(trial, material), trial.asked_of(material), design, "")
        except InputError:
            clashing += [match.name] if match.what == "meet" else []
        else:
            found.append(match)
    return Suggestion(tuple(found), tuple(clashing), along and not shared)
