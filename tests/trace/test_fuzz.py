"""Mutated photographs are read or refused in one sentence, quickly and in little memory; see ``fuzz.py``."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.limits import MOST_MEMORY, MOST_SECONDS


def fuzzed(first: int, count: int) -> dict:
    """What reading that many mutants gave, in a process of its own: a crash or an abort is seen as well."""
    command = [sys.executable, "-m", "tests.trace.fuzz", str(first), str(count)]
    done = subprocess.run(
        command, capture_output=True, text=True, timeout=3600, cwd=Path(__file__).parents[2], check=False
    )
    assert done.returncode == 0 and done.stderr == "", done.stderr[-2000:]
    return json.loads(done.stdout)


def holds(told: dict) -> None:
    assert told["wrong"] == []
    # Mutations that break nothing, and ones that break everything, would both be no test.
    assert told["read"] > 20 and told["refused"] > 20
    assert told["peak"] < MOST_MEMORY >> 20
    assert told["slowest"] < MOST_SECONDS


def test_mutated_photographs() -> None:
    holds(fuzzed(10_000, 100))


@pytest.mark.slow
def test_two_thousand_mutated_photographs() -> None:
    told = fuzzed(0, 2000)
    holds(told)
    assert told["traced"] > 10
