"""Lengths on the command line: one rule for numbers without a unit, for every option of every command."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import click


def spelled(named: str, text: str, unit: str | None) -> str:
    """``text`` with a unit behind every number: bare ones count in ``unit``, and are told on stderr.

    ``named`` is what stands before the text, such as "--width interfacing=". ``unit`` is that of the pattern,
    None where there is none. Raises InputError that asks for the unit.
    """
    from marker.errors import InputError
    from marker.units import NotALength, spell_units

    try:
        full = spell_units(text, unit)
    except NotALength as problem:
        raise InputError(f"{named}{text}: {problem}") from None
    if full != text:
        click.echo(f"{named}{text}: taken as {full}.", err=True)
    return full


def spelled_length(option: str, text: str, unit: str | None, material: str = "") -> str:
    """One length given to ``option`` (for ``material``) with its unit; raises InputError."""
    from marker.errors import InputError
    from marker.units import NotALength, parse_length

    named = f"{option} {material}=" if material else f"{option} "
    try:
        # As it stands first: what is no length at all is quoted as it was given.
        parse_length(text)
    except NotALength as problem:
        raise InputError(f"{named}{text}: {problem}") from None
    return spelled(named, text, unit)


def length(option: str, text: str, unit: str | None, material: str = "") -> float:
    """Millimetres of what ``spelled_length`` gives; raises InputError."""
    from marker.units import parse_length

    return parse_length(spelled_length(option, text, unit, material))


def of_material(text: str) -> tuple[str, str]:
    """Material ("" for the main one) and the rest of MATERIAL=TEXT."""
    material, _, rest = text.rpartition("=")
    return material.strip(), rest.strip()


def widths_of(texts: Sequence[str], unit: str | None) -> list[tuple[str, float]]:
    """Material ("" for the main one) and width in millimetres of each --width; raises InputError."""
    given = [of_material(text) for text in texts]
    return [(material, length("--width", width, unit, material)) for material, width in given]


def once_each(option: str, materials: Iterable[str], main: str = "") -> None:
    """Raise UsageError for a material that is named twice; "" and ``main`` are the same one."""
    named: set[str] = set()
    for material in materials:
        if (material or main) in named:
            about = f" for {material or main}" if material or main else ""
            raise click.UsageError(f"{option} is given twice{about}, and counts once; leave out all but one.")
        named.add(material or main)
