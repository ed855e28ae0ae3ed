"""What of a print matches, how closely, and what whole repeats add to the length, in words."""

from __future__ import annotations

from collections.abc import Sequence

from marker.files.toml import quoted
from marker.model.fabric import Fabric, Print
from marker.model.job import Job
from marker.model.layout import MaterialLayout
from marker.model.match import Match
from marker.plain import enumerated
from marker.report.chart import title
from marker.report.design import even_words, kind_words, repeat_words, start_words
from marker.report.flat import asked
from marker.report.measure import System, length

LINE = 56
"""Letters of a line that is to be copied: the narrowest report does not break it."""
NO_NOTCHES = (
    "No two of these pieces have a notch of one name: call the notches that meet in sewing alike on both "
    'pieces, and name them under meet, as in meet = ["side"].'
)
LEVELS = {"main": "the main seams", "everything": "everything the pattern names"}


def match_rows(material: MaterialLayout, job: Job) -> list[tuple[str, str]]:
    """The print, what matches, and the whole repeats: heading and words; nothing for a plain cloth."""
    fabric = job.fabrics[material.material]
    design = fabric.print
    if design is None:
        return []
    rows = [("Print", print_words(design, fabric.system, bool(material.cloth)))]
    matches = asked(material, job)
    if matches:
        rows.append(
            ("Matched", f"{LEVELS[material.matched]}, to {_tolerance(design)} at the stitching line:")
        )
        rows += [("", _in_words(match, material, job)) for match in matches]
    elif job.matches and job.matching != "none" and not job.asked_of(material.material):
        rows.append(("Matched", "nothing: no [[match]] of the pattern is about these pieces and lines"))
    else:
        rows.append(("Matched", "nothing: pieces lie wherever they fit, and the print may break at seams"))
        rows += _to_match(material, job)
    repeats = whole_repeats(material, job)
    if repeats:
        rows.append(("Repeats", repeats))
    return rows


def unmatched(material: MaterialLayout, job: Job) -> str:
    """For the first box: that a print is not matched because the pattern asks for nothing; "" otherwise."""
    from marker.cloth.suggest import suggestion

    if material.matched != "none" or suggestion(job, material.material) is None:
        return ""
    return "its print is not matched, as the pattern does not say what meets; what to write is told below"


def _to_match(material: MaterialLayout, job: Job) -> list[tuple[str, str]]:
    """What to write into the pattern file, ready to be copied."""
    from marker.cloth.suggest import suggestion

    found = suggestion(job, material.material)
    if found is None:
        return []
    rows = [("To match", "the pattern file has to say what meets, under [[match]].")]
    if found.matches:
        rows = [("To match", "add these lines at the end of the pattern file, and lay it again:")]
        rows += [("", line) for line in match_lines(found.matches)]
    if found.clashing:
        missed = ", ".join(found.clashing)
        rows.append(("", f"Left out, as they would miss each other on this print: {missed}."))
    if found.unnamed:
        rows.append(("", NO_NOTCHES))
    return rows


def match_lines(matches: Sequence[Match]) -> list[str]:
    """The matches as tables of a pattern file, no line longer than it can be shown."""
    lines: list[str] = []
    for what in ("meet", "centre", "pair"):
        names = [quoted(match.name) for match in matches if match.what == what]
        row = f"{what} = [{', '.join(names)}]"
        if names:
            lines.append("[[match]]")
            lines += [row] if len(row) <= LINE else [f"{what} = [", *(f"  {name}," for name in names), "]"]
    return lines


def print_words(design: Print, system: System, remnant: bool = False) -> str:
    """Kind, repeats, start and evenness."""
    start = start_words(design, system, remnant)
    return f"{kind_words(design)}, {repeat_words(design, system)}, {start}; it {even_words(design)}"


def pieces_take(material: MaterialLayout) -> float:
    """Millimetres from the cut end to the farthest point of a piece."""
    return max((x for placement in material.placements for x, _ in placement.outline), default=0.0)


def whole_repeats(material: MaterialLayout, job: Job) -> str:
    """By how much whole repeats make the lay longer than its pieces; empty where the length is not that."""
    fabric = job.fabrics[material.material]
    along = None if fabric.print is None else fabric.print.along
    if along is None or not any(match.crosswise for match in asked(material, job)):
        return ""
    count, take = round(material.length / along), pieces_take(material)
    if count < 1 or abs(material.length - count * along) > 0.5 or take > material.length + 0.5:
        return ""
    whole, system = length(material.length, fabric.system), fabric.system
    return (
        f"pieces take {length(take, system)}; with whole repeats {whole} "
        f"({count} of {length(along, system)}), so that the next lay begins at the same place of the print"
    )


def repeat_to_begin_on(material: MaterialLayout, job: Job) -> float:
    """The repeat along the washed cloth bought before the lay where crosswise lines matter, else 0."""
    fabric: Fabric = job.fabrics[material.material]
    if fabric.print is None or fabric.print.along is None or material.cloth:
        return 0.0
    return fabric.print.along if any(match.crosswise for match in asked(material, job)) else 0.0


def _tolerance(design: Print) -> str:
    return f"{design.tolerance:g} mm"


def _in_words(match: Match, material: MaterialLayout, job: Job) -> str:
    design = job.fabrics[material.material].print
    lines = " and ".join(
        way for way, counts in (("crosswise", match.crosswise), ("lengthwise", match.lengthwise)) if counts
    )
    if match.what == "meet":
        pieces = [
            title(piece.number, piece.name)
            for piece in job.pieces
            if any(mark.name == match.name for mark in (*piece.notches, *piece.marks))
            and any(cut.material == material.material and not cut.region_name for cut in piece.cuts)
        ]
        return f"{match.name}: {lines} lines of {enumerated(pieces)} meet"
    piece = next((title(p.number, p.name) for p in job.pieces if p.number == match.name), match.name)
    if match.what == "pair":
        return f"{piece}: {_pair_words(match, lines, material, design)}"
    what = "motif" if design is not None and design.kind == "motifs" else "bar"
    at = f" at {match.at}" if match.at else ""
    return f"{piece}: centred{at} on a {what} ({lines} lines)"


def _pair_words(match: Match, lines: str, material: MaterialLayout, design: Print | None) -> str:
    """Left and right cannot show the same lengthwise lines of a print that no mirror image fits."""
    faces = {p.mirrored for p in material.placements if p.piece == match.name and not p.region}
    if match.lengthwise and design is not None and not design.even_across and len(faces) > 1:
        cannot = "lengthwise lines cannot be alike on left and right of an uneven print"
        return f"crosswise lines alike on all copies; {cannot}" if match.crosswise else cannot
    return f"{lines} lines alike on all copies"
