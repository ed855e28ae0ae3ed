"""From what a reader of drawings found to the readable text of a pattern file, blanks clearly marked."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from marker.files.blanks import blank
from marker.files.toml import key as _key
from marker.files.toml import quoted as _text
from marker.importing.found import Found, FoundCut, FoundNotch, FoundPiece, Point, Unit, number
from marker.plain import visible
from marker.units import unit_size

EVERY = "every"
_WIDTH = 100
_DECIMALS = {"mm": 3, "cm": 4, "in": 5}
"""Decimals that keep a coordinate within a thousandth of a millimetre."""
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")

_NAME = "what the pattern is called"
_ALLOWANCE = 'a length to add all round, like 15 mm, or "included" if the outlines are cutting lines'
_GRAIN = "tail and head of the grain line; straight up the middle it is {}"
_MATERIAL = "fabric, interfacing, lining or another name"
_COUNT = "copies for one garment, a number without quotes"
_CLOTH = "width of the cloth from selvage to selvage, like 140 cm"


def pattern_text(found: Found, widths: Mapping[str, str] | None = None) -> str:
    """The text of a pattern file, TOML, in ``found.unit``.

    ``widths`` are widths of cloth by material, as pattern files write them ("140 cm"). What neither they nor
    ``found`` tell becomes a blank, which loading the file refuses with one sentence. Raises ValueError if
    there are no pieces, or if path data holds an arc.
    """
    if not found.pieces:
        raise ValueError("there is no piece to write")
    pieces = _grouped(found.pieces)
    sizes = _sizes(found)
    head = [_comment(note) for note in found.notes]
    if head:
        head.append("")
    head += [
        f"name = {_text(_word(found.name) or blank(_NAME))}",
        f'unit = "{found.unit}"',
    ]
    if sizes:
        head.append(f"sizes = [{', '.join(_text(size) for size in sizes)}]")
    if found.seam_allowance is not None or any(piece.seam_allowance is None for piece in found.pieces):
        head.append(f"seam_allowance = {_text(found.seam_allowance or blank(_ALLOWANCE))}")
    blocks = ["\n".join(head)]
    asked = dict(widths or {})
    for material in _materials(found.pieces, asked):
        width = _text(asked.get(material) or blank(_CLOTH))
        blocks.append(f"[fabric.{_key(material)}]\nwidth = {width}")
    blocks += [_piece(number_, group, found.unit) for number_, group in pieces.items()]
    return "\n\n".join(blocks) + "\n"


def _grouped(pieces: Sequence[FoundPiece]) -> dict[str, list[FoundPiece]]:
    """The drawings of each piece by its number; what has none is numbered in order.

    Two drawings of one piece in the same size are two pieces: the second gets a number of its own.
    """
    groups: list[tuple[str, str, list[FoundPiece]]] = []
    for piece in pieces:
        given, name = _word(piece.number), _word(piece.name)
        for number_, named, group in groups:
            same = number_ == given if given else not number_ and name and named == name
            if same and piece.size not in {other.size for other in group}:
                group.append(piece)
                break
        else:
            groups.append((given, name, [piece]))
    taken = {number_ for number_, _, _ in groups if number_}
    free = iter(str(i) for i in range(1, 2 * len(pieces) + 1) if str(i) not in taken)
    found: dict[str, list[FoundPiece]] = {}
    for number_, _, group in groups:
        if number_ in found:
            note = f'It is number {number_} in the drawing, as is "{_word(found[number_][0].name)}".'
            group[0] = replace(group[0], notes=(*group[0].notes, note))
        found[number_ if number_ and number_ not in found else next(free)] = group
    return found


def _sizes(found: Found) -> list[str]:
    listed = [*found.sizes, *(piece.size for piece in found.pieces if piece.size is not None)]
    return list(dict.fromkeys(word for size in listed if (word := _word(size))))


def _materials(pieces: Iterable[FoundPiece], widths: Mapping[str, str]) -> list[str]:
    named = [_word(cut.material) for piece in pieces for cut in piece.cuts or ()]
    listed = list(dict.fromkeys(name for name in named if name))
    return [
        *(listed or ["fabric"]),
        *(material for material in widths if material not in (listed or ["fabric"])),
    ]


def _piece(number_: str, drawings: Sequence[FoundPiece], unit: Unit) -> str:
    first = drawings[0]
    rows = [_comment(note) for note in dict.fromkeys(note for piece in drawings for note in piece.notes)]
    name = next((word for piece in drawings if (word := _word(piece.name))), None)
    rows += ["[[piece]]", f"number = {_text(number_)}", f"name = {_text(name or f'Piece {number_}')}"]
    if first.seam_allowance is not None:
        rows.append(f"seam_allowance = {_text(first.seam_allowance)}")
    cuts = next((piece.cuts for piece in drawings if piece.cuts is not None), None)
    if cuts is None:
        asked = next((piece.asked for piece in drawings if piece.asked), None)
        rows += ["cuts = [", f"  {_cut(FoundCut(said=asked))},", "]"]
    elif cuts:
        rows += ["cuts = [", *(f"  {_cut(cut)}," for cut in cuts), "]"]
    else:
        rows.append("cuts = []  # a guide, never cut")
    return "\n\n".join(["\n".join(rows), *(_drawing(number_, piece, unit) for piece in drawings)])


def _cut(cut: FoundCut) -> str:
    said = f'; the drawing says "{_word(cut.said)}"' if cut.said else ""
    count = str(cut.count) if cut.count is not None else _text(blank(_COUNT + said))
    words = [f"material = {_text(_word(cut.material) or blank(_MATERIAL + said))}", f"count = {count}"]
    if cut.how is not None:
        words.append(f'how = "{cut.how}"')
    if cut.region is not None:
        words.append(f"region = {_text(_word(cut.region) or '')}")
    return f"{{ {', '.join(words)} }}"


def _drawing(number_: str, piece: FoundPiece, unit: Unit) -> str:
    rows = [
        f"[piece.drawing.{_key(_word(piece.size) or EVERY)}]",
        f"outline = {_path(piece.outline, unit)}",
        f"grain = {_grain(piece, unit)}",
    ]
    if piece.fold:
        rows.append(f"fold = {_points(piece.fold, unit)}")
    if piece.notches:
        rows += [
            "notches = [",
            *(_notch(f"{number_}-{i}", notch, unit) for i, notch in enumerate(piece.notches, 1)),
            "]",
        ]
    if piece.drills:
        rows.append(f"drills = {_points(piece.drills, unit)}")
    if piece.lines:
        rows += ["lines = [", *(f"  {_path(line, unit)}," for line in piece.lines), "]"]
    if piece.allowances:
        rows += ["allowances = [", *(_allowance(*stretch, unit) for stretch in piece.allowances), "]"]
    if piece.regions:
        rows += ["", f"[piece.drawing.{_key(_word(piece.size) or EVERY)}.regions]"]
        rows += [f"{_key(_word(name) or '')} = {_path(path, unit)}" for name, path in piece.regions.items()]
    return "\n".join(rows)


def _grain(piece: FoundPiece, unit: Unit) -> str:
    return _points(piece.grain, unit) if piece.grain else _text(_grain_blank(piece.outline, unit))


def _grain_blank(outline: str, unit: Unit) -> str:
    """A blank whose hint can be copied in its place, if the piece is drawn upright."""
    from marker.importing.stroke import strokes_of

    points = [point for stroke in strokes_of(outline) for point in stroke.points()]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    middle, top, high = (min(xs) + max(xs)) / 2, min(ys), max(ys) - min(ys)
    ends = [(middle, top + 0.8 * high), (middle, top + 0.2 * high)]
    rough = ", ".join(
        f"[{number(x / unit_size(unit), 1)}, {number(y / unit_size(unit), 1)}]" for x, y in ends
    )
    return blank(_GRAIN.format(f"[{rough}]"))


def _notch(place: str, notch: FoundNotch, unit: Unit) -> str:
    """A notch without a name gets one that no other piece has: those of one name meet in sewing."""
    name = _word(notch.name) or f"notch {place}"
    return f"  {{ name = {_text(name)}, at = {_point(notch.at, unit)} }},"


def _allowance(start: Point, end: Point, width: float, unit: Unit) -> str:
    stretch = f"from = {_point(start, unit)}, to = {_point(end, unit)}"
    return f'  {{ {stretch}, width = "{number(width, 3)} mm" }},'


def _path(data: str, unit: Unit) -> str:
    """Path data in the unit of the file as a TOML text, over several lines if it is long."""
    if set(data) & set("Aa"):
        raise ValueError("arcs do not scale as plain numbers do; write them as curves")
    scaled = _NUMBER.sub(lambda match: _number(float(match.group()), unit), data)
    words = " ".join(scaled.split())
    if len(words) <= _WIDTH:
        return _text(words)
    # A line break is a space in path data. Lines end between commands, so that people find their way.
    lines: list[str] = []
    for command in re.findall(r"[A-Za-z][^A-Za-z]*", words):
        if lines and len(lines[-1]) + len(command) < _WIDTH:
            lines[-1] += f" {command.strip()}"
        else:
            lines += textwrap.wrap(command, _WIDTH)
    return '"""\n' + "\n".join(lines) + '"""'


def _points(points: Iterable[Point], unit: Unit) -> str:
    return f"[{', '.join(_point(point, unit) for point in points)}]"


def _point(point: Point, unit: Unit) -> str:
    return f"[{_number(point[0], unit)}, {_number(point[1], unit)}]"


def _number(mm: float, unit: Unit) -> str:
    return number(mm / unit_size(unit), _DECIMALS[unit])


def _word(text: str | None) -> str:
    """A name as pattern files allow it: one line, printable, at most 100 characters; "" for none."""
    if text is None:
        return ""
    return " ".join(visible(text, " ").split())[:100].strip()


def _comment(note: str) -> str:
    words = visible(note, " ")
    return "\n".join(textwrap.wrap(words, _WIDTH, initial_indent="# ", subsequent_indent="#   ")) or "#"
