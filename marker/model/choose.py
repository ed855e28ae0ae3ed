"""From a pattern to a job: one size and view, the pieces asked for, a fabric for each material."""

from __future__ import annotations

import difflib
import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import get_args

from marker.errors import InputError
from marker.model.fabric import Fabric, plain_cloth
from marker.model.job import Job
from marker.model.match import Matching, meetable
from marker.model.pattern import Pattern, View
from marker.model.piece import Piece
from marker.model.room import no_room

MOST_PLACEMENTS = 2000
"""Cut pieces that one job may ask for, all materials together."""
WIDEST = 10_000.0
"""Millimetres a cloth may be wide at most."""


def choose(
    pattern: Pattern,
    *,
    size: str | None = None,
    view: str | None = None,
    with_: Collection[str] = (),
    without: Collection[str] = (),
    quantity: int = 1,
    widths: Mapping[str, float] | None = None,
    fabrics: Mapping[str, Fabric] | None = None,
    matching: Matching = "main",
) -> Job:
    """The job of cutting ``quantity`` garments of one size and view.

    ``size`` may be left out if there is only one; ``view`` defaults to the first. ``with_`` and
    ``without`` are numbers (or names) of pieces to add to those the view always has, or to leave out.
    ``fabrics`` replace those of the pattern by material; ``widths`` (millimetres) then replace widths.
    ``matching`` is how much of what the pattern asks to match is asked for on a cloth with a print.

    Raises InputError with one sentence for anything unknown, missing or beyond the limits.
    """
    found_size = _size(pattern, size)
    found_view = _view(pattern, view)
    if isinstance(quantity, bool) or not isinstance(quantity, int) or quantity < 1:
        raise InputError(f"{pattern.path}: quantity {quantity}: write a whole number of garments, 1 or more.")
    if matching not in get_args(Matching):
        raise InputError(f"{pattern.path}: matching {matching}: write one of {_listed(get_args(Matching))}.")
    pieces = _pieces(pattern, found_size, found_view, with_, without)
    counted = sum(cut.count for piece in pieces for cut in piece.cuts) * quantity
    if counted == 0:
        raise InputError(
            f"{pattern.path}: view {found_view.name}: nothing is cut from these pieces; "
            "give at least one of them a cut, or ask for other pieces."
        )
    if counted > MOST_PLACEMENTS:
        raise InputError(
            f"{pattern.path}: {counted} pieces to cut are asked for in all, "
            f"and the limit is {MOST_PLACEMENTS}; ask for fewer garments at a time, or lower the counts."
        )
    chosen = _fabrics(pattern, found_view, pieces, widths or {}, fabrics or {})
    numbers = {piece.number for piece in pieces}
    notions = tuple(
        (notion.name, notion.detail, notion.counts[found_size] * -(-quantity // notion.enough_for))
        for notion in pattern.notions
        if (not notion.views or found_view.name in notion.views)
        and (notion.with_piece is None or notion.with_piece in numbers)
        and notion.counts.get(found_size, 0) > 0
    )
    return Job(
        pattern.name,
        found_size,
        found_view.name,
        pieces,
        chosen,
        quantity,
        notions,
        matches=pattern.matches,
        matching=matching,
        meetable=meetable(pattern.pieces),
    )


def main_material(pattern: Pattern, among: Sequence[str] = ()) -> str:
    """ "fabric" if it is cut, else the first material; of the whole pattern, or of those named."""
    materials = among or [
        cut.material for pieces in pattern.pieces.values() for piece in pieces for cut in piece.cuts
    ]
    return "fabric" if "fabric" in materials or not materials else materials[0]


def _size(pattern: Pattern, asked: str | None) -> str:
    if asked is None:
        if len(pattern.sizes) == 1:
            return pattern.sizes[0]
        raise InputError(f"{pattern.path}: which size? Choose one of {', '.join(pattern.sizes)}.")
    found = _match(asked, pattern.sizes)
    if found is None:
        raise InputError(f"{pattern.path}: there is no size {asked}; {_there_are('size', pattern.sizes)}.")
    return found


def _view(pattern: Pattern, asked: str | None) -> View:
    names = [view.name for view in pattern.views]
    found = names[0] if asked is None else _match(asked, names)
    if found is None:
        raise InputError(f"{pattern.path}: there is no view {asked}; {_there_are('view', names)}.")
    return pattern.views[names.index(found)]


def _pieces(
    pattern: Pattern, size: str, view: View, with_: Collection[str], without: Collection[str]
) -> tuple[Piece, ...]:
    by_number = {piece.number: piece for piece in pattern.pieces[size]}
    every = [by_number[number] for number in (*view.pieces, *view.optional)]
    added = {_number(pattern, view, "with", asked, every, view.optional) for asked in with_}
    dropped = {_number(pattern, view, "without", asked, every, view.pieces) for asked in without}
    for number in sorted(added & dropped):
        raise InputError(
            f"{pattern.path}: piece {number} is asked for both with and without; leave one of the two out."
        )
    wanted = ({*view.pieces} | added) - dropped
    return tuple(piece for piece in pattern.pieces[size] if piece.number in wanted)


def _number(
    pattern: Pattern, view: View, option: str, asked: str, pieces: Sequence[Piece], offered: Sequence[str]
) -> str:
    """The number of the piece of the view that is called ``asked`` by number or name."""
    found = _match(asked, [piece.number for piece in pieces])
    if found is not None:
        return found
    named = [piece.number for piece in pieces if piece.name.casefold() == asked.strip().casefold()]
    if len(named) == 1:
        return named[0]
    choice = [f"{piece.number} ({piece.name})" for piece in pieces if piece.number in offered]
    raise InputError(
        f"{pattern.path}: --{option} {asked}: view {view.name} has no such piece; "
        + (f"it can go {option} {_listed(choice)}." if choice else "it has no optional pieces.")
    )


def _fabrics(
    pattern: Pattern,
    view: View,
    pieces: Sequence[Piece],
    widths: Mapping[str, float],
    fabrics: Mapping[str, Fabric],
) -> dict[str, Fabric]:
    """The fabric of each material that is cut, in the order the pieces first ask for it."""
    materials = list(dict.fromkeys(cut.material for piece in pieces for cut in piece.cuts))
    everywhere = {cut.material for piece in pattern.pieces[pattern.sizes[0]] for cut in piece.cuts}
    if fabrics and not everywhere & {*fabrics}:
        raise InputError(
            f"{pattern.path}: the fabrics given are for {_listed(fabrics)}, but the pieces are cut from "
            f"{_listed(sorted(everywhere))}; call each fabric after the material it is for."
        )
    for material, width in widths.items():
        if material not in materials:
            raise InputError(
                f"{pattern.path}: a width is given for {material}, but view {view.name} cuts nothing from it"
                f"{_like(material, materials)}; it cuts from {_listed(materials)}."
            )
        if not math.isfinite(width) or not 0 < width <= WIDEST:
            raise InputError(
                f"{pattern.path}: a width of {width:g} mm for {material} is not possible; "
                f"write one greater than 0 and at most {WIDEST / 1000:g} m."
            )
    merged = {**pattern.fabrics, **fabrics}
    chosen = {}
    for material in materials:
        if material not in merged and material in widths:
            merged[material] = plain_cloth(material, widths[material], pattern.unit)
        if material not in merged:
            piece = next(piece for piece in pieces if any(cut.material == material for cut in piece.cuts))
            raise InputError(
                f'{pattern.path}: piece {piece.number} "{piece.name}", cuts: '
                f"there is no fabric for {material}{_like(material, merged)}; "
                f"say how wide it is with --width {material}=90cm, add a table [fabric.{material}], or name "
                "a fabric file."
            )
        fabric = merged[material]
        if material in widths:
            if not fabric.roll:
                raise InputError(
                    f"{pattern.path}: a width is given for {material}, but there are only remnants of "
                    f"{fabric.name} and no roll; leave the width out."
                )
            fabric = replace(fabric, width=float(widths[material]))
        lacking = no_room(fabric)
        if lacking is not None:
            raise InputError(
                f"{pattern.path}: {material} {fabric.width:g} mm wide, {lacking[0]}: {lacking[1]}."
            )
        if fabric.roll and 2 * fabric.selvage >= fabric.width:
            raise InputError(
                f"{pattern.path}: {material} {fabric.width:g} mm wide is nothing but its two selvages of "
                f"{fabric.selvage:g} mm; give it more width."
            )
        chosen[material] = fabric
    return chosen


def _match(asked: str, names: Iterable[str]) -> str | None:
    """The name asked for; upper and lower case count only where they tell two names apart."""
    all_names = list(names)
    if asked in all_names:
        return asked
    alike = [name for name in all_names if name.casefold() == asked.strip().casefold()]
    return alike[0] if len(alike) == 1 else None


def _there_are(what: str, names: Sequence[str]) -> str:
    return f"the only {what} is {names[0]}" if len(names) == 1 else f"the {what}s are {_listed(names)}"


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)


def _like(asked: str, names: Iterable[str]) -> str:
    found = difflib.get_close_matches(asked, list(names), n=1)
    return f' (did you mean "{found[0]}"?)' if found else ""
