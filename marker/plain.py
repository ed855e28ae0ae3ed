"""Text that comes from files, harmless wherever it goes: to a screen, a file name, a spreadsheet."""

from __future__ import annotations

import codecs
import contextlib
import io
import sys
import unicodedata
from collections.abc import Iterable, Sequence

LONGEST_STEM = 160
"""Bytes of a file name that come from a file; systems allow 255, endings and counters among them."""

RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in "123456789¹²³")}
"""Names that Windows keeps for devices, whatever their ending (Microsoft: Naming Files, Paths, and
Namespaces; from memory)."""

FORMULAS = "=+-@\t\r＝＋－＠"
"""A cell that begins with one of these is taken for a formula by spreadsheets (OWASP on CSV injection;
from memory)."""

STAND_INS = {
    "×": "x", "°": " deg", "…": "...", "—": "-", "–": "-", "−": "-", "•": "*", "·": ".", "→": "->", "≤": "<=",
    "≥": ">=", "≈": "~", "±": "+/-", "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⁄": "/", "‘": "'", "’": "'",
    "“": '"', "”": '"', "″": '"', "′": "'", "€": "EUR", "£": "GBP", "¥": "JPY", "ß": "ss", "æ": "ae",
    "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ı": "i",
}  # fmt: skip
"""What is printed where a terminal cannot show a character; 2½ becomes 2 1/2."""


def visible(text: str, instead: str = "·") -> str:
    """The text with a sign in place of each line break, control or invisible character."""
    return "".join(char if char.isprintable() else instead for char in text)


def counted(number: int, one: str, many: str = "") -> str:
    """``1 piece``, ``2 pieces``; ``many`` where the plural is not made with an s."""
    return f"{number} {one if number == 1 else many or f'{one}s'}"


def enumerated(names: Sequence[str]) -> str:
    """``1``, ``1 and 2``, ``1, 2 and 3``; nothing for none."""
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def file_stem(text: str) -> str:
    """The text as the beginning of a file name that every system takes: letters, digits and hyphens.

    A long one is cut, and ends in a few digits made of all of it.
    """
    words = "".join(char if char.isalnum() else " " for char in unicodedata.normalize("NFC", text))
    kept = "-".join(words.split())
    if len(kept.encode()) > LONGEST_STEM:
        import hashlib

        digits = hashlib.sha256(kept.encode()).hexdigest()[:8]
        kept = f"{kept.encode()[: LONGEST_STEM - 9].decode(errors='ignore')}-{digits}"
    return f"{kept}-" if kept.lower() in RESERVED or not kept else kept


def file_stems(texts: Iterable[str], taken: Iterable[str] = ()) -> list[str]:
    """A stem for each text, all different and none of ``taken``, also where capitals are not told apart."""
    used = {stem.casefold() for stem in taken}
    found: list[str] = []
    for text in texts:
        stem, count = file_stem(text), 1
        while stem.casefold() in used:
            count += 1
            stem = f"{file_stem(text)}-{count}"
        used.add(stem.casefold())
        found.append(stem)
    return found


def csv_text(headings: Sequence[str], rows: Iterable[Sequence[object]], line_end: str = "\r\n") -> str:
    """Comma-separated values with a heading line (RFC 4180); None is an empty cell.

    A text that a spreadsheet would take for a formula begins with an apostrophe.
    """
    import csv

    out = io.StringIO()
    writer = csv.writer(out, lineterminator=line_end)
    writer.writerow(headings)
    writer.writerows([_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


def csv_bytes(text: str) -> bytes:
    """Comma-separated values as a file in UTF-8; where there is more than ASCII it begins with the mark by
    which spreadsheets know UTF-8."""
    return text.encode() if text.isascii() else text.encode("utf-8-sig")


def _cell(value: object) -> object:
    if value is None:
        return ""
    return f"'{value}" if isinstance(value, str) and value.startswith(tuple(FORMULAS)) else value


def readable_output() -> None:
    """From here on stdout and stderr print something readable for what their encoding does not have."""
    codecs.register_error("readable", _readable)
    codecs.register(_ascii)
    for stream in (sys.stdout, sys.stderr):
        # A stream put in place of the usual one may know nothing of encodings.
        with contextlib.suppress(AttributeError, LookupError, ValueError):
            encoding = "ascii-readable" if codecs.lookup(stream.encoding).name == "ascii" else None
            stream.reconfigure(errors="readable", encoding=encoding)  # type: ignore[union-attr]


def _ascii(name: str) -> codecs.CodecInfo | None:
    """ASCII by another name: click writes UTF-8 to a stream that says it is ASCII."""
    if name.replace("_", "-") != "ascii-readable":
        return None
    as_is = codecs.lookup("ascii")
    return codecs.CodecInfo(
        as_is.encode,
        as_is.decode,
        streamreader=as_is.streamreader,
        streamwriter=as_is.streamwriter,
        incrementalencoder=as_is.incrementalencoder,
        incrementaldecoder=as_is.incrementaldecoder,
        name=name,
    )


def _readable(problem: UnicodeError) -> tuple[str | bytes, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    lost = problem.object[problem.start : problem.end]
    return "".join(map(stand_in, lost)), problem.end


def stand_in(char: str) -> str:
    """ASCII that says much the same as a character, or a question mark."""
    if char in STAND_INS:
        return STAND_INS[char]
    name = unicodedata.name(char, "")
    if name.startswith("BOX DRAWINGS"):
        straight = {"VERTICAL": "|", "HORIZONTAL": "-"}
        return "+" if " AND " in name else straight.get(name.split()[-1], "+")
    plain = "".join(STAND_INS.get(c, c) for c in unicodedata.normalize("NFKD", char))
    kept = "".join(c for c in plain if c.isascii() and c.isprintable())
    return kept or ("" if unicodedata.combining(char) else "?")
