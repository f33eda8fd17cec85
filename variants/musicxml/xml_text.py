"""What is only carried, as XML text."""

from __future__ import annotations

from functools import lru_cache
from typing import cast
from xml.sax.saxutils import escape, quoteattr

from lxml import etree

# Attributes that place an element on its old page. A variant is laid out anew.
_LAYOUT = frozenset(
    {
        "default-x",
        "default-y",
        "relative-x",
        "relative-y",
        "bezier-x",
        "bezier-y",
        "bezier-x2",
        "bezier-y2",
        "bezier-offset",
        "bezier-offset2",
    }
)

# Elements whose ``id`` refers to an instrument of the part list. Any other ``id`` names the element
# itself: what is written twice (on the notation and on the tab) would carry it twice.
_REFERRING = frozenset(
    {
        "instrument",
        "instrument-change",
        "midi-device",
        "midi-instrument",
        "play",
        "player",
        "score-instrument",
    }
)

# Names of voices and numbers of measures and verses come again and again.
quoted = lru_cache(maxsize=4096)(quoteattr)
escaped = lru_cache(maxsize=4096)(escape)


def xml_text(element: etree._Element) -> str:
    """Return an element as XML text, without what placed it on its old page.

    Most of what is carried is one small element (a slur, a syllable), for which lxml's own
    serialiser costs ten times as much as putting the text together here.
    """
    found = _simple(element)
    return _of_any(element) if found is None else found


def _simple(element: etree._Element) -> str | None:
    """Return the text of an element without namespaces or mixed text, else ``None``."""
    tag: object = element.tag
    if not isinstance(tag, str) or tag[0] == "{":
        return None
    opened = f"<{tag}"
    for name, value in cast("list[tuple[str, str]]", element.items()):
        if name in _LAYOUT or (name == "id" and tag not in _REFERRING):
            continue
        if name[0] == "{":
            return None
        opened += f' {name}="{_attribute(value)}"'
    text = element.text
    inside = escape(text) if text else ""
    for child in element:
        piece = None if child.tail else _simple(child)
        if piece is None:
            return None
        inside += piece
    return f"{opened}>{inside}</{tag}>" if inside else f"{opened}/>"


def _attribute(value: str) -> str:
    if value.isalnum():
        return value
    # Line ends and tabs stay what they are only as character references.
    table = {'"': "&quot;", "\n": "&#10;", "\r": "&#13;", "\t": "&#9;"}
    return escape(value, table)


def is_left_out(tag: object, attribute: str) -> bool:
    """Whether an attribute is never carried: a place on the old page, the element's own id."""
    return attribute in _LAYOUT or (attribute == "id" and tag not in _REFERRING)


def _of_any(element: etree._Element) -> str:
    for node in element.iter(etree.Element):
        for name in list(node.attrib):
            if is_left_out(node.tag, str(name)):
                del node.attrib[name]
    return etree.tostring(element, encoding="unicode", with_tail=False)
