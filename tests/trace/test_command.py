"""marker trace as people use it: sheet, photographs, pattern file, proof pictures."""

import builtins
import tomllib

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from PIL import Image

from marker.api import load_job
from marker.commands.trace import trace
from marker.errors import InputError
from marker.files.outline import Frame, parse_ring
from tests.trace.measure import save
from tests.trace.scenes import Camera, Scene, Sheet, cuff, sleeve

SHEET = Sheet("a4", 1)
CAMERA = Camera(1200, 900)
SCENES = {
    "one": Scene((cuff(320, 240, angle=7),), ((SHEET, 60, 150, 0),), floor="wood", camera=CAMERA, grain=1.8),
    "two": Scene(
        (sleeve(310, 100), cuff(320, 480)),
        ((SHEET, 60, 150, 4), (Sheet("a4", 2), 650, 160, 0)),
        floor="carpet",
        camera=CAMERA,
        grain=1.8,
        seed=5,
    ),
}


@pytest.fixture(scope="module")
def photos(tmp_path_factory):
    folder = tmp_path_factory.mktemp("photos")
    return {name: save(scene, folder / f"{name}.jpg") for name, scene in SCENES.items()}


def run(*words):
    return CliRunner().invoke(trace, [str(word) for word in words], catch_exceptions=True)


def outlines(file):
    pieces = tomllib.loads(file.read_text())["piece"]
    return [
        shapely.Polygon(
            [(x, -y) for x, y in parse_ring(piece["drawing"]["every"]["outline"], Frame("cm")).ring]
        )
        for piece in pieces
    ]


def test_target_sheet_is_written(tmp_path):
    file = tmp_path / "sheet.pdf"
    result = run("--target", "letter", "--sheets", 3, "--out", file)
    assert result.exit_code == 0, result.output
    assert file.read_bytes().startswith(b"%PDF")
    assert "print at 100 %" in result.output
    again = run("--target", "letter", "--out", file)
    assert isinstance(again.exception, InputError)


def test_photographs_become_a_pattern_whose_blanks_are_asked_for(photos, tmp_path):
    file = tmp_path / "deck smock.toml"
    result = run(photos["one"], photos["two"], "--out", file, "--grain", "up", "--name", "Deck smock")
    assert result.exit_code == 0, (result.output, result.exception)
    for name in photos:
        with Image.open(tmp_path / f"deck smock-{name}-proof.png") as proof:
            assert proof.size == (CAMERA.width, CAMERA.height)
            # The outline is drawn in a colour that no floor has.
            assert (np.abs(np.asarray(proof, dtype=int) - [225, 0, 150]).sum(axis=2) < 30).sum() > 500
    found = outlines(file)
    for polygon, true in zip(found, (cuff(angle=7), sleeve(), cuff()), strict=True):
        assert polygon.area == pytest.approx(shapely.Polygon(true).area, rel=0.005)
    with pytest.raises(InputError, match="blank"):
        load_job(file)
    text = file.read_text().replace('"todo: fabric, interfacing, lining or another name"', '"fabric"')
    text = text.replace('"todo: copies for one garment, a number without quotes"', "2")
    text = text.replace('"todo: width of the cloth from selvage to selvage, like 140 cm"', '"140 cm"')
    blank = next(line for line in text.splitlines() if line.startswith("seam_allowance"))
    file.write_text(text.replace(blank, 'seam_allowance = "included"'))
    job = load_job(file)
    assert [piece.number for piece in job.pieces] == ["1", "2", "3"]
    for piece in job.pieces:
        # Drawn with the tops up: the grain runs from below to above.
        (x0, y0), (x1, y1) = piece.grain
        assert x0 == pytest.approx(x1) and y1 > y0


def test_existing_files_are_kept(photos, tmp_path):
    file = tmp_path / "pattern.toml"
    file.write_text("mine")
    result = run(photos["one"], "--out", file)
    assert isinstance(result.exception, InputError)
    assert "--replace" in str(result.exception)
    assert file.read_text() == "mine"


def test_a_picture_turned_by_its_notes_gives_the_same_piece(photos, tmp_path):
    with Image.open(photos["one"]) as picture:
        lying = picture.transpose(Image.Transpose.ROTATE_90)
        exif = Image.Exif()
        exif[0x0112] = 6  # "turn by 90 degrees clockwise to see it upright" (EXIF 2.3, tag Orientation)
        lying.save(tmp_path / "lying.jpg", exif=exif, quality=95)
    file = tmp_path / "lying.toml"
    result = run(tmp_path / "lying.jpg", "--out", file)
    assert result.exit_code == 0, result.exception
    with Image.open(tmp_path / "lying-lying-proof.png") as proof:
        assert proof.size == (CAMERA.width, CAMERA.height)
    (polygon,) = outlines(file)
    assert polygon.area == pytest.approx(230 * 80, rel=0.005)


def test_a_printer_that_was_off_is_set_right_by_what_was_measured(photos, tmp_path):
    areas = []
    for name, words in (("as", []), ("ruler", ["--ruler", "98 mm"]), ("board", ["--board", "180x235.2 mm"])):
        result = run(photos["one"], "--out", tmp_path / f"{name}.toml", *words)
        assert result.exit_code == 0, result.exception
        areas.append(outlines(tmp_path / f"{name}.toml")[0].area)
    assert areas[1] == pytest.approx(areas[0] * 0.98**2, rel=0.002)
    assert areas[2] == pytest.approx(areas[0] * 0.98, rel=0.002)


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["--ruler", "50 mm"], "more than 10 % off"),
        (["--board", "18x24 mm"], "more than 10 % off"),
        (["--board", "wide"], "--board wide"),
        (["--tolerance", "9 mm"], "from 0.2 mm to 3 mm"),
        (["--out", "pattern.pdf"], "end in .toml"),
    ],
)
def test_options_that_cannot_be(photos, words, what):
    result = run(photos["one"], *words)
    assert isinstance(result.exception, InputError)
    assert what in str(result.exception)


def test_without_opencv_one_sentence_says_what_to_install(photos, monkeypatch):
    real = builtins.__import__

    def without(name, *rest, **more):
        if name == "cv2":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    for words in (["--target", "a4"], [photos["one"]]):
        result = run(*words)
        assert isinstance(result.exception, InputError)
        assert "boathouse-marker[trace]" in str(result.exception)


def test_nothing_named_is_a_question_of_usage():
    assert run().exit_code == 2
    assert run("--target", "a4", "photo.jpg").exit_code == 2
