"""Layouts kept from earlier runs, by what they are the answer to."""

from __future__ import annotations

from pathlib import Path

from marker.errors import InputError
from marker.files.atomic import LEFT, settle
from marker.tables.outcome import Outcome, layout_of, of_cloths
from marker.tables.task import Task


def usual_folder() -> Path:
    """Where this system keeps what can be made again."""
    from platformdirs import user_cache_path

    return user_cache_path("boathouse-marker", appauthor=False) / "layouts"


class Cache:
    """A folder of layout files named by the key of their task. ``fresh``: what is there is not looked at."""

    def __init__(self, folder: Path, fresh: bool = False) -> None:
        self.folder = folder
        self.fresh = fresh
        for place in {left.parent for left in folder.glob(f"*/{LEFT}")}:
            settle(place)

    def path(self, one: Task) -> Path:
        key = one.key
        return self.folder / key[:2] / f"{key}.json"

    def get(self, one: Task) -> Outcome | None:
        """The outcome kept, verified once more against the job; None if there is none that holds."""
        from marker.check import verify
        from marker.files.layout_file import read_layout

        if self.fresh:
            return None
        try:
            cloths = read_layout(self.path(one)).materials
        except InputError:
            # Not there, or cut off or overwritten and as good as that.
            return None
        if not cloths or verify(layout_of(one, cloths), one.job):
            return None
        return of_cloths(cloths)

    def put(self, one: Task, outcome: Outcome) -> None:
        """Keep a layout, whole or not at all. Raises InputError if the folder cannot be written."""
        from marker.files.layout_file import write_layout

        if outcome.cloths:
            write_layout(layout_of(one, outcome.cloths), self.path(one))
