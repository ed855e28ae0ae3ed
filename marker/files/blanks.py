"""Blanks: fields of a pattern file that somebody still has to fill in.

A blank is a text "todo", or "todo: what to write here", in the place of any value. A file that holds one is
never guessed at: it is refused with one sentence that says where the first one is and how many there are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from marker.errors import InputError
from marker.files.messages import place, sentence

_FREE_TEXT = {"about", "title", "detail"}
"""Fields in which people may write what they like."""

Loc = tuple[int | str, ...]


def blank(hint: str) -> str:
    """The text that marks a blank; ``hint`` says what to write in its place."""
    return f"todo: {hint}"


def hint_of(value: Any) -> str | None:
    """What to write in place of ``value``, "" if it does not say; None if ``value`` is no blank."""
    if not isinstance(value, str):
        return None
    word, colon, hint = value.strip().partition(":")
    if word.strip().lower() != "todo":
        return None
    return hint.strip() if colon else ""


def blanks(data: Any, loc: Loc = ()) -> Iterator[tuple[Loc, str]]:
    """Where ``data`` (the tables of a file) has blanks, in the order of the file, with their hints."""
    if isinstance(data, Mapping):
        for name, value in data.items():
            if name not in _FREE_TEXT:
                yield from blanks(value, (*loc, name))
    elif isinstance(data, list):
        for i, value in enumerate(data):
            yield from blanks(value, (*loc, i))
    else:
        hint = hint_of(data)
        if hint is not None:
            yield loc, hint


def refuse_blanks(path: str | Path, data: Mapping[str, Any]) -> None:
    """Raise InputError if ``data`` has blanks."""
    found = list(blanks(data))
    if not found:
        return
    loc, hint = found[0]
    where = place(loc, data)
    if len(loc) > 1 and isinstance(loc[-1], int):
        where = [*place(loc[:-1], data), str(loc[-1] + 1)]
    raise _told(path, where, hint, len(found))


def _told(path: str | Path, where: list[str], hint: str, count: int) -> InputError:
    more = (
        f'; the file has {count} blanks in all, each marked "todo"'
        if count > 1
        else "; it is the only blank in the file"
    )
    return sentence(path, where, f"is still blank: {hint or 'write its value'}{more}")
