"""JSON Schemas of pattern and fabric files, written from the models, for editors to complete from."""

from __future__ import annotations

from typing import Any

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def pattern_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a pattern file."""
    from marker.files.schema import PatternFile

    return {"$schema": DIALECT, **PatternFile.model_json_schema(by_alias=True), "title": "Pattern file"}


def fabric_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a fabric file."""
    from marker.files.schema import FabricFile

    return {"$schema": DIALECT, **FabricFile.model_json_schema(by_alias=True), "title": "Fabric file"}
