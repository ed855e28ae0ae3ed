"""Pattern files: from TOML to the pattern of the model."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from marker.errors import InputError
from marker.files.blanks import refuse_blanks
from marker.files.copied import WrongCopy, copied
from marker.files.drawing import Draft
from marker.files.fabric import build_fabrics
from marker.files.matches import matches_of
from marker.files.messages import from_validation, listed, nearest, piece_words, sentence
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
    unit = data.get("unit")
    try:
        file = PatternFile.model_validate(data, context={"unit": unit if unit in UNITS else "mm"})
    except ValidationError as error:
        raise from_validation(path, error, data, PatternFile) from None
    _check_names(path, file)
    _check_allowances_given(path, file)
    pieces: dict[str, list[Piece]] = {size: [] for size in file.sizes}
    for table in file.piece:
        for size, piece in _pieces(path, file, table).items():
            pieces[size].append(piece)
    return Pattern(
        name=file.name,
        path=str(path),
        sizes=tuple(file.sizes),
        views=_views(file),
        pieces={size: tuple(of_size) for size, of_size in pieces.items()},
        fabrics=build_fabrics(path, file.fabric, file.unit),
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
        matches=matches_of(path, file.match, pieces),
        unit=file.unit,
    )


def _views(file: PatternFile) -> tuple[View, ...]:
    if not file.views:
        return (View("A", "", tuple(piece.number for piece in file.piece)),)
    return tuple(
        View(name, view.title, tuple(view.pieces), tuple(view.optional)) for name, view in file.views.items()
    )


def _check_names(path: str | Path, file: PatternFile) -> None:
    """Every name that refers to something refers to something there is, once."""
    sizes, numbers = file.sizes, [piece.number for piece in file.piece]
    _check_once(path, ["sizes"], sizes, "size")
    if EVERY in sizes:
        raise sentence(path, ["sizes"], f'"{EVERY}" stands for all sizes; name this size something else')
    for piece in file.piece:
        same = [other for other in file.piece if other.number == piece.number]
        if len(same) > 1:
            raise sentence(
                path,
                [piece_words(piece.number, piece.name), "number"],
                f'"{same[1].name}" has the number {piece.number} too; give each piece a number of its own',
            )
    for name, view in file.views.items():
        where = [f"view {name}"]
        _check_known(path, [*where, "pieces"], view.pieces, numbers, "piece")
        _check_known(path, [*where, "optional"], view.optional, numbers, "piece")
        _check_once(path, where, [*view.pieces, *view.optional], "piece")
    for notion in file.notion:
        where = [f'notion "{notion.name}"']
        _check_known(path, [*where, "views"], notion.views, [view.name for view in _views(file)], "view")
        _check_known(path, [*where, "with"], [notion.with_] if notion.with_ else [], numbers, "piece")
        if isinstance(notion.count, dict):
            _check_known(path, [*where, "count"], list(notion.count), sizes, "size")
            missing = [size for size in sizes if size not in notion.count]
            if missing:
                raise sentence(
                    path, [*where, "count"], f"has none for size {listed(missing)}; add it, or write 0"
                )


def _check_once(path: str | Path, where: Sequence[str], names: Sequence[str], what: str) -> None:
    for i, name in enumerate(names):
        if name in names[:i]:
            raise sentence(path, where, f"{what} {name} is listed twice; leave one out")


def _check_known(
    path: str | Path, where: Sequence[str], names: Sequence[str], known: Sequence[str], what: str
) -> None:
    for name in names:
        if name not in known:
            like = nearest(name, known)
            raise sentence(
                path,
                where,
                f"there is no {what} {name}; "
                + (f'did you mean "{like}"? ' if like else "")
                + f"the {what}s are {listed(known)}",
            )


def _check_allowances_given(path: str | Path, file: PatternFile) -> None:
    if file.seam_allowance is not None:
        return
    for piece in file.piece:
        if piece.seam_allowance is None:
            raise sentence(
                path,
                [piece_words(piece.number, piece.name), "seam_allowance"],
                'is missing, here and for the whole pattern; write a length to add, or "included" '
                "if the outlines are cutting lines",
            )


def _pieces(path: str | Path, file: PatternFile, table: PieceTable) -> dict[str, Piece]:
    """One piece in every size."""
    words = piece_words(table.number, table.name)
    for size in table.drawing:
        if size not in file.sizes and size != EVERY:
            raise sentence(
                path,
                [words, "drawing"],
                f'there is no size {size}; the sizes are {listed(file.sizes)}, or write "{EVERY}" for all',
            )
    missing = [size for size in file.sizes if size not in table.drawing and EVERY not in table.drawing]
    if missing:
        raise sentence(
            path,
            [words, "drawing"],
            f"there is no drawing for size {listed(missing)}; add one, or one for {EVERY} size",
        )
    allowance = table.seam_allowance if table.seam_allowance is not None else file.seam_allowance
    assert allowance is not None
    made: dict[str, Piece] = {}
    for key, drawing in _written_out(path, words, file.unit, table):
        made[key] = Draft(path, _where(words, key), Frame(file.unit), drawing).piece(table, allowance)
    return {size: made[size if size in made else EVERY] for size in file.sizes}


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
