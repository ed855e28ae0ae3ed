"""DXF files: pieces by the open standard ASTM D6673, or plain drawings of closed outlines.

By the standard every block is a piece in one size, and the number of a layer says what is drawn on it:

    1 boundary (the cutting line)   2 turn points      3 curve points         4, 80 to 83 notches
    6 mirror line (a fold edge)     7 grain line       8 inner lines          11 inner cut-outs
    13 drill holes                  14 sew lines       15 annotation

Texts tell the rest: ``Piece Name:``, ``Size:``, ``Quantity:`` (right, left), ``Material:`` and so on in a
piece, ``Style Name:``, ``Sample Size:``, ``Units:`` (METRIC is millimetres, ENGLISH inches) for the style.
The grade rules of layer 5 are not read: only sizes that are drawn are there. The standard's layers and fields
are told from secondary sources, those of the style and the word METRIC for millimetres from memory.

A plain drawing has none of that: every closed outline that lies in no other one is a piece, what lies inside
it belongs to it, and layers may be called by the numbers above or by the words of the SVG convention
(``grain``, ``fold``, ``notch``, ``drill``, ``line``, ``ignore``; see ``marker/importing/svg.py``).

Entities that are invisible, or on layers that are frozen or off, are not read. A block that is inserted at a
scale of its own is read as it is shown.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from marker.errors import InputError
from marker.importing.dxf_file import read_document
from marker.importing.dxf_inserts import Inserted, Insertion, inserted
from marker.importing.dxf_piece import Asked, Raw, called, moved, piece_of
from marker.importing.dxf_plain import plain
from marker.importing.dxf_shapes import Layers, Shapes, Unreadable, layers_of, shapes_of
from marker.importing.dxf_standard import may_be_piece, standard
from marker.importing.dxf_words import Fields, fields_of
from marker.importing.found import Found, FoundPiece, Options, Unit
from marker.model.ring import extent
from marker.units import unit_size, unit_system

CHORD = 0.02
"""Millimetres between a curve of the file and the chords that stand for it."""
LARGEST, SMALLEST = 10_000.0, 5.0
"""Millimetres that the longest piece may measure, at most and at least (as in pattern files)."""
_INSUNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 10: "yd"}
_UNIT_WORDS = {"METRIC": "mm", "ENGLISH": "in", "IMPERIAL": "in"}


def read_dxf(path: str | Path, options: Options = Options()) -> Found:  # noqa: B008
    """The pieces of a DXF file.

    ``options.unit`` is what one number of the drawing counts and outranks what the file says;
    ``options.right_hand`` tells which hand a drawn piece is where more copies are cut of one hand than of
    the other.

    Raises InputError with one sentence for a file that is no DXF or broken, has no closed outline, does not
    say its unit, or is beyond the limits.
    """
    if options.unit is not None:
        unit_size(options.unit)
    document, repairs = read_document(path)
    layers = layers_of(document)
    space = list(document.modelspace())
    blocks = [block for block in document.blocks if may_be_piece(block, layers)]
    placed = _inserted(path, space, [block.name for block in blocks], layers)
    blocks = [block for block in blocks if block.name not in placed.hidden]
    # Texts first: curves need to know how fine, so how large a unit is.
    texts = _shapes(path, "the drawing", _texts(space), 1.0, layers).words
    inside = [
        word
        for block in blocks
        for word in _shapes(path, f"block {block.name}", _texts(block), 1.0, layers).words
    ]
    # The style's own texts outrank what a piece may repeat of them.
    style = Fields({**fields_of(inside).known, **fields_of(texts).known})
    mm, told, how = _unit(path, document, style, options.unit)
    mm *= options.scale
    # By the standard boundaries are cutting lines.
    allowance: str | None = "included"
    if blocks:
        hidden = len(placed.hidden)
        drawn = []
        for block in blocks:
            way = placed.ways.get(block.name, Insertion())
            finest = CHORD / mm / max(1.0, *way.scales)
            shapes = _shapes(path, f"block {block.name}", block, finest, layers)
            hidden += shapes.hidden
            drawn.append((block.name, moved(shapes, way) if block.name in placed.ways else shapes))
        drafts, notes = standard(path, drawn, style, mm)
        notes += placed.notes
    else:
        shapes = _shapes(path, "the drawing", space, CHORD / mm, layers)
        hidden = shapes.hidden
        drafts, notes, allowance = plain(path, shapes, mm)
    if hidden:
        many = "s that are" if hidden > 1 else " that is"
        notes.append(f"{hidden} object{many} hidden, frozen or on layers that are off not read.")
    largest = max(max(extent(draft.outline)) for draft in drafts)
    if told is None:
        raise InputError(
            f"{path}: does not say what unit it is drawn in; say it with --unit mm, cm or in "
            f"(the longest piece measures {largest / mm:.4g} of it)."
        )
    if not SMALLEST <= largest <= LARGEST:
        raise InputError(
            f"{path}: the longest piece would be {largest:.4g} mm long, which no pattern piece is; say what "
            "unit the drawing is in with --unit."
        )
    small = [draft for draft in drafts if max(extent(draft.outline)) < SMALLEST]
    if small:
        many = "s" if len(small) > 1 else ""
        notes.append(f"{len(small)} closed outline{many} smaller than {SMALLEST:g} mm left out.")
        drafts = [draft for draft in drafts if draft not in small]
    built = [_built(path, draft, options.right_hand) for draft in drafts]
    pieces = tuple(_numbered(piece for piece, _ in built))
    if options.scale != 1:
        how += f", and every length is multiplied by {options.scale:.6g}, as asked"
    notes = [f"{how}; the longest piece measures {largest:.0f} mm.", *notes]
    notes += _questions([asked for _, asked in built], options.right_hand)
    return Found(
        name=style.get("style name"),
        unit=_file_unit(told),
        sizes=tuple(dict.fromkeys(piece.size for piece in pieces if piece.size is not None)),
        pieces=pieces,
        notes=(*dict.fromkeys(notes), *repairs),
        seam_allowance=allowance,
    )


def _built(path: str | Path, draft: Raw, right_hand: bool | None) -> tuple[FoundPiece, Asked]:
    try:
        return piece_of(draft, right_hand)
    except Unreadable as wrong:
        raise InputError(f"{path}: {called(draft.name, draft.size)} {wrong}.") from None


def _texts(entities: Iterable[Any]) -> list[Any]:
    return [entity for entity in entities if entity.dxftype() in ("TEXT", "MTEXT")]


def _inserted(path: str | Path, space: Sequence[Any], names: Sequence[str], layers: Layers) -> Inserted:
    try:
        return inserted(path, space, names, layers)
    except InputError:
        raise
    except Exception as error:
        raise InputError(
            f"{path}: the drawing inserts a block in a way that cannot be read ({type(error).__name__}); "
            "save the drawing once more."
        ) from error


def _shapes(path: str | Path, what: str, entities: Iterable[Any], chord: float, layers: Layers) -> Shapes:
    try:
        return shapes_of(entities, chord, layers)
    except Unreadable as wrong:
        raise InputError(f"{path}: {what} {wrong}.") from None
    except MemoryError:
        raise InputError(
            f"{path}: takes more memory than there is; export fewer pieces or sizes at a time."
        ) from None
    except Exception as error:
        # Entities of foreign files lack what the library counts on in ways nobody can list.
        raise InputError(
            f"{path}: {what} has an entity that cannot be read ({type(error).__name__}); save the drawing "
            "once more, with its curves as polylines."
        ) from error


def _header(document: Any) -> int:
    try:
        return int(document.header.get("$INSUNITS", 0))
    except (TypeError, ValueError):
        return 0


def _unit(path: str | Path, document: Any, style: Fields, unit: str | None) -> tuple[float, str | None, str]:
    """(millimetres in a unit of the file, the unit, how that was decided); 1 and None if nothing says it."""
    word = style.get("units")
    told = None if word is None else _UNIT_WORDS.get(word.upper()) or _as_unit(word)
    if unit is not None:
        against = f", though its text says {word}" if told and unit_size(told) != unit_size(unit) else ""
        return unit_size(unit), unit, f"One unit of the file is taken as 1 {unit}, as asked{against}"
    if told is not None:
        return unit_size(told), told, f"The file says Units: {word}, so one unit is 1 {told}"
    if word is not None:
        raise InputError(
            f'{path}: "Units: {word[:40]}" is no unit that is known here; '
            "say what unit the drawing is in with --unit."
        )
    header = _INSUNITS.get(_header(document))
    if header is not None:
        return unit_size(header), header, f"The header of the file says that one unit is 1 {header}"
    return 1.0, None, ""


def _as_unit(word: str) -> str | None:
    try:
        unit_size(word.lower())
    except InputError:
        return None
    return word.lower()


def _file_unit(unit: str) -> Unit:
    if unit_system(unit) == "imperial":
        return "in"
    return "cm" if unit_size(unit) == 10 else "mm"


def _numbered(pieces: Iterable[FoundPiece]) -> list[FoundPiece]:
    """Pieces that share name and size are told apart by a number behind the name."""
    seen: Counter[tuple[str | None, str | None]] = Counter()
    found = []
    for piece in pieces:
        key = (piece.name, piece.size)
        seen[key] += 1
        if piece.name is not None and seen[key] > 1:
            piece = replace(piece, name=f"{piece.name} ({seen[key]})")
        found.append(piece)
    return found


def _questions(asked: Sequence[Asked], right_hand: bool | None) -> list[str]:
    notes = []
    hand = list(dict.fromkeys(name for one in asked for name in one.hand))
    if hand and right_hand is None:
        notes.append(
            f"More copies of one hand than of the other are cut of {_named(hand)}, and the file does not say "
            "which hand is drawn: the drawing is taken to be the hand of which more are cut. "
            "If it is not, say which hand is drawn with --hand left or --hand right."
        )
    head = list(dict.fromkeys(name for one in asked for name in one.head))
    if head:
        notes.append(
            f"Nothing tells which end of the grain line is the top of {_named(head)}: the end drawn last is "
            "taken for it, which matters on cloth with a nap."
        )
    return notes


def _named(names: Sequence[str]) -> str:
    more = f" and {len(names) - 8} more" if len(names) > 8 else ""
    return ", ".join(names[:8]) + more
