"""Which files and connections a piece of code opens, by the audit events of Python (PEP 578)."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

_EVENTS = ("open", "socket.connect", "socket.getaddrinfo", "subprocess.Popen", "os.system", "urllib.Request")
_watching: list[list[tuple[str, str]]] = []
_hooked = False


@contextmanager
def opened() -> Iterator[list[tuple[str, str]]]:
    """Collects (event, what) until the block ends. Python's own modules being loaded do not count."""
    global _hooked
    if not _hooked:
        # A hook cannot be taken away again, so there is one for all.
        sys.addaudithook(_hook)
        _hooked = True
    seen: list[tuple[str, str]] = []
    _watching.append(seen)
    try:
        yield seen
    finally:
        _watching.remove(seen)


def _hook(event: str, args: tuple) -> None:
    if _watching and event in _EVENTS:
        what = str(args[0])
        if event == "open" and what.endswith((".py", ".pyc", ".so", ".pth")):
            return
        for seen in _watching:
            seen.append((event, what))
