"""Progress on stderr while a search runs; nothing at all when stderr is not a terminal."""

from __future__ import annotations

import sys
import time
from typing import Any


class Progress:
    """A line that tells the best verified length of each material, its bound and the time left."""

    def __init__(self, seconds: float | None) -> None:
        self.seconds = seconds
        self.live: Any = None
        self.best: dict[str, str] = {}
        self.started = time.monotonic()

    def __enter__(self) -> Progress:
        if sys.stderr.isatty():
            from rich.console import Console
            from rich.live import Live

            self.live = Live(
                get_renderable=self._line,
                console=Console(stderr=True),
                refresh_per_second=4,
                transient=True,
            )
            self.live.start()
        return self

    def __exit__(self, *exc: object) -> None:
        if self.live:
            self.live.stop()

    def preparing(self) -> None:
        """Said once a machine, even into a log: the wait would puzzle otherwise."""
        message = "Preparing the search for this machine (once, about 15 seconds) ..."
        if self.live:
            self.live.console.print(message, markup=False)
        else:
            print(message, file=sys.stderr, flush=True)

    def better(self, news: Any) -> None:
        from marker.report.measure import at_least, length

        laid = news.layout
        least = f", none under {at_least(laid.lower_bound, news.system)}" if laid.lower_bound else ""
        self.best[news.material] = f"{news.material} {length(laid.length, news.system)} ({laid.lay}{least})"

    def _line(self) -> Any:
        """Names of materials are words, never markup."""
        from rich.text import Text

        return Text(self._words())

    def _words(self) -> str:
        best = "; ".join(self.best.values()) or "looking for a first layout"
        if self.seconds is None:
            return best
        left = max(self.seconds - (time.monotonic() - self.started), 0.0)
        return f"{best}; {left:.0f} s left, Ctrl-C keeps the best so far"
