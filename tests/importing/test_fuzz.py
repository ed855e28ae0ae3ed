"""Mutated drawings and pattern files end with pieces or with one sentence; see ``fuzz.py``."""

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from tests.importing.fuzz import KINDS, attempt
from tests.limits import MOST_MEMORY, MOST_SECONDS


@pytest.mark.parametrize("kind", KINDS)
def test_mutated_files_are_read_or_refused(kind, tmp_path):
    ends = Counter(attempt(kind, number, 1, tmp_path) for number in range(120))
    # Mutations that break nothing, and ones that break everything, would both be no test.
    assert ends["refused"] > 20
    assert ends["read"] > 5


@pytest.mark.parametrize("kind", KINDS)
def test_unchanged_files_are_read(kind, tmp_path):
    seeds, read = KINDS[kind]
    for seed in seeds:
        (tmp_path / f"seed.{kind}").write_bytes(seed)
        read(tmp_path / f"seed.{kind}")


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_two_thousand_mutated_files_within_limits_of_time_and_memory(kind):
    run = subprocess.run(
        [sys.executable, "-m", "tests.importing.fuzz", kind, "2000", "2"],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        timeout=3600,
    )
    assert run.returncode == 0, run.stderr[-3000:]
    told = json.loads(run.stdout)
    assert told["read"] > 50 and told["refused"] > 200 and told["read"] + told["refused"] == 2000
    assert told["slowest"] < MOST_SECONDS
    assert told["peak"] < MOST_MEMORY >> 20
