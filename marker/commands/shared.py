"""What the commands that lay out a pattern share: options about the garment, widths, Ctrl-C, folder names."""

from __future__ import annotations

import contextlib
import signal
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import click

MATCHINGS = ("none", "main", "everything")
PAPERS = ("a4", "letter", "a0", "roll")


def job_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Options about one size and view, and ``garment_options``."""
    command = garment_options(command)
    command = click.option("--view", help="View to make; the first one if not given.")(command)
    return click.option("--size", help="Size to cut; needed if the pattern has several.")(command)


def garment_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Options about what of the pattern is cut, and how often."""
    options = (
        click.option("--with", "with_", multiple=True, metavar="PIECE", help="Also cut this optional piece."),
        click.option("--without", multiple=True, metavar="PIECE", help="Leave this piece out."),
        click.option("--quantity", type=int, default=1, show_default=True, help="How many garments."),
    )
    for option in reversed(options):
        command = option(command)
    return command


IMPATIENT = 5.0
"""Seconds after a first Ctrl-C before which another one is taken for the same."""


@contextlib.contextmanager
def interruptible() -> Iterator[threading.Event]:
    """The first Ctrl-C sets the event; one that comes a good while later kills."""
    stopped = threading.Event()
    at = 0.0

    def interrupted(signum: int, frame: Any) -> None:
        nonlocal at
        if not stopped.is_set():
            stopped.set()
            at = time.monotonic()
        elif time.monotonic() - at > IMPATIENT:
            raise KeyboardInterrupt

    with on_interrupt(interrupted):
        yield stopped


@contextlib.contextmanager
def on_interrupt(handler: Any) -> Iterator[None]:
    """What Ctrl-C does meanwhile: a handler as ``signal`` takes them."""
    before = signal.signal(signal.SIGINT, handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def usual_out(pattern: str, *words: str) -> Path:
    """Where files go if nobody says: a folder named after the pattern and these words, inside ``layouts``."""
    from marker.plain import file_stem

    return Path("layouts") / file_stem(" ".join((Path(pattern).stem, *words)))
