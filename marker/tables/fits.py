"""Which sizes and views of a pattern fit on the cloth in hand: a quick verified layout of each."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Literal

from marker.errors import InputError
from marker.model.job import Job
from marker.model.ring import extent
from marker.tables.grid import Grid, terminal_parts
from marker.tables.source import Source
from marker.tables.task import Search, task
from marker.units import System

if TYPE_CHECKING:
    from marker.api import Answer

UNKNOWN = float("inf")
Verdict = Literal["fits", "cannot fit", "not found"]
"""A verified layout lies on the cloth; a bound shows that none can; neither was found in the time."""

LINES = {
    "fits": "fits: a layout was found and verified.",
    "cannot fit": "cannot fit: by the size of the pieces, however they are laid.",
    "not found": "not found: no layout that fits was found in the time; more --seconds may find one.",
}


@dataclass(frozen=True)
class Fit:
    """The verdict on one size and view.

    ``length``: millimetres that the only piece in hand would at least have to be long; ``enough``: that it
    would have to be long for a layout that was found. Both as it lies now, 0 if unknown.
    """

    size: str
    view: str
    verdict: Verdict
    length: float = 0.0
    enough: float = 0.0


def every_job(source: Source, job_of: Callable[[str, str], Job]) -> list[Job]:
    """The job of every size and view that what was asked for suits; ``job_of`` makes them.

    Raises InputError if it suits none.
    """
    found: list[Job] = []
    problem: InputError | None = None
    for view in source.pattern.views:
        for size in source.pattern.sizes:
            try:
                found.append(job_of(size, view.name))
            except InputError as wrong:
                problem = wrong
    if problem is not None and not found:
        raise problem
    return found


def which_fit(
    jobs: Sequence[Job],
    in_hand: Sequence[str],
    known: Mapping[tuple[str, str], float],
    *,
    fold: str,
    seed: int,
    seconds: float | None,
    effort: float | None,
    cores: int | None,
    on_preparing: Callable[[], None] | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> tuple[Fit, ...]:
    """The verdict on each job.

    ``known``: what is ``lacking`` to those laid already, by size and view; they are not laid again. Of the
    others only the materials ``in_hand`` are laid. What bounds do not settle shares ``seconds`` (what one
    leaves goes to the next) or ``effort``. Jobs that cut the same from the same cloth are laid once.
    """
    from marker.cloth.enough import shown
    from marker.nest.compiling import compile_kernels

    compile_kernels(any(job.asked_of(material) for job in jobs for material in in_hand), on_preparing)
    until = None if seconds is None else time.monotonic() + seconds
    search = Search(seed, effort=1.0)
    keys = [tuple(task(job, material, fold, search).key for material in in_hand) for job in jobs]
    verdicts: dict[tuple[str, ...], Verdict] = {}
    lengths: dict[tuple[str, ...], float] = {}
    lacks: dict[tuple[str, ...], float] = {}
    for job, key in zip(jobs, keys, strict=True):
        if known.get((job.size, job.view)) == 0.0:
            verdicts[key] = "fits"
    left: dict[tuple[str, ...], Job] = {}
    for job, key in zip(jobs, keys, strict=True):
        if key in verdicts or stop():
            continue
        bounds = [shown(job, material) for material in in_hand]
        if any(bound.cannot for bound in bounds):
            verdicts[key] = "cannot fit"
            lengths[key] = bounds[0].length if len(bounds) == 1 else 0.0
        elif (job.size, job.view) in known:
            verdicts[key], lacks[key] = "not found", known[job.size, job.view]
        else:
            left[key] = job
    for number, (key, job) in enumerate(left.items()):
        if key in verdicts or stop():
            continue
        races = (len(left) - number) * len(in_hand)
        seconds = None if until is None else max(until - time.monotonic(), 0.0) / races
        part = None if effort is None else effort / (len(left) * len(in_hand))
        lacks[key] = _lacking(
            job, in_hand, fold=fold, seed=seed, seconds=seconds, effort=part, cores=cores, stop=stop
        )
        verdicts[key] = "not found" if lacks[key] else "fits"
    return tuple(
        Fit(
            job.size,
            job.view,
            verdicts.get(key, "not found"),
            lengths.get(key, 0.0),
            _enough(job, in_hand, lacks.get(key, 0.0)),
        )
        for job, key in zip(jobs, keys, strict=True)
    )


def lacking(answer: Answer | None, in_hand: Sequence[str]) -> float:
    """Millimetres by which the only piece in hand, once washed, was found to be too short.

    0 where all that is cut from the cloth in hand has a place, ``UNKNOWN`` where nobody knows or there are
    several pieces.
    """
    if answer is None:
        return UNKNOWN
    short = [each for each in answer.layout.materials if each.material in in_hand and each.missing]
    if not short:
        return 0.0
    remnants = answer.job.fabrics[short[0].material].remnants
    if len(in_hand) > 1 or len(remnants) > 1 or short[0].short <= 0.0:
        return UNKNOWN
    return short[0].short


def _lacking(job: Job, in_hand: Sequence[str], **search: Any) -> float:
    """What is lacking to a job of which only the materials in hand are laid."""
    from marker.api import lay
    from marker.cloth.choose import NothingFits

    try:
        return max(lacking(lay(job.only(material), **search), in_hand) for material in in_hand)
    except NothingFits:
        return UNKNOWN


def _enough(job: Job, in_hand: Sequence[str], lacks: float) -> float:
    """How long the only piece in hand would have to be, as it lies now; 0 if unknown or long enough."""
    if lacks in (0.0, UNKNOWN):
        return 0.0
    fabric = job.fabrics[in_hand[0]]
    (remnant,) = fabric.remnants
    long, _ = extent(remnant.outline)
    return (long + lacks) / (1.0 if remnant.washed else 1.0 - fabric.shrink_along)


def as_json(fits: Sequence[Fit]) -> str:
    """The verdicts as a JSON list of objects with size, view, verdict, length and enough."""
    return json.dumps([asdict(fit) for fit in fits], indent=1)


def terminal(fits: Sequence[Fit], cloth: str, system: System, width: int, color: bool) -> str:
    """Sizes down, views across; a single one in a sentence."""
    from marker.report.console import to_text

    if len(fits) == 1:
        words = {
            "fits": f"It fits on {cloth}.",
            "cannot fit": f"It cannot fit on {cloth}, however it is laid{_lengths(fits[0], system)}.",
            "not found": f"No layout that fits on {cloth} was found in the time{_lengths(fits[0], system)}; "
            "one may still exist.",
        }
        return to_text([words[fits[0].verdict]], width=width, color=color)
    views = list(dict.fromkeys(fit.view for fit in fits))
    sizes = list(dict.fromkeys(fit.size for fit in fits))
    by = {(fit.size, fit.view): f"{fit.verdict}{_lengths(fit, system)}" for fit in fits}
    told = {fit.verdict for fit in fits}
    grid = Grid(
        f"What fits on {cloth}",
        ("Size", *(f"View {view}" for view in views)),
        tuple((size, *(by.get((size, view), "") for view in views)) for size in sizes),
        lines=tuple(LINES[verdict] for verdict in LINES if verdict in told),
    )
    return to_text(terminal_parts([grid], width), width=width, color=color)


def _lengths(fit: Fit, system: System) -> str:
    """How long the cloth would have to be, as far as that is known."""
    from marker.report.measure import at_least, at_most

    least = f", takes at least {at_least(fit.length, system)}" if fit.length else ""
    return least + (f", {at_most(fit.enough, system)} is enough" if fit.enough else "")
