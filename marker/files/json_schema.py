"""JSON Schemas of pattern and fabric files, written from the models, for editors to complete from."""

from __future__ import annotations

from typing import Any

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def pattern_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a pattern file."""
    from marker.files.schema import PatternFile

    return {
        "$schema": DIALECT,
        **_plain(PatternFile.model_json_schema(by_alias=True)),
        "title": "Pattern file",
    }


def fabric_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a fabric file."""
    from marker.files.schema import FabricFile

    return {"$schema": DIALECT, **_plain(FabricFile.model_json_schema(by_alias=True)), "title": "Fabric file"}


def _plain(schema: Any) -> Any:
    """The schema as a file can meet it: TOML has no null, and measures are written as text."""
    if isinstance(schema, list):
        return [_plain(part) for part in schema if part != {"type": "null"}]
    if not isinstance(schema, dict):
        return schema
    return {
        key: _written(part) if key == "default" else _plain(part)
        for key, part in schema.items()
        if not (key == "default" and part is None)
    }


def _written(default: Any) -> Any:
    """A default value as a file would write it: of a measure, its millimetres and "mm"."""
    if isinstance(default, list):
        if len(default) == 2 and default[1] in ("metric", "imperial"):
            return f"{default[0]:g} mm"
        return [_written(part) for part in default]
    return default
