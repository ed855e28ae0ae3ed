"""The words by which drawings say what is what; the convention is told in ``marker/importing/svg.py``."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any, Literal

from marker.importing.found import FoundCut, How
from marker.importing.squares import stated
from marker.units import NotALength, parse_length

Kind = Literal["outline", "grain", "fold", "notch", "drill", "line", "region", "test square", "ignore"]

_KINDS: dict[str, Kind] = {
    "outline": "outline",
    "grain": "grain",
    "grain line": "grain",
    "grainline": "grain",
    "fold": "fold",
    "fold line": "fold",
    "fold edge": "fold",
    "notch": "notch",
    "notches": "notch",
    "drill": "drill",
    "drills": "drill",
    "line": "line",
    "lines": "line",
    "ignore": "ignore",
}
_AUTOMATIC = re.compile(
    r"(?:path|rect|circle|ellipse|polygon|polyline|line|text|tspan|g|group|layer|svg|use|shape|object|image|"
    r"curve|compound|clip|page)?[-_ ]*\d*(?:[-_ ]\d+)*",
    re.IGNORECASE,
)
_CUT = re.compile(r"cut\s+(\d{1,4})(?:\s+of\b|\s+from\b|\s*[x×](?=\s))?\s*(.*)", re.IGNORECASE)
_HOW = re.compile(r"[,\s]*\b(mirrored|alike|on (?:the )?fold)$", re.IGNORECASE)
_REGION = re.compile(r"[,\s]*\bregion\s+(.+)$", re.IGNORECASE)
_SQUARE = re.compile(r"(?:test\s+square\b[\s:=,-]*(.*))|(?:(.*?)[\s-]*test\s+square)", re.IGNORECASE)


@dataclass(frozen=True)
class Said:
    """What the words of one object, group or text say; None and () where they say nothing.

    ``kind_name`` is the name of a notch or region, or the length of a test square as written. ``name`` are
    words that are no phrase of the convention.
    """

    kind: Kind | None = None
    kind_name: str | None = None
    name: str | None = None
    number: str | None = None
    size: str | None = None
    cuts: tuple[FoundCut, ...] = ()
    guide: bool = False
    allowance: str | None = None
    pattern: str | None = None
    wrong: tuple[str, ...] = ()
    """Phrases that begin like one of the convention and then cannot be read."""


def read_words(words: str, is_id: bool = False) -> Said:
    """What ``words`` say: phrases divided by ``;`` or line breaks. Ids have their own habits (see there)."""
    if is_id:
        if _AUTOMATIC.fullmatch(words):
            bare = re.sub(r"[-_ \d]+$", "", words).lower()
            kept = bare if bare == "line" and re.fullmatch(r"line[-_ ]\d+|line", words) else ""
            # "line-2" is a line on purpose; "line12" is what programs call any of theirs.
            return Said(kind="line") if kept else Said()
        words = re.sub(r"[-_]+", " ", words)
    said = Said()
    for phrase in re.split(r"[;\n\r]+", words):
        text = " ".join(phrase.split())[:200]
        if text:
            said = _with(said, text, is_id)
    return said


def _with(said: Said, text: str, is_id: bool) -> Said:
    lower = text.casefold()
    bare = re.sub(r" \d+$", "", lower) if is_id else lower
    if bare in _KINDS and not (bare.startswith("notch") and bare != lower):
        return replace(said, kind=_KINDS[bare])
    for word in ("notch", "region"):
        if lower.startswith(f"{word} "):
            name = text[len(word) :].strip()
            if is_id and word == "notch":
                name = re.sub(r"(?<=\D) \d+$", "", name)
            return replace(said, kind=word, kind_name=name)
    square = _SQUARE.fullmatch(text)
    if square:
        return _with_square(said, square[1] or square[2] or "")
    if lower == "guide":
        return replace(said, guide=True)
    cut = _CUT.fullmatch(text)
    if cut:
        found = _cut(int(cut[1]), cut[2])
        return replace(said, cuts=(*said.cuts, found)) if found else _wrong(said, text)
    if lower.startswith("cut "):
        return _wrong(said, text)
    allowance = re.fullmatch(r"seam allowances?\b[\s:=]*(.*)", text, re.IGNORECASE)
    if allowance:
        return _with_allowance(said, text, allowance[1].strip())
    for word in ("number", "size", "pattern", "name"):
        value = re.fullmatch(rf"{word}\s*[:=]?\s+(.+)", text, re.IGNORECASE)
        if value:
            told: dict[str, Any] = {word: value[1].strip()}
            return replace(said, **told)
    return said if said.name else replace(said, name=text)


def _with_square(said: Said, words: str) -> Said:
    return replace(said, kind="test square", kind_name=words if stated(words) else "100 mm / 4 in")


def _with_allowance(said: Said, text: str, value: str) -> Said:
    if value.casefold() in ("included", "is included"):
        return replace(said, allowance="included")
    try:
        parse_length(value)
    except NotALength:
        return _wrong(said, text)
    if not re.search(r"[^\d.,/ ]", value):
        # A bare number counts in whatever the pattern file is written in, which nobody has said.
        return _wrong(said, text)
    return replace(said, allowance=value)


def _wrong(said: Said, text: str) -> Said:
    return replace(said, wrong=(*said.wrong, text))


def _cut(count: int, rest: str) -> FoundCut | None:
    """``fabric on fold``, ``interfacing region edge alike``, or nothing."""
    if not 1 <= count <= 1000:
        return None
    how: How | None = None
    region = None
    rest = rest.strip(" ,")
    for _ in range(2):
        found = _HOW.search(f" {rest}")
        if found and how is None:
            word = found[1].casefold()
            how = "mirrored" if word == "mirrored" else "alike" if word == "alike" else "on fold"
            rest = f" {rest}"[: found.start()].strip(" ,")
        part = _REGION.search(f" {rest}")
        if part and region is None:
            region = part[1].strip()
            rest = f" {rest}"[: part.start()].strip(" ,")
    return FoundCut(rest or None, count, how, region)
