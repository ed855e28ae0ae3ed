"""What the checker has to say about layouts, asked no more often than a search can spare the time for."""

from __future__ import annotations

import time
from collections.abc import Callable

from marker.model.layout import MaterialLayout

SHARE = 0.05
"""Part of the time that may go into checking while a search runs."""
SELDOM = 0.3
"""Seconds between two checks at least."""
SLOW = 0.4
"""Seconds that a check may take if someone waits for the answer."""

REFUSED = (
    "a layout that the search had found did not pass its check and was thrown away; the one shown did. "
    "Please report this with the pattern file."
)


class Judge:
    """Counts and times the checks of layouts by ``holds`` (None: by nobody, all pass)."""

    def __init__(self, holds: Callable[[MaterialLayout], bool] | None = None) -> None:
        self._holds = holds
        self._ended = float("-inf")
        self.took = 0.0
        self.refused = 0

    def holds(self, laid: MaterialLayout) -> bool:
        """Whether the checker finds nothing wrong with a layout."""
        if self._holds is None:
            return True
        began = time.monotonic()
        right = self._holds(laid)
        self._ended = time.monotonic()
        self.took = self._ended - began
        self.refused += not right
        return right

    @property
    def due(self) -> bool:
        """Whether it is time for another check while the search goes on."""
        return self._holds is None or time.monotonic() - self._ended >= max(SELDOM, self.took / SHARE)

    @property
    def slow(self) -> bool:
        """Whether a check takes longer than someone who has asked to stop should wait."""
        return self.took > SLOW
