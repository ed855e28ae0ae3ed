"""Which kind of file somebody named: pattern, fabric or layout. Its fields tell."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from marker.files.messages import sentence

Kind = Literal["pattern", "fabric", "layout"]

_OTHERWISE = {
    ("fabric", "pattern"): "this is a fabric file; name a pattern file here, and use this one with --fabric",
    ("pattern", "fabric"): "this is a pattern file; name a fabric file here, one with nothing but "
    "[fabric.MATERIAL] tables, and the pattern without --fabric",
    ("layout", "pattern"): "this is a layout file; name the pattern file that it was made from "
    "(a layout is verified by marker check)",
    ("layout", "fabric"): "this is a layout file; name a fabric file here, one with [fabric.MATERIAL] tables",
    ("pattern", "layout"): "this is a pattern file and no layout; name a layout.json that marker lay wrote, "
    "or give the file the ending .toml",
    ("fabric", "layout"): "this is a fabric file and no layout; name a layout.json that marker lay wrote, "
    "or give the file the ending .toml",
}

_MADE_INTO_PATTERNS = {
    (".svg", ".svgz", ".dxf", ".pdf"): "this is a drawing; make a pattern file of it with marker import",
    (".csv", ".tsv"): "this is a spreadsheet; make a pattern file of it with marker new NAME --from",
    (".jpg", ".jpeg", ".heic"): "this is a picture; make a pattern file of a photograph with marker trace",
}


def refuse_unmade(path: str | Path) -> None:
    """Raise InputError for a file that a pattern can be made from but that is none, by its ending."""
    for endings, words in _MADE_INTO_PATTERNS.items():
        if Path(path).suffix.lower() in endings and Path(path).is_file():
            raise sentence(path, [], f"{words} {path}")


def kind_of(data: Any) -> Kind | None:
    """The kind of file that holds ``data``; None if that cannot be told."""
    if not isinstance(data, Mapping):
        return None
    if "marker_layout" in data:
        return "layout"
    if "piece" in data:
        return "pattern"
    return "fabric" if {"fabric"} <= set(data) <= {"fabric", "unit"} else None


def refuse_other(path: str | Path, data: Any, wanted: Kind) -> None:
    """Raise InputError if ``data`` is that of a file of another kind than is wanted."""
    kind = kind_of(data)
    if kind is not None and kind != wanted:
        raise sentence(path, [], _OTHERWISE[kind, wanted])
