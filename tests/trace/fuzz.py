"""Mutated photographs, read in a process of their own under limits of time and memory.

``python -m tests.trace.fuzz FIRST COUNT`` reads the mutants of those seeds as ``marker trace`` would, looks
for target sheets in them, traces some to the end, and prints one line of JSON: how many were read, how many
refused, the longest time and the largest memory, and what went wrong with which seed.
"""

from __future__ import annotations

import io
import json
import random
import struct
import sys
import tempfile
import zlib
from collections import Counter
from pathlib import Path

import numpy as np
from PIL import Image

from tests.limits import judged

SIDES = (680, 620)
"""Pixels of the seeds: hardly more than a photograph must have, so that many can be read."""
TRACED = 100
"""Of so many rounds of all seeds the first is left whole, and the first two are traced to the end."""
MODES = {
    "JPEG": ("RGB", "L", "CMYK"),
    "PNG": ("RGB", "RGBA", "L", "LA", "P", "1", "I;16"),
    "WEBP": ("RGB", "RGBA"),
}


def plain_picture() -> Image.Image:
    """A target sheet on a dark floor with a paper rectangle beside it, seen from straight above."""
    from marker.trace.target import Sheet
    from tests.trace.scenes import sheet_picture

    width, height = SIDES
    grey = np.full((height, width), 60, np.uint8)
    page = Image.fromarray(sheet_picture(Sheet("a4", 1), 2))
    page = page.resize((round(page.width * 0.85), round(page.height * 0.85)), Image.Resampling.BOX)
    grey[50 : 50 + page.height, 40 : 40 + page.width] = np.asarray(page)
    grey[180:440, 440:620] = 225
    noise = np.random.default_rng(1).normal(0, 2, (height, width, 3))
    return Image.fromarray(np.clip(grey[..., None] + noise, 0, 255).astype(np.uint8))


def seeds() -> list[tuple[str, bytes]]:
    """Whole files of every format and mode: the format and the bytes."""
    picture = plain_picture()
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x0112] = "Maker", "Model", 6
    exif.get_ifd(0x8769)[0x920A] = 4.2
    files = []
    for kind, modes in MODES.items():
        for mode in modes:
            if mode == "I;16":
                grey = np.asarray(picture.convert("L"), np.uint16) * 257
                made = Image.fromarray(grey)
            else:
                made = picture.convert(mode)
            for more in ({}, {"exif": exif}):
                out = io.BytesIO()
                if kind == "JPEG" and more:
                    more = {**more, "progressive": True}
                made.save(out, kind, **more)
                files.append((kind, out.getvalue()))
    return files


def mutant(files: list[tuple[str, bytes]], seed: int) -> bytes:
    """One of the files with one to three mutations, always the same for a seed; some are whole."""
    rng = random.Random(seed)
    kind, data = files[seed % len(files)]
    for _ in range(rng.randint(1, 3) if seed // len(files) % TRACED else 0):
        data = rng.choice((_flip, _flip, _cut_off, _swap, _sizes, _notes))(kind, data, rng)
    return data


def _flip(kind: str, data: bytes, rng: random.Random) -> bytes:
    """Other bytes, half of the time near the beginning, where formats say what they are."""
    some = bytearray(data)
    reach = len(some) if rng.random() < 0.5 else min(len(some), 600)
    for _ in range(rng.randint(1, 20)):
        if reach:
            some[rng.randrange(reach)] = rng.randrange(256)
    return bytes(some)


def _cut_off(kind: str, data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data) + 1)]


def _swap(kind: str, data: bytes, rng: random.Random) -> bytes:
    """A stretch taken out and put in elsewhere, once or several times."""
    start, length = rng.randrange(len(data) + 1), int(rng.expovariate(0.005))
    taken, rest = data[start : start + length], data[:start] + data[start + length :]
    to = rng.randrange(len(rest) + 1)
    return rest[:to] + taken * rng.choice((1, 1, 2, 30)) + rest[to:]


def _sizes(kind: str, data: bytes, rng: random.Random) -> bytes:
    """A header that lies about width, height, depth or kind of colour; the sum of a PNG's chunk is right."""
    sides = [rng.choice((0, 1, 599, 700, 5_000, 8_000, 30_000, 65_500, 2**31 - 1)) for _ in range(2)]
    if kind == "PNG" and len(data) > 33:
        kept = struct.unpack(">II", data[16:24])
        sides = [side if rng.random() < 0.6 else old for side, old in zip(sides, kept, strict=True)]
        deep = data[24:29]
        if rng.random() < 0.3:
            deep = bytes([rng.choice((1, 2, 4, 8, 16)), rng.choice((0, 2, 3, 4, 6)), 0, 0, rng.randrange(2)])
        header = b"IHDR" + struct.pack(">II", *sides) + deep
        return data[:12] + header + struct.pack(">I", zlib.crc32(header)) + data[33:]
    if kind == "JPEG":
        # The frame header (ITU-T T.81, B.2.2): marker, length, precision, lines, samples a line, components.
        at = max(data.find(b"\xff\xc0\x00"), data.find(b"\xff\xc2\x00"))
        if at > 0:
            packed = struct.pack(">HH", *(min(side, 65_535) for side in sides))
            return data[: at + 5] + packed + data[at + 9 :]
    return _flip(kind, data, rng)


def _notes(kind: str, data: bytes, rng: random.Random) -> bytes:
    """Rubbish where the camera's notes are, or instead of them."""
    at = max(data.find(b"Exif\0\0"), data.find(b"eXIf"), 0)
    rubbish = rng.randbytes(rng.choice((4, 40, 400)))
    if kind == "JPEG" and rng.random() < 0.5:
        body = b"Exif\0\0" + rng.choice((b"II*\0", b"MM\0*", b"")) + rubbish
        return data[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + data[2:]
    begin = at + rng.randrange(4, 60)
    return data[:begin] + rubbish + data[begin + len(rubbish) :]


def main(first: int, count: int) -> None:
    from marker.trace.find import find_sheets
    from marker.trace.pattern import Options, trace_photos
    from marker.trace.photo import read_photo

    files = seeds()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "mutant.jpg"

        def attempt(seed: int, counts: Counter[str]) -> None:
            file.write_bytes(mutant(files, seed))
            photo = read_photo(file)
            counts["read"] += 1
            find_sheets(photo)
            if seed // len(files) % TRACED < 2:
                trace_photos([file], Options())
                counts["traced"] += 1

        print(json.dumps(judged(range(first, first + count), attempt)))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
