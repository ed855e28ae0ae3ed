"""Mutated files: whatever is done to a drawing or a pattern file, it is read or refused in a sentence.

Run as a program it reads many of them under limits of memory and time, and says how they ended:
``python -m tests.importing.fuzz KIND COUNT SEED``.
"""

from __future__ import annotations

import faulthandler
import json
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from marker.errors import InputError
from marker.files.pattern import load_pattern
from marker.files.pattern_writer import pattern_text
from marker.importing.found import FoundCut, Options
from marker.importing.merge import with_answers
from marker.importing.pdf import read_pdf
from marker.importing.svg import read_svg
from tests.files.samples import PATTERN
from tests.importing.pdfs import pdf, words
from tests.limits import MOST_SECONDS, limit_memory, peak_mib

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="60cm" height="80cm" viewBox="0 0 600 800">
<title>Bag</title><defs><path id="tab" d="M 0 0 H 40 V 60 H 0 Z"/></defs><style>path { fill: none }</style>
<g transform="translate(10 20) rotate(5)"><title>Front; number 3; size M; cut 2 of fabric</title>
<path id="outline" d="M 10 10 C 60 -20 160 -20 210 10 A 300 300 0 0 1 210 310 Q 100 350 10 310 Z"/>
<line id="grain" x1="100" y1="250" x2="100" y2="50"/><path id="fold" d="M 10 310 V 10"/>
<path id="notch-a" d="M 205 100 h 20"/><circle id="drill" cx="60" cy="90" r="2"/>
<rect id="region-edge" x="12" y="60" width="30" height="40" rx="3"/></g>
<use href="#tab" x="400" y="50" transform="scale(1.2)"/>
<polygon points="300,400 500,400 500,600 300,600"/><text x="320" y="450">cut 1 of lining alike</text>
<rect x="400" y="200" width="100" height="100"/><text x="410" y="220">test square 10 cm</text></svg>"""

TYPED = """
[[piece]]
number = "9"
name = "Typed"
cuts = [{ material = "fabric", count = 2 }]
[piece.drawing.every]
corners = [[0, 0], { right = 240, length = "24 cm" }, { through = [250, 100] }, { through = [245, 200] },
  { at = [260, 300], length = 303 }, { go = 100, turn = 90 }, { left = 150, hollow = 12 }]
grain = [[50, 150], [50, 20]]
"""

SHEET = (
    "5 5 340 690 re S 20 20 m 120 20 l 120 320 l 60 340 50 340 20 320 c h S 40 40 m 40 300 l S "
    "200 20 m 300 20 l S 300 20 m 300 100 l S 300 100 m 200 100 l S 200 100 m 200 20 l S "
    "200 400 100 100 re S "
    + words(210, 440, "Test square 100 mm")
    + words(25, 200, "cut 2 of fabric")
    + " q 1 0 0 1 10 500 cm /X Do Q"
)


def _import(read: Callable) -> Callable[[Path], None]:
    def end_to_end(path: Path) -> None:
        found = with_answers(read(path, Options()), "Bag", "10 mm", "up")
        pieces = tuple(replace(piece, cuts=piece.cuts or (FoundCut("fabric", 1),)) for piece in found.pieces)
        text = pattern_text(replace(found, pieces=pieces), {"fabric": "2 m", "lining": "2 m"})
        made = path.with_suffix(".made.toml")
        made.write_text(text, encoding="utf-8")
        load_pattern(made)

    return end_to_end


KINDS: dict[str, tuple[list[bytes], Callable[[Path], object]]] = {
    "svg": ([SVG.encode()], _import(read_svg)),
    "toml": ([PATTERN.encode(), (PATTERN + TYPED).encode()], load_pattern),
    "pdf": ([pdf(SHEET), pdf(SHEET, plain=True)], _import(read_pdf)),
}
"""Seeds of each kind of file, and how it is read."""

NASTY = [
    "0", "-1", "1e999", "-1e308", "1e-320", "NaN", "99999999999999999999", "&#x0;", "&amp;", "<!--",
    "]]>", "#", "=", "<![CDATA[", "'", "[", "]]", "{", "todo", "M", "Z", "<g>", "</g>", "<use/>",
    "obj", "endobj", "stream", ">>", "<<", "/Kids", "%PDF-", "%%EOF", "A 1 1 1", "M 0 0",
    "<use href='#tab'/>", "size M; size L", "cut 999999999 of x", "3 0 R", "", '"', '"""', "\0", "\r",
    "é\u2028\u202e", "\udcff\udcfe",
]  # fmt: skip
"""Words that files of some kind take ill; the last one is no UTF-8."""


def mutated(data: bytes, chance: random.Random) -> bytes:
    """``data`` changed in a few places: bytes, slices, numbers, nasty words."""
    made = bytearray(data)
    for _ in range(1 + int(chance.expovariate(0.8))):
        at = chance.randrange(len(made) + 1)
        length = min(len(made) - at, int(chance.expovariate(0.05)))
        how = chance.randrange(7)
        if how == 0:
            made[at : at + 1] = bytes([chance.randrange(256)])
        elif how == 1:
            del made[at : at + length]
        elif how == 2:
            made[at:at] = made[at : at + length] * chance.randint(1, 30)
        elif how == 3:
            other = chance.randrange(len(made) + 1)
            made[at:at] = made[other : other + length]
        elif how == 4:
            made[at : at + chance.randint(0, 4)] = chance.choice(NASTY).encode("utf-8", "surrogateescape")
        elif how == 5:
            digits = [i for i, byte in enumerate(made) if 48 <= byte <= 57]
            if digits:
                place = chance.choice(digits)
                made[place : place + 1] = chance.choice([b"0", b"9", b"-", b".", b"1e9", b"000000", b""])
        elif chance.random() < 0.1:
            del made[at:]
    return bytes(made)


def attempt(kind: str, number: int, seed: int, folder: Path) -> str:
    """Read one mutated file; "read" or "refused". Anything else than a sentence escapes."""
    seeds, read = KINDS[kind]
    chance = random.Random(f"{kind} {number} {seed}")
    path = folder / f"fuzz.{kind}"
    path.write_bytes(mutated(chance.choice(seeds), chance))
    try:
        read(path)
    except InputError as problem:
        told = str(problem)
        assert told.strip() and "\n" not in told and len(told) < 2000 and "memory" not in told, told
        return "refused"
    return "read"


def main(kind: str, count: int, seed: int) -> None:
    limit_memory()
    # Whatever hangs, in C too, is stopped by the signal with a traceback, which fails the run.
    faulthandler.register(signal.SIGPROF, chain=True)
    ends: Counter[str] = Counter()
    slowest = 0.0
    with tempfile.TemporaryDirectory() as name:
        for number in range(count):
            started = time.process_time()
            signal.setitimer(signal.ITIMER_PROF, MOST_SECONDS)
            try:
                ends[attempt(kind, number, seed, Path(name))] += 1
            except BaseException:
                print(f"{kind} file number {number} of seed {seed}:", file=sys.stderr)
                raise
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0)
            slowest = max(slowest, time.process_time() - started)
    peak = peak_mib()
    print(json.dumps({**ends, "slowest": slowest, "peak": peak}))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
