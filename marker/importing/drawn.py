"""What stands in a drawing before anybody knows what it means: strokes, words, groups, texts."""

from __future__ import annotations

from dataclasses import dataclass

from marker.importing.found import Point, Unit
from marker.importing.phrases import Said
from marker.importing.stroke import Stroke


@dataclass(frozen=True)
class Group:
    """A group of objects; ``key`` tells groups apart."""

    key: int
    said: Said


@dataclass(frozen=True)
class Object:
    """One object of a drawing, in millimetres with y downwards. ``groups`` from the outermost inwards;
    ``where`` calls the object for messages.
    """

    strokes: tuple[Stroke, ...]
    said: Said
    groups: tuple[Group, ...]
    where: str


@dataclass(frozen=True)
class Text:
    """Words drawn at a place."""

    at: Point
    said: Said
    words: str
    groups: tuple[Group, ...]


@dataclass(frozen=True)
class Drawing:
    """A whole drawing; ``said`` is what it says about the pattern as a whole."""

    objects: tuple[Object, ...]
    texts: tuple[Text, ...]
    said: Said
    notes: tuple[str, ...]
    unit: Unit = "mm"
    """The unit that the drawing counts in, if pattern files can be written in it."""
    page: tuple[float, float] | None = None
    """Width and height of the page in millimetres, if there is one."""
    hidden: int = 0
    """How many objects are there that nobody can see; they are not among ``objects``."""
