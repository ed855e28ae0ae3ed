"""What a drawing shows: the style sheets inside an SVG file, style attributes and presentation attributes.

The cascade is that of CSS Cascading and Inheritance 4, section 6 (importance, specificity, order), with
presentation attributes below all rules (SVG 2, section 6.6). Only what decides whether something is seen, and
what would move or size it, is looked at.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from marker.importing.xml_tree import Element

MOST_CSS = 200_000
"""Letters of style sheets that are read."""
MOST_INLINE = 4_000_000
"""Letters of style attributes that are read."""
MOST_RULES = 2_000
"""Rules that matter, in all style sheets."""
MOST_MATCHES = 2_000_000
"""Parts of selectors times elements. A class or id alone costs next to nothing and counts a twentieth."""
SEEN = (
    "display",
    "visibility",
    "opacity",
    "fill",
    "stroke",
    "fill-opacity",
    "stroke-opacity",
    "stroke-width",
)
MOVED = ("transform", "translate", "rotate", "scale", "zoom", "offset-path", "transform-origin")
UNMOVED = ("none", "normal", "1", "0", "0 0", "0px 0px")
SIZED = {
    "path": ("d",),
    "rect": ("x", "y", "width", "height", "rx", "ry"),
    "circle": ("cx", "cy", "r"),
    "ellipse": ("cx", "cy", "rx", "ry"),
}
"""What of each kind of shape a style may set (SVG 2, section 7.1)."""
CLIPPED = ("clip-path", "mask")
_READ = frozenset((*SEEN, *MOVED, *CLIPPED, *(name for names in SIZED.values() for name in names)))

_DATA = re.compile(r"""url\(\s*['"]?data:[^)]*\)""")

Styles = dict[int, Mapping[str, str]]
"""Values of styles and rules by the ``id()`` of elements; presentation attributes are not in it."""


class TooMuch(ValueError):
    """Style sheets beyond all measure, as the end of a sentence."""


@dataclass(frozen=True)
class Look:
    """What an element hands on to those inside it: each value that is inherited, as far as it hides."""

    visible: bool = True
    filled: bool = True
    stroked: bool = False
    clear_fill: bool = False
    clear_stroke: bool = False

    @property
    def painted(self) -> bool:
        return (self.filled and not self.clear_fill) or (self.stroked and not self.clear_stroke)

    def inside(self, style: Mapping[str, str]) -> Look:
        """The look of an element with these values of its own."""
        own = {name: value for name in SEEN if (value := style.get(name, "inherit")) != "inherit"}
        thin = {name: _is_zero(own[name]) for name in ("stroke-opacity", "stroke-width") if name in own}
        return Look(
            own["visibility"] == "visible" if "visibility" in own else self.visible,
            not _no_paint(own["fill"]) if "fill" in own else self.filled,
            not _no_paint(own["stroke"]) if "stroke" in own else self.stroked,
            _is_zero(own["fill-opacity"]) if "fill-opacity" in own else self.clear_fill,
            any(thin.values()) if thin else self.clear_stroke,
        )


def vanishes(style: Mapping[str, str]) -> bool:
    """Whether an element is not drawn, nor anything in it."""
    return style.get("display") == "none" or _is_zero(style.get("opacity"))


def style_of(element: Element, styles: Styles) -> dict[str, str]:
    """The values of an element's own: attributes, outranked by rules and by its style attribute."""
    own = {
        name: element.attributes[name].strip().lower()
        for name in (*SEEN, *CLIPPED, "transform-origin")
        if name in element.attributes
    }
    own.update(styles.get(id(element), {}))
    return own


def styles_of(root: Element) -> tuple[Styles, list[str]]:
    """What style sheets and style attributes say of every element, and notes. Raises TooMuch."""
    elements = list(_all(root))
    # Fonts that are put into a sheet are large and hide nothing.
    sheets = [_DATA.sub("", element.text) for element in elements if element.name == "style"]
    inline = sum(len(element.attributes.get("style", "")) for element in elements)
    if sum(map(len, sheets)) > MOST_CSS or inline > MOST_INLINE:
        raise TooMuch("has far too much style; save the drawing as plain SVG")
    told: dict[int, list[tuple[tuple[Any, ...], str, str]]] = {}
    notes: list[str] = []
    try:
        if any(map(str.strip, sheets)):
            notes = _from_sheets(root, elements, "\n".join(sheets), told)
        for element in elements:
            for important, name, value in _of_attribute(element.attributes.get("style", "")):
                told.setdefault(id(element), []).append(((important, True), name, value))
    except RecursionError:
        # The library walks down brackets by calling itself.
        raise TooMuch("has style rules with brackets far too deep; save the drawing as plain SVG") from None
    return {key: {name: value for _, name, value in sorted(found)} for key, found in told.items()}, notes


def _from_sheets(
    root: Element,
    elements: list[Element],
    css: str,
    told: dict[int, list[tuple[tuple[Any, ...], str, str]]],
) -> list[str]:
    import cssselect2
    import tinycss2

    kept: list[tuple[Any, list[tuple[bool, str, str]]]] = []
    skipped = 0
    weight = 0.0
    for rule in _rules(tinycss2.parse_stylesheet(css, skip_comments=True, skip_whitespace=True)):
        declared = _declarations(rule.content)
        selectors = tinycss2.serialize(rule.prelude) if declared else ""
        # States of a pointer and the like do not show in a drawing, and some of these take very long.
        if re.search(r"[:~]", selectors):
            skipped += 1
        elif declared:
            kept.append((rule.prelude, declared))
            weight += sum(map(_weight, selectors.split(",")))
    if len(kept) > MOST_RULES or weight * len(elements) > MOST_MATCHES:
        raise TooMuch("has far too many style rules; save the drawing as plain SVG")
    matcher = cssselect2.Matcher()
    for number, (prelude, declared) in enumerate(kept):
        try:
            for selector in cssselect2.compile_selector_list(prelude):
                matcher.add_selector(selector, (number, declared))
        except cssselect2.SelectorError:
            skipped += 1
    wrapped = cssselect2.ElementWrapper.from_xml_root(_as_etree(root))
    for element, wrapper in zip(elements, wrapped.iter_subtree(), strict=True):
        for specificity, order, _, (number, declared) in matcher.match(wrapper):
            for important, name, value in declared:
                rank = (important, False, specificity, order, number)
                told.setdefault(id(element), []).append((rank, name, value))
    if not skipped:
        return []
    many = "s" if skipped > 1 else ""
    return [
        f"{skipped} rule{many} of its style sheet could not be looked at: see that nothing hidden is here."
    ]


def _weight(selector: str) -> float:
    parts = len(re.findall(r"[^\s>+]+", selector))
    return 0.05 if parts == 1 and re.search(r"[.#]", selector) else float(parts)


def _rules(found: Iterable[Any]) -> Iterator[Any]:
    """The style rules that count on a screen."""
    import tinycss2

    for rule in found:
        if rule.type == "qualified-rule":
            yield rule
        elif (
            rule.type == "at-rule"
            and rule.lower_at_keyword in ("media", "supports", "layer")
            and rule.content
        ):
            media = tinycss2.serialize(rule.prelude).strip().lower()
            if rule.lower_at_keyword != "media" or re.match(r"(only\s+)?(all|screen)\b", media):
                yield from _rules(
                    tinycss2.parse_rule_list(rule.content, skip_comments=True, skip_whitespace=True)
                )


@lru_cache(maxsize=1000)
def _of_attribute(text: str) -> list[tuple[bool, str, str]]:
    """The declarations of a style attribute; programs write the same ones again and again."""
    return _declarations(text)


def _declarations(content: Any) -> list[tuple[bool, str, str]]:
    """Importance, name and value of the declarations that matter."""
    if not content:
        return []
    import tinycss2

    found = tinycss2.parse_blocks_contents(content, skip_comments=True, skip_whitespace=True)
    return [
        (each.important, each.lower_name, tinycss2.serialize(each.value).strip().lower())
        for each in found
        if each.type == "declaration" and each.lower_name in _READ
    ]


def _as_etree(element: Element) -> Any:
    """The same tree as the selectors' library knows it."""
    from xml.etree import ElementTree

    made = ElementTree.Element(f"{{{element.space}}}{element.name}" if element.space else element.name)
    made.attrib.update(element.attributes)
    made.extend(_as_etree(child) for child in element.children)
    return made


def _all(element: Element) -> Iterator[Element]:
    yield element
    for child in element.children:
        yield from _all(child)


def _no_paint(value: str) -> bool:
    return value in ("none", "transparent") or bool(re.fullmatch(r"rgba\(.*,\s*0(\.0*)?%?\s*\)", value))


def _is_zero(value: str | None) -> bool:
    return value is not None and bool(re.fullmatch(r"[-+]?0*\.?0+(?:%|[a-z]+)?", value))
