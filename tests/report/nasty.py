"""Names that a file may hold and that mean something to a terminal, a spreadsheet, a page or a file system.

Sources: escape sequences of ECMA-48, bidirectional controls of Unicode Standard Annex 9, formula signs as
the OWASP page on CSV injection lists them, reserved names of Microsoft's "Naming Files, Paths, and
Namespaces"; the mark-up characters of XML 1.0, ISO 32000-1 strings, TeX and Markdown (all from memory).
"""

from __future__ import annotations

MARKUP = (
    "[/]",
    "[bold]",
    "[red]Front[/red]",
    "[/bold]",
    "[link=https://example.org]Front[/link]",
    "\\[/]",
    "[",
    "]",
    "[[]]",
    ":warning:",
    "[@click=app.quit]x[/]",
    "{}",
    "{0}",
    "{name}",
    "%s",
    "%(name)s",
    "%n%n%n",
)
MATHS = (
    "$x$",
    "$",
    "$$",
    "$\\frac{",
    "\\",
    "\\n",
    "\\alpha",
    "a_b^c",
    "_",
    "^",
    "~",
    "$\\mathdefault{a",
    "#",
    "&",
)
XML = (
    "<b>Front</b>",
    "</text>",
    "</svg><script>alert(1)</script>",
    "&amp;",
    "&lt;",
    "&#0;",
    "]]>",
    "<!--",
    "-->",
    '"',
    "'",
    "\"'<>&",
    "<![CDATA[x",
    "<?xml?>",
    "x; cut 4; mirrored",
)
CELLS = (
    "=1+1",
    "=cmd|' /C calc'!A0",
    '=HYPERLINK("http://example.org";"x")',
    "+1",
    "-1",
    "- Front",
    "@SUM(1)",
    "=",
    "+",
    "-",
    "@",
    '"=1+1"',
    "a,b",
    "a;b",
    'a"b',
    "| pipe",
    "|",
    "'=1",
    "\uff1d1+1",
)
FILES = (
    "CON",
    "con",
    "NUL",
    "AUX",
    "PRN",
    "COM1",
    "LPT9",
    "CON.txt",
    "COM¹",
    ".",
    "..",
    "../../up",
    "/etc/passwd",
    "C:\\x",
    "a/b",
    "a\\b",
    "a:b",
    "a*b?",
    "trailing.",
    "trailing...",
    ".hidden",
    "-rf",
    "--help",
    "~root",
    "$HOME",
    "`id`",
    "a" * 100,
    "w" * 100,
    "ü" * 100,
    "漢" * 100,
    "layout",
    "report",
    "table-sheet",
)
SCRIPTS = (
    "Vorderteil Größe",
    "Манжета",
    "前身頃",
    "ﬁ ligature",
    "Ünïcödé",
    "é decomposed",
    "Z\u0351\u036b\u0343\u036a\u0302algo",
    "👗",
    "👩\U0001f3fd",
    "שרוול",
    "كم الأكمام",
    "x שרוול [/] y",
    "½ × 3″ °",
    "İstanbul",
    "ß",
    "𝔉𝔯𝔬𝔫𝔱",
    "\ufdfd" * 3,
    "１２３",
    "•—–…",
)
REFUSED = (
    "\x1b[31mred",
    "\x1b]0;title\x07",
    "a\x00b",
    "a\tb",
    "a\nb",
    "a\r\nb",
    "\u202egnirts",
    "\u2066x\u2069",
    "\u200bx",
    "\u200f",
    "\ufeff",
    "\x9b31m",
    "a\u2028b",
    "\x7f",
    "\ue000",
    "\u00a0",
    "a\u00adb",
    "",
    "   ",
    "a" * 101,
)
"""Names that cannot be seen as they are, or not at all: bad input, wherever they stand."""

NASTY = MARKUP + MATHS + XML + CELLS + FILES + SCRIPTS


def toml(text: str) -> str:
    """A TOML basic string."""
    told = "".join(c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08X}" for c in text)
    return f'"{told}"'


def in_every_place(name: str) -> str:
    """A pattern that has the name wherever a pattern may have one."""
    word = toml(name)
    return f"""
name = {word}
unit = "mm"
sizes = [{word}, "other size"]
seam_allowance = "10 mm"
about = {word}

[views.{word}]
title = {word}
pieces = [{word}, "second"]

[fabric.{word}]
name = {word}
width = 600
step = 100
price = 12
currency = {word if len(name) <= 20 else toml(name[:20].strip())}
nap = true
[[fabric.{word}.remnant]]
name = {word}
length = 120
width = 140

[[notion]]
name = {word}
detail = {word}
count = 2
views = [{word}]

[[piece]]
number = {word}
name = {word}
cuts = [{{ material = {word}, count = 2 }}]
[piece.drawing.every]
outline = "M 0 0 H 240 V 160 H 0 Z"
grain = [[120, 150], [120, 20]]
fold = [[0, 0], [0, 160]]
notches = [{{ name = {word}, at = [240, 80] }}]
marks = [{{ name = {word}, at = [100, 80] }}]

[[piece]]
number = "second"
name = {word}
cuts = [{{ material = {word}, count = 1, region = {word} }}]
[piece.drawing.every]
outline = "M 0 0 H 240 V 160 H 0 Z"
grain = [[120, 150], [120, 20]]
notches = [{{ name = {word}, at = [240, 80] }}]
[piece.drawing.every.regions]
{word} = "M 20 20 H 120 V 140 H 20 Z"

[[match]]
meet = {word}
"""


def a_piece_each(names: tuple[str, ...]) -> str:
    """A pattern with a small piece for each of the names."""
    head = """
name = "Names"
unit = "mm"
seam_allowance = "included"
[fabric.fabric]
width = 900
step = 100
"""
    pieces = [
        f"""
[[piece]]
number = "{k + 1}"
name = {toml(name)}
cuts = [{{ material = "fabric", count = 1 }}]
[piece.drawing.every]
outline = "M 0 0 H 90 V 60 H 0 Z"
grain = [[45, 50], [45, 10]]
notches = [{{ name = {toml(name)}, at = [90, 30] }}]
"""
        for k, name in enumerate(names)
    ]
    return head + "".join(pieces)
