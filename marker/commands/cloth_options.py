"""Options that say in a few words what a cloth is like, with no fabric file to write."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import click

from marker.commands.lengths import of_material, once_each, spelled

if TYPE_CHECKING:
    from marker.files.cloth_words import ClothWords
    from marker.tables.source import Source

have_option = click.option(
    "--have",
    multiple=True,
    metavar="[MATERIAL=]LENGTHxWIDTH",
    help='Cloth in hand, such as "1.5 m x 112 cm"; may be repeated. Does it fit, and what else does? Nothing '
    "is bought. Add washed if it has been.",
)
print_option = click.option(
    "--print",
    "prints",
    multiple=True,
    metavar="[MATERIAL=]WORDS",
    help='What is printed on the cloth, such as "stripes along 3 cm" or "check 4 cm x 6 cm", or none.',
)
nap_option = click.option("--nap", is_flag=True, help="The main cloth has a nap: all pieces face one way.")


def print_and_nap(command: Callable[..., Any]) -> Callable[..., Any]:
    """Options about print and nap."""
    return print_option(nap_option(command))


def cloth_words(
    source: Source, have: Sequence[str] = (), prints: Sequence[str] = (), nap: bool = False
) -> ClothWords:
    """What the options say of each material, every number with its unit. Raises InputError."""
    from marker.files.cloth_words import ClothWords

    designs = by_material(source, "--print", prints)
    once_each("--print", [material for material, texts in designs.items() for _ in texts])
    return ClothWords(
        by_material(source, "--have", have),
        {material: texts[0] for material, texts in designs.items()},
        (source.main_material(),) if nap else (),
    )


def by_material(source: Source, option: str, texts: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """The words of an option for each material, every number with its unit. Raises InputError."""
    found: dict[str, tuple[str, ...]] = {}
    for text in texts:
        material, words = of_material(text)
        named = f"{option} {material}=" if material else f"{option} "
        full = spelled(named, words, source.pattern.unit)
        material = material or source.main_material()
        found[material] = (*found.get(material, ()), full)
    return found
