"""What people write who have never written TOML, and that the sentence they get mends it.

The slips are common practice, no source; what is TOML is judged by Python's own tomllib.
"""

import re
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.api import describe_file
from marker.errors import InputError
from marker.files.toml import read_toml
from marker.files.toml_slips import slip

BEFORE = 'title = "Oar bag"\nunit = "cm"\n'
AFTER = '\nsizes = ["short", "long"]\n'

LINES = {
    "width = 1/4": 'width = "1/4"',
    'width = 5/8"': 'width = "5/8 in"',
    "width = 150 cm": 'width = "150 cm"',
    "width = 1 3/8 yd": 'width = "1 3/8 yd"',
    "width = 150cm  # as sold": 'width = "150cm" # as sold',
    "grain = any": 'grain = "any"',
    "how = on fold": 'how = "on fold"',
    "name = “Body”": 'name = "Body"',
    "name = ‘Body’": "name = 'Body'",
    "name = „Body“": 'name = "Body"',
    "nap = True": "nap = true",
    "nap = no": "nap = false",
    "width = 1,5": "width = 1.5",
    "width = .5": "width = 0.5",
    "width = 5.": "width = 5.0",
    "width = 05": "width = 5",
    'name: "Body"': 'name = "Body"',
    "name: Body": 'name = "Body"',
    'name "Body"': 'name = "Body"',
    'name == "Body"': 'name = "Body"',
    'name = "Body': 'name = "Body"',
    'name = Body"': 'name = "Body"',
    "name = 'Captain's bag'": 'name = "Captain\'s bag"',
    'name = "Body";': 'name = "Body"',
    'name = "Body",': 'name = "Body"',
    'file = "C:\\pieces"': 'file = "C:/pieces"',
    'width = "5/8""': 'width = "5/8 in"',
    'seam allowance = "1 cm"': 'seam_allowance = "1 cm"',
    "[fabric.main fabric]": '[fabric."main fabric"]',
    "[fabric.half/half]  # both": '[fabric."half/half"] # both',
    'about = "5/8" seams"': "about = '5/8\" seams'",
    "width =\u00a0150": "width = 150",
    "// the body": "# the body",
    "width = 150 // as sold": "width = 150 # as sold",
    "[piece": "[[piece]]",
    "[[piece]": "[[piece]]",
    "[views.A": "[views.A]",
    "grain = [[12, 140] [12, 20]]": "grain = [[12, 140], [12, 20]]",
    "grain = [[12, 140], [12 20]]": "grain = [[12, 140], [12, 20]]",
    "grain = [[12, 140], [12, 20]": "grain = [[12, 140], [12, 20]]",
    'colours = ["red" "blue"]': 'colours = ["red", "blue"]',
    "views = [A, B]": 'views = ["A", "B"]',
    "lines = ['M 2 2 H 46]": "lines = ['M 2 2 H 46']",
    "count = { short = 1 long = 2 }": "count = { short = 1, long = 2 }",
    "count = { short = 1, long = 2, }": "count = { short = 1, long = 2 }",
    "count = { short = 1, long = 2": "count = { short = 1, long = 2}",
    'cuts = [{ material = "fabric", how = on fold }]': 'cuts = [{ material = "fabric", how = "on fold" }]',
    "allowances = [{ from = [1, 2], width = 4 cm }]": 'allowances = [{ from = [1, 2], width = "4 cm" }]',
    'notches = [{ name: "flap", at: [12, 0] }]': 'notches = [{ name = "flap", at = [12, 0] }]',
}


@pytest.mark.parametrize("wrong", LINES)
def test_the_line_is_quoted_and_written_right(tmp_path, wrong):
    file = tmp_path / "bag.toml"
    file.write_text(BEFORE + wrong + AFTER, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_toml(file)
    sentence = str(caught.value)
    quoted = " ".join(wrong.split())
    assert sentence.startswith(f"{file}: is not valid TOML (line 3: {quoted}): ")
    assert sentence.endswith(f"; write: {LINES[wrong]}.")
    tomllib.loads(BEFORE + LINES[wrong] + AFTER)


def told(tmp_path, text):
    file = tmp_path / "bag.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        describe_file(file)
    return str(caught.value)


def test_two_pieces_in_single_brackets(tmp_path):
    sentence = told(tmp_path, f'{BEFORE}[piece]\nnumber = "1"\n[piece]\nnumber = "2"\n')
    assert "line 5: [piece]" in sentence and "first in line 3" in sentence and "write: [[piece]]" in sentence


def test_one_piece_in_single_brackets(tmp_path):
    sentence = told(tmp_path, 'name = "Bag"\nunit = "cm"\n[piece]\nnumber = "1"\nname = "Body"\n')
    assert "piece: there may be several, so each begins with double brackets; write [[piece]]" in sentence


def test_a_cloth_in_double_brackets(tmp_path):
    assert "write [fabric.fabric]" in told(tmp_path, '[[fabric.fabric]]\nwidth = "1 m"\n')


def test_a_field_given_twice(tmp_path):
    sentence = told(tmp_path, 'name = "Bag"\nunit = "cm"\nname = "Sack"\n')
    assert "line 3" in sentence and "name is there a second time, first in line 1" in sentence


def test_a_field_without_a_value(tmp_path):
    assert "unit has no value" in told(tmp_path, 'name = "Bag"\nunit =\n')


def test_braces_over_several_lines_are_written_on_one(tmp_path):
    text = 'name = "Bag"\ncount = {\n  short = 1,\n  long = 2,\n}\n'
    assert "write: count = { short = 1, long = 2 }" in told(tmp_path, text)


def test_a_comma_left_out_at_the_end_of_a_line(tmp_path):
    text = 'name = "Bag"\ncorners = [\n  [0, 0]\n  { right = 11 },\n]\n'
    assert "a comma is missing at the end of the line; write: [0, 0],." in told(tmp_path, text)


def test_a_list_that_is_never_closed(tmp_path):
    text = 'name = "Bag"\ncorners = [\n  [0, 0],\n  { right = 11 },\n'
    assert "a list is not closed with ]" in told(tmp_path, text)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_files_of_all_editors_are_read(tmp_path, encoding, ending):
    file = tmp_path / "bag.toml"
    file.write_bytes(f'name = "Mütze"{ending}\tunit = "cm"{ending}'.encode(encoding))
    assert read_toml(file) == {"name": "Mütze", "unit": "cm"}


def test_an_old_encoding_is_named_with_its_line(tmp_path):
    file = tmp_path / "bag.toml"
    file.write_bytes('unit = "cm"\nname = "Mütze"\n'.encode("cp1252"))
    with pytest.raises(InputError, match=r"line 2 is not UTF-8"):
        read_toml(file)


MARKS = "\"'[]{}=,#:;.\\ \n\t-+05aé“”"


def first_fault(text):
    """Line of the first fault of a text that is no TOML; beyond its end if it is TOML or ends too soon."""
    try:
        tomllib.loads(text)
    except ValueError as error:
        place = re.search(r"at line (\d+), column", str(error))
        return int(place[1]) if place else text.count("\n") + 2
    return text.count("\n") + 3


@given(st.text(alphabet=MARKS, max_size=60), st.integers(0, 200))
def test_whatever_is_written_the_line_advised_can_be_read(scrap, at):
    good = BEFORE + 'grain = [[12, 140], [12, 20]]\ncuts = [{ material = "fabric", count = 2 }]' + AFTER
    text = good[:at] + scrap + good[at:]
    found = slip(text)
    if found is None or "; write: " not in found.words or "is there twice" in found.words:
        return
    lines = text.split("\n")
    if found.text.endswith("…") or found.words.endswith("…") or "  " in text or "\t" in text:
        return  # shortened to be quoted, or with spaces that a quotation does not keep
    last = found.line
    if "goes on one line" in found.words:
        last += next(n for n in range(40) if "}" in lines[found.line + n]) + 1
    mended = [*lines[: found.line - 1], found.words.split("; write: ")[1], *lines[last:]]
    assert first_fault("\n".join(mended)) > first_fault(text) - (last - found.line)
