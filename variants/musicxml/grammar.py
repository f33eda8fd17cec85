"""What MusicXML allows inside the elements that are only carried.

A piece of a file that is carried is written back as it stood. If it is damaged, or not in the
standard, the written file would not be valid; so each piece is checked once against a table that
``tests/oracles/grammar.py`` makes from the W3C MusicXML 4.0 schema.
"""

from __future__ import annotations

import json
import re
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from lxml import etree

from variants.musicxml.numerals import decimal
from variants.musicxml.xml_text import is_left_out

_PREFIXES = {
    "{http://www.w3.org/1999/xlink}": "xlink:",
    "{http://www.w3.org/XML/1998/namespace}": "xml:",
}
# Pieces like these come again and again: a staccato, a slur of a number.
_KNOWN = 4096


def fault_of(element: etree._Element, parent: str) -> str:
    """Return what is wrong with an element and all in it; empty if the standard allows it.

    Args:
        element: The element.
        parent: Name of the type that holds it: ``note``, ``notations``, ``technical``, ...
    """
    kind = kind_of(element, parent)
    if kind is None:
        return f"<{_told(element.tag)}> is no child of <{parent}> in the standard"
    return fault(element, kind)


def fault(element: etree._Element, kind: str, *, is_page: bool = False) -> str:
    """Return what is wrong with an element of a type of the schema; empty if nothing is.

    Args:
        element: The element.
        kind: Its type.
        is_page: Look at places on the page too, which else are not carried.
    """
    entry = _types()[kind]
    names = entry.get("attributes", {})
    for key, value in element.items():
        name = _prefixed(str(key))
        if not is_page and is_left_out(element.tag, name):
            continue
        form = names.get(name)
        if form is None:
            return f"<{_told(element.tag)}> has the attribute {_told(name)!r}"
        if not _fits(form.removeprefix("!"), str(value)):
            return f"the {name} of <{_told(element.tag)}> is {_told(value)!r}"
    for name in _required(kind):
        if element.get(name) is None:
            return f"<{_told(element.tag)}> has no {name}"
    form = entry.get("text")
    if form is not None:
        if len(element) or not _fits(form, element.text or ""):
            return f"<{_told(element.tag)}> holds {_told(element.text or '')!r}"
        return ""
    return _content_fault(element, kind, is_page=is_page)


def kind_of(element: etree._Element, parent: str) -> str | None:
    """Return the type of an element inside another, ``None`` if it has no business there."""
    kind: str | None = _types()[parent].get("children", {}).get(element.tag)
    return kind


def mend(element: etree._Element, kind: str) -> list[str]:
    """Take off, in place, all attributes that are wrong; return what they were, one line each."""
    lines = []
    names = _types()[kind].get("attributes", {})
    for key, value in element.items():
        form = names.get(_prefixed(str(key)))
        if form is not None and _fits(form.removeprefix("!"), str(value)):
            continue
        del element.attrib[key]
        lines.append(f"<{_told(element.tag)}> has the {_told(key)} {_told(value)!r}")
    children = _types()[kind].get("children", {})
    if "text" not in _types()[kind] and element.text and not element.text.strip():
        element.text = None
    for child in element:
        if child.tag in children:
            lines += mend(child, children[child.tag])
    return lines


def is_form(form: str, text: str) -> bool:
    """Return whether a text has the form of a simple type of the schema.

    >>> is_form("above-below", "above"), is_form("ending-number", "1, 2"), is_form("color", "red")
    (True, True, False)
    """
    return _fits(form, text)


@lru_cache(maxsize=256)
def is_allowed(kind: str, attribute: str, value: str) -> bool:
    """Return whether a type of the schema may have an attribute with a value.

    >>> is_allowed("note", "print-object", "no"), is_allowed("note", "dynamics", "-3")
    (True, False)
    """
    form = _types()[kind].get("attributes", {}).get(attribute)
    return form is not None and _fits(form.removeprefix("!"), value)


def _content_fault(element: etree._Element, kind: str, *, is_page: bool) -> str:
    children = _types()[kind].get("children", {})
    row = ""
    if element.text and (not children or element.text.strip()):
        return f"<{_told(element.tag)}> holds text"
    for child in element:
        if child.tag not in children:
            return f"<{_told(child.tag)}> is no child of <{_told(element.tag)}> in the standard"
        if (child.tail or "").strip():
            return f"<{_told(element.tag)}> holds text"
        row += f"{child.tag},"
    if not _content(kind).fullmatch(row):
        return f"the children of <{_told(element.tag)}> are not those of the standard"
    for child in element:
        found = fault(child, children[child.tag], is_page=is_page)
        if found:
            return found
    return ""


@cache
def _table() -> dict[str, Any]:
    text = files("variants.musicxml").joinpath("grammar.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def _types() -> dict[str, Any]:
    found: dict[str, Any] = _table()["types"]
    return found


@cache
def _content(kind: str) -> re.Pattern[str]:
    return re.compile(_types()[kind].get("content", ""))


@cache
def _required(kind: str) -> tuple[str, ...]:
    names = _types()[kind].get("attributes", {})
    return tuple(_expanded(name) for name, form in sorted(names.items()) if form.startswith("!"))


@lru_cache(maxsize=_KNOWN)
def _fits(name: str, text: str) -> bool:
    return _has_form(_table()["forms"][name], text)


def _has_form(form: list[Any], text: str) -> bool:
    how = form[0]
    if how == "any":
        return True
    if how == "is":
        return text in form[1:]
    # The other types collapse the space around their text.
    stripped = " ".join(text.split())
    if how == "of":
        return stripped in form[1:]
    if how == "either":
        return any(_has_form(one, text) for one in form[1:])
    if re.fullmatch(form[1], stripped) is None:
        return False
    return how == "like" or _is_within(stripped, *form[2:])


def _is_within(text: str, least: float | None, most: float | None, is_open: bool) -> bool:  # noqa: FBT001
    value = decimal(text)
    if value is None:
        return False
    if least is not None and (value < least or (is_open and value == least)):
        return False
    return most is None or value <= most


@cache
def _prefixed(key: str) -> str:
    for address, prefix in _PREFIXES.items():
        if key.startswith(address):
            return prefix + key.removeprefix(address)
    return key


def _expanded(name: str) -> str:
    for address, prefix in _PREFIXES.items():
        if name.startswith(prefix):
            return address + name.removeprefix(prefix)
    return name


def _told(text: object) -> str:
    plain = " ".join(str(text).rsplit("}", 1)[-1].split())
    return plain if len(plain) <= 24 else plain[:24] + "..."
