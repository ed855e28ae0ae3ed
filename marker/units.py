"""Lengths as people write them: millimetres inside, units and fractions only at the edges.

Conversions are exact: a yard is 0.9144 m, hence an inch 25.4 mm (international yard and pound
agreement of 1959). Arithmetic is done with fractions and turned into a float once, at the end.
"""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction
from typing import Literal

from marker.errors import InputError
from marker.plain import visible

System = Literal["metric", "imperial"]
"""The unit family a person speaks."""

YARD = Fraction(9144, 10)
"""Millimetres in a yard, exactly."""
INCH = YARD / 36
"""Millimetres in an inch, exactly 25.4."""

_UNITS: dict[str, tuple[Fraction, System]] = {}
for _names, _millimetres, _system in (
    ("mm millimetre millimetres millimeter millimeters", Fraction(1), "metric"),
    ("cm centimetre centimetres centimeter centimeters", Fraction(10), "metric"),
    ("m metre metres meter meters", Fraction(1000), "metric"),
    ("in inch inches \" '' ″ ” “", INCH, "imperial"),
    ("ft foot feet ' ′ ’ ‘", INCH * 12, "imperial"),
    ("yd yds yard yards", YARD, "imperial"),
):
    for _name in _names.split():
        _UNITS[_name] = (_millimetres, _system)  # type: ignore[assignment]

_NUMBER = r"(?:(?:\d+(?:\ |\ ?-\ ?))?\d+\ ?/\ ?\d+|\d+(?:[.,]\d+)?|[.,]\d+)"
_TERM = re.compile(rf"\ ?(?P<number>{_NUMBER})\ ?(?P<unit>[a-z]+\.?|''|[\"″”“'′’‘])?", re.IGNORECASE)
_NAMED = "|".join(re.escape(name) for name in sorted(_UNITS, key=len, reverse=True))
_GIVEN = re.compile(rf"(?P<number>{_NUMBER})(?:\ ?(?P<unit>(?:{_NAMED})\.?)(?![^\W\d_]))?", re.IGNORECASE)
_TIMES = re.compile(r"(?<=[\w\"'″”“′’‘.])\s*[x×]\s*(?=[.,]?\d)", re.IGNORECASE)
_THOUSANDS = re.compile(r"[1-9]\d{0,2}(,\d{3})+")
_LONGEST_TEXT = 60
_LONGEST_WORDS = 200


class NotALength(InputError, ValueError):
    """A text or number that is no length (or no percentage); the message is one sentence."""


def unit_size(unit: str) -> float:
    """Millimetres in one ``unit`` ("mm", "cm", "in", "yd" and so on).

    Raises NotALength for a word that is no unit of length.
    """
    return float(_unit(unit)[0])


def unit_system(unit: str) -> System:
    """The family ``unit`` belongs to. Raises NotALength for a word that is no unit of length."""
    return _unit(unit)[1]


def parse_length(value: str | int | float, default_unit: str = "mm") -> float:
    """Millimetres in a length as written: ``1400 mm``, ``1,5 m``, ``1 3/8 yd``, ``5/8"``, ``2 ft 6 in``.

    A bare number counts in ``default_unit``. Raises NotALength (an InputError and a ValueError) for
    an empty, negative, infinite or unreadable value.
    """
    return parse_length_system(value, default_unit)[0]


def parse_length_system(value: str | int | float, default_unit: str = "mm") -> tuple[float, System]:
    """As parse_length, and the unit family the length was written in."""
    if isinstance(value, str):
        return _parse_text(value, default_unit)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise NotALength(f"{value!r} is not a length: {_HOW}.")
    number = _number_given(value, "length")
    size, system = _unit(default_unit)
    return _to_float(number * size, value), system


def spell_units(text: str, unit: str | None = None) -> str:
    """``text`` with a unit behind every bare number in it: ``44`` in inches is ``44 in``.

    A bare number counts in the unit that follows in the text (``4 x 6 cm``), else in ``unit``. Anything
    else stays as it is. Raises NotALength, which asks for the unit, where there is none.
    """
    tidy = spaced(text)
    given = list(_GIVEN.finditer(tidy))
    spelled, at = "", 0
    for place, number in enumerate(given):
        spelled += tidy[at : number.end()]
        at = number.end()
        if number["unit"] is None:
            follows = next((later["unit"] for later in given[place:] if later["unit"]), unit)
            if follows is None:
                bare = number["number"]
                raise NotALength(f"{bare} what? say the unit too: {bare} cm or {bare} in.")
            spelled += f" {follows}"
    return text if all(number["unit"] for number in given) else spelled + tidy[at:]


def spaced(text: str) -> str:
    """``text`` with spaces round the x between two lengths, single spaces, and fractions spelled out.

    Raises NotALength for one that is too long to mean anything.
    """
    if len(text) > _LONGEST_WORDS:
        raise NotALength(f"{_quote(text)} is longer than {_LONGEST_WORDS} characters: say it in fewer words.")
    return " ".join(_TIMES.sub(" x ", _tidy(text)).split())


def lengths_in(text: str) -> list[str]:
    """``text`` cut into lengths with their units (``2 ft 6 in`` is one) and the words between them.

    A bare number is a word.
    """
    tidy = spaced(text)
    found: list[str] = []
    at, joined = 0, False
    for number in _GIVEN.finditer(tidy):
        between = re.findall(r"[^\s,;]+", tidy[at : number.start()])
        found += between
        length = number["unit"] is not None
        if length and joined and not between:
            found[-1] += f" {number.group()}"
        else:
            found.append(number.group())
        at, joined = number.end(), length
    return found + re.findall(r"[^\s,;]+", tidy[at:])


def parse_percent(value: str | int | float) -> float:
    """A percentage as a fraction: ``"3 %"``, ``"2,5%"`` or a bare 3 give 0.03 or 0.025.

    Raises NotALength for an empty, negative, infinite or unreadable value.
    """
    if isinstance(value, str):
        text = _tidy(value).removesuffix("%").strip()
        if text.startswith("-"):
            raise NotALength(f"{_quote(value)} is negative: write a percentage of 0 or more, like 3 %.")
        if not re.fullmatch(_NUMBER, text) or len(text) > _LONGEST_TEXT:
            raise NotALength(f"{_quote(value)} is not a percentage: write a number like 3 %.")
        return _to_float(_number(text) / 100, value)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise NotALength(f"{value!r} is not a percentage: write a number like 3 %.")
    return _to_float(_number_given(value, "percentage") / 100, value)


def round_up_to_step(mm: float, step: float) -> float:
    """The least whole multiple of ``step`` that is at least ``mm`` (both millimetres).

    A length that exceeds a multiple by less than a thousandth of a millimetre counts as that multiple.
    """
    steps = math.ceil(Fraction(mm) / Fraction(step) - Fraction(1, 1000) / Fraction(step))
    return float(_exact(step) * max(steps, 0))


def format_length(mm: float, system: System) -> str:
    """A length for reading: ``3 mm``, ``64.5 cm``, ``1.9 m``; ``12 5/8 in``, ``1 3/8 yd``.

    Metric rounds to a millimetre. Imperial rounds to 1/16 in, and speaks in yards from 1 yd up when
    the length is a whole number of eighths of a yard.
    """
    if system == "imperial":
        eighths = Fraction(mm) / (YARD / 8)
        if abs(mm) >= float(YARD) and abs(eighths - round(eighths)) < Fraction(1, 100):
            return f"{_mixed(Fraction(round(eighths), 8))} yd"
        return f"{_mixed(_to_nearest(mm, INCH / 16) / INCH)} in"
    whole = _to_nearest(mm, Fraction(1))
    if abs(whole) < 10:
        return f"{whole} mm"
    if abs(whole) < 1000:
        return f"{_decimal(whole / 10)} cm"
    return f"{_decimal(whole / 1000)} m"


def format_buy(mm: float, system: System) -> str:
    """An amount to ask for in the shop: ``1.9 m``, ``0.5 m``, ``2 1/8 yd``.

    ``mm`` is a multiple of the step sold already. An amount that is no whole number of sixteenths of
    a yard is given in inches, rounded up so that nobody buys short.
    """
    if system == "imperial":
        sixteenths = Fraction(mm) / (YARD / 16)
        if abs(sixteenths - round(sixteenths)) < Fraction(1, 100_000):
            return f"{_mixed(Fraction(round(sixteenths), 16))} yd"
        parts = math.ceil(Fraction(mm) / (INCH / 16) - Fraction(1, 1000))
        return f"{_mixed(Fraction(parts, 16))} in"
    whole = math.ceil(Fraction(mm) - Fraction(1, 1000))
    return f"{_decimal(Fraction(whole, 1000))} m"


def format_position(mm: float, system: System) -> str:
    """A distance to measure off: ``64.5 cm`` (nearest millimetre) or ``25 3/8 in`` (nearest 1/16)."""
    if system == "imperial":
        return f"{_mixed(_to_nearest(mm, INCH / 16) / INCH)} in"
    return f"{_decimal(_to_nearest(mm, Fraction(1)) / 10)} cm"


_HOW = "write a number and a unit, like 140 cm, 55 in or 1 3/8 yd"


def _parse_text(value: str, default_unit: str) -> tuple[float, System]:
    text = _tidy(value)
    if not text:
        raise NotALength(f"an empty text is not a length: {_HOW}.")
    if text.startswith("-"):
        raise NotALength(f"{_quote(value)} is negative: write a length of 0 or more.")
    total = Fraction(0)
    systems: list[System] = []
    at = 0
    while at < len(text) and len(text) <= _LONGEST_TEXT:
        term = _TERM.match(text, at)
        if term is None or (term["unit"] is None and (at > 0 or term.end() < len(text))):
            break
        if _THOUSANDS.fullmatch(term["number"]):
            plain = term["number"].replace(",", "")
            raise NotALength(
                f"{_quote(value)} can be read in two ways: write {plain}, "
                f"or {term['number'].replace(',', '.', 1).replace(',', '')} with a point."
            )
        size, system = _unit(term["unit"] or default_unit, value)
        total += _number(term["number"], value) * size
        systems.append(system)
        at = term.end()
    if at < len(text) or len(set(systems)) != 1:
        raise NotALength(f"{_quote(value)} is not a length: {_HOW}.")
    return _to_float(total, value), systems[0]


def _tidy(text: str) -> str:
    """One kind of space, fractions like ⅝ spelled out as 5/8, one kind of hyphen and minus."""
    spelled = "".join(
        " " + unicodedata.normalize("NFKC", char)
        if unicodedata.decomposition(char).startswith("<fraction>")
        else char
        for char in text
    )
    return " ".join(spelled.replace("⁄", "/").replace("−", "-").replace("‑", "-").split())


def _unit(word: str, value: str | None = None) -> tuple[Fraction, System]:
    try:
        return _UNITS[word.lower().removesuffix(".")]
    except KeyError:
        inside = f"in {_quote(value)} " if value is not None else ""
        raise NotALength(
            f"{_quote(word)} {inside}is not a unit this program knows: use mm, cm, m, in, ft or yd."
        ) from None


def _number(text: str, value: str | None = None) -> Fraction:
    if "/" not in text:
        return Fraction(text.replace(",", "."))
    *whole, numerator, denominator = re.findall(r"\d+", text)
    if int(denominator) == 0:
        raise NotALength(f"{_quote(value or text)} divides by zero: write a fraction like 5/8.")
    return Fraction(int(whole[0]) if whole else 0) + Fraction(int(numerator), int(denominator))


def _number_given(value: int | float, what: str) -> Fraction:
    if isinstance(value, float) and not math.isfinite(value):
        raise NotALength(f"{value} is not a {what}: write a finite number.")
    if value < 0:
        raise NotALength(f"{value} is negative: write a {what} of 0 or more.")
    return _exact(value)


def _exact(value: int | float) -> Fraction:
    """What a person meant by writing this number: 0.1 is one tenth."""
    return Fraction(value) if isinstance(value, int) else Fraction(repr(float(value)))


def _to_float(value: Fraction, written: object) -> float:
    try:
        return float(value)
    except OverflowError:
        raise NotALength(f"{_quote(str(written))} is far too large.") from None


def _quote(text: str) -> str:
    short = text if len(text) <= _LONGEST_TEXT else text[: _LONGEST_TEXT - 1] + "…"
    short = visible(short)
    return f"'{short}'" if '"' in short else f'"{short}"'


def _to_nearest(mm: float, step: Fraction) -> Fraction:
    """The nearest multiple of ``step``, halves away from zero as on a ruler."""
    steps = math.floor(abs(Fraction(mm)) / step + Fraction(1, 2))
    return step * (steps if mm >= 0 else -steps)


def _mixed(value: Fraction) -> str:
    """``1 3/8``, ``5/8``, ``2``, ``-1 1/2``."""
    whole, part = divmod(abs(value), 1)
    sign = "-" if value < 0 else ""
    if not part:
        return f"{sign}{whole}"
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"


def _decimal(value: Fraction) -> str:
    """As few decimals as tell it, at most three: ``1.9``, ``64.5``, ``1.652``."""
    return f"{float(value):.3f}".rstrip("0").rstrip(".")
