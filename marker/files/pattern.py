"""Pattern files: from TOML to the pattern of the model."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from marker.errors import InputError, StillMissing
from marker.files.blanks import refuse_blanks
from marker.files.copied import WrongCopy, copied
from marker.files.drawing import Draft
from marker.files.fabric import build_fabrics
from marker.files.kinds import refuse_other
from marker.files.matches import matches_of
from marker.files.messages import Tell, at_once, from_validation, listed, nearest, piece_words, sentence
from marker.files.outline import Frame
from marker.files.schema import UNITS, DrawingTable, PatternFile, PieceTable
from marker.files.toml import read_toml
from marker.files.typed import WrongCorner
from marker.model.pattern import Notion, Pattern, View
from marker.model.piece import Piece

EVERY = "every"
"""The drawing for all sizes that have none of their own."""


def load_pattern(path: str | Path) -> Pattern:
    """The pattern in a TOML file: every size and view, checked.

    Coordinates of the model are millimetres with y upwards. Raises InputError with one sentence that
    names the file, the piece and the field.
    """
    return pattern_of(path, read_toml(path))


def pattern_of(path: str | Path, data: Mapping[str, Any]) -> Pattern:
    """The pattern in the tables of a file that messages call ``path``. As ``load_pattern``."""
    refuse_blanks(path, data)
    refuse_other(path, data, "pattern")
    try:
        file = PatternFile.model_validate(data, context={"unit": unit_of(data)})
    except ValidationError as error:
        raise from_validation(path, error, data, PatternFile) from None
    return build_pattern(path, file)


def unit_of(data: Mapping[str, Any]) -> str:
    """The unit that a pattern's bare numbers have."""
    unit = data.get("unit")
    return unit if unit in UNITS else "mm"


def build_pattern(
    path: str | Path, file: PatternFile, tell: Tell = at_once, left_out: Sequence[str] = ()
) -> Pattern:
    """The pattern of the model, of all that is right in the file.

    ``tell`` hears of the rest; left out, the first mistake raises InputError. ``left_out`` are numbers of
    pieces that are in the file and so wrong that they are not in the tables. What must match is looked
    at only if every piece is right.
    """
    for error in (*_wrong_names(path, file, left_out), *_wrong_allowances(path, file)):
        tell(error)
    pieces: dict[str, list[Piece]] = {size: [] for size in file.sizes}
    odd: list[str] = []
    whole = not left_out
    for table in file.piece:
        made = _pieces(path, file, table, tell, odd)
        whole = whole and made is not None
        for size, piece in (made or {}).items():
            pieces[size].append(piece)
    return Pattern(
        name=file.name,
        path=str(path),
        sizes=tuple(file.sizes),
        views=_views(file),
        pieces={size: tuple(of_size) for size, of_size in pieces.items()},
        fabrics=build_fabrics(path, file.fabric, file.unit, tell),
        notions=tuple(
            Notion(
                name=notion.name,
                detail=notion.detail,
                counts=notion.count
                if isinstance(notion.count, dict)
                else dict.fromkeys(file.sizes, notion.count),
                enough_for=notion.enough_for,
                views=tuple(notion.views),
                with_piece=notion.with_,
            )
            for notion in file.notion
        ),
        about=file.about,
        matches=matches_of(path, file.match, pieces, tell) if whole else (),
        unit=file.unit,
        odd=tuple(odd),
    )


def _views(file: PatternFile) -> tuple[View, ...]:
    if not file.views:
        return (View("A", "", tuple(piece.number for piece in file.piece)),)
    return tuple(
        View(name, view.title, tuple(view.pieces), tuple(view.optional)) for name, view in file.views.items()
    )


def _wrong_names(path: str | Path, file: PatternFile, left_out: Sequence[str]) -> Iterator[InputError]:
    """Every name that refers to something refers to something there is, once."""
    sizes, numbers = file.sizes, [*(piece.number for piece in file.piece), *left_out]
    yield from _twice(path, ["sizes"], sizes, "size")
    if EVERY in sizes:
        yield sentence(path, ["sizes"], f'"{EVERY}" stands for all sizes; name this size something else')
    for i, piece in enumerate(file.piece):
        same = next((other for other in file.piece[i + 1 :] if other.number == piece.number), None)
        if same is not None:
            yield sentence(
                path,
                [piece_words(piece.number, piece.name), "number"],
                f'"{same.name}" has the number {piece.number} too; give each piece a number of its own',
            )
    for name, view in file.views.items():
        where = [f"view {name}"]
        yield from _unknown(path, [*where, "pieces"], view.pieces, numbers, "piece")
        yield from _unknown(path, [*where, "optional"], view.optional, numbers, "piece")
        yield from _twice(path, where, [*view.pieces, *view.optional], "piece")
    views = [view.name for view in _views(file)]
    for notion in file.notion:
        where = [f'notion "{notion.name}"']
        yield from _unknown(path, [*where, "views"], notion.views, views, "view")
        yield from _unknown(path, [*where, "with"], [notion.with_] if notion.with_ else [], numbers, "piece")
        if isinstance(notion.count, dict):
            yield from _unknown(path, [*where, "count"], list(notion.count), sizes, "size")
            missing = [size for size in sizes if size not in notion.count]
            if missing:
                told = f"has none for size {listed(missing)}; add it, or write 0"
                yield sentence(path, [*where, "count"], told, StillMissing)


def _twice(path: str | Path, where: Sequence[str], names: Sequence[str], what: str) -> Iterator[InputError]:
    for i, name in enumerate(names):
        if name in names[:i]:
            yield sentence(path, where, f"{what} {name} is listed twice; leave one out")


def _unknown(
    path: str | Path, where: Sequence[str], names: Sequence[str], known: Sequence[str], what: str
) -> Iterator[InputError]:
    for name in names:
        if name not in known:
            like = nearest(name, known)
            yield sentence(
                path,
                where,
                f"there is no {what} {name}; "
                + (f'did you mean "{like}"? ' if like else "")
                + f"the {what}s are {listed(known)}",
            )


def _wrong_allowances(path: str | Path, file: PatternFile) -> Iterator[InputError]:
    """The first piece that has no allowance: what it lacks the others mostly lack as well."""
    lacking = [piece for piece in file.piece if piece.seam_allowance is None]
    if file.seam_allowance is None and lacking:
        yield sentence(
            path,
            [piece_words(lacking[0].number, lacking[0].name), "seam_allowance"],
            'is missing, here and for the whole pattern; write a length to add, or "included" '
            "if the outlines are cutting lines",
            StillMissing,
        )


def _pieces(
    path: str | Path, file: PatternFile, table: PieceTable, tell: Tell, odd: list[str]
) -> dict[str, Piece] | None:
    """One piece in every size; None if there is something wrong with it. ``odd`` gathers what looks so."""
    words = piece_words(table.number, table.name)
    made: dict[str, Piece] = {}
    known = f'the sizes are {listed(file.sizes)}, or write "{EVERY}" for all'
    wrong = [
        sentence(path, [words, "drawing"], f"there is no size {size}; {known}")
        for size in table.drawing
        if size not in file.sizes and size != EVERY
    ]
    missing = [size for size in file.sizes if size not in table.drawing and EVERY not in table.drawing]
    if missing:
        told = f"there is no drawing for size {listed(missing)}; add one, or one for {EVERY} size"
        wrong.append(sentence(path, [words, "drawing"], told, StillMissing))
    for error in wrong:
        tell(error)
    allowance = table.seam_allowance if table.seam_allowance is not None else file.seam_allowance
    if allowance is None:
        return None
    copies = any(drawing.like is not None for drawing in table.drawing.values())
    drawings = _written_out(path, words, file.unit, table)
    while True:
        try:
            size, drawing = next(drawings)
            draft = Draft(path, _where(words, size), Frame(file.unit), drawing)
            made[size] = draft.piece(table, allowance)
            odd += draft.odd
        except StopIteration:
            break
        except InputError as error:
            wrong.append(error)
            tell(error)
            # A copy of what is wrong would be told again.
            if copies:
                break
    return None if wrong else {size: made[size if size in made else EVERY] for size in file.sizes}


def _where(words: str, size: str) -> list[str]:
    return [words, f"size {size}" if size != EVERY else "every size"]


def _written_out(
    path: str | Path, words: str, unit: str, table: PieceTable
) -> Iterator[tuple[str, DrawingTable]]:
    """The drawings of a piece by size, copies of other sizes written out and after the one they copy.

    Whoever takes one makes sure that it is right before asking for the next.
    """
    done: dict[str, DrawingTable] = {}
    waiting = dict(table.drawing)
    while waiting:
        ready = [size for size, drawing in waiting.items() if drawing.like is None or drawing.like in done]
        if not ready:
            raise _never_ready(path, words, waiting, table)
        for size in ready:
            drawing = waiting.pop(size)
            where = _where(words, size)
            if drawing.like is not None:
                try:
                    drawing = copied(drawing, done[drawing.like], Frame(unit))
                except WrongCopy as wrong:
                    raise sentence(path, [*where, wrong.field], str(wrong)) from None
                except WrongCorner as wrong:
                    raise sentence(path, [*where, f"corner {wrong.number}"], str(wrong)) from None
            elif drawing.move:
                raise sentence(
                    path, [*where, "move"], 'is about a copied size; write which with "like", or leave it out'
                )
            yield size, drawing
            done[size] = drawing


def _never_ready(
    path: str | Path, words: str, waiting: Mapping[str, DrawingTable], table: PieceTable
) -> InputError:
    """Copies that end nowhere: of a size that is not drawn, or of one another."""
    for size, drawing in waiting.items():
        if drawing.like not in table.drawing:
            like = nearest(drawing.like or "", table.drawing)
            return sentence(
                path,
                [*_where(words, size), "like"],
                f"there is no drawing for size {drawing.like}; "
                + (f'did you mean "{like}"? ' if like and like != size else "")
                + f"the drawings are for {listed(table.drawing)}",
            )
    size = next(iter(waiting))
    round_ = [size]
    while (after := waiting[round_[-1]].like or "") not in round_:
        round_.append(after)
    round_ = round_[round_.index(after) :]
    return sentence(
        path,
        [*_where(words, round_[0]), "like"],
        f"the sizes copy each other in a circle, {', '.join([*round_, round_[0]])}; draw one of them out",
    )
