"""Where no true outline can be had, one sentence says so and where, and nothing is written for a pattern."""

import dataclasses

import numpy as np
import pytest
from PIL import Image

from marker.errors import InputError
from marker.trace.outline import Unclear
from marker.trace.pattern import Options, trace_photos
from tests.trace.measure import save
from tests.trace.scenes import Camera, Scene, Sheet, bodice, cuff

SHEET = Sheet("a4", 1)
CAMERA = Camera(1120, 840)
PLAIN = Scene((cuff(330, 200, angle=8),), ((SHEET, 60, 150, 5),), camera=CAMERA, grain=1.5)


def refusal(tmp_path, scene):
    shown = []
    with pytest.raises(InputError) as problem:
        trace_photos(
            [save(scene, tmp_path / "photo.jpg")],
            Options(),
            show_trouble=lambda path, picture: shown.append(picture) or "trouble.png",
        )
    sentence = str(problem.value)
    assert "photo.jpg: " in sentence
    assert "\n" not in sentence
    return sentence, shown


def test_no_target(tmp_path):
    assert "target not found" in refusal(tmp_path, dataclasses.replace(PLAIN, sheets=()))[0]


def test_most_of_the_target_outside_the_picture(tmp_path):
    outside = dataclasses.replace(PLAIN, sheets=((SHEET, -118, 150, 0),))
    assert "target not found: too little of the sheet" in refusal(tmp_path, outside)[0]


def test_target_too_small(tmp_path):
    far = dataclasses.replace(
        PLAIN, size=(2700.0, 2025.0), grain=1.0, camera=Camera(1200, 900), sheets=((SHEET, 900, 800, 0),)
    )
    assert "the target is too small in the picture" in refusal(tmp_path, far)[0]


def test_piece_cut_off_by_the_picture(tmp_path):
    cut_off = dataclasses.replace(PLAIN, pieces=(cuff(760.0, 300),))
    sentence, shown = refusal(tmp_path, cut_off)
    assert "cut off by the picture half-way down right" in sentence
    assert sentence.endswith("See trouble.png.")
    assert shown[0].startswith(b"\x89PNG")


def test_paper_on_a_floor_of_its_own_colour(tmp_path):
    alike = dataclasses.replace(PLAIN, floor="paper", paper=(234, 231, 223))
    sentence, _ = refusal(tmp_path, alike)
    assert any(words in sentence for words in ("too little contrast", "no paper piece found", "unclear"))


def test_part_of_the_piece_on_something_of_its_own_colour(tmp_path):
    # A white towel under one end of the piece, wider than the piece.
    towel = cuff(470, 150, angle=8)
    under = dataclasses.replace(PLAIN, pieces=(towel * [1.0, 1.6] - [0.0, 60.0], *PLAIN.pieces), marks=False)
    sentence, _ = refusal_or_one_piece(tmp_path, under)
    assert sentence is None or any(words in sentence for words in ("contrast", "unclear"))


def refusal_or_one_piece(tmp_path, scene):
    """Two papers of one colour that overlap are one piece to any camera: no refusal is right as well."""
    try:
        result = trace_photos([save(scene, tmp_path / "photo.jpg")], Options())
    except InputError as problem:
        return str(problem), None
    assert len(result.found.pieces) == 1
    return None, result


def test_piece_on_the_target(tmp_path):
    over = dataclasses.replace(PLAIN, pieces=(cuff(180, 330),))
    # The sheet is painted over the piece: it covers it, or it is covered, all the same to the program.
    assert "touches or covers a target sheet" in refusal(tmp_path, over)[0]


def test_piece_far_from_the_only_sheet(tmp_path):
    large = dataclasses.replace(PLAIN, pieces=(bodice(310, 60, scale=1.35, angle=-14),))
    sentence, _ = refusal(tmp_path, large)
    assert "too far from the target" in sentence
    assert "--sheets 4" in sentence


def test_one_sheet_printed_twice(tmp_path):
    twice = dataclasses.replace(PLAIN, sheets=((SHEET, 60, 150, 5), (SHEET, 640, 150, 0)), pieces=())
    assert "lies in the picture twice" in refusal(tmp_path, twice)[0]


def test_no_piece(tmp_path):
    assert "no paper piece found" in refusal(tmp_path, dataclasses.replace(PLAIN, pieces=()))[0]


def photo_problem(path):
    with pytest.raises(InputError) as problem:
        trace_photos([path], Options())
    assert not isinstance(problem.value, Unclear)
    assert "\n" not in str(problem.value)
    return str(problem.value)


def test_files_that_are_no_photographs(tmp_path):
    assert "no such file" in photo_problem(tmp_path / "none.jpg")
    assert "folder" in photo_problem(tmp_path)
    (tmp_path / "words.jpg").write_text("not a picture")
    assert "no JPEG, PNG or WebP" in photo_problem(tmp_path / "words.jpg")
    Image.new("RGB", (320, 200)).save(tmp_path / "small.png")
    assert "only 320 x 200 pixels" in photo_problem(tmp_path / "small.png")


def test_damaged_photographs(tmp_path):
    rng = np.random.default_rng(0)
    noise = Image.fromarray(rng.integers(0, 255, (700, 900, 3), dtype=np.uint8))
    for kind in ("JPEG", "PNG", "WEBP"):
        path = tmp_path / f"damaged.{kind.lower()}"
        noise.save(path, kind)
        whole = path.read_bytes()
        for end in (10, 100, len(whole) // 2):
            path.write_bytes(whole[:end])
            assert "damaged" in photo_problem(path) or "is no JPEG" in photo_problem(path)
        for _ in range(6):
            spoiled = bytearray(whole)
            for place in rng.integers(0, min(len(whole), 2000), 20):
                spoiled[place] = rng.integers(256)
            path.write_bytes(bytes(spoiled))
            photo_problem(path)


def test_picture_bombs_are_refused_unopened(tmp_path):
    # A PNG that claims 30,000 x 30,000 pixels (2.7 GB) in a few hundred bytes.
    import struct
    import zlib

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", 30_000, 30_000, 8, 2, 0, 0, 0)
    bomb = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header)
    bomb += chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    (tmp_path / "bomb.png").write_bytes(bomb)
    assert "more than 64 million pixels" in photo_problem(tmp_path / "bomb.png")
