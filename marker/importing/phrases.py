"""The words by which drawings say what is what; the convention is told in ``marker/importing/svg.py``."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Literal

from marker.importing.allowance import read_allowance, speaks_of_it
from marker.importing.cuts import read_cuts
from marker.importing.found import FoundCut
from marker.importing.squares import stated
from marker.importing.words import LANGUAGES, is_automatic

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
_SQUARE = re.compile(r"(?:test\s+square\b[\s:=,-]*(.*))|(?:(.*?)[\s-]*test\s+square)", re.IGNORECASE)


@dataclass(frozen=True)
class Said:
    """What the words of one object, group or text say; None and () where they say nothing.

    ``kind_name`` is the name of a notch or region, or the length of a test square as written. ``name`` are
    words that are no phrase of the convention; ``by_id`` if only an id says them. ``asked`` is a phrase about
    copies that nobody can be sure of. ``allowance`` is text of a pattern file, or a blank.
    """

    kind: Kind | None = None
    kind_name: str | None = None
    name: str | None = None
    by_id: bool = False
    number: str | None = None
    size: str | None = None
    cuts: tuple[FoundCut, ...] = ()
    asked: str | None = None
    guide: bool = False
    allowance: str | None = None
    pattern: str | None = None
    stray: tuple[str, ...] = ()
    """Phrases that were taken for nothing."""
    notes: tuple[str, ...] = ()
    """How phrases were read, where that is not plain: sentences for the person who imports."""


def read_words(words: str, is_id: bool = False) -> Said:
    """What ``words`` say: phrases divided by ``;`` or line breaks. Ids have their own habits (see there)."""
    if is_id:
        if is_automatic(words, is_id=True):
            # "line-2" is a line on purpose; "line12" is what programs call any of theirs.
            return Said(kind="line") if re.fullmatch(r"line(?:[-_ ]\d+)*", words.lower()) else Said()
        words = re.sub(r"[-_]+", " ", words)
    said = Said()
    for text in _phrases(words):
        said = _with(said, text, is_id)
    return said


def _phrases(words: str) -> list[str]:
    """The phrases in order; a line that goes on with what the line before says of cuts belongs to it."""
    found: list[str] = []
    for phrase in re.split(r";+", words):
        lines = [text for line in re.split(r"[\n\r]+", phrase) if (text := " ".join(line.split())[:200])]
        for i, line in enumerate(lines):
            if i and _goes_on(found[-1], line):
                found[-1] = f"{found[-1]} {line}"
            else:
                found.append(line)
    return found


def _goes_on(text: str, line: str) -> bool:
    before, joined = read_cuts(text), read_cuts(f"{text} {line}")
    if before is None or joined is None or joined.cuts is None:
        return False
    alone = read_cuts(line)
    return alone is None or alone.cuts is None


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
    if speaks_of_it(text):
        return _with_allowance(said, text, is_id)
    cutting = read_cuts(text)
    if cutting is not None:
        for before in re.split(r"\s*[,.:]\s+|\s+[-–—|]\s+", cutting.before):
            said = _with(said, before, is_id) if before else said
        if cutting.cuts is not None:
            return replace(said, cuts=(*said.cuts, *cutting.cuts), notes=(*said.notes, *cutting.notes))
        if not cutting.asks:
            return replace(said, stray=(*said.stray, text))
        note = f'Careful: "{text}" does not say for certain what to cut, so that is left blank.'
        return replace(said, asked=said.asked or text, notes=(*said.notes, note))
    for word in ("number", "size", "pattern", "name"):
        value = re.fullmatch(rf"{word}\s*[:=]?\s+(.+)", text, re.IGNORECASE)
        if value:
            told: dict[str, Any] = {word: value[1].strip()}
            return replace(said, **told, by_id=said.by_id and word != "name")
    if said.name or is_instruction(text):
        return replace(said, stray=(*said.stray, text))
    return replace(said, name=text, by_id=is_id)


def is_instruction(text: str) -> bool:
    """Whether the words say what to do rather than what something is called."""
    found = re.findall(r"[^\W\d_]+(?:-[^\W\d_]+)*", text.casefold())
    for language in LANGUAGES:
        words = [word for word in found if word not in language.articles]
        pairs = {" ".join(pair) for pair in pairwise(words)}
        if language.instructions & set(words) or pairs & set(language.hows):
            return True
    return False


def _with_square(said: Said, words: str) -> Said:
    return replace(said, kind="test square", kind_name=words if stated(words) else "100 mm / 4 in")


def _with_allowance(said: Said, text: str, is_id: bool) -> Said:
    """The phrase as a whole, or clause by clause if one of them is about cutting."""
    clauses = [clause for clause in re.split(r"\s*[,.]\s+|\s+[-–—|]\s+", text) if clause.strip()]
    others = ", ".join(clause for clause in clauses if not speaks_of_it(clause))
    if others and len(clauses) > 1 and read_cuts(others) is not None:
        for clause in (others, ", ".join(clause for clause in clauses if speaks_of_it(clause))):
            said = _with(said, clause, is_id)
        return said
    found = read_allowance(text)
    if found is None:
        return replace(said, stray=(*said.stray, text))
    notes = (*said.notes, found.note) if found.note else said.notes
    return replace(said, allowance=said.allowance or found.value, notes=notes)


def united(texts: Iterable[Said]) -> tuple[FoundCut, ...] | None:
    """The cuts that several texts tell; the same text drawn twice tells them once."""
    each = dict.fromkeys(said.cuts for said in texts)
    return tuple(cut for cuts in each for cut in cuts) or None


def name_of(objects: Sequence[Said], texts: Sequence[Said]) -> str | None:
    """What people called a piece by a title or label, by text on it, or else by an id."""
    titles = [said.name for said in objects if said.name and not said.by_id]
    written = [said.name for said in texts if said.name]
    # "CF" or "12" beside a name is hardly the name.
    wordy = [name for name in written if re.search(r"[^\W\d_]{3}", name)]
    ids = [said.name for said in objects if said.name and said.by_id]
    return next(iter([*titles, *wordy, *ids, *written]), None)


def quoted(words: Sequence[str]) -> str:
    """Phrases for a note, the first few of many."""
    more = f" and {len(words) - 5} more" if len(words) > 5 else ""
    return ", ".join(f'"{word[:60]}"' for word in words[:5]) + more
