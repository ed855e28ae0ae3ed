"""The one way in: what the command line offers, with objects.

from marker import lay
answer = lay("pieces/market-apron.toml", seconds=5)
print(answer.layout.materials[0].buy_text)
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, Literal

from marker.errors import InputError
from marker.model.job import Job
from marker.model.layout import Layout, MaterialLayout, Missing
from marker.model.match import Matching

DEFAULT_SECONDS = 20.0
TABLE_SHEET = "table-sheet"
"""What the printed page for the cutting table is called."""
Passed = dict[int, tuple[MaterialLayout, MaterialLayout]]
"""Layouts as the race knows them that have passed the check, by identity, and as they passed it."""
ENDINGS = (
    "-cutting-chart.csv",
    *(".png", ".svg", ".pdf", "-seams.png", "-full-size.svg", "-full-size.dxf"),
    *(f"-full-size-{paper}.pdf" for paper in ("a4", "letter", "a0", "roll")),
)
"""How the names of the files end that ``save`` writes for a material."""
Picture = Literal["png", "svg", "pdf", "table", "seams"]
PaperName = Literal["a4", "letter", "a0", "roll"]


@dataclass(frozen=True)
class Answer:
    """A verified layout and the job it answers."""

    layout: Layout
    job: Job

    @property
    def missing(self) -> tuple[Missing, ...]:
        """What had no place on the cloth there is; empty for cloth bought by the length."""
        return tuple(each for laid in self.layout.materials for each in laid.missing)


@dataclass(frozen=True)
class News:
    """A verified improvement while the search runs, and the unit family its cloth is sold in."""

    material: str
    layout: MaterialLayout
    system: str


class NotVerified(RuntimeError):
    """The checker found faults in a finished layout: a defect of this program, never the user's."""


def load_job(
    pattern: str | Path,
    *,
    size: str | None = None,
    view: str | None = None,
    with_: Sequence[str] = (),
    without: Sequence[str] = (),
    quantity: int = 1,
    widths: Mapping[str, float] | None = None,
    fabrics: Sequence[str | Path] = (),
    matching: Matching = "main",
    have: Mapping[str, Sequence[str]] | None = None,
    prints: Mapping[str, str] | None = None,
    nap: Sequence[str] = (),
) -> Job:
    """Read a pattern file and choose size, view, extras and cloths; raises InputError.

    ``widths`` in millimetres by material ("" for the main one); ``fabrics`` are fabric files that
    replace the pattern's own, one for each material. ``matching``: how much of what the pattern
    names has to meet on a cloth with a print. ``have``: pieces of cloth in hand by material, like "1.5 m x
    112 cm", in place of the roll; ``prints`` like "stripes along 3 cm", and ``nap`` materials that have one:
    these win over the cloths of files.
    """
    from marker.files.cloth_words import ClothWords
    from marker.tables.source import fabrics_of, open_source

    source = open_source(pattern, with_=with_, without=without, quantity=quantity)

    def named(material: str) -> str:
        return material or source.main_material()

    return source.job(
        size=size,
        view=view,
        fabrics=fabrics_of(fabrics),
        files=[str(file) for file in fabrics],
        widths={named(material): width for material, width in (widths or {}).items()},
        matching=matching,
        words=ClothWords(
            {named(material): tuple(texts) for material, texts in (have or {}).items()},
            {named(material): text for material, text in (prints or {}).items()},
            tuple(named(material) for material in nap),
        ),
    )


def lay(
    job: Job | str | Path,
    *,
    fold: str = "best",
    simpler: float = 0.0,
    seed: int = 1,
    seconds: float | None = None,
    effort: float | None = None,
    cores: int | None = None,
    started: float | None = None,
    on_better: Callable[[News], None] | None = None,
    on_preparing: Callable[[], None] | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Answer:
    """Lay out every material of a job (or of a pattern file with one size) and verify the result.

    Of all spreads the one that buys least is taken, and of those the one with the fewest outlines to cut;
    ``simpler`` is how many millimetres more may be bought for fewer outlines (not on remnants).
    Give ``seconds`` (wall clock for the whole job, counted from ``started``, a ``time.monotonic()``
    value) or ``effort`` (work, reproducible: the same seed, effort and cores give the same layout).
    ``on_better`` hears of every verified improvement, ``on_preparing`` when the kernels have to be
    compiled first (once a machine), ``stop`` is asked often and ends the search with the best so far.
    Raises InputError for bad input and NotVerified if the checker refuses the result.
    """
    from marker.cloth.choose import Clock, NoneHolds, enter
    from marker.cloth.cloths import Cloths
    from marker.cloth.fill import lay_cloths
    from marker.cloth.spread import known
    from marker.nest.compiling import compile_kernels

    known(fold)
    if not isinstance(job, Job):
        job = load_job(job)
    if seconds is None and effort is None:
        seconds = DEFAULT_SECONDS
    tied = any(job.asked_of(material) for material in job.materials)
    if compile_kernels(tied, on_preparing):
        started = None
    clock = Clock(seconds, effort, cores or os.cpu_count() or 1, seed, stop)
    if started is not None:
        clock.started = started
    fields = {
        material: Cloths(job, material, fold)
        if job.fabrics[material].remnants
        else enter(job, material, fold, simpler)
        for material in job.materials
    }
    # The small ones first: what they leave of their time is the large one's.
    weights = {
        material: (field.placed if isinstance(field, Cloths) else field.runners[0].placed) ** 1.5 + 8
        for material, field in fields.items()
    }
    at = 0.0
    passed: Passed = {}
    found: dict[str, tuple[MaterialLayout, ...]] = {}
    for material in sorted(fields, key=lambda material: weights[material]):
        field, until = fields[material], at + weights[material] / sum(weights.values())
        if isinstance(field, Cloths):
            search = partial(lay_cloths, field, clock, at, until, _cloths_hold)
        else:
            tell = partial(_tell, job, on_better, passed) if on_better else None
            search = partial(_race_alone, job, simpler, passed, field, clock, at, until, tell)
        try:
            laid = search()
        except NoneHolds:
            raise _not_verified(material) from None
        found[material] = _final(job, laid, simpler, passed)
        at = until
    materials = tuple(laid for material in job.materials for laid in found[material])
    asked = {**job.asked, "fold": fold, **({"simpler": simpler} if simpler else {})}
    return Answer(Layout(job.pattern, job.size, job.view, seed, materials, job.quantity, asked), job)


def _tell(job: Job, on_better: Callable[[News], None], passed: Passed, laid: MaterialLayout) -> None:
    on_better(News(laid.material, passed[id(laid)][1], job.fabrics[laid.material].system))


def _race_alone(job: Job, simpler: float, passed: Passed, *race_of: Any) -> tuple[MaterialLayout, ...]:
    from marker.check import limited
    from marker.cloth.choose import race

    def holds(laid: MaterialLayout) -> bool:
        (modest,) = limited((laid,), job, thorough=False)
        right = _holds(job, (modest,), simpler)
        if right:
            passed[id(laid)] = (laid, modest)
        return right

    return (race(*race_of, holds=holds),)


def _final(
    job: Job,
    laid: tuple[MaterialLayout, ...],
    simpler: float,
    passed: Passed,
) -> tuple[MaterialLayout, ...]:
    """The layouts of one material with what they may claim, verified as they are; raises NotVerified."""
    from marker.check import limited

    if len(laid) == 1 and id(laid[0]) in passed:
        return (passed[id(laid[0])][1],)
    whole = limited(laid, job)
    if _holds(job, whole, simpler):
        return whole
    # Where it is only what is told besides that does not hold, the layout holds without.
    plain = limited(tuple(replace(each, tried=(), lower_bound=0.0) for each in laid), job, thorough=False)
    if _holds(job, plain, simpler):
        return plain
    raise _not_verified(laid[0].material)


def _cloths_hold(job: Job, laid: tuple[MaterialLayout, ...]) -> bool:
    from marker.check import limited

    return _holds(job, limited(laid, job, thorough=False))


def _holds(job: Job, laid: tuple[MaterialLayout, ...], simpler: float = 0.0) -> bool:
    """Whether the checker finds nothing wrong with the cloths of one material."""
    from marker.check import verify

    one = Layout(job.pattern, job.size, job.view, 0, laid, job.quantity, {"simpler": simpler})
    return not verify(one, job.only(laid[0].material))


def _not_verified(material: str) -> NotVerified:
    return NotVerified(
        f"Every layout of {material} that was found failed its check, so none is shown; please report this "
        "with the pattern file."
    )


def save(
    answer: Answer,
    folder: str | Path,
    pictures: Sequence[Picture] = ("png", "svg", "pdf"),
    papers: Sequence[PaperName] = (),
    drawings: Sequence[Literal["svg", "dxf"]] = (),
) -> Saved:
    """Write layout.json, report.txt, cutting charts and what else is asked for into ``folder``.

    ``pictures``: each material drawn to scale, "table": one page for the cutting table, and "seams": the
    matched seams of a cloth with a print. ``papers``:
    each material in true size on that paper. ``drawings``: each material in true size for other programs.
    All files are made before the first is put in its place; raises InputError if the folder cannot be
    written, leaving what was there. What was written there with another layout and is not written again
    goes, so that a folder tells of one layout only; other files stay.
    """
    from marker.files.atomic import write_all
    from marker.files.layout_file import to_json
    from marker.plain import csv_bytes
    from marker.report.chart import chart_csv
    from marker.report.text import render

    folder = Path(folder)
    layout = replace(answer.layout, asked=_relative(answer.layout.asked, folder))
    files: dict[Path, bytes] = {
        folder / "layout.json": to_json(layout, answer.job).encode(),
        folder / "report.txt": render(layout, answer.job, width=100).encode(),
    }
    notes: list[str] = []
    stems = _stems(layout.materials)
    for laid, stem in zip(layout.materials, stems, strict=True):
        files[folder / f"{stem}-cutting-chart.csv"] = csv_bytes(chart_csv(laid, answer.job))
        for kind in pictures:
            if kind == "seams":
                from marker.report.seams import joins, seams_bytes

                if joins(laid, answer.job):
                    files[folder / f"{stem}-seams.png"] = seams_bytes(laid, answer.job, "png")
            elif kind != "table":
                from marker.report.picture import picture_bytes

                files[folder / f"{stem}.{kind}"] = picture_bytes(laid, answer.job, kind)
        for paper in papers:
            from marker.report.full_size import full_size

            sheets = full_size(laid, answer.job, paper)
            files[folder / f"{stem}-full-size-{paper}.pdf"] = sheets.pdf
            notes += [f"{laid.material}, full size on {paper}: {note}" for note in sheets.notes]
        for drawing in drawings:
            files[folder / f"{stem}-full-size.{drawing}"] = _drawn(laid, answer.job, drawing)
    if "table" in pictures:
        from marker.report.table_sheet import table_sheet_pdf

        files[folder / f"{TABLE_SHEET}.pdf"] = table_sheet_pdf(layout, answer.job)
    write_all(files, _outdated(folder, files))
    return Saved(tuple(files), tuple(notes))


def _outdated(folder: Path, files: Mapping[Path, bytes]) -> list[Path]:
    """What ``save`` wrote into the folder with another layout and does not write again now."""
    from marker.files.layout_file import read_layout

    told = folder / "layout.json"
    try:
        before = read_layout(told).materials
        if json.loads(told.read_bytes())["materials"] == json.loads(files[told])["materials"]:
            return []
    except (InputError, OSError):
        return []
    stems = _stems(before)
    names = [f"{stem}{ending}" for stem in stems for ending in ENDINGS]
    every = [folder / name for name in (*names, f"{TABLE_SHEET}.pdf")]
    return [path for path in every if path not in files and path.is_file()]


def _stems(materials: Sequence[MaterialLayout]) -> list[str]:
    """What the files of each material begin with."""
    from marker.plain import file_stems

    return file_stems((f"{laid.material} {laid.cloth}".strip() for laid in materials), taken=(TABLE_SHEET,))


@dataclass(frozen=True)
class Saved:
    """The files written, and sentences about them that the user should hear."""

    files: tuple[Path, ...]
    notes: tuple[str, ...]


def _drawn(laid: MaterialLayout, job: Job, drawing: str) -> bytes:
    if drawing == "dxf":
        from marker.report.drawing_dxf import layout_dxf

        return layout_dxf(laid, job)
    from marker.report.drawing_svg import layout_svg

    return layout_svg(laid, job)


def _relative(asked: Mapping[str, Any], folder: Path) -> dict[str, Any]:
    """Files named from where the layout file stands, so that the folder can move with them."""

    def seen(path: str) -> str:
        if not path:
            return path
        try:
            return Path(os.path.relpath(path, folder)).as_posix()
        except ValueError:
            return path

    return {
        **asked,
        "pattern": seen(asked.get("pattern", "")),
        "fabrics": [seen(file) for file in asked.get("fabrics", ())],
    }


@dataclass(frozen=True)
class Checked:
    """A layout file read again, with what the checker holds against it (nothing: it holds)."""

    layout: Layout
    job: Job
    faults: tuple[Any, ...]


def check_layout(path: str | Path, pattern: str | Path | None = None) -> Checked:
    """Verify a layout file against the pattern and fabric files it was made from.

    ``pattern`` names the pattern file if it has moved. Raises InputError if a file cannot be read.
    """
    from marker.check import verify
    from marker.files.atomic import settle
    from marker.files.layout_file import read_layout

    path = Path(path)
    settle(path.parent)
    layout = read_layout(path)
    asked = layout.asked
    if pattern is None and not asked.get("pattern"):
        raise InputError(
            f"{path}: the file does not say which pattern it was made from; name it with --pattern."
        )
    job = load_job(
        pattern or path.parent / asked["pattern"],
        size=layout.size,
        view=layout.view,
        with_=asked.get("with", ()),
        without=asked.get("without", ()),
        quantity=layout.quantity,
        widths=asked.get("widths", {}),
        fabrics=[path.parent / file for file in asked.get("fabrics", ())],
        matching=asked.get("match", "main"),
        have=asked.get("have"),
        prints=asked.get("prints"),
        nap=asked.get("nap", ()),
    )
    return Checked(layout, job, tuple(verify(layout, job)))


def describe_file(path: str | Path) -> str:
    """Validate a pattern or fabric file and say in a few words what it holds; raises InputError."""
    from marker.files.survey import survey

    found = survey(path)
    if found.mistakes or found.missing:
        raise InputError(f"{path}: {(*found.mistakes, *found.missing)[0]}.")
    return found.summary


def _is_fabric_file(path: Path) -> bool:
    """Whether a TOML file holds fabrics and nothing else (a pattern holds fabrics among other things)."""
    from marker.files.toml import read_toml

    return {"fabric"} <= set(read_toml(path)) <= {"fabric", "unit"}


def draw_pieces(path: str | Path, folder: str | Path, size: str | None = None) -> list[Path]:
    """Draw the pieces of a pattern file with their measurements, a PDF for each size, into ``folder``.

    Other files draw nothing. Raises InputError for a file or size that cannot be used.
    """
    from marker.files.atomic import write_all
    from marker.files.pattern import load_pattern
    from marker.plain import file_stems
    from marker.report.piece_sheet import piece_sheet_pdf

    path = Path(path)
    if path.suffix.lower() == ".json" or _is_fabric_file(path):
        return []
    pattern = load_pattern(path)
    sizes = (size,) if size else pattern.sizes
    files = {
        Path(folder) / f"{stem}-pieces.pdf": piece_sheet_pdf(pattern, one)
        for one, stem in zip(sizes, file_stems(f"{path.stem}-{one}" for one in sizes), strict=True)
    }
    write_all(files)
    return list(files)


def print_pieces(
    path: str | Path, folder: str | Path, papers: Sequence[PaperName], size: str | None = None
) -> Saved:
    """Write each piece of a pattern file once, in true size, a PDF for each size and paper, into ``folder``.

    Other files write nothing. Raises InputError for a file or size that cannot be used.
    """
    from marker.files.atomic import write_all
    from marker.files.pattern import load_pattern
    from marker.plain import file_stems
    from marker.report.console import size_words
    from marker.report.piece_paper import pieces_full_size

    path = Path(path)
    if path.suffix.lower() == ".json" or _is_fabric_file(path):
        return Saved((), ())
    pattern = load_pattern(path)
    files: dict[Path, bytes] = {}
    notes: list[str] = []
    sizes = (size,) if size else pattern.sizes
    for one, stem in zip(sizes, file_stems(f"{path.stem}-{one}" for one in sizes), strict=True):
        for paper in papers:
            sheets = pieces_full_size(pattern, one, paper)
            files[Path(folder) / f"{stem}-pieces-{paper}.pdf"] = sheets.pdf
            notes += [f"Pieces, {size_words(one)}, on {paper}: {note}" for note in sheets.notes]
    write_all(files)
    return Saved(tuple(files), tuple(notes))
