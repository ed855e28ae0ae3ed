"""What a pattern file asks to match: its [[match]] tables, checked against the pieces."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from marker.errors import InputError
from marker.files.messages import Tell, at_once, listed, nearest, piece_words, sentence
from marker.files.schema import MatchTable
from marker.model.match import Match
from marker.model.piece import Piece

_LINES = {"meet": "crosswise", "centre": "lengthwise", "pair": "both"}
"""The lines of the print that are meant when the file does not say."""


def matches_of(
    path: str | Path,
    tables: Sequence[MatchTable],
    pieces: Mapping[str, Sequence[Piece]],
    tell: Tell = at_once,
) -> tuple[Match, ...]:
    """One match for each name of each table. ``pieces`` by size; every size has the same numbers.

    ``tell`` hears of tables that are wrong; left out, the first raises InputError with one sentence that
    names the table and what there is to name.
    """
    found: list[Match] = []
    for i, table in enumerate(tables):
        try:
            found += _matches(path, f"match {i + 1}", table, pieces)
        except InputError as error:
            tell(error)
    return tuple(found)


def _matches(
    path: str | Path, where: str, table: MatchTable, pieces: Mapping[str, Sequence[Piece]]
) -> list[Match]:
    given = {"meet": table.meet, "centre": table.centre, "pair": table.pair}
    asked = [what for what, names in given.items() if names is not None]
    if len(asked) != 1:
        raise sentence(
            path,
            [where],
            f"has {' and '.join(asked) or 'none of meet, centre and pair'}; write one of the three in "
            "each match",
        )
    if table.at is not None and table.centre is None:
        raise sentence(
            path, [where, "at"], "is the middle of a piece to centre; leave it out of other matches"
        )
    found: list[Match] = []
    for what in ("meet", "centre", "pair"):
        for name in given[what] or []:
            if what == "meet":
                _check_meets(path, [where, what], name, pieces)
            else:
                _check_piece(path, [where, what], name, pieces)
                if table.at is not None:
                    _check_at(path, [where, "at"], name, table.at, pieces)
            lines = table.lines or _LINES[what]
            crosswise, lengthwise = lines in ("crosswise", "both"), lines in ("lengthwise", "both")
            found.append(Match(what, name, crosswise, lengthwise, table.level, table.at or ""))
    return found


def _check_meets(
    path: str | Path, where: Sequence[str], name: str, pieces: Mapping[str, Sequence[Piece]]
) -> None:
    """Two pieces that are cut carry the notch or mark in every size, and none of them lies on the bias."""
    everywhere = _names(piece for of_size in pieces.values() for piece in of_size)
    if name not in everywhere:
        raise _unknown(path, where, "notch or mark", name, everywhere)
    for size, of_size in pieces.items():
        carriers = [piece for piece in of_size if piece.cuts and name in _names([piece])]
        _check_straight(path, where, carriers)
        if len(carriers) < 2:
            in_size = "" if size == "one size" else f" in size {size}"
            only = f" only {_words(carriers[0])} has" if carriers else " no piece that is cut has"
            raise sentence(
                path,
                where,
                f"{name} must be on two pieces to meet, and{in_size}{only} a notch or mark of that name; "
                "name it on the other piece as well, or leave the match out",
            )


def _check_piece(
    path: str | Path, where: Sequence[str], number: str, pieces: Mapping[str, Sequence[Piece]]
) -> None:
    for of_size in pieces.values():
        piece = next((piece for piece in of_size if piece.number == number), None)
        if piece is None:
            raise _unknown(path, where, "piece", number, [piece.number for piece in of_size])
        if not piece.cuts:
            raise sentence(path, where, f"{_words(piece)} is never cut; give it a cut, or name another piece")
        _check_straight(path, where, [piece])


def _check_at(
    path: str | Path, where: Sequence[str], number: str, at: str, pieces: Mapping[str, Sequence[Piece]]
) -> None:
    for size, of_size in pieces.items():
        piece = next(piece for piece in of_size if piece.number == number)
        names = _names([piece])
        if at not in names:
            in_size = "" if size == "one size" else f" in size {size}"
            raise _unknown(path, where, "notch or mark", at, names, f" on {_words(piece)}{in_size}")


def _check_straight(path: str | Path, where: Sequence[str], pieces: Iterable[Piece]) -> None:
    for piece in pieces:
        if piece.bias:
            raise sentence(
                path,
                where,
                f"{_words(piece)} is cut on the bias, where lines run at 45° and cannot match; "
                "leave it out of the match",
            )


def _names(pieces: Iterable[Piece]) -> list[str]:
    """The names of notches and marks, each once, in order."""
    return list(dict.fromkeys(mark.name for piece in pieces for mark in (*piece.notches, *piece.marks)))


def _unknown(
    path: str | Path, where: Sequence[str], what: str, name: str, known: Sequence[str], place: str = ""
) -> InputError:
    like = nearest(name, known)
    there_are = (
        "there is none" if not known else f"there {'is' if len(known) == 1 else 'are'} {listed(known)}"
    )
    return sentence(
        path,
        where,
        f"there is no {what} {name}{place}; " + (f'did you mean "{like}"? ' if like else "") + there_are,
    )


def _words(piece: Piece) -> str:
    return piece_words(piece.number, piece.name)
