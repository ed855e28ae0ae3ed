"""Reading TOML files that people write, with one sentence for everything that can go wrong."""

from __future__ import annotations

import codecs
import json
import re
import tomllib
from pathlib import Path
from typing import Any

from marker.errors import InputError
from marker.files.kinds import refuse_other, refuse_unmade
from marker.files.messages import sentence
from marker.files.reading import read_bytes
from marker.files.toml_slips import shown, slip

LARGEST_FILE = 20_000_000
"""Bytes of a file that are read at most."""


def read_text(path: str | Path) -> str:
    """The text of a UTF-8 file. Raises InputError naming the file if it cannot be read or is no text."""
    data = read_bytes(path, LARGEST_FILE, ", so it is hardly the file that was meant")
    # Windows editors know UTF-16 as "Unicode" and mark it so.
    marked = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        text = data.decode("utf-16" if marked else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{path}: is not text (line {line} is not UTF-8); name a text file, or save it as UTF-8."
        ) from None
    if "\0" in text:
        raise InputError(f"{path}: is not text but binary data; name a text file.")
    return text


def read_toml(path: str | Path) -> dict[str, Any]:
    """The tables of a TOML file. Raises InputError naming the file, and the line if it is no TOML."""
    refuse_unmade(path)
    text = read_text(path).replace("\r\n", "\n").replace("\r", "\n")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise InputError(f"{path}: is not TOML that can be read: brackets are nested too deeply.") from None
    except ValueError as error:
        if text.lstrip().startswith("{"):
            _refuse_json(path, text)
        found = slip(text)
        if found:
            told = f"is not valid TOML (line {found.line}: {found.text}): {found.words}"
            raise sentence(path, [], told) from None
        raise sentence(path, [], f"is not valid TOML{_as_told(text, str(error))}") from None


def _refuse_json(path: str | Path, text: str) -> None:
    """Raise InputError with better words if the text is JSON."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return
    refuse_other(path, data, "pattern")
    raise sentence(path, [], "is JSON and not TOML; name a pattern or fabric file")


def _as_told(text: str, error: str) -> str:
    """Where and what, in the words of the library, with the line quoted."""
    told = re.fullmatch(r"(.*?)(?: \(at (.*)\))?", error.splitlines()[0])
    what, where = (told[1], told[2]) if told else (error, None)
    what = what[:1].lower() + what[1:200]
    # tomllib tells names as Python tuples; people know them with dots.
    what = re.sub(
        r"\((['\"].*)\)", lambda names: "[" + ".".join(re.findall(r"'([^']*)'", names[1])) + "]", what
    )
    line = re.match(r"line (\d+)", where or "")
    in_line = f": {shown(text.splitlines()[int(line[1]) - 1])}" if line else ""
    return f"{f' ({where}{in_line})' if where else ''}: {what}"


def quoted(text: str) -> str:
    """A TOML text in double quotes, or in single ones where that reads better."""
    if '"' in text and "'" not in text and "\\" not in text and text.isprintable():
        return f"'{text}'"
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\U{ord(c):08X}" for c in escaped) + '"'


def key(name: str) -> str:
    """A name as TOML writes a key."""
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else quoted(name)
