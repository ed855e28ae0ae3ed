"""XML of a stranger's file as a small tree: nothing is expanded, fetched or run, and there are limits.

The parser is expat, of Python's standard library, with its handlers set so that every declaration of an
entity, every style sheet and anything beyond the limits ends the reading at once with one sentence.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from marker.errors import InputError
from marker.files.messages import sentence
from marker.files.reading import read_bytes
from marker.files.toml import LARGEST_FILE

MOST_ELEMENTS = 50_000
_PACKED = {b"PK\x03\x04": "zip", b"BZh": "bzip2", b"\xfd7zXZ": "xz", b"\x28\xb5\x2f\xfd": "zstd"}
DEEPEST = 100
"""Levels of elements inside each other."""


@dataclass
class Element:
    """An element: ``space`` is its namespace, ``name`` its name without one.

    ``attributes`` by name without namespace; of several that differ in namespace only, one without namespace
    wins. ``text`` is what stands before the first child, ``tail`` what follows the element.
    """

    space: str
    name: str
    attributes: dict[str, str]
    children: list[Element] = field(default_factory=list)
    text: str = ""
    tail: str = ""


class _Stop(Exception):
    pass


def read_xml(path: str | Path) -> Element:
    """The root element of a file. Raises InputError with one sentence naming the file."""
    data = read_bytes(
        path,
        LARGEST_FILE,
        ", so it is hardly a drawing of pattern pieces; take pictures out of it",
    )
    packed = next((name for begin, name in _PACKED.items() if data.startswith(begin)), None)
    if packed is not None:
        raise sentence(path, [], f"is packed ({packed}); unpack it, and name the drawing in it")
    return parse_xml(path, _unpacked(path, data) if data[:2] == b"\x1f\x8b" else data)


def _unpacked(path: str | Path, data: bytes) -> bytes:
    """The drawing in a file compressed with gzip (RFC 1952), no more of it than files may be large."""
    import zlib

    unpacker = zlib.decompressobj(16 + zlib.MAX_WBITS)
    try:
        found = unpacker.decompress(data, LARGEST_FILE + 1)
    except zlib.error:
        raise sentence(
            path, [], "is compressed and cannot be unpacked; save the drawing as plain SVG"
        ) from None
    if len(found) > LARGEST_FILE:
        raise sentence(
            path,
            [],
            f"is larger than {LARGEST_FILE // 1_000_000} MB unpacked, so it is hardly a drawing of pattern"
            " pieces; take pictures out of it",
        )
    if not unpacker.eof:
        raise sentence(path, [], "is compressed and breaks off before its end; save or copy it once more")
    return found


def parse_xml(path: str | Path, data: bytes) -> Element:
    """The root element of ``data``; ``path`` is for messages only. Raises InputError."""
    from xml.parsers import expat

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    build = _Builder()
    parser.StartElementHandler = build.start
    parser.EndElementHandler = build.end
    parser.CharacterDataHandler = build.characters
    parser.EntityDeclHandler = build.entity
    parser.ExternalEntityRefHandler = build.external
    parser.ProcessingInstructionHandler = build.instruction
    try:
        parser.Parse(data, True)
    except _Stop as stop:
        raise sentence(path, [], str(stop)) from None
    except expat.ExpatError as error:
        what = expat.ErrorString(error.code)
        raise _unreadable(path, f"line {error.lineno}: {what}") from None
    except (ValueError, LookupError) as error:
        raise _unreadable(path, str(error)) from None
    if build.root is None:
        raise _unreadable(path, "there is nothing in it")
    return build.root


def _unreadable(path: str | Path, what: str) -> InputError:
    return sentence(path, [], f"is not XML that can be read ({what}); save the drawing as plain SVG again")


class _Builder:
    def __init__(self) -> None:
        self.root: Element | None = None
        self.open: list[Element] = []
        self.count = 0

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self.count += 1
        if self.count > MOST_ELEMENTS:
            raise _Stop(f"has more than {MOST_ELEMENTS} elements; leave only the pieces in the drawing")
        if len(self.open) >= DEEPEST:
            raise _Stop(f"has groups nested more than {DEEPEST} deep; ungroup them")
        space, _, local = name.rpartition(" ")
        named: dict[str, str] = {}
        for key, value in attributes.items():
            of, _, bare = key.rpartition(" ")
            if not of or bare not in named:
                named[bare] = value
        element = Element(space, local, named)
        if self.open:
            self.open[-1].children.append(element)
        else:
            self.root = element
        self.open.append(element)

    def end(self, name: str) -> None:
        self.open.pop()

    def characters(self, text: str) -> None:
        here = self.open[-1]
        if here.children:
            here.children[-1].tail += text
        else:
            here.text += text

    def entity(self, name: str, *rest: object) -> None:
        raise _Stop(f"declares an entity ({name[:40]}), which is not read; save the drawing as plain SVG")

    def external(self, *rest: object) -> int:
        raise _Stop("refers to another file by an entity, which is not read; save the drawing as plain SVG")

    def instruction(self, target: str, text: str) -> None:
        if target.lower() == "xml-stylesheet":
            raise _Stop("refers to a style sheet outside the file; save the drawing as plain SVG")
