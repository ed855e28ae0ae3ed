"""A number without a unit in a fabric file is asked about; in a pattern file it has the pattern's unit."""

import pytest

from marker.errors import InputError
from marker.files.fabric import load_fabrics
from marker.files.pattern import load_pattern
from tests.files.samples import changed, write


@pytest.mark.parametrize(
    ("line", "field", "told"),
    [
        ("width = 112", "width", '"112 cm" or "112 in"'),
        ('width = "44"', "width", '"44 cm" or "44 in"'),
        ("width = 1400", "width", '"1400 mm" or "1400 in"'),
        ('width = "112 cm"\nselvage = 1', "selvage", '"1 cm" or "1 in"'),
        ('width = "112 cm"\nstep = 0.1', "step", '"0.1 cm" or "0.1 in"'),
    ],
)
def test_a_bare_number_in_a_fabric_file_is_asked_about(tmp_path, line, field, told):
    with pytest.raises(InputError) as caught:
        load_fabrics(write(tmp_path, f"[fabric.fabric]\n{line}\n"))
    sentence = str(caught.value)
    assert f"fabric fabric, {field}: " in sentence and told in sentence and "of which unit?" in sentence
    assert 'unit = "cm"' in sentence


@pytest.mark.parametrize(("unit", "mm"), [("mm", 112.0), ("cm", 1120.0), ("in", 112 * 25.4)])
def test_the_unit_of_the_file_counts_where_there_is_one(tmp_path, unit, mm):
    cloth = load_fabrics(write(tmp_path, f'unit = "{unit}"\n[fabric.fabric]\nwidth = 112\n'))["fabric"]
    assert cloth.width == pytest.approx(mm)


def test_nothing_is_nothing_in_every_unit(tmp_path):
    cloth = load_fabrics(write(tmp_path, '[fabric.fabric]\nwidth = "112 cm"\nselvage = 0\ngap = 0\n'))
    assert cloth["fabric"].selvage == 0


def test_in_a_pattern_file_the_unit_is_that_of_the_pattern(tmp_path):
    pattern = load_pattern(write(tmp_path, changed(('width = "140 cm"', "width = 1400"))))
    assert pattern.fabrics["fabric"].width == 1400
