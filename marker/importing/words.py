"""The words of the trade that drawings are read by, a table for each language.

To add a language, write another ``Language`` and name it in ``LANGUAGES``; ``cuts.py``, ``allowance.py`` and
``phrases.py`` read by whatever stands here. Words are in lower case; several words in one entry follow each
other in the drawing. The phrases are common practice on printed patterns, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

How = Literal["mirrored", "alike", "on fold", "reversed", "left", "right"]
"""How copies are cut. ``reversed``, ``left`` and ``right`` mean something only beside their counterparts."""


@dataclass(frozen=True)
class Language:
    """What means what in one language."""

    numbers: Mapping[str, int]
    cut: frozenset[str]
    """Words that a count of copies follows."""
    times: frozenset[str]
    copies: frozenset[str]
    """Words for the things counted, which say nothing more."""
    idle: frozenset[str]
    """Words behind an entry that change nothing."""
    pair: frozenset[str]
    pairs: frozenset[str]
    each: frozenset[str]
    articles: frozenset[str]
    links: frozenset[str]
    """Words between a count and a known material."""
    named_links: frozenset[str]
    """Those that any name of a material may follow."""
    between: frozenset[str]
    """Words and signs that part the entries of a list."""
    not_cut: frozenset[str]
    """Words before a phrase that turn it into something else than what to cut."""
    hows: Mapping[str, How]
    materials: Mapping[str, str]
    """Names of cloth, and what a pattern file calls it. Other words count as one after a link only."""
    no_material: frozenset[str]
    """Words that are no cloth even after a link."""
    region: frozenset[str]
    allowance: tuple[str, ...]
    included: frozenset[str]
    added: frozenset[str]
    without: frozenset[str]
    filling: frozenset[str]
    """Words about allowances that change nothing."""
    instructions: frozenset[str]
    """Words that no piece is called by: a text that holds one says what to do, and is no name."""


_CLOTHS = {
    "interlining", "batting", "wadding", "pocketing", "ribbing", "rib", "mesh", "tulle", "net", "lace",
    "canvas", "denim", "cotton", "linen", "wool", "felt", "fleece", "jersey", "silk", "satin", "velvet",
    "corduroy", "leather", "vinyl", "ripstop", "oilcloth", "poplin", "twill", "flannel", "sailcloth",
    "neoprene", "cork",
}  # fmt: skip

ENGLISH = Language(
    numbers={
        "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
        "ten": 10, "eleven": 11, "twelve": 12, "sixteen": 16, "twenty": 20,
    },
    cut=frozenset({"cut", "cuts", "cutting", "qty", "quantity"}),
    times=frozenset({"x", "×", "times"}),
    copies=frozenset({"piece", "pieces", "pcs", "pc", "copy", "copies", "off"}),
    idle=frozenset({"only", "please"}),
    pair=frozenset({"pair", "pr"}),
    pairs=frozenset({"pairs", "prs"}),
    each=frozenset({"each"}),
    articles=frozenset({"the", "a", "an"}),
    links=frozenset({"of", "from", "in", "out of", "on", "-", "–", "—", ":"}),
    named_links=frozenset({"of", "from", "out of"}),
    between=frozenset({",", "and", "&", "+", "/", "plus", "then"}),
    not_cut=frozenset(
        {"not", "don't", "don’t", "dont", "never", "no", "without", "before", "after", "if", "when", "until",
         "to", "already", "first", "where"}
    ),
    hows={
        "mirrored": "mirrored", "mirror image": "mirrored", "mirror images": "mirrored",
        "mirror imaged": "mirrored", "opposite": "mirrored",
        "alike": "alike", "identical": "alike", "not mirrored": "alike", "same way": "alike",
        "on fold": "on fold", "on folded edge": "on fold", "to fold": "on fold", "placed on fold": "on fold",
        "place on fold": "on fold", "at fold": "on fold", "along fold": "on fold", "on foldline": "on fold",
        "on fold line": "on fold",
        "reversed": "reversed", "reverse": "reversed", "in reverse": "reversed", "flipped": "reversed",
        "mirror": "reversed",
        "left": "left", "right": "right",
    },
    materials={
        **{cloth: cloth for cloth in _CLOTHS},
        "fabric": "fabric", "fabrics": "fabric", "self": "fabric", "self fabric": "fabric", "main": "fabric",
        "main fabric": "fabric", "outer": "fabric", "outer fabric": "fabric", "shell": "fabric",
        "shell fabric": "fabric", "fashion fabric": "fabric", "cloth": "fabric", "main cloth": "fabric",
        "material": "fabric", "main material": "fabric",
        "interfacing": "interfacing", "interfacings": "interfacing", "fusible": "interfacing",
        "fusible interfacing": "interfacing", "iron-on interfacing": "interfacing",
        "lining": "lining", "linings": "lining", "lining fabric": "lining",
        "contrast": "contrast", "contrast fabric": "contrast", "contrasting fabric": "contrast",
        "contrasting": "contrast",
    },
    no_material=frozenset(
        {"these", "this", "those", "that", "them", "it", "each", "all", "both", "same", "line", "lines",
         "edge", "edges", "side", "sides", "size", "sizes", "here", "above", "below", "top", "bottom",
         "center", "centre", "middle", "bias", "grain", "straight", "cross", "notch", "notches", "dots",
         "paper", "pattern", "marked", "half", "away", "up", "down", "inside", "outside", "end", "ends",
         "point", "fold", "front", "back", "waist", "neck", "hem"}
    ),
    region=frozenset({"region"}),
    allowance=("seam allowances", "seam allowance", "seam-allowance", "s.a.", "s/a", "sa"),
    included=frozenset({"included", "includes", "include", "including", "incl", "inc", "inclusive"}),
    added=frozenset({"add", "added", "adding", "plus"}),
    without=frozenset(
        {"no", "not", "without", "excluded", "excludes", "excluding", "exclude", "excl", "none", "isn't",
         "aren't", "isn’t", "aren’t"}
    ),
    filling=frozenset(
        {"is", "are", "has", "have", "been", "be", "to", "the", "a", "an", "of", "all", "on", "in", "at",
         "each", "every", "around", "round", "edges", "edge", "sides", "seams", "piece", "pieces", "pattern",
         "this", "throughout", "already", "for", "and", "please", "must", "remember"}
    ),
    instructions=frozenset(
        {"cut", "cuts", "cutting", "uncut", "foldline", "allowance", "allowances", "grain", "grainline",
         "stitch", "stitching", "sew", "sewing", "baste"}
    ),
)  # fmt: skip

LANGUAGES: tuple[Language, ...] = (ENGLISH,)

# What drawing programs call objects that nobody named; some speak their user's language.
_PROGRAMS = (
    "path|rect|rectangle|circle|ellipse|polygon|polyline|line|text|tspan|g|group|layer|svg|svgroot|use|shape|"
    "object|image|curve|compound|clip|clippath|page|frame|artboard|asset|vector|union|subtract|symbol|"
    "drawing|untitled|surface|glyph|flowroot|defs|namedview|selection|layers|svgid|xmlid|"
    "ebene|gruppe|pfad|rechteck|calque|groupe|tracé|capa|grupo|trazado|livello|gruppo|tracciato"
)
AUTOMATIC = re.compile(
    rf"_*(?:compound |clip |clipping )?(?:{_PROGRAMS})?(?:[-_ ]|x0020|copy|path|group)*\d*"
    r"(?:[-_ ]+\d+)*_*",
    re.IGNORECASE,
)
"""Words that programs make up for titles, labels and ids."""
AUTOMATIC_ID = re.compile(
    r"[a-z]{1,2}[-_ ]?\d[-_ \d]*|id\w*\d\w*|(?=\w*\d)[0-9a-f]{6,}|a\$c[0-9a-f]+|\d[-_ \d]*|"
    r"\{?[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\}?|(?=[a-z]*\d[a-z]*\d)[a-z0-9]{16,}",
    re.IGNORECASE,
)
"""Words that programs make up for ids, and that people could write elsewhere (a piece called B2)."""


def is_automatic(words: str, is_id: bool) -> bool:
    """Whether a drawing program rather than a person called an object so.

    In a title or label only numbered words are taken for a program's, and those nobody would call a piece.
    """
    bare = words.strip()
    if is_id:
        return bool(AUTOMATIC_ID.fullmatch(bare) or AUTOMATIC.fullmatch(bare))
    if not re.search(r"[^\W\d_]", bare) or not AUTOMATIC.fullmatch(bare):
        return False
    return bool(re.search(r"\d", bare)) or bare.casefold() in ("untitled", "layer", "group", "svg")
