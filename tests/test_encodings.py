"""What is printed can be read where the terminal knows few characters, and nothing ends in a traceback."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.cli import main
from marker.plain import stand_in
from tests.report.nasty import SCRIPTS, a_piece_each

PIECES = Path(__file__).parent.parent / "pieces"
QUICK = ("--effort", "0.001", "--cores", "1")
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">
<g><title>name Größe × 2; cut 1 of fabric</title><path d="M 10 10 H 110 V 70 H 10 Z"/></g></svg>"""


@pytest.fixture
def printed(monkeypatch):
    """Runs a command; gives its exit code and what came out, as text of the encoding."""

    def run(encoding, *words):
        streams = io.BytesIO(), io.BytesIO()
        for name, stream in zip(("stdout", "stderr"), streams, strict=True):
            monkeypatch.setattr(sys, name, io.TextIOWrapper(stream, encoding=encoding))
        with pytest.raises(SystemExit) as ended:
            main([str(word) for word in words])
        sys.stdout.flush()
        sys.stderr.flush()
        return ended.value.code, *(stream.getvalue().decode(encoding) for stream in streams)

    return run


@pytest.mark.parametrize("encoding", ["ascii", "cp850", "cp1252"])
def test_every_command_prints_in_every_encoding(printed, tmp_path, encoding):
    file = tmp_path / "names.toml"
    file.write_text(a_piece_each(SCRIPTS), encoding="utf-8")
    (tmp_path / "drawing.svg").write_text(DRAWING, encoding="utf-8")
    out = ("--out", tmp_path / "out")
    kept = ("--cache", tmp_path / "kept")
    smock = PIECES / "harbour-smock.toml"
    for code, words in (
        (0, ("lay", file, *QUICK, *out, "--pictures", "none")),
        (0, ("check", file, PIECES / "linen-150.toml", tmp_path / "out" / "layout.json")),
        (0, ("yardage", PIECES / "market-apron.toml", *QUICK, *out, *kept)),
        (0, ("compare", PIECES / "market-apron.toml", *QUICK, *out, *kept)),
        (0, ("import", tmp_path / "drawing.svg", "--out", tmp_path / "drawn.toml", "--width", "1 m")),
        (1, ("lay", smock, "--size", "Größe")),
        (2, ("lay", smock, "--match", "½ × ″")),
        (0, ("trace", "--help")),
    ):
        ended, told, wrong = printed(encoding, *words)
        assert ended == code, told + wrong
        assert "Traceback" not in wrong
        assert told if code == 0 else wrong


def test_stand_ins_say_much_the_same(printed, tmp_path):
    code, _, wrong = printed("ascii", "lay", PIECES / "harbour-smock.toml", "--size", "Größe × 2½")
    assert code == 1 and "Grosse x 2 1/2" in wrong
    code, told, _ = printed("cp850", "lay", PIECES / "market-apron.toml", *QUICK, "--out", tmp_path)
    assert code == 0 and "----" in told and "?" not in told


def test_json_is_the_same_in_every_encoding(printed, tmp_path):
    """A stand-in for a curly quote would end a string."""
    file = tmp_path / "names.toml"
    file.write_text(a_piece_each(("“Größe” 前身頃 ″",)), encoding="utf-8")
    words = ("lay", file, *QUICK, "--out", tmp_path / "out", "--pictures", "none", "--json")
    told = [json.loads(printed(encoding, *words)[1]) for encoding in ("ascii", "cp850", "utf-8")]
    assert told[0] == told[1] == told[2]
    assert told[0]["materials"][0]["placements"][0]["name"] == "“Größe” 前身頃 ″"


@given(st.text(max_size=40))
def test_a_stand_in_is_ascii(text):
    assert "".join(map(stand_in, text)).isascii()


@pytest.mark.parametrize("setting", [{"PYTHONIOENCODING": "cp850"}, {"LC_ALL": "C", "PYTHONUTF8": "0"}])
def test_as_a_process_of_its_own(tmp_path, setting):
    """Files are UTF-8 whatever the terminal is."""
    file = tmp_path / "names.toml"
    file.write_text(a_piece_each(SCRIPTS), encoding="utf-8")
    out = tmp_path / "out"
    words = [sys.executable, "-m", "marker", "lay", file, *QUICK, "--out", out, "--pictures", "none"]
    environment = {**os.environ, "PYTHONCOERCECLOCALE": "0", **setting}
    ended = subprocess.run(words, capture_output=True, env=environment)
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr == b""
    assert "Vorderteil Größe" in (out / "report.txt").read_text(encoding="utf-8")
