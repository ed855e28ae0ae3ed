"""The slips that people make who write TOML for the first time, and how to put them right.

A slip is found by mending it: each mend below is tried on the line at fault, and the one after which the
file can be read further is what the writer meant. So no advice is given that would not have helped.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain, islice

MANY = frozenset({"piece", "notion", "match", "remnant"})
"""Last words of tables that stand in a file any number of times, with double brackets."""
SHOWN = 70
"""Characters of a line that are quoted at most."""
LONGEST = 2_000
"""A line longer than this many characters is not looked at for slips."""
_KEY = r"[\w.-]+"
_CURLY = dict.fromkeys(map(ord, "\u201c\u201d\u201e\u201f\u00ab\u00bb\u2033"), '"')
_CURLY |= dict.fromkeys(map(ord, "\u2018\u2019\u201a\u201b\u2032"), "'")
_SPACES = dict.fromkeys(map(ord, "\u00a0\u2007\u202f\u200b\u2060\ufeff\u3000"), " ")

COLON = "between a name and its value stands =, not a colon"

Mend = tuple[str, str]
"""A line as it should be, and in words what was wrong with it."""


@dataclass(frozen=True)
class Slip:
    """Line number (from 1), that line, and what is wrong with it and what to do, in words."""

    line: int
    text: str
    words: str


def slip(text: str) -> Slip | None:
    """What the writer of a text that is no TOML most likely did wrong; None if that cannot be told."""
    lines = text.split("\n")
    at = _fault(lines)
    if at is None:
        return None
    found = _empty(lines, at) or _on_several_lines(lines, at)
    for number in _suspects(lines, at):
        found = found or _mended(lines, number, at)
    return found or _twice(lines, at)


def shown(line: str) -> str:
    """A line to quote in a sentence: without its margins, and not too long."""
    line = " ".join(line.split())
    return line if len(line) <= SHOWN else line[: SHOWN - 1].rstrip() + "…"


def _fault(lines: list[str]) -> int | None:
    """Index of the first line that cannot be read, ``len(lines)`` if only the end is wrong, None if none."""
    try:
        tomllib.loads("\n".join(lines))
    except (ValueError, RecursionError) as error:
        told = re.search(r"\(at line (\d+), column", str(error))
        return int(told[1]) - 1 if told else len(lines)
    return None


def _suspects(lines: list[str], at: int) -> Iterator[int]:
    """The line at fault; the one before it that says something, where a list may be left open; and where
    only the end is wrong, a few lines with a quote that has no other."""
    if at < len(lines):
        yield at
    yield from islice(
        (n for n in range(min(at, len(lines)) - 1, -1, -1) if lines[n].split("#")[0].strip()), 1
    )
    if at == len(lines):
        odd = (n for n, line in enumerate(lines) if line.count("'") % 2 or line.count('"') % 2)
        yield from islice(odd, 5)


def _mended(lines: list[str], number: int, at: int) -> Slip | None:
    """The mend of a line, or two of them, after which the file can be read further than line ``at``."""
    line = lines[number]
    if len(line) > LONGEST:
        return None

    def helps(mended: str) -> bool:
        after = _fault([*lines[:number], mended, *lines[number + 1 :]])
        return after is None or after > at

    once = [mend for mend in _mends(line) if mend[0] != line]
    for mended, words in once:
        if helps(mended):
            return _slip(number, line, mended, words)
    for first, words in once:
        for mended, more in _mends(first):
            if mended not in (first, line) and helps(mended):
                return _slip(number, line, mended, words if more == words else f"{words}, and {more}")
    return None


def _slip(number: int, line: str, mended: str, words: str) -> Slip:
    return Slip(number + 1, shown(line), f"{words}; write: {shown(mended)}")


def _mends(line: str) -> Iterator[Mend]:
    return chain.from_iterable(mend(line) for mend in _MENDS)


def _replaced(
    pattern: str, new: str | Callable[[re.Match[str]], str], words: str
) -> Callable[..., Iterator[Mend]]:
    """The mend that puts ``new`` for every place of a pattern; ``words`` may name its groups as re does."""

    def mend(line: str) -> Iterator[Mend]:
        found = re.search(pattern, line)
        if found:
            yield re.sub(pattern, new, line), found.expand(words)

    return mend


def _straight_quotes(line: str) -> Iterator[Mend]:
    yield line.translate(_CURLY), "quotes must be the straight ones of the keyboard"


def _plain_spaces(line: str) -> Iterator[Mend]:
    yield line.translate(_SPACES), "there is a special space in it that cannot be seen"


def _spelt_key(line: str) -> Iterator[Mend]:
    found = re.match(r"\s*(\w+(?:[ -]\w+)+)\s*=", line)
    if found:
        name = re.sub(r"[ -]", "_", found[1])
        yield line.replace(found[1], name, 1), "a name is one word"


def _quoted_table(line: str) -> Iterator[Mend]:
    found = re.match(r"(\s*\[+)([^\[\]\"'#]+)(\].*)$", line)
    if found:
        parts = [part.strip() for part in found[2].split(".")]
        name = ".".join(part if re.fullmatch(r"[A-Za-z0-9_-]+", part) else f'"{part}"' for part in parts)
        words = "a name of more than letters, digits, - and _ goes in quotes"
        yield found[1] + name + found[3], words


def _truth(line: str) -> Iterator[Mend]:
    found = re.search(r"=\s*(true|false|yes|no)\b", line, re.IGNORECASE)
    if found:
        word = "true" if found[1].lower() in ("true", "yes") else "false"
        yield (
            line[: found.start(1)] + word + line[found.end(1) :],
            "yes and no are true and false, in small letters",
        )


def _quoted_value(line: str) -> Iterator[Mend]:
    """Quotes round the value of a line, or round those in { }."""
    words = "what is not a bare number, true or false goes in quotes"
    whole = re.match(rf"(\s*{_KEY}\s*=\s*)([^\"'\[{{#\s][^#]*?)(\s*(?:#.*)?)$", line)
    if whole and ('"' not in whole[2] or whole[2][0].isdigit()):
        yield f'{whole[1]}"{_inches(whole[2])}"{whole[3]}', words

    def one(found: re.Match[str]) -> str:
        bare = re.fullmatch(r"[-+]?\d+(\.\d+)?|true|false", found[2])
        return found[0] if bare else f'{found[1]}"{_inches(found[2])}"'

    if "{" in line:
        yield re.sub(rf"({_KEY}\s*=\s*)([^\"'\[{{,}}\]\s][^,}}\]]*?)(?=\s*[,}}\]])", one, line), words
    listed = re.match(rf"(\s*{_KEY}\s*=\s*\[)([^\[\]{{}}\"']+)(\].*)$", line)
    if listed:
        inside = ", ".join(f'"{each.strip()}"' for each in listed[2].split(",") if each.strip())
        yield f"{listed[1]}{inside}{listed[3]}", words


def _inches(value: str) -> str:
    return value.strip().replace('"', " in").replace("\\", "/")


def _closed_text(line: str) -> Iterator[Mend]:
    for quote in ('"', "'"):
        if line.count(quote) % 2 == 1:
            body, tail = re.fullmatch(r"(.*?)([\s,\]}]*(?:\s#[^\"']*)?)", line, re.DOTALL).groups()  # type: ignore[union-attr]
            yield f"{body}{quote}{tail}", "a quote is missing at the end of a text"
            yield f"{line.rstrip()}{quote}", "a quote is missing at the end of a text"
            opened = re.sub(r"([=\[,]\s*)(?=[^\"'\s\[{=,])", rf"\g<1>{quote}", line, count=1)
            yield opened, "a quote is missing at the beginning of a text"


def _closed_brackets(line: str) -> Iterator[Mend]:
    head = re.match(rf"\s*\[*\s*({_KEY}(?:\s*\.\s*{_KEY})*)\s*\]*\s*(#.*)?$", line)
    if head and ("[" in line or "]" in line):
        name = head[1]
        many = name.split(".")[-1].strip() in MANY
        for table in (f"[[{name}]]", f"[{name}]") if many else (f"[{name}]", f"[[{name}]]"):
            yield table, "the brackets round the name of a table come in pairs"
    for opening, closing in ("[]", "{}"):
        missing = line.count(opening) - line.count(closing)
        if 0 < missing <= 3:
            words = f"a bracket {opening} is not closed with {closing}"
            yield line.rstrip() + closing * missing, words
            yield line.rstrip().rstrip(",") + closing * missing + ",", words
            for place in range(len(line) - 1, 0, -1):
                if line[place] in "]}" and line[place] != closing:
                    yield line[:place] + closing * missing + line[place:], words


_MENDS: tuple[Callable[[str], Iterator[Mend]], ...] = (
    _straight_quotes,
    _plain_spaces,
    _replaced(r"^\s*(?://|--|;|%|\*)", "#", "a remark begins with #"),
    _replaced(r"\s(?://|--|;).*$", lambda found: " # " + found[0].strip(" /;-"), "a remark begins with #"),
    _replaced(r"[;]\s*$", "", "no line ends with a semicolon"),
    _replaced(rf"^(\s*{_KEY}\s*=[^\[{{]*),\s*$", r"\1", "no comma ends a line outside of brackets"),
    _replaced(rf"^(\s*{_KEY})\s*:\s*", r"\1 = ", COLON),
    _replaced(rf"({_KEY})\s*:\s*(?=[\w\"'\[{{])", r"\1 = ", COLON),
    _replaced(rf"^(\s*{_KEY})\s*==+\s*", r"\1 = ", "one = is enough"),
    _spelt_key,
    _quoted_table,
    _replaced(rf"^(\s*{_KEY})\s+(?=[\"'\[{{\d])", r"\1 = ", "there is no = between the name and its value"),
    _truth,
    _replaced(
        r"=\s*(-?\d+),(\d+)\s*(?=$|#)", r"= \1.\2", "a bare number has a point for its decimals, not a comma"
    ),
    _replaced(r"(?<![\w.])\.(?=\d)", "0.", "a number does not begin with its point"),
    _replaced(r"(?<=\d)\.(?=\s*(?:[,\]}#]|$))", ".0", "a number does not end with its point"),
    _replaced(r"(?<![\w.])\+?0+(?=[1-9])", "", "a number does not begin with a nought"),
    _replaced(r"(=\s*)\"([^\"]*)\"\"\s*(?=$|#|[,}\]])", r'\1"\2 in"', "inches within quotes are written in"),
    _replaced(
        r"=\s*'(.*)'\s*$",
        lambda found: '= "' + found[1].replace('"', "'") + '"',
        "a text with an apostrophe in it goes in double quotes",
    ),
    _replaced(
        r"=\s*\"([^']*\"[^']*)\"\s*$", r"= '\1'", "a text with double quotes in it goes in single ones"
    ),
    _replaced(r"\\", "/", "write / and not \\\\ in a text"),
    _replaced(r"\]\s*(?=\[)", "], ", "a comma is missing between two brackets"),
    _replaced(r"\}\s*(?=\{)", "}, ", "a comma is missing between two brackets"),
    _replaced(r"(?<=[\"'])\s+(?=[\"'])", ", ", "a comma is missing between two texts"),
    _replaced(r"(?<=[\w.])\s+(?=[-\d])", ", ", "a comma is missing between two numbers"),
    _replaced(r"(?<=[\d\"'\]}])\s+(?=[A-Za-z_]+\s*=)", ", ", "a comma is missing between two fields"),
    _quoted_value,
    _closed_text,
    _replaced(r",\s*(?=\})", " ", "no comma stands before }"),
    _replaced(r"\s*$", ",", "a comma is missing at the end of the line"),
    _closed_brackets,
    _replaced(r"\s*$", "]", "a list is not closed with ]"),
    _replaced(r",?\s*$", "]", "a list is not closed with ]"),
)


def _twice(lines: list[str], at: int) -> Slip | None:
    """A table or a field that is there a second time."""
    if at >= len(lines):
        return None
    line = lines[at]
    table = re.match(r"\s*\[\s*([^\[\]]+?)\s*\]\s*(?:#.*)?$", line)
    if table:
        return _table_twice(lines, at, table[1])
    field = re.match(rf"\s*({_KEY})\s*=", line)
    if field:
        for number in range(at - 1, -1, -1):
            if re.match(r"\s*\[", lines[number]) and "=" not in lines[number]:
                break
            if re.match(rf"\s*{re.escape(field[1])}\s*=", lines[number]):
                words = f"{field[1]} is there a second time, first in line {number + 1}; keep one of them"
                return Slip(at + 1, shown(line), words)
    return None


def _empty(lines: list[str], at: int) -> Slip | None:
    """A name and = with nothing after it."""
    found = re.match(rf"\s*({_KEY})\s*=\s*(?:#.*)?$", lines[at]) if at < len(lines) else None
    words = f"{found[1]} has no value; write one after the =, or take the line out" if found else ""
    return Slip(at + 1, shown(lines[at]), words) if found else None


def _on_several_lines(lines: list[str], at: int) -> Slip | None:
    """What stands in { } and goes on in the next line."""
    if at >= len(lines) or lines[at].count("{") <= lines[at].count("}"):
        return None
    for end in range(at + 1, min(at + 40, len(lines))):
        joined = " ".join(each.split("#")[0].strip() for each in lines[at : end + 1])
        joined = re.sub(r",\s*\}", " }", joined)
        if joined.count("{") == joined.count("}"):
            after = _fault([*lines[:at], joined, *lines[end + 1 :]])
            words = f"what stands in {{ }} goes on one line; write: {shown(joined)}"
            return Slip(at + 1, shown(lines[at]), words) if after is None or after > at else None
    return None


def _table_twice(lines: list[str], at: int, name: str) -> Slip | None:
    header = re.compile(rf"\s*\[\s*{re.escape(name)}\s*\]\s*(?:#.*)?$")
    same = [number for number, line in enumerate(lines) if header.match(line)]
    if len(same) < 2 or same[0] >= at:
        return None
    first = same[0] + 1
    if name.split(".")[-1] in MANY:
        words = (
            f"[{name}] is there twice, first in line {first}; what there may be several of begins with "
            f"double brackets each time; write: [[{name}]]"
        )
    else:
        words = (
            f"[{name}] twice is once too often, it is first in line {first}; put all of it in one place, or "
            "give one of them its right name"
        )
    return Slip(at + 1, shown(lines[at]), words)
