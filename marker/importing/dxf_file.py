"""From the bytes of a DXF file to a document of ezdxf, with what had to be repaired on the way.

The file is looked over before the library sees it: how large it is, how many records it holds, whether it is
DXF at all. What the library then cannot make sense of is refused with one sentence.
"""

from __future__ import annotations

import io
import logging
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from marker.errors import InputError
from marker.files.reading import read_bytes
from marker.plain import visible

LARGEST_FILE = 20_000_000
"""Bytes of a DXF file that are read at most."""
MOST_RECORDS = 50_000
"""Entities, vertices of polylines and table entries that one file may hold."""
MOST_VALUES = 200_000
"""Values (pairs of lines) that one file may hold. The library takes its time for each of them, and for each
record: both limits together keep that, and what follows, to a few seconds."""
MOST_REPAIRS_TOLD = 5
_BINARY = b" Binary DXF\r\n\x1a"
"""In the first 22 bytes of every binary DXF file, says the published DXF reference."""


def read_document(path: str | Path) -> tuple[Any, tuple[str, ...]]:
    """The ezdxf document in a file, and sentences on what its audit repaired or left wrong.

    Raises InputError with one sentence if there is no such file, or it is no DXF, broken beyond repair, or
    beyond the limits.
    """
    data = read_bytes(path, LARGEST_FILE, "; export fewer pieces or sizes at a time")
    _look_over(path, data)
    with _quiet():
        from ezdxf import recover
        from ezdxf.lldxf.const import DXFError

        try:
            document, audit = recover.read(io.BytesIO(data), errors="ignore")
        except MemoryError:
            # Not the file's fault, as far as can be told.
            raise InputError(
                f"{path}: takes more memory than there is; export fewer pieces or sizes at a time."
            ) from None
        except DXFError as error:
            reason = visible(" ".join(str(error).split()).rstrip(".")[:150])
            told = f": {reason}" if " " in reason else ""
            raise InputError(
                f"{path}: is not a DXF file that can be read{told}; save it once more as text DXF."
            ) from None
        except Exception as error:
            # What a reader of foreign files trips over is the file's fault, whatever it is called.
            raise InputError(
                f"{path}: is not a DXF file that can be read ({type(error).__name__} while its records were "
                "put together); save it once more as text DXF."
            ) from None
    return document, _repairs(audit)


def _look_over(path: str | Path, data: bytes) -> None:
    """Raise InputError for what is plainly no text DXF, or too much of it."""
    if not data.strip():
        raise InputError(f"{path}: is empty; export the drawing once more.")
    if _BINARY in data[:22]:
        raise InputError(f"{path}: is a binary DXF file; save it as text (ASCII) DXF.")
    if data.startswith(b"AC10"):
        raise InputError(f"{path}: is a drawing in another format (DWG); save it as text (ASCII) DXF.")
    if b"\0" in data:
        raise InputError(f"{path}: is not a DXF file but binary data; save it as text (ASCII) DXF.")
    records = sections = 0
    ended = False
    for count, (code, value) in enumerate(_pairs(data), 1):
        if count > MOST_VALUES:
            raise InputError(
                f"{path}: holds more than {MOST_VALUES:,} values; export fewer pieces or sizes at a time."
            )
        if code == b"0":
            records += 1
            word = value.upper()
            sections += word == b"SECTION"
            ended = word == b"EOF"
            if records > MOST_RECORDS:
                raise InputError(
                    f"{path}: holds more than {MOST_RECORDS:,} entities and vertices; "
                    "export fewer pieces or sizes at a time."
                )
            if ended:
                break
    if not sections:
        raise InputError(f"{path}: is not a DXF file: it has no sections; name a file saved as DXF.")
    if not ended:
        raise InputError(
            f"{path}: breaks off before its end (there is no EOF), so pieces may be missing; "
            "export or copy it once more."
        )


def _pairs(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Group codes and values: a DXF file is lines in pairs."""
    lines = io.BytesIO(data)
    for code in lines:
        yield code.strip(), lines.readline().strip()


@contextmanager
def _quiet() -> Iterator[None]:
    """The library's warnings come back in its audit; on stderr they would only be noise."""
    logger = logging.getLogger("ezdxf")
    before = logger.level
    logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        logger.setLevel(before)


def _repairs(audit: Any) -> tuple[str, ...]:
    """The audit in sentences: one for each kind of flaw, the first of the kind quoted."""
    notes: list[str] = []
    for entries, what in ((audit.errors, "Left wrong"), (audit.fixes, "Repaired")):
        kinds = Counter(entry.code for entry in entries)
        for code, count in list(kinds.items())[:MOST_REPAIRS_TOLD]:
            first = next(entry for entry in entries if entry.code == code)
            words = visible(" ".join(str(first.message).split())).rstrip(".")[:200]
            more = f" (and {count - 1} more of the kind)" if count > 1 else ""
            notes.append(f"{what} in the DXF file: {words}{more}.")
        rest = sum(kinds.values()) - sum(count for _, count in list(kinds.items())[:MOST_REPAIRS_TOLD])
        if rest > 0:
            notes.append(f"{what} in the DXF file: {rest} other flaws.")
    return tuple(notes)
