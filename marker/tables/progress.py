"""How far a table is, on stderr while it is solved; nothing at all when stderr is not a terminal."""

from __future__ import annotations

import sys
import threading
from typing import Any

from marker.plain import counted
from marker.tables.run import Watcher


class TableProgress:
    """A bar of layouts done, with what the rest may take."""

    def __init__(self, stopped: threading.Event, seconds: float | None, side_by_side: int) -> None:
        self.watcher = Watcher(self.begins, self.one_done, self.preparing, self.warns, stopped)
        self.seconds = seconds
        self.side_by_side = side_by_side
        self.bar: Any = None
        self.line: Any = None

    def __enter__(self) -> Watcher:
        return self.watcher

    def __exit__(self, *exc: object) -> None:
        if self.bar:
            self.bar.stop()

    def begins(self, todo: int, known: int) -> None:
        """Says what is ahead, even into a log when it is long."""
        if not todo:
            return
        words = f"{counted(todo, 'layout')} to find" + (f", {known} known already" if known else "")
        if self.seconds is not None:
            rounds = -(-todo // self.side_by_side)
            words += f", about {_duration(rounds * (self.seconds + 1.0))}"
        print(f"{words}; Ctrl-C keeps what is done.", file=sys.stderr, flush=True)
        if sys.stderr.isatty():
            from rich.console import Console
            from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

            self.bar = Progress(
                TextColumn("layouts"),
                BarColumn(),
                MofNCompleteColumn(),
                TimeElapsedColumn(),
                console=Console(stderr=True),
                transient=True,
            )
            self.line = self.bar.add_task("layouts", total=todo)
            self.bar.start()

    def one_done(self) -> None:
        if self.bar:
            self.bar.advance(self.line)

    def preparing(self) -> None:
        self.warns("Preparing the search for this machine (once, about 15 seconds) ...")

    def warns(self, sentence: str) -> None:
        if self.bar:
            self.bar.console.print(sentence, markup=False)
        else:
            print(sentence, file=sys.stderr, flush=True)


def _duration(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = seconds / 60
    return f"{minutes:.0f} min" if minutes < 90 else f"{minutes / 60:.1f} h"
