"""From a phrase on a piece to its cuts: ``cut 2 of fabric, 1 of lining``, ``cut one pair``, ``2x on fold``.

A phrase is read as a whole or not at all: what is not understood to its last word is asked about.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from marker.importing.found import FoundCut
from marker.importing.words import LANGUAGES, How, Language

MOST_COPIES = 1000
"""Copies of one cut (as in pattern files)."""
_TOKEN = re.compile(r"\d+(?:[.,]\d+|/\d+)?|[^\W\d_]+(?:['’-][^\W\d_]+)*|[^\s\w]|_")
_UNITS = {
    "mm", "cm", "m", "in", "inch", "inches", "ft", "feet", "yd", "yds", "yard", "yards", '"', "″",
    "”", "'", "′", "’", "%", "degrees", "°",
}  # fmt: skip


@dataclass(frozen=True)
class Reading:
    """What a phrase about cutting says.

    ``cuts`` None: nothing that can be relied on; then ``asks`` tells whether it speaks of copies after all.
    ``before`` is what stands in front of it, like the name of the piece. ``notes`` are plain sentences.
    """

    cuts: tuple[FoundCut, ...] | None = None
    asks: bool = False
    before: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Token:
    text: str
    start: int
    end: int

    @property
    def low(self) -> str:
        return self.text.casefold()


@dataclass(frozen=True)
class _Part:
    """One entry of a list, before counterparts are put together."""

    count: int
    material: str | None = None
    how: How | None = None
    region: str | None = None
    called: str = ""
    """What the drawing calls the material."""


class _Unclear(Exception):
    """The phrase goes on in words that are not understood."""


def read_cuts(text: str) -> Reading | None:
    """What a phrase says about cutting, None if it speaks of something else."""
    readings = [reading for language in LANGUAGES if (reading := _read(text, language)) is not None]
    return min(readings, key=lambda reading: (reading.cuts is None, not reading.asks), default=None)


def _read(text: str, language: Language) -> Reading | None:
    tokens = [_Token(match[0], match.start(), match.end()) for match in _TOKEN.finditer(text)]
    while tokens and tokens[-1].text in ".;,:!":
        tokens.pop()
    verb = next((i for i, token in enumerate(tokens) if token.low in language.cut), None)
    if verb is None:
        parts = _parsed(text, tokens, language)
        sure = (
            (len(parts or ()) > 1 and all(part.material for part in parts or ()))
            or any(token.low in language.pair | language.pairs for token in tokens)
            or any(token.low in language.times for token in tokens[:2])
            or any(token.text == ":" for token in tokens)
        )
        sure = sure and all(_is_known(part, language) for part in parts or ())
        return _told(text, parts, "") if parts is not None and sure else None
    head, body = tokens[:verb], tokens[verb:]
    if any(token.low in language.not_cut for token in head):
        return Reading()
    # "Fabric: cut 2" says the material first.
    parts = _parsed(text, tokens, language) if head else None
    if parts is not None:
        return _told(text, parts, "")
    parts = _parsed(text, body, language)
    parted = not head or head[-1].text in tuple("-–—:,.(|/;")
    if parts is not None and parted:
        return _told(text, parts, text[: head[-1].start].strip(" -–—:,.(|/;") if head else "")
    return Reading(asks=parts is not None or _counts(body, language))


def _is_known(part: _Part, language: Language) -> bool:
    """Whether a part names no cloth or a known one: without "cut" other words could be anything."""
    return part.material is None or part.material.split(" ")[0] in language.materials.values()


def _counts(body: list[_Token], language: Language) -> bool:
    """Whether a number of copies, a pair or a fold follows the verb, and no measure."""
    rest = [token for token in body[1:] if token.low not in language.times and token.text not in ":=-–—"]
    if not rest:
        return False
    first = rest[0]
    if first.low in language.numbers or re.fullmatch(r"\d+", first.text):
        # "Cut 2 in from the edge" measures; "cut 2 in fabric and lining" counts.
        cloth = any(token.low in language.materials for token in rest)
        return len(rest) < 2 or rest[1].low not in _UNITS or (rest[1].low == "in" and cloth)
    words = " ".join(token.low for token in rest if token.low not in language.articles)
    return any(re.match(rf"{re.escape(how)}\b", words) for how in language.hows) or any(
        token.low in language.pair | language.pairs for token in rest[:2]
    )


def _told(text: str, parts: list[_Part], before: str) -> Reading:
    quoted = " ".join(text.split())
    cuts = tuple(
        FoundCut(
            part.material,
            part.count,
            part.how if part.how in ("mirrored", "alike", "on fold") else None,
            part.region,
            None if part.material else quoted,
        )
        for part in parts
    )
    notes = dict.fromkeys(
        f'"{part.called}" in "{quoted}" is taken for {part.material}.'
        for part in parts
        if part.material and part.called not in (part.material, f"{part.material}s")
    )
    return Reading(cuts, before=before, notes=tuple(notes))


def _parsed(text: str, tokens: list[_Token], language: Language) -> list[_Part] | None:
    """The entries of the list that all of the tokens make; None if they make none."""
    try:
        return _together(_Parser(text, tokens, language).entries())
    except _Unclear:
        return None


class _Parser:
    def __init__(self, text: str, tokens: list[_Token], language: Language) -> None:
        self.text = text
        self.tokens = tokens
        self.language = language
        self.at = 0

    def low(self, ahead: int = 0) -> str:
        return self.tokens[self.at + ahead].low if self.at + ahead < len(self.tokens) else ""

    def take(self, words: frozenset[str]) -> bool:
        if self.low() and self.low() in words:
            self.at += 1
            return True
        return False

    def entries(self) -> list[_Part]:
        parts = self.entry()
        while self.at < len(self.tokens):
            # "Cut 1, on fold" goes on with the one entry there is.
            begin, comma = self.at, self.low() == ","
            parted = self.take(self.language.between)
            while self.take(self.language.between):
                pass
            if comma and len(parts) == 1 and not self.count_ahead():
                try:
                    parts = [self.said(parts[0])]
                    continue
                except _Unclear:
                    self.at = begin + 1
            # Without a sign between them only a count or "cut" tells that another entry begins.
            if not parted and (parts[-1].material is None or not (self.count_ahead() or self.verb_ahead())):
                raise _Unclear
            parts += self.entry()
        return parts

    def verb_ahead(self) -> bool:
        return self.low() in self.language.cut

    def count_ahead(self) -> bool:
        return self.low() in self.language.numbers or bool(re.fullmatch(r"\d+", self.low()))

    def entry(self) -> list[_Part]:
        """``cut 2 of fabric on fold``, or ``fabric: 2``; several for ``2 each of fabric and lining``."""
        language = self.language
        first, called = self.known()
        if first:
            marked = False
            while self.low() in (":", "=", "-", "–", "—") or self.verb_ahead():
                self.at += 1
                marked = True
            if not marked:
                raise _Unclear
        while self.verb_ahead() or self.low() in (":", "="):
            self.at += 1
        self.take(language.times)
        part = _Part(self.count(), first, called=called)
        self.take(language.times)
        each = self.take(language.each)
        self.take(language.copies)
        if self.take(language.pair | language.pairs):
            part = replace(part, count=2 * part.count, how="mirrored")
            self.take(language.copies)
        each = self.take(language.each) or each
        if each:
            return self.shared(part)
        while self.at < len(self.tokens) and self.low() not in language.between:
            if part.material is not None and (self.count_ahead() or self.verb_ahead()):
                break
            part = part if self.take(language.idle) else self.said(part)
        return [part]

    def shared(self, part: _Part) -> list[_Part]:
        """The materials that each get so many copies."""
        found: list[_Part] = []
        while True:
            while self.low() in self.language.links or self.low() in self.language.each:
                self.at += 1
            material, called = self.known()
            if not material:
                raise _Unclear
            found.append(replace(part, material=material, called=called))
            if self.at >= len(self.tokens):
                break
            if not self.take(self.language.between):
                raise _Unclear
            while self.take(self.language.between):
                pass
            if self.count_ahead() or self.verb_ahead():
                raise _Unclear
        if len(found) < 2:
            raise _Unclear
        return found

    def count(self) -> int:
        self.take(self.language.articles if self.low(1) in self.language.pair else frozenset())
        if self.low() in self.language.pair:
            return 1
        word = self.low()
        if not self.count_ahead():
            raise _Unclear
        number = self.language.numbers.get(word) or int(word[:6])
        if not 1 <= number <= MOST_COPIES or len(word) > 5:
            raise _Unclear
        self.at += 1
        return number

    def said(self, part: _Part) -> _Part:
        """The part with what the next words say of it. Raises _Unclear if they say nothing known."""
        how = self.how()
        if how is not None:
            if part.how not in (None, how):
                raise _Unclear
            return replace(part, how=how)
        if self.low() == "(":
            return self.bracket(part)
        if part.region is None and self.take(self.language.region):
            return replace(part, region=self.region())
        if part.material is None:
            link = self.link()
            begin = self.at
            material, called = self.known()
            if link in self.language.named_links and (not material or self.goes_on()):
                # "Of cotton drill" names more than cotton.
                self.at = begin
                material, called = self.free()
            if material:
                return replace(part, material=material, called=called)
        raise _Unclear

    def bracket(self, part: _Part) -> _Part:
        """``(1 pair)`` behind a count that says the same; ``(interfacing)``, ``(on fold)``."""
        self.at += 1
        inner = part
        if self.count_ahead() or self.low() in self.language.pair:
            count = self.count()
            if not self.take(self.language.pair | self.language.pairs) or 2 * count != part.count:
                raise _Unclear
            inner = replace(part, how="mirrored")
        else:
            inner = self.said(part)
        if self.low() != ")":
            raise _Unclear
        self.at += 1
        return inner

    def words_from(self, at: int, most: int) -> list[str]:
        found: list[str] = []
        while at < len(self.tokens) and len(found) < most:
            low = self.tokens[at].low
            if not re.match(r"[^\W\d_]", low):
                break
            found.append(low)
            at += 1
        return found

    def how(self) -> How | None:
        """The longest way of cutting that stands here, articles passed over."""
        skipped: list[tuple[str, int]] = []
        for i, token in enumerate(self.tokens[self.at : self.at + 5]):
            if token.low not in self.language.articles:
                skipped.append((token.low, i + 1))
        for length in range(min(3, len(skipped)), 0, -1):
            words = " ".join(word for word, _ in skipped[:length])
            if words in self.language.hows:
                self.at += skipped[length - 1][1]
                return self.language.hows[words]
        return None

    def link(self) -> str:
        """The link that stands here, and an article after it passed over; "" for none."""
        for length in (2, 1):
            words = " ".join(token.low for token in self.tokens[self.at : self.at + length])
            if words in self.language.links:
                self.at += length
                self.take(self.language.articles)
                return words
        return ""

    def known(self) -> tuple[str | None, str]:
        """The known cloth whose name stands here, and what the drawing calls it; a letter or number may
        tell several of a kind apart."""
        words = self.words_from(self.at, 3)
        for length in range(len(words), 0, -1):
            name = self.language.materials.get(" ".join(words[:length]))
            if name is None:
                continue
            end = self.at + length
            self.at = end
            if self.told_apart():
                mark = self.tokens[end].text.upper()
                self.at = end + 1
                return f"{name} {mark}", f"{name} {mark}"
            return name, " ".join(words[:length])
        return None, ""

    def told_apart(self) -> bool:
        """Whether a letter or number stands here alone, as in "fabric A"."""
        mark = self.low()
        if not re.fullmatch(r"[a-z]|\d", mark) or mark in self.language.times:
            return False
        after = self.low(1)
        self.at += 1
        alone = after in ("", ":", "=", "(", ")") or after in self.language.between or self.how_ahead()
        self.at -= 1
        return alone

    def goes_on(self) -> bool:
        """Whether a word stands here that could be part of a name."""
        language = self.language
        known = {*language.between, *language.region, *language.idle, *language.cut, *language.numbers}
        return bool(self.words_from(self.at, 1)) and self.low() not in known and not self.how_ahead()

    def free(self) -> tuple[str | None, str]:
        """A name of somebody's own, one to three words, which only a link before it makes a material."""
        language = self.language
        begin = self.at
        taken = {*language.pair, *language.pairs, *language.copies, *language.numbers, *language.cut}
        while self.at < len(self.tokens) and self.at - begin < 4:
            low = self.low()
            if low in language.between or low in language.region or low in "(" or self.how_ahead():
                break
            if low in taken | language.no_material | _UNITS | language.links or not re.match(
                r"[^\W\d_]", low
            ):
                raise _Unclear
            self.at += 1
        if not 1 <= self.at - begin <= 3:
            raise _Unclear
        words = self.text[self.tokens[begin].start : self.tokens[self.at - 1].end]
        name = " ".join(words.split())
        name = name.lower() if name.isupper() else name
        return name, name

    def how_ahead(self) -> bool:
        at = self.at
        found = self.how() is not None
        self.at = at
        return found

    def region(self) -> str:
        begin = self.at
        while self.at < len(self.tokens) and self.low() not in self.language.between and not self.how_ahead():
            self.at += 1
        if self.at == begin:
            raise _Unclear
        return " ".join(self.text[self.tokens[begin].start : self.tokens[self.at - 1].end].split())


def _together(parts: list[_Part]) -> list[_Part]:
    """Counterparts as pairs: one and one reversed, left and right. Raises _Unclear for one alone."""
    found: list[_Part] = []
    for part in parts:
        last = found[-1] if found else None
        if last is not None and _counterparts(last, part):
            found[-1] = replace(
                last,
                count=2 * last.count,
                how="mirrored",
                material=part.material or last.material,
                called=part.called or last.called,
            )
        else:
            found.append(part)
    for part in found:
        lone = part.how in ("reversed", "left", "right")
        if lone or (part.how == "mirrored" and part.count % 2) or part.count > MOST_COPIES:
            raise _Unclear
    return found


def _counterparts(one: _Part, other: _Part) -> bool:
    hands = (one.how, other.how)
    if hands not in ((None, "reversed"), (None, "mirrored"), ("left", "right"), ("right", "left")):
        return False
    if hands == (None, "mirrored") and other.count % 2 == 0:
        return False
    same = one.material == other.material or one.material is None or other.material is None
    return one.count == other.count and same and one.region == other.region
