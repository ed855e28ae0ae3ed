"""What a print takes, worked out by hand."""

import pytest

from tests.tables.test_compare import made


def test_what_a_print_takes_is_what_arithmetic_says(panels):
    """By hand: two panels 260 mm long; so that the bars, 100 mm apart, meet, the second ends at 560 at the
    earliest, turned about or not, and the marker goes on to the whole repeat at 600. Plain it ends at 520."""
    table = made(panels, folds=["open"], matchings=["main", "none"])
    (_, (main,)), (_, (none,)) = table.rows
    assert (main.outcome.used, none.outcome.used) == (
        pytest.approx(600.0, abs=0.5),
        pytest.approx(520.0, abs=0.5),
    )
    assert main.extra.of == "print" and none.extra is None
    assert main.extra.used == pytest.approx(80.0, abs=0.5)
    # 8 cm and a repeat of 10 cm to begin on, sold by the centimetre, at 20 a metre.
    assert main.extra.cost == pytest.approx(3.6)
