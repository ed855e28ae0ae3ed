"""Tables of kept results: ``python -m benchmarks.table`` prints what the README files show.

Without names, the newest file of each budget in ``benchmarks/results``; with ``--means`` one line each.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from benchmarks.record import Run, garment_mean, summary, table

RESULTS = Path(__file__).parent / "results"


def read(path: Path) -> tuple[list[Run], dict[str, Any]]:
    """The runs of a dated file and what it says about them."""
    data = json.loads(path.read_text())
    runs = [
        Run(**{**run, "progress": tuple((seconds, density) for seconds, density in run["progress"])})
        for run in data["runs"]
    ]
    return runs, data


def newest(folder: Path) -> list[Path]:
    """The newest file of each budget; names are a date and a budget (``2026-11-25-10s.json``)."""
    last: dict[str, Path] = {}
    for path in sorted(folder.glob("????-??-??-*.json")):
        last[path.stem[len("2026-11-25-") :]] = path
    return sorted(last.values(), key=lambda path: _amount(path.stem[len("2026-11-25-") :]))


def _amount(budget: str) -> float:
    return float("".join(c for c in budget if c in "0123456789.") or 0)


def caption(data: dict[str, Any]) -> str:
    """One line on how the results of a file were made."""
    options = data["options"]
    limit = f"{options['seconds']:g} s" if options["seconds"] else f"effort {options['effort']:g}"
    return (
        f"{limit} a search, {options['cores']} cores of {data['processor']}; Python {data['python']},"
        f" {', '.join(f'{name} {number}' for name, number in data['packages'].items())};"
        f" {data['date']}, commit {data['commit']}"
    )


@click.command()
@click.argument("files", nargs=-1, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--means", is_flag=True, help="One line a file: the mean of the garment instances.")
def main(files: tuple[Path, ...], means: bool) -> None:
    """Print results beside the published densities."""
    results = [read(path) for path in files or newest(RESULTS)]
    if means:
        whole = [(caption(data).split(" a search")[0], runs) for runs, data in results]
        click.echo(summary([(budget, runs) for budget, runs in whole if garment_mean(runs) is not None]))
        return
    for runs, data in results:
        click.echo(f"{caption(data)}:\n\n{table(runs)}\n")


if __name__ == "__main__":
    main()
