"""marker lay: the main job."""

from __future__ import annotations

import json
import signal
import sys
import time
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from marker.commands.cloth_options import cloth_words, have_option, print_and_nap
from marker.commands.lengths import length, once_each, widths_of
from marker.commands.once import Command
from marker.commands.shared import MATCHINGS, PAPERS, interruptible, job_options, on_interrupt, usual_out

if TYPE_CHECKING:
    from marker.api import Answer
    from marker.model.job import Job
    from marker.units import System

STARTED = time.monotonic()
PICTURES = ("png", "svg", "pdf", "table", "seams")
DRAWINGS = ("svg", "dxf")
MANY = 6
"""Garments from which on drawing them takes longer, in proportion (45 smocks: 22 s of a core)."""
NOT_ALL = 3
"""Exit code: the layout holds, but something asked for found no place."""


@click.command(cls=Command)
@click.argument("pattern")
@job_options
@click.option(
    "--width",
    "widths",
    multiple=True,
    metavar="[MATERIAL=]LENGTH",
    help="Width of the cloth, such as 140cm, 55in or interfacing=90cm.",
)
@click.option(
    "--fabric",
    "fabrics",
    multiple=True,
    metavar="FILE",
    help="Fabric file to use in place of the pattern's cloth.",
)
@have_option
@print_and_nap
@click.option(
    "--fold", default="best", show_default=True, help="How to spread the cloth; best tries them all."
)
@click.option(
    "--simpler",
    metavar="LENGTH",
    help="How much more cloth a lay with fewer outlines to cut may take, such as 10cm.  [default: none]",
)
@click.option(
    "--match",
    "matching",
    type=click.Choice(MATCHINGS),
    default="main",
    show_default=True,
    help="What has to meet on a cloth with a print: nothing, the main seams, or everything.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="Another number, another search.")
@click.option("--seconds", type=float, help="Time for the whole job.  [default: 20]")
@click.option("--effort", type=float, help="Work instead of time: the same effort gives the same layout.")
@click.option("--cores", type=click.IntRange(1, 256), help="Processor cores to use.  [default: all]")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for layout file, report and pictures.")
@click.option(
    "--pictures",
    default="png,svg,pdf",
    show_default=True,
    help="Kinds of pictures, or none; table is one printed page for the cutting table, seams shows how a "
    "print meets.",
)
@click.option(
    "--paper",
    "papers",
    multiple=True,
    type=click.Choice(PAPERS),
    help="Also print in true size: on sheets to stick together, or one roll for a plotter.",
)
@click.option("--drawings", default="none", show_default=True, help="Also draw in true size: svg,dxf.")
@click.option("--json", "as_json", is_flag=True, help="Print the layout file instead of the report.")
def lay(
    pattern: str,
    size: str | None,
    view: str | None,
    with_: tuple[str, ...],
    without: tuple[str, ...],
    quantity: int,
    widths: tuple[str, ...],
    fabrics: tuple[str, ...],
    have: tuple[str, ...],
    prints: tuple[str, ...],
    nap: bool,
    fold: str,
    simpler: str | None,
    matching: Any,
    seed: int,
    seconds: float | None,
    effort: float | None,
    cores: int | None,
    out: Path | None,
    pictures: str,
    papers: tuple[Any, ...],
    drawings: str,
    as_json: bool,
) -> None:
    """Lay out every material of a pattern.

    Prints how much to buy, the waste and a cutting chart, and writes pictures and a layout file. What --have,
    --print and --nap say wins over the pattern's cloth and over fabric files.
    """
    from marker import api
    from marker.cloth.choose import NothingFits
    from marker.files.atomic import settle
    from marker.progress import Progress
    from marker.report.console import screen_width
    from marker.tables import fits
    from marker.tables.source import fabrics_of, open_source

    kinds = _kinds("--pictures", pictures, PICTURES)
    drawn = _kinds("--drawings", drawings, DRAWINGS)
    _positive("--seconds", seconds)
    _positive("--effort", effort)
    if seconds is not None and effort is not None:
        raise click.UsageError("Give --seconds or --effort, not both.")
    limit = None if effort is not None else seconds or api.DEFAULT_SECONDS
    # Pictures are drawn inside the time given.
    drawing = (1.2 * len(kinds) + len(papers)) * max(1.0, quantity / MANY)
    most = 0.25 if quantity <= MANY else 0.5
    search = None if limit is None else limit - min(most * limit, 1.0 + drawing)
    source = open_source(pattern, with_=with_, without=without, quantity=quantity)
    wide = widths_of(widths, source.pattern.unit)
    once_each("--width", [material for material, _ in wide], source.main_material())
    dearer = length("--simpler", simpler, source.pattern.unit) if simpler else 0.0
    words = cloth_words(source, have, prints, nap)
    cloths = fabrics_of(fabrics)

    def job_of(size: str | None, view: str | None) -> Job:
        return source.job(
            size=size,
            view=view,
            fabrics=cloths,
            files=fabrics,
            widths={material or source.main_material(): width for material, width in wide},
            matching=matching,
            words=words,
        )

    # Of cloth in hand one may ask what could be made of it, with no size in mind.
    asked = size is not None or not words.have or len(source.pattern.sizes) == 1
    job = job_of(size, view) if asked else None
    jobs = fits.every_job(source, job_of) if words.have else []
    # With other sizes and views to try, half of the time is theirs, and what the one asked for leaves.
    share = 0.0 if job is None else 0.5 if len(jobs) > 1 else 1.0
    if job is not None:
        settle(out or usual_out(pattern, job.size, job.view))
    answer = None
    verdicts: tuple[fits.Fit, ...] = ()
    with interruptible() as stopped:
        with Progress(search) as progress:
            try:
                if job is not None:
                    answer = api.lay(
                        job,
                        fold=fold,
                        simpler=dearer,
                        seed=seed,
                        seconds=None if search is None else search * share,
                        effort=effort,
                        cores=cores,
                        started=STARTED,
                        on_better=progress.better,
                        on_preparing=progress.preparing,
                        stop=stopped.is_set,
                    )
            except NothingFits as nothing:
                if not jobs:
                    raise
                click.echo(f"marker: {nothing}", err=True)
            if jobs:
                verdicts = fits.which_fit(
                    jobs,
                    tuple(words.have),
                    {} if job is None else {(job.size, job.view): fits.lacking(answer, tuple(words.have))},
                    fold=fold,
                    seed=seed,
                    # Not less where the search had to be prepared for this machine first.
                    seconds=None
                    if search is None
                    else max(search * (1.0 - share), STARTED + search - time.monotonic()),
                    effort=effort,
                    cores=cores,
                    on_preparing=progress.preparing,
                    stop=stopped.is_set,
                )
        if answer is not None:
            folder = out or usual_out(pattern, answer.layout.size, answer.layout.view)
            saved = _saved(answer, folder, (kinds, tuple(dict.fromkeys(papers)), drawn), stopped.is_set())
    colored = sys.stdout.isatty() and not as_json
    told = (
        fits.terminal(verdicts, words.in_hand, _system(jobs[0], words.have), screen_width(), colored)
        if jobs
        else ""
    )
    if answer is None:
        click.echo(fits.as_json(verdicts) if as_json else told)
        sys.exit(0 if job is None and any(fit.verdict == "fits" for fit in verdicts) else NOT_ALL)
    if as_json:
        from marker.files.layout_file import to_json

        click.echo(told, err=True, nl=False)
        # In ASCII, so that no terminal's stand-ins change it.
        click.echo(json.dumps(json.loads(to_json(answer.layout, answer.job))))
        sys.exit(NOT_ALL if answer.missing else 0)
    from marker.report.text import render

    click.echo(render(answer.layout, answer.job, color=colored))
    if told:
        click.echo(told)
    if stopped.is_set():
        lacking = ", though not all pieces have a place" if answer.missing else ""
        click.echo(f"Stopped early: this is the best verified layout up to then{lacking}.\n")
    for note in saved.notes:
        click.echo(note)
    click.echo(f"Written to {folder}: {', '.join(file.name for file in saved.files)}")
    if answer.missing:
        sys.exit(NOT_ALL)


def _saved(answer: Answer, folder: Path, drawings: tuple[Any, ...], hurry: bool) -> Any:
    """Writes all files; after Ctrl-C the layout first, then the drawings, which another one leaves out."""
    from marker import api

    if not hurry:
        return api.save(answer, folder, *drawings)
    with on_interrupt(signal.SIG_IGN):
        saved = api.save(answer, folder, (), ())
    if not any(drawings):
        return saved
    click.echo(f"Stopped: the layout is in {folder}. Drawing it now; Ctrl-C leaves that out.", err=True)
    try:
        with on_interrupt(signal.default_int_handler):
            return api.save(answer, folder, *drawings)
    except KeyboardInterrupt:
        return saved


def _system(job: Job, in_hand: Iterable[str]) -> System:
    """The units that the cloth in hand is spoken of in."""
    return job.fabrics[next(iter(in_hand))].system


def _positive(option: str, value: float | None) -> None:
    if value is not None and not 0 < value < 1e7:
        raise click.UsageError(f"{option} must be a number above 0.")


def _kinds(option: str, text: str, known: tuple[str, ...]) -> tuple[Any, ...]:
    """The words of a list with commas, in the order they are known in; "none" is no word."""
    asked = [part.strip().lower() for part in text.split(",") if part.strip()]
    if asked == ["none"]:
        return ()
    for kind in asked:
        if kind not in known:
            raise click.UsageError(f"{option} knows {', '.join(known)} and none, not '{kind}'.")
    return tuple(kind for kind in known if kind in asked)
