"""A pattern asked for on the terminal, one question after the other.

Every answer is kept as soon as it is good. Whoever stops goes on later where it was: the answers given before
are given again, without asking.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from marker.errors import InputError
from marker.files.messages import listed, problem_words
from marker.files.outline import Wrong
from marker.files.schema import CornerTable
from marker.files.typed import WrongCorner
from marker.new import words
from marker.new.draft import (
    Grain,
    Hands,
    NewCut,
    NewPattern,
    NewPiece,
    Shape,
    Unit,
    checked,
    come_home,
    corner,
    rectangle,
    shape_of,
)
from marker.new.text import new_text, number_text
from marker.new.words import Unclear
from marker.units import format_position, unit_size

T = TypeVar("T")
BACK = "<"

HELLO = """\
A new pattern. Answer with Enter after each line; what stands in [brackets] is the answer if you type nothing.
< goes back one question. Measure your paper pieces with their tops away from you."""

CORNERS = """\
Go round the piece corner by corner, either way, and measure each from the top left of the piece: how far
to the right, a semicolon, how far down, like 12.5; 30. A curve: "through 5; 9" is a point on it, before the
corner where it ends; "12; 30 bulge 2" is a corner whose edge from the one before stands out by 2 in its
middle ("hollow 2": goes in). An empty line ends the piece: its last edge runs back to the first corner."""
CORNERS_FOLD = (
    "Begin at the top of the fold and end at its foot: the last edge, back to the first, is the fold."
)

EDGES = """\
Walk round the piece to the right from its top left corner: the length of each edge, a semicolon, and by how
many degrees you turn to the right at its end (to the left: a minus), like 24; 60. Without a turn it is 90.
"24; 60 bulge 2": the edge stands out by 2 in its middle ("hollow 2": goes in). An empty line ends the piece:
its last edge runs straight back to where you began."""
EDGES_FOLD = (
    "Begin at the top of the fold and end at its foot: the last edge, the straight way back, is the fold."
)


class Back(Exception):
    """Asks for the question before."""


@dataclass
class Asker:
    """Asks, checks, and keeps the good answers in ``told``, which it begins with when it has some.

    ``read`` shows a question and returns a line, ``say`` shows a line, ``keep`` is given all answers
    whenever there is a new one.
    """

    read: Callable[[str], str]
    say: Callable[[str], None]
    keep: Callable[[Sequence[str]], None] = lambda told: None
    told: list[str] = field(default_factory=list)
    at: int = 0

    def ask(self, question: str, check: Callable[[str], T], usual: str | None = None) -> T:
        """The answer to a question, asked until ``check`` takes it; an empty one stands for ``usual``."""
        shown = f"{question} [{usual}] " if usual else f"{question} "
        while True:
            again = self.at < len(self.told)
            answer = self.told[self.at] if again else self.read(shown).strip()
            if answer == BACK:
                raise Back
            try:
                value = check(answer or usual or "")
            except (Unclear, Wrong, InputError) as problem:
                if again:
                    # The answers of before do not lead this far; go on from here.
                    del self.told[self.at :]
                else:
                    about = "The outline " if isinstance(problem, Wrong) else ""
                    text = f"{about}{problem}"
                    self.say(f"  {text[:1].upper()}{text[1:]}{'' if text[-1:] in '.?' else '.'}")
                continue
            if not again:
                self.told.append(answer)
                self.keep(self.told)
            self.at += 1
            return value

    def tell(self, text: str) -> None:
        """Say something, but for the parts that are only gone over again."""
        if self.at >= len(self.told):
            self.say(text)


def ask_pattern(asker: Asker, path: Path) -> tuple[NewPattern, str]:
    """The pattern that the answers make, and its text. ``path`` is the file it is meant for."""
    while True:
        try:
            asker.at = 0
            return _pattern(asker, path)
        except Back:
            if asker.told:
                asker.told.pop()
            asker.keep(asker.told)


def _pattern(asker: Asker, path: Path) -> tuple[NewPattern, str]:
    asker.tell(HELLO)
    usual = path.stem.replace("-", " ").replace("_", " ").strip().capitalize() or "My pattern"
    name = asker.ask("What is the pattern called?", words.name, usual)
    unit: Unit = asker.ask("Do you measure in mm, cm or in (inches)?", words.unit_of, "cm")
    like = "5/8" if unit == "in" else "15" if unit == "mm" else "1.5"
    asker.tell(
        f"If your outlines are stitching lines, how much is added all round, like {like}? "
        'If they are cutting lines already: "included".'
    )
    allowance = asker.ask("Seam allowance?", lambda text: words.allowance(text, unit))
    pieces: list[NewPiece] = []
    while True:
        number = len(pieces) + 1
        ask = f"Piece {number}: what is it called?" + (" (Enter: no more pieces)" if pieces else "")
        called = asker.ask(ask, lambda text: words.name(text) if text or not pieces else "")
        if not called:
            break
        pieces.append(_piece(asker, path, NewPattern(name, unit, allowance, tuple(pieces), {}), called))
    widths: dict[str, str] = {}
    for material in dict.fromkeys(cut.material for piece in pieces for cut in piece.cuts):

        def width(text: str, material: str = material) -> str:
            if not text:
                return ""
            words.length(text, unit)
            told = words.with_unit(text, unit)
            checked(path, new_text(NewPattern(name, unit, allowance, tuple(pieces), {material: told})))
            return told

        said = asker.ask(
            f"How wide is the {material}, selvage to selvage? (Enter: to be said later, with --width)", width
        )
        if said:
            widths[material] = said
    pattern = NewPattern(name, unit, allowance, tuple(pieces), widths)
    text = new_text(pattern)
    checked(path, text)
    return pattern, text


def _piece(asker: Asker, path: Path, before: NewPattern, name: str) -> NewPiece:
    """One piece, asked for until it can be made and is said to be right."""
    while True:
        piece, shape = _told(asker, before, name)
        number = len(before.pieces) + 1
        try:
            # Alone first, so that what is wrong with it is told of it.
            alone = NewPattern(before.name, before.unit, before.allowance, (*before.pieces, piece), {})
            checked(path, new_text(alone))
        except InputError as problem:
            asker.tell(f"  {problem}")
            asker.tell(f"Tell piece {number} again, from what it is cut from.")
            continue
        asker.tell(_summary(number, piece, shape, before.unit))
        if asker.ask("Is that right?", words.yes, "yes"):
            return piece
        asker.tell(f"Tell piece {number} again, from what it is cut from.")


def _summary(number: int, piece: NewPiece, shape: Shape, unit: Unit) -> str:
    """What was understood, with the lengths of the edges to hold against the paper."""
    wide, high = (f"{_measure(side, unit)} {unit}" for side in shape.size)
    half = " as drawn, half of it" if piece.fold else ""
    how = " on fold" if piece.fold else ""
    cuts = ", ".join(f"{cut.count}{how} from {cut.material}" for cut in piece.cuts) or "never, a guide"
    edges = ", ".join(_measure(edge, unit) for edge in shape.edges)
    return (
        f"Piece {number}, {piece.name}: {wide} wide and {high} high{half}; cut {cuts}. "
        f"Edges one after the other: {edges} {unit}."
    )


def _measure(value: float, unit: Unit) -> str:
    """As a ruler shows it: to a sixteenth of an inch, or half a millimetre."""
    if unit == "in":
        return format_position(value * unit_size(unit), "imperial").removesuffix(" in")
    step = 0.5 / unit_size(unit)
    return number_text(round(value / step) * step)


def _told(asker: Asker, before: NewPattern, name: str) -> tuple[NewPiece, Shape]:
    unit = before.unit
    cuts: list[NewCut] = []
    usual = next((cut.material for piece in before.pieces[::-1] for cut in piece.cuts), "fabric")
    material = asker.ask("What is it cut from?", words.material, usual)
    while material:
        question = f"How often is it cut from {material} for one garment?"
        count = asker.ask(question + ("" if cuts else " (0: never, a guide)"), words.count, "1")
        if not count:
            break
        cuts.append(NewCut(material, count))
        known = [cut.material for cut in cuts]
        material = asker.ask(
            "And from something else, like interfacing? (Enter: no)",
            lambda text, known=known: _other(text, known),  # type: ignore[misc]
        )
    fold = bool(cuts) and asker.ask(
        "Is it half a piece, with one straight edge to lie on the fold?", words.yes, "no"
    )
    kinds = {"rectangle": "rectangle", "corners": "corners", "edges": "edges"}
    kind = asker.ask(
        "What do you measure: a rectangle, corners (right and down), or edges (lengths and turns)?",
        lambda text: words.one_of(text, kinds, "a kind of shape"),
        "rectangle",
    )
    if kind == "rectangle":
        across = "How wide is it, from the fold?" if fold else "How wide is it, from left to right?"
        wide = asker.ask(across, lambda text: words.length(text, unit))

        def long(text: str) -> tuple[CornerTable, ...]:
            found = rectangle(wide, words.length(text, unit), unit)
            shape_of(found, unit)
            return found

        corners = asker.ask("How long is it, from top to bottom?", long)
    elif kind == "corners":
        asker.tell(CORNERS)
        corners = _corners(asker, unit, fold)
    else:
        asker.tell(EDGES)
        corners = _edges(asker, unit, fold)
    if any(cut.count > 1 for cut in cuts) and not fold and kind != "rectangle":
        cuts = [_hands(asker, cut) if cut.count > 1 else cut for cut in cuts]
    grain: Grain = asker.ask(
        "Where is the top of the garment as it lies before you: up, down, left or right?", words.grain, "up"
    )
    same = before.allowance
    own = asker.ask("Its seam allowance?", lambda text: words.allowance(text, unit), same)
    piece = NewPiece(name, tuple(cuts), corners, fold, grain, None if own == same else own)
    return piece, shape_of(corners, unit)


def _other(text: str, known: Sequence[str]) -> str:
    if not text or text.lower() in words.NO:
        return ""
    material = words.material(text)
    if material in known:
        raise Unclear(f"{material} is told already; name another material than {listed(known)}")
    return material


def _hands(asker: Asker, cut: NewCut) -> NewCut:
    def hands(text: str) -> Hands:
        found = words.hands(text)
        if found == "mirrored" and cut.count % 2:
            raise Unclear(f"{cut.count} does not make mirrored pairs; write alike, or go back with {BACK}")
        return found

    usual = "alike" if cut.count % 2 else "pairs"
    question = f"The {cut.count} from {cut.material}: pairs (left and right), or all alike?"
    return NewCut(cut.material, cut.count, asker.ask(question, hands, usual))


def _corners(asker: Asker, unit: Unit, fold: bool) -> tuple[CornerTable, ...]:
    if fold:
        asker.tell(CORNERS_FOLD)
    rows: list[CornerTable] = []

    def next_(text: str) -> CornerTable | None:
        if not text:
            _ended(rows, unit)
            return None
        row = _row(words.corner_fields(text, unit), unit)
        _so_far([*rows, row], unit)
        return row

    while (row := asker.ask(f"Corner {len(rows) + 1}:", next_)) is not None:
        rows.append(row)
    return come_home(rows, unit)


def _edges(asker: Asker, unit: Unit, fold: bool) -> tuple[CornerTable, ...]:
    if fold:
        asker.tell(EDGES_FOLD)
    rows: list[CornerTable] = [corner({"at": [0.0, 0.0]}, unit)]
    turn: list[float] = []

    def next_(text: str) -> tuple[CornerTable, float] | None:
        if not text:
            _ended(rows, unit)
            return None
        fields, after = words.edge_fields(text, unit)
        if turn:
            fields["turn"] = turn[-1]
        return _row(fields, unit), after

    while (told := asker.ask(f"Edge {len(rows)}:", next_)) is not None:
        rows.append(told[0])
        turn.append(told[1])
    return come_home(rows, unit)


def _row(fields: dict[str, object], unit: Unit) -> CornerTable:
    try:
        return corner(fields, unit)
    except ValidationError as error:
        raise Unclear(problem_words(error)) from None


def _so_far(rows: Sequence[CornerTable], unit: Unit) -> None:
    """Raise for the first corner if it is a point on a curve, with nothing before it."""
    if rows[0].through is not None:
        raise Unclear('the piece begins with a "through" point; begin with a corner')


def _ended(rows: Sequence[CornerTable], unit: Unit) -> None:
    """Raise if the corners so far make no outline."""
    try:
        shape_of(come_home(rows, unit), unit)
    except WrongCorner as wrong:
        raise Unclear(f"corner {wrong.number} {wrong}; {BACK} goes back to it") from None
    except Wrong as wrong:
        raise Wrong(f"{wrong}; {BACK} goes back one corner") from None
