"""From a validation error to one sentence: file, piece, field, what is wrong, what to do."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

from marker.errors import InputError, StillMissing
from marker.plain import visible

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError

_ITEMS = {
    "piece": "piece",
    "notion": "notion",
    "flaws": "flaw",
    "cuts": "cut",
    "notches": "notch",
    "allowances": "allowance",
    "drills": "drill",
    "lines": "line",
    "corners": "corner",
    "marks": "mark",
    "match": "match",
    "remnant": "remnant",
    "holes": "hole",
}
_NAMED = {"drawing": "size", "views": "view", "fabric": "fabric", "regions": "region"}
_KINDS = {
    "string_type": "a text in quotes",
    "int_type": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false",
    "list_type": "a list in square brackets",
    "dict_type": "a table",
    "model_type": "a table",
}


def sentence(
    path: str | Path, where: Sequence[str], what: str, kind: type[InputError] = InputError
) -> InputError:
    """An InputError that reads ``path: where, where: what.``"""
    place = ", ".join(where)
    what = what if what.endswith("?") else what.rstrip(".") + "."
    told = f"{path}: {place}: {what}" if place else f"{path}: {what}"
    return kind(visible(told))


Tell = Callable[[InputError], None]
"""What hears of a mistake in a file: raises it, or keeps it and lets the reading go on."""


def at_once(error: InputError) -> None:
    """The usual way to tell of a mistake: nothing else is read."""
    raise error


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name that is most like ``word``, if any is like it at all."""
    names = list(known)
    lowered = {name.lower(): name for name in names}
    found = difflib.get_close_matches(word.lower(), lowered, n=1, cutoff=0.6)
    return lowered[found[0]] if found else None


def listed(names: Iterable[str]) -> str:
    """``S, M, L``, cut short after twenty; "none" if there are none."""
    all_names = list(names)
    more = ", …" if len(all_names) > 20 else ""
    return ", ".join(all_names[:20]) + more if all_names else "none"


def from_validation(
    path: str | Path, error: ValidationError, data: Mapping[str, Any], model: type[BaseModel]
) -> InputError:
    """The first problem that pydantic found in ``data``, as one sentence."""
    return all_from_validation(path, error, data, model)[0][1]


def all_from_validation(
    path: str | Path, error: ValidationError, data: Mapping[str, Any], model: type[BaseModel]
) -> list[tuple[tuple[int | str, ...], InputError]]:
    """Where each problem is that pydantic found in ``data``, and a sentence about it.

    Unknown fields come first: they are usually misspelt, and better told than the missing ones they leave.
    """
    problems = sorted(error.errors(), key=lambda problem: problem["type"] != "extra_forbidden")
    return [(problem["loc"], _told(path, problem, data, model)) for problem in problems]


def _told(
    path: str | Path, problem: Mapping[str, Any], data: Mapping[str, Any], model: type[BaseModel]
) -> InputError:
    loc, kind, given = problem["loc"], problem["type"], problem.get("input")
    limits: Mapping[str, Any] = problem.get("ctx", {})
    if kind == "extra_forbidden":
        return sentence(path, place(loc[:-1], data), _unknown(str(loc[-1]), _fields(model, loc[:-1])))
    if kind == "missing":
        return sentence(path, place(loc[:-1], data), f'"{loc[-1]}" is missing; add it', StillMissing)
    what = _brackets(loc, kind, given) or _what(kind, given, limits, problem["msg"])
    return sentence(path, place(loc, data), what)


def _brackets(loc: Sequence[int | str], kind: str, given: Any) -> str | None:
    """What to say of a table in single brackets that goes in double ones, or the other way round."""
    table = ".".join(step for step in loc if isinstance(step, str))
    if kind == "list_type" and isinstance(given, Mapping):
        return f"there may be several, so each begins with double brackets; write [[{table}]]"
    if (
        kind in ("dict_type", "model_type")
        and isinstance(given, list)
        and given
        and isinstance(given[0], dict)
    ):
        return f"there is only one, so it begins with single brackets; write [{table}]"
    return None


def problem_words(error: ValidationError) -> str:
    """What the first problem is and what to do, as the end of a sentence that says where."""
    first = error.errors()[0]
    return _what(first["type"], first.get("input"), first.get("ctx", {}), first["msg"])


def place(loc: Sequence[int | str], data: Any) -> list[str]:
    """Words for a place in a file: ``piece 3 "Collar"``, ``size M``, ``notch 2``, ``at``."""
    words: list[str] = []
    here = data
    field = ""
    for step in loc:
        if step == "[key]":
            continue
        before, here = here, _inside(here, step)
        if isinstance(step, int):
            if words and words[-1] == field and field in _ITEMS:
                words.pop()
            words.append(_item(field, step, here, before))
        elif field in _NAMED and isinstance(before, Mapping) and words and words[-1] == field:
            words[-1] = f"every {_NAMED[field]}" if step == "every" else f"{_NAMED[field]} {step}"
            field = ""
        else:
            words.append(step)
            field = step
    return words


def piece_words(number: Any, name: Any) -> str:
    """``piece 3 "Collar"``."""
    return f'piece {number} "{name}"'


def _item(field: str, index: int, here: Any, before: Any) -> str:
    if field == "piece":
        if isinstance(here, Mapping) and isinstance(here.get("number"), (str, int)):
            return piece_words(here["number"], here["name"]) if "name" in here else f"piece {here['number']}"
        name = f' "{here["name"]}"' if isinstance(here, Mapping) and isinstance(here.get("name"), str) else ""
        return f"piece{name} ([[piece]] {index + 1} in the file)"
    if field in ("notion", "remnant") and isinstance(here, Mapping) and isinstance(here.get("name"), str):
        return f'{field} "{here["name"]}"'
    if field == "at" and before is None and index < 2:
        # A corner written as a bare point.
        return "xy"[index]
    if isinstance(before, list) and len(before) == 2 and not isinstance(here, (list, dict)):
        return "xy"[index]
    return f"{_ITEMS.get(field, 'entry')} {index + 1}"


def _inside(here: Any, step: int | str) -> Any:
    if isinstance(here, Mapping):
        return here.get(step)
    if isinstance(here, list) and isinstance(step, int) and step < len(here):
        return here[step]
    return None


def _unknown(name: str, known: list[str]) -> str:
    like = nearest(name, known)
    if like:
        return f'"{name}" is not a field here; did you mean "{like}"?'
    return f'"{name}" is not a field here; the fields are {listed(known)}'


def _what(kind: str, given: Any, limits: Mapping[str, Any], message: str) -> str:
    shown = _shown(given)
    if kind == "value_error":
        return str(limits["error"])
    if kind in _KINDS:
        return f"is {shown}; write {_KINDS[kind]}"
    if kind == "literal_error":
        return f"is {shown}; write {limits['expected']}".replace("'", '"')
    if kind == "finite_number":
        return f"is {shown}; write a finite number"
    if kind in ("greater_than_equal", "less_than_equal"):
        bound = f"at least {limits['ge']:g}" if "ge" in limits else f"at most {limits['le']:g}"
        return f"is {shown}; write {bound}"
    if kind in ("too_short", "too_long"):
        bound = (
            f"at least {limits['min_length']}" if kind == "too_short" else f"at most {limits['max_length']}"
        )
        have = limits["actual_length"]
        return f"has {have} {'entry' if have == 1 else 'entries'}; write {bound}"
    return f"is {shown}; {message[:1].lower()}{message[1:]}"


def _shown(given: Any) -> str:
    if isinstance(given, bool):
        return "true" if given else "false"
    if isinstance(given, Mapping):
        return "a table"
    if isinstance(given, list):
        return "a list"
    text = f'"{given}"' if isinstance(given, str) else str(given)
    return text if len(text) <= 40 else text[:39] + "…"


def _fields(model: type[BaseModel], loc: Sequence[int | str]) -> list[str]:
    """Names of the fields that the table at ``loc`` may have."""
    here: Any = model
    for step in loc:
        if isinstance(step, str) and hasattr(here, "model_fields"):
            here = next(
                (info.annotation for name, info in here.model_fields.items() if (info.alias or name) == step),
                None,
            )
        else:
            here = next((part for part in _parts(here) if hasattr(part, "model_fields")), here)
        # Past a list or a dict, the next step is an index or a name; a bare optional has none.
        if not hasattr(here, "model_fields") and type(None) in get_args(here):
            here = next((part for part in get_args(here) if part is not type(None)), here)
    if not hasattr(here, "model_fields"):
        here = next((part for part in _parts(here) if hasattr(part, "model_fields")), model)
    return [info.alias or name for name, info in here.model_fields.items()]


def _parts(annotation: Any) -> list[Any]:
    """The annotation's type arguments, all levels deep."""
    found = [annotation]
    for part in get_args(annotation):
        found += _parts(part)
    return found
