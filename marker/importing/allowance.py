"""From a phrase to a seam allowance: ``seam allowance 15 mm``, ``5/8 in (1.5 cm) seam allowance included``.

A phrase is read as a whole or becomes a blank that quotes it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from marker.files.blanks import blank
from marker.importing.words import LANGUAGES, Language
from marker.units import NotALength, parse_length

WIDEST = 200.0
"""Millimetres of an allowance (as in pattern files)."""
SAME = 0.08
"""Share by which two measures of one allowance may differ: 5/8 in is told as 1.5 cm, 6 % less."""
_LENGTH = re.compile(
    r"(?<![\d.,/])(?:\d+[ -])?\d+(?:[.,/⁄]\d+)?\s*[½¼¾⅛⅜⅝⅞]?[\s-]*(?:mm|cm|inch(?:es)?|in\b\.?|''|[\"″”])|"
    r"[½¼¾⅛⅜⅝⅞]\s*(?:inch(?:es)?|in\b\.?|''|[\"″”])",
    re.IGNORECASE,
)
_WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*|\d+|[^\s\w]")
_SIGNS = frozenset("():;,.=[]/|~≈-–—")


@dataclass(frozen=True)
class Allowance:
    """``value`` is text of a pattern file: a length, "included", "included 15 mm", or a blank that quotes
    the drawing. ``note`` is a plain sentence, "" if there is nothing to tell."""

    value: str
    note: str = ""


def read_allowance(text: str) -> Allowance | None:
    """What a phrase says about seam allowances, None if it speaks of something else."""
    return next((found for language in LANGUAGES if (found := _read(text, language)) is not None), None)


def speaks_of_it(text: str) -> bool:
    """Whether a phrase names seam allowances at all."""
    return any(_named(language).search(text) for language in LANGUAGES)


def _named(language: Language) -> re.Pattern[str]:
    names = "|".join(re.escape(name) for name in language.allowance)
    return re.compile(rf"(?<!\w)(?:{names})(?!\w)", re.IGNORECASE)


def _read(text: str, language: Language) -> Allowance | None:
    named = _named(language)
    if not named.search(text):
        return None
    bare = named.sub(" ", text)
    # "1/2-inch" is 1/2 inch.
    lengths = [re.sub(r"-(?=[a-z])", " ", match[0].strip(), flags=re.I) for match in _LENGTH.finditer(bare)]
    words = {word.casefold() for word in _WORD.findall(_LENGTH.sub(" ", bare))}
    words -= _SIGNS | language.filling
    included, added, without = (
        words & said for said in (language.included, language.added, language.without)
    )
    measure = _one(lengths)
    if words - included - added - without or (lengths and measure is None):
        return _asked(text)
    if without:
        return Allowance(measure) if measure and added else _asked(text)
    if included and added:
        return _asked(text)
    if included:
        return Allowance(f"included {measure}" if measure else "included")
    if measure is None:
        # "Seam allowance" alone names a line.
        return _asked(text) if added else None
    if added or named.match(text.strip()):
        return Allowance(measure)
    return Allowance(
        measure,
        f'"{_quoted(text)}" is taken for an allowance to add outside the outline; if the outline is the '
        f'cutting line already, write seam_allowance = "included {measure}".',
    )


def _one(lengths: list[str]) -> str | None:
    """The first of the lengths, if all of them are one allowance in several units."""
    try:
        sizes = [parse_length(length) for length in lengths]
    except NotALength:
        return None
    if not sizes or max(sizes) > (1 + SAME) * min(sizes) or not 0 < max(sizes) <= WIDEST:
        return None
    return " ".join(lengths[0].split())


def _asked(text: str) -> Allowance:
    quoted = _quoted(text)
    return Allowance(
        blank(
            'a length to add all round, like 15 mm, or "included" if the outline is the cutting line; '
            f'the drawing says "{quoted}"'
        ),
        f'Careful: "{quoted}" does not say for certain what to add, so the seam allowance is left blank.',
    )


def _quoted(text: str) -> str:
    return " ".join(text.split())[:100]
