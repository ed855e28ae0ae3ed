"""Mutated DXF files, read in a process of their own under limits of time and memory.

``python -m tests.importing.dxf_fuzz FIRST COUNT`` reads the mutants of those seeds and prints one line of
JSON: how many were read, how many refused, the longest time and the largest memory, and what went wrong with
which seed.
"""

from __future__ import annotations

import io
import json
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from tests.importing import dxf_text as d
from tests.limits import judged

NUMBERS = ("0", "-1", "1e308", "-1e308", "nan", "inf", "1e-300", "99999999999999999999", "0.1", "70", "x", "")
WORDS = (
    "POLYLINE", "VERTEX", "SEQEND", "LINE", "ARC", "CIRCLE", "SPLINE", "ELLIPSE", "INSERT", "BLOCK", "ENDBLK",
    "SECTION", "ENDSEC", "TABLE", "ENDTAB", "EOF", "TEXT", "MTEXT", "POINT", "LWPOLYLINE", "HATCH",
    "DIMENSION", "OBJECTS", "DICTIONARY", "ATTRIB", "BODY", "FLAP", "ENTITIES", "BLOCKS", "HEADER",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Whole files of each kind: by the standard, by hand; plain, from a library; plain, with blocks."""
    import ezdxf

    standard = d.dxf([d.body("S"), d.body("M", 10.0)], [d.insert("BODY-S"), d.insert("BODY-M"), d.style()])
    nested = d.dxf(
        [d.block("A", d.polyline(d.BODY, 0)), d.block("B", d.insert("A", (5, 5), (41, 2), (50, 30)))],
        [d.insert("B"), d.insert("A", (900, 0), (70, 2), (71, 2), (44, 300), (45, 500)), d.style()],
    )
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    space.add_circle((100, 100), 50)
    space.add_lwpolyline([(300, 0, 1), (300, 100, 0)], format="xyb", close=True)
    space.add_spline([(700, 0), (800, 100), (700, 200), (600, 100), (700, 0)])
    space.add_ellipse((1000, 100), (80, 0), 0.5)
    space.add_arc((500, 100), 50, 0, 180)
    space.add_line((450, 100), (550, 100))
    space.add_mtext("Flap\\PQuantity: 1,1", dxfattribs={"insert": (100, 100)})
    out = io.StringIO()
    document.write(out)
    # The plain file repeats long tables that nobody reads; half of the mutants would only hit those.
    return [standard.encode(), nested.encode(), standard.encode(), out.getvalue().encode()]


def mutant(files: list[bytes], seed: int) -> bytes:
    """One of the files with one to three mutations, always the same for a seed."""
    rng = random.Random(seed)
    data = files[seed % len(files)]
    for _ in range(rng.randint(1, 3)):
        data = rng.choice(_MUTATIONS)(data, rng)
    return data


def _flip(data: bytes, rng: random.Random) -> bytes:
    some = bytearray(data)
    for _ in range(rng.randint(1, 20)):
        if some:
            some[rng.randrange(len(some))] = (
                rng.randrange(256) if rng.random() < 0.3 else rng.randrange(32, 127)
            )
    return bytes(some)


def _lines(change: Callable[[list[bytes], random.Random], None]) -> Callable[[bytes, random.Random], bytes]:
    def changed(data: bytes, rng: random.Random) -> bytes:
        lines = data.split(b"\n")
        change(lines, rng)
        return b"\n".join(lines)

    return changed


def _number(lines: list[bytes], rng: random.Random) -> None:
    """Other values, on the lines that hold values."""
    for _ in range(rng.randint(1, 3)):
        lines[2 * rng.randrange(max(1, len(lines) // 2)) + (len(lines) > 1)] = rng.choice(NUMBERS).encode()


def _word(lines: list[bytes], rng: random.Random) -> None:
    named = [i for i, line in enumerate(lines) if line.strip().isalpha()] or [0]
    for _ in range(rng.randint(1, 3)):
        lines[rng.choice(named)] = rng.choice(WORDS).encode()


def _code(lines: list[bytes], rng: random.Random) -> None:
    """Another group code for a value."""
    lines[2 * rng.randrange((len(lines) + 1) // 2)] = str(
        rng.choice((0, 1, 2, 8, 10, 20, 42, 66, 70, 90))
    ).encode()


def _drop(lines: list[bytes], rng: random.Random) -> None:
    start = rng.randrange(len(lines))
    del lines[start : start + rng.choice((1, 2, 2, 8, 100))]
    lines.append(b"")


def _repeat(lines: list[bytes], rng: random.Random) -> None:
    start = 2 * rng.randrange((len(lines) + 1) // 2)
    lines[start:start] = lines[start : start + rng.choice((2, 20, 200))] * rng.choice((1, 2, 50))


def _move(lines: list[bytes], rng: random.Random) -> None:
    start, to = (2 * rng.randrange((len(lines) + 1) // 2) for _ in range(2))
    taken = lines[start : start + 20]
    del lines[start : start + 20]
    lines[to:to] = taken


def _cut_off(data: bytes, rng: random.Random) -> bytes:
    kept = data[: rng.randrange(len(data) + 1)]
    return kept + b"\n0\nENDSEC\n0\nEOF\n" if rng.random() < 0.7 else kept


_MUTATIONS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _flip,
    _cut_off,
    *(_lines(change) for change in (_number, _number, _word, _word, _code, _code, _drop, _repeat, _move)),
)


def main(first: int, count: int) -> None:
    from marker.files.pattern_writer import pattern_text
    from marker.importing.dxf import read_dxf
    from marker.importing.found import Options

    files = seeds()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "mutant.dxf"

        def attempt(seed: int, counts: Counter[str]) -> None:
            file.write_bytes(mutant(files, seed))
            found = read_dxf(
                file, Options(unit="mm" if seed % 3 else None, right_hand=[None, True][seed % 2])
            )
            if pattern_text(found):
                counts["read"] += 1

        print(json.dumps(judged(range(first, first + count), attempt)))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
