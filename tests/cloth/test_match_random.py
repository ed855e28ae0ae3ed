"""Jobs at random: wherever shapes lie on their lattices, the checker finds everything matched."""

import random
from dataclasses import replace

import pytest

from marker.errors import InputError
from marker.model.fabric import Print
from marker.model.piece import Notch
from tests.cloth.jobs import cut, fold_half, piece, rectangle, wedge
from tests.cloth.test_match import centre, faults, meet, pair, printed

NAMES = ("a", "b", "c")
LINES = ("crosswise", "lengthwise", "both")


def some_piece(rng, number):
    """A half on the fold, or a shape with or without hands, with notches and marks here and there."""
    length, width = rng.choice([200.0, 240.0, 300.0]), rng.choice([100.0, 150.0, 180.0])
    cuts = rng.choice([cut(1), cut(2), cut(2, "mirrored"), cut(3, "mirrored")])
    shapes = {
        "rectangle": rectangle(length, width),
        "wedge": wedge(length, width, width / 2),
        "trapezium": ((0.0, 0.0), (length, 30.0), (length, width - 30.0), (0.0, width)),
        "leaning": ((0.0, 0.0), (length, 40.0), (length, width + 40.0), (0.0, width)),
    }
    kind = rng.choice([*shapes, "half"])
    if kind == "half":
        part = fold_half(number, length, width, cut(rng.choice([1, 2]), "on fold"))
    else:
        part = piece(number, shapes[kind], cuts)
    notches = []
    for name in NAMES:
        if rng.random() < 0.4:
            continue
        edge, share = rng.randrange(len(part.outline)), rng.choice([0.25, 0.3, 0.5])
        (ax, ay), (bx, by) = part.outline[edge - 1], part.outline[edge]
        x, y = ax + share * (bx - ax), ay + share * (by - ay)
        sewn = rng.choice([None, (x + 3.0, y - 2.0)])
        notches.append(Notch(name, (x, y), sewn))
        if kind in ("rectangle", "trapezium") and rng.random() < 0.3:
            other = (sewn[0], width - sewn[1]) if sewn else None
            notches.append(Notch(name, (x, width - y), other))
    marks = (Notch(rng.choice(NAMES), (100.0, 60.0)),) if rng.random() < 0.3 else ()
    grain = part.grain[::-1] if rng.random() < 0.3 else part.grain
    return replace(part, notches=tuple(notches), marks=marks, grain=grain)


def some_match(rng, parts):
    what, lines, part = rng.choice(["meet", "meet", "centre", "pair"]), rng.choice(LINES), rng.choice(parts)
    if what == "meet":
        return meet(rng.choice(NAMES), lines)
    if what == "pair":
        return pair(part.number, lines)
    at = rng.choice(["", *(notch.name for notch in part.notches)])
    return centre(part.number, lines, at)


def some_job(rng):
    parts = [some_piece(rng, str(k + 1)) for k in range(rng.choice([1, 2, 3]))]
    even_along, even_across = rng.random() < 0.7, rng.random() < 0.6
    design = Print(
        "check",
        rng.choice([70.0, 100.0]),
        rng.choice([50.0, 60.0]),
        (rng.uniform(0, 90), rng.uniform(0, 60)),
        even_along,
        even_across,
        rng.choice([1.0, 5.0]),
    )
    matches = [some_match(rng, parts) for _ in range(rng.choice([1, 2]))]
    nap = not (even_along and even_across) or rng.random() < 0.2
    return replace(printed(*parts, matches=matches, design=design, nap=nap), quantity=rng.choice([1, 1, 2]))


@pytest.mark.parametrize("seed", range(4))
def test_cloth_and_check_agree_on_what_matches(seed):
    rng = random.Random(seed)
    held = 0
    for _ in range(12):
        the_job = some_job(rng)
        try:
            found = faults(the_job, seed)
        except InputError as refused:
            assert "match" in str(refused)
            continue
        assert found == [], the_job
        held += 1
    assert held > 6
