"""The text fields of the standard: ``Key: value`` on pieces and on the style."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from marker.importing.dxf_shapes import Words

PIECE_KEYS = (
    "piece name",
    "size",
    "quantity",
    "material",
    "annotation",
    "category",
    "rotation",
    "flip",
    "tilt",
    "fold",
)
STYLE_KEYS = (
    "style name",
    "sample size",
    "units",
    "author",
    "creation date",
    "creation time",
    "grade rule table",
    "product",
    "version",
)
"""Style texts are told from memory of the standard's predecessor."""
_FIELD = re.compile(r"([A-Za-z][A-Za-z /]{1,30}?)\s*:\s*(.*)")


@dataclass(frozen=True)
class Fields:
    """Values by key in lower case (the first of each key), and what is no known field, in order."""

    known: dict[str, str] = field(default_factory=dict)
    other: tuple[Words, ...] = ()

    def get(self, key: str) -> str | None:
        """The value, None if there is none or it is empty."""
        return self.known.get(key) or None


def fields_of(words: Iterable[Words]) -> Fields:
    known: dict[str, str] = {}
    other: list[Words] = []
    for word in words:
        match = _FIELD.fullmatch(word.text)
        key = " ".join(match[1].lower().split()) if match else ""
        if match and key in (*PIECE_KEYS, *STYLE_KEYS):
            # An empty field at the style's own place does not hide one that is filled in.
            if not known.get(key):
                known[key] = match[2].strip()
        else:
            other.append(word)
    return Fields(known, tuple(other))


@dataclass(frozen=True)
class Quantity:
    """Copies for one garment: of the right hand and of the left; ``left`` None if one number tells both."""

    right: int
    left: int | None

    @property
    def total(self) -> int:
        return self.right + (self.left or 0)


def quantity_of(text: str) -> Quantity | None:
    """``1,1`` or ``2``; None for anything that is no count of copies."""
    match = re.fullmatch(r"\s*(\d{1,3})\s*(?:[,;/ ]\s*(\d{1,3})\s*)?", text)
    if match is None:
        return None
    return Quantity(int(match[1]), None if match[2] is None else int(match[2]))
