"""Cutting layouts for people who sew: how much cloth to buy, and how to lay the pieces on it."""

from importlib import import_module
from typing import Any

__all__ = ["Answer", "InputError", "check_layout", "lay", "load_job", "save"]

_HOMES = {"InputError": "marker.errors"}


def __getattr__(name: str) -> Any:
    # Looked up on first use, so that `import marker` stays quick.
    if name in __all__:
        return getattr(import_module(_HOMES.get(name, "marker.api")), name)
    raise AttributeError(f"module 'marker' has no attribute '{name}'")
