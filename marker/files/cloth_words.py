"""Cloth in a few words, as the command line takes it: what is in hand, what is printed on it, its nap.

The words become the tables of a fabric file and those the model, so that limits and messages are the same.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, TypeVar

from pydantic import ValidationError

from marker.errors import InputError
from marker.files.fabric import print_of, remnant_of
from marker.files.messages import listed, nearest
from marker.files.schema import PrintTable, RemnantTable
from marker.model.fabric import Fabric, Print, Remnant, plain_cloth
from marker.model.ring import extent
from marker.units import NotALength, lengths_in, parse_length, parse_length_system, spell_units

_Table = TypeVar("_Table", RemnantTable, PrintTable)
Kind = Literal["stripes along", "stripes across", "check", "motifs"]

_KINDS = {
    **dict.fromkeys(("stripes", "stripe", "striped", "bars"), "stripes"),
    **dict.fromkeys(("check", "checks", "checked", "plaid", "gingham"), "check"),
    **dict.fromkeys(("motif", "motifs", "dots"), "motifs"),
    **dict.fromkeys(("none", "plain"), "none"),
}
_WAYS = {
    **dict.fromkeys(("along", "lengthwise"), "along"),
    **dict.fromkeys(("across", "crosswise"), "across"),
}
_SIDES = {
    **dict.fromkeys(("long", "length"), "length"),
    **dict.fromkeys(("wide", "width"), "width"),
}
_EVEN = {"even": "even", "uneven": "uneven"}
_WASHED = {"washed": "washed", "prewashed": "washed", "unwashed": "unwashed"}
_FILLING = frozenset(
    ("x", "by", "and", "of", "on", "the", "cloth", "every", "repeat", "repeats", "a", "with")
)
"""Words that people put between the others and that say nothing more."""

HOW_HAVE = 'write length and width, like "1.5 m x 112 cm" or "112 cm wide, 1.5 m long"'
HOW_PRINT = (
    'write it like "stripes along 3 cm", "stripes across 1 1/2 in", "check 4 cm x 6 cm", "motifs 32 cm" '
    'or "none"'
)


@dataclass(frozen=True)
class ClothWords:
    """What is said about the cloth of each material: pieces in hand, the print, and whether it has a nap.

    What is said wins over the pattern's cloth and over fabric files; what is not said stays as they have it.
    """

    have: Mapping[str, Sequence[str]] = field(default_factory=dict)
    prints: Mapping[str, str] = field(default_factory=dict)
    nap: Collection[str] = ()

    @property
    def in_hand(self) -> str:
        """The cloth in hand, for reading."""
        return "; ".join(f"{material} {' and '.join(texts)}" for material, texts in self.have.items())

    @property
    def about(self) -> dict[str, str]:
        """Each material something is said of, and the option that says it."""
        return {
            **dict.fromkeys(self.have, "--have"),
            **dict.fromkeys(self.prints, "--print"),
            **dict.fromkeys(self.nap, "--nap"),
        }


def in_words(
    words: ClothWords, fabrics: Mapping[str, Fabric], widths: Mapping[str, float], unit: str
) -> dict[str, Fabric]:
    """The cloths that something is said of, changed as said; ``fabrics`` are those there are.

    A material in hand, or whose width is said, needs no other cloth; it then speaks ``unit``'s family. One
    that has none is left out. Raises InputError.
    """
    found: dict[str, Fabric] = {}
    for material in words.about:
        fabric = fabrics.get(material)
        if fabric is None and (material in words.have or material in widths):
            fabric = plain_cloth(material, widths.get(material, 0.0), unit)
        if fabric is None:
            continue
        if material in words.nap:
            fabric = replace(fabric, nap=True)
        if material in words.prints:
            in_hand = words.have.get(material, ())
            washed = bool(in_hand) and all(_sides(text)[2] for text in in_hand)
            fabric = with_print(fabric, words.prints[material], washed=washed)
        if material in words.have:
            fabric = with_remnants(fabric, words.have[material])
        found[material] = fabric
    return found


def with_remnants(fabric: Fabric, texts: Sequence[str]) -> Fabric:
    """The cloth with nothing but these rectangles of it, like ``1.5 m x 112 cm``. Raises InputError.

    They keep clear at both edges what the roll does, and shrink as it does unless they are said to be washed.
    """
    if not texts:
        raise InputError(f"--have: no piece of {fabric.name} is named; {HOW_HAVE}.")
    if fabric.tube or fabric.border is not None:
        what = "a tube" if fabric.tube else "a cloth with a border"
        raise InputError(
            f"--have {texts[0]}: {fabric.name} is {what}, which comes on the roll only; name another cloth "
            "with --fabric."
        )
    remnants: list[Remnant] = []
    for text in texts:
        remnant = _remnant(fabric, text)
        same = sum(other.name.partition(" (")[0] == remnant.name for other in remnants)
        remnants.append(replace(remnant, name=f"{remnant.name} ({same + 1})") if same else remnant)
    width = max(extent(remnant.outline)[1] for remnant in remnants) / (1.0 - fabric.shrink_across)
    spoken = {parse_length_system(length)[1] for text in texts for length in _sides(text)[:2]}
    system = spoken.pop() if len(spoken) == 1 else fabric.system
    return replace(fabric, width=width, system=system, flaws=(), remnants=tuple(remnants), roll=False)


def _remnant(fabric: Fabric, text: str) -> Remnant:
    length, width, washed = _sides(text)
    name = f"{length} x {width}"
    table = _checked(f"--have {text}", RemnantTable, name=name, length=length, width=width, washed=washed)
    shrunk = (1.0, 1.0) if washed else (1.0 - fabric.shrink_along, 1.0 - fabric.shrink_across)
    remnant = remnant_of(f"--have {text}", (), table, "mm", shrunk)
    if 2 * fabric.selvage >= parse_length(width):
        raise InputError(
            f"--have {text}: two selvages of {fabric.selvage:g} mm leave nothing of it; check the width."
        )
    return replace(remnant, selvage=fabric.selvage)


def _sides(text: str) -> tuple[str, str, bool]:
    """Length, width and whether it is washed, of a rectangle of cloth in words."""
    said = _Said(f"--have {text}", text, (_SIDES, _WASHED), HOW_HAVE)
    if len(said.lengths) != 2:
        many = {0: "no length is", 1: "one length is"}.get(
            len(said.lengths), f"{len(said.lengths)} lengths are"
        )
        raise said.wrong(f"{many} given")
    by_side = said.by(_SIDES, ("length", "width"))
    washed = said.one_of(_WASHED, "unwashed") == "washed"
    return by_side["length"], by_side["width"], washed


def with_print(fabric: Fabric, text: str, *, washed: bool = False) -> Fabric:
    """The cloth with another print, like ``stripes along 3 cm``, or with ``none``. Raises InputError.

    Its repeats are measured on the cloth as sold, or on the ``washed`` one, which shrinks no more.
    What ran one way because of the print it had still does: it may have a nap as well.
    """
    shrunk = (1.0, 1.0) if washed else (1.0 - fabric.shrink_along, 1.0 - fabric.shrink_across)
    design = _print(text, shrunk)
    if design is None:
        return (
            fabric if fabric.print is None else replace(fabric, name=f"{fabric.name}, but plain", print=None)
        )
    nap = fabric.nap or not (design.even_along and design.even_across)
    return replace(
        fabric,
        name=f"{fabric.name}, {'with' if fabric.print is None else 'but'} {' '.join(text.split())}",
        print=design,
        nap=nap,
    )


def _print(text: str, shrunk: tuple[float, float]) -> Print | None:
    where = f"--print {text}"
    said = _Said(where, text, (_KINDS, _WAYS, _EVEN), HOW_PRINT)
    what = said.one_of(_KINDS)
    if what == "none":
        if len(said.parts) > 1:
            raise said.wrong("none stands alone")
        return None
    if not what:
        raise said.wrong("say what is printed on it")
    uneven = said.one_of(_EVEN, "even") == "uneven"
    repeats: dict[str, str]
    kind: Kind
    if what == "stripes":
        way = said.one_of(_WAYS)
        if not way:
            raise said.wrong("do the stripes run along the cloth or across it?")
        if len(said.lengths) != 1:
            raise said.wrong("stripes have one repeat, from one bar to the next of its kind")
        kind = "stripes along" if way == "along" else "stripes across"
        repeats = {"across" if way == "along" else "along": said.lengths[0]}
        # What does not change along the cloth looks the same turned end for end.
        even = "both" if not uneven else way
    else:
        kind = "check" if what == "check" else "motifs"
        named = any(part.casefold() in _WAYS for part in said.parts)
        if len(said.lengths) not in ((2,) if named else (1, 2)):
            raise said.wrong("say the repeat along the cloth and the one across it")
        if len(said.lengths) == 1:
            repeats = dict.fromkeys(("along", "across"), said.lengths[0])
        else:
            repeats = said.by(_WAYS, ("along", "across"))
        even = "none" if uneven else "both"
    table = _checked(where, PrintTable, kind=kind, even=even, **repeats)
    return print_of(where, (), table, shrunk)


class _Said:
    """The parts of a text: its lengths, and words of which each is known. Raises InputError for another."""

    def __init__(self, where: str, text: str, meanings: Sequence[Mapping[str, str]], how: str) -> None:
        self.where, self.how = where, how
        try:
            parts = lengths_in(text)
        except NotALength as problem:
            raise InputError(f"{where[:60]}: {problem}") from None
        self.parts = [part for part in parts if part.casefold() not in _FILLING]
        self.lengths = [part for part in self.parts if part[0].isdigit() or part[0] in ".,"]
        known = [word for each in meanings for word in each]
        for word in self.parts:
            if word in self.lengths:
                try:
                    parse_length(spell_units(word))
                except NotALength as problem:
                    raise InputError(f"{where}: {problem}") from None
            elif word.casefold() not in known:
                like = nearest(word.casefold(), known)
                meant = f' (did you mean "{like}"?)' if like else ""
                raise self.wrong(f'"{word}" says nothing here{meant}')

    def wrong(self, what: str) -> InputError:
        return InputError(f"{self.where}: {what}{'' if what.endswith('?') else ';'} {self.how}.")

    def one_of(self, meanings: Mapping[str, str], otherwise: str = "") -> str:
        """What the words of one kind mean; two that differ are refused."""
        found = {meanings[word.casefold()] for word in self.parts if word.casefold() in meanings}
        if len(found) > 1:
            raise self.wrong(f"{listed(sorted(found))} cannot both be")
        return found.pop() if found else otherwise

    def by(self, meanings: Mapping[str, str], names: tuple[str, str]) -> dict[str, str]:
        """The two lengths by what the word beside each calls it; without such words in order of ``names``."""
        told = [
            (meanings.get(part.casefold()), part)
            for part in self.parts
            if part in self.lengths or part.casefold() in meanings
        ]
        labels = [label for label, _ in told if label]
        if not labels:
            return dict(zip(names, self.lengths, strict=True))
        # Either every word stands before its length, or every one behind.
        before = told[0][0] is not None
        found: dict[str, str] = {}
        alone = None
        waiting: str | None = None
        for label, part in told if before else reversed(told):
            if label is not None:
                if waiting is not None:
                    raise self.wrong("a word has no length beside it")
                waiting = label
            elif waiting is None:
                alone = part
            elif waiting in found:
                raise self.wrong(f"{waiting} is said twice")
            else:
                found[waiting], waiting = part, None
        if waiting is not None:
            raise self.wrong("a word has no length beside it")
        if alone is not None:
            (other,) = (name for name in names if name not in found)
            found[other] = alone
        return found


def _checked(where: str, table: type[_Table], **fields: object) -> _Table:
    try:
        return table.model_validate(fields)
    except ValidationError as error:
        problem = error.errors()[0]["msg"].removeprefix("Value error, ")
        raise InputError(f"{where}: {problem}.") from None
