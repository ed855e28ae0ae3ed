"""What people type, one answer or one cell of a spreadsheet at a time, as pattern files understand it."""

from __future__ import annotations

import re
from typing import Any

from pydantic import ConfigDict, TypeAdapter, ValidationError

from marker.files.blanks import hint_of
from marker.files.messages import nearest, problem_words
from marker.files.schema import Allowance, Count, Length, PositiveLength, Word
from marker.new.draft import Grain, Hands, Unit
from marker.units import parse_length, unit_size

UNITS = {"mm": "mm", "cm": "cm", "in": "in", "inch": "in", "inches": "in", '"': "in"}
YES, NO = ("yes", "y", "true", "x", "1"), ("no", "n", "false", "0", "-", "")
_MINUS = "-−–"


class Unclear(ValueError):
    """What is wrong with an answer and what to write, as the end of a sentence."""


def valid(kind: Any, value: Any, unit: str) -> Any:
    """``value`` as a field of that kind of a file in ``unit``. Raises Unclear in the words of the file."""
    try:
        adapter: TypeAdapter[Any] = TypeAdapter(kind, config=ConfigDict(strict=True))
        return adapter.validate_python(value, context={"unit": unit})
    except ValidationError as error:
        raise Unclear(problem_words(error)) from None


def name(text: str) -> str:
    if hint_of(text) is not None:
        raise Unclear(f'"{text}" marks a blank in pattern files; write another name')
    return str(valid(Word, text, "mm"))


def material(text: str) -> str:
    if text.strip().lower() in (*YES, *NO):
        raise Unclear(f'"{text}" names no material; write its name, like interfacing')
    return name(text)


def unit_of(text: str) -> Unit:
    found = UNITS.get(text.strip().lower())
    if found is None:
        raise Unclear(f'"{text}" is not a unit of a pattern; write mm, cm or in')
    return found  # type: ignore[return-value]


def yes(text: str) -> bool:
    if text.strip().lower() in YES:
        return True
    if text.strip().lower() in NO:
        return False
    raise Unclear(f'"{text}" is neither yes nor no; write one of them')


def count(text: str) -> int:
    """Copies, 0 for a guide."""
    text = text.strip()
    if text == "0":
        return 0
    # A spreadsheet may show 2 as 2.0 or 2,00.
    whole = re.fullmatch(r"(\d{1,9})(?:[.,]0+)?", text)
    return int(valid(Count, int(whole[1]) if whole else text, "mm"))


def length(text: str, unit: Unit) -> float:
    """Millimetres, more than 0."""
    return float(valid(PositiveLength, text, unit).mm)


def signed(text: str, unit: Unit) -> float:
    """A coordinate in ``unit``; it may be negative."""
    text = text.strip()
    minus = text[:1] in _MINUS and len(text) > 1
    mm = valid(Length, text[1:] if minus else text, unit).mm
    return float(-mm if minus else mm) / unit_size(unit)


def with_unit(text: str, unit: Unit) -> str:
    """A length as a file writes it that does not depend on the file's unit: ``1.5`` cm is ``1.5 cm``."""
    text = " ".join(text.split())
    return text if parse_length(text, "mm") == parse_length(text, "yd") else f"{text} {unit}"


def allowance(text: str, unit: Unit) -> str:
    """A seam allowance as a file writes it."""
    valid(Allowance, text, unit)
    text = " ".join(text.split())
    included, rest = re.fullmatch(r"(included)?\s*(.*)", text, re.IGNORECASE).groups()  # type: ignore[union-attr]
    return " ".join(filter(None, ["included" if included else "", with_unit(rest, unit) if rest else ""]))


def degrees(text: str) -> float:
    """An angle to turn to the right by; it may be negative."""
    match = re.fullmatch(rf"([{_MINUS}]?)(\d+(?:[.,]\d+)?)\s*(?:°|deg|degrees)?", text.strip())
    if match is None:
        raise Unclear(f'"{text}" is not an angle; write degrees, like 90')
    value = float(match[2].replace(",", "."))
    if value >= 360:
        raise Unclear(f'"{text}" is more than a whole turn; write degrees, like 90')
    return -value if match[1] else value


def one_of(text: str, choices: dict[str, str], what: str) -> str:
    """The choice that a word stands for, also by its beginning."""
    word = text.strip().lower()
    found = choices.get(word) or next(
        (choices[key] for key in choices if word and key.startswith(word)), None
    )
    if found is None:
        like = nearest(word, choices)
        raise Unclear(
            f'"{text}" is not {what}; '
            + (f'did you mean "{like}"? ' if like else "")
            + f"write {', '.join(list(choices)[:-1])} or {list(choices)[-1]}"
        )
    return found


def grain(text: str) -> Grain:
    return one_of(text, {way: way for way in ("up", "down", "left", "right")}, "a direction")  # type: ignore[return-value]


def hands(text: str) -> Hands:
    choices = {"pairs": "mirrored", "mirrored": "mirrored", "alike": "alike"}
    return one_of(text, choices, "an answer here")  # type: ignore[return-value]


def two(text: str) -> tuple[str, str]:
    """Two measures in one line: ``12; 30``, ``12, 30``, ``12,5 30`` or ``3 1/2; 4``."""
    parts = _parted(text.strip())
    parts = [part.strip().strip(",").strip() for part in parts]
    if len(parts) != 2 or not all(parts):
        raise Unclear(
            f'"{text}" is not two measures; write how far to the right, a semicolon, and how far down, '
            "like 12.5; 30"
        )
    return parts[0], parts[1]


def _parted(text: str) -> list[str]:
    if ";" in text:
        return text.split(";")
    tokens = text.split()
    # 3 1/2 is one measure, 3, 1/2 are two.
    if len(tokens) == 2 and (tokens[0].endswith(",") or "/" not in tokens[1]):
        return tokens
    if re.search(r",\s", text):
        return re.split(r",\s+", text)
    return text.split(",") if text.count(",") == 1 and len(tokens) == 1 else [text]


def corner_fields(text: str, unit: Unit) -> dict[str, Any]:
    """A corner measured from the top left: ``12; 30``, ``through 5; 9`` or ``12; 30 bulge 2``."""
    through, place, curve, depth = _curved(text)
    x, y = two(place)
    fields: dict[str, Any] = {"through" if through else "at": [signed(x, unit), signed(y, unit)]}
    if curve:
        fields[curve] = length(depth, unit) / unit_size(unit)
    return fields


def edge_fields(text: str, unit: Unit) -> tuple[dict[str, Any], float]:
    """An edge by its length, and the turn at its end: ``24``, ``24; 60`` or ``24; 90 bulge 2``."""
    through, place, curve, depth = _curved(text)
    if through:
        raise Unclear('an edge has no point to go "through"; write its length, or how far it bulges')
    parts = place.split(";") if ";" in place else re.split(r",\s+", place)
    if len(parts) > 2:
        raise Unclear(f'"{text}" is not an edge; write its length, a semicolon, and the turn, like 24; 90')
    fields: dict[str, Any] = {"go": length(parts[0].strip(), unit) / unit_size(unit)}
    if curve:
        fields[curve] = length(depth, unit) / unit_size(unit)
    return fields, degrees(parts[1]) if len(parts) == 2 and parts[1].strip() else 90.0


def _curved(text: str) -> tuple[bool, str, str, str]:
    """Whether it is a point on a curve, the place, and how its edge is curved: the word and the depth."""
    match = re.fullmatch(
        r"\s*(through\s+)?(.*?)(?:[\s;,]+(bulge|hollow)\s+(.+?))?\s*", text, re.IGNORECASE | re.DOTALL
    )
    assert match is not None
    return bool(match[1]), match[2], (match[3] or "").lower(), match[4] or ""
