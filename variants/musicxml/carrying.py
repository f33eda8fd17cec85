"""Takes over what the model only carries: checked, mended where it can be, as XML text."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from xml.sax.saxutils import escape, quoteattr

from lxml import etree

from variants.musicxml.grammar import fault, fault_of, is_allowed, kind_of, mend
from variants.musicxml.xml_text import is_left_out, xml_text
from variants.score import Extra

Log = Callable[[str], None]
# Pieces that were found to be as the standard has them, by parent and text. A staccato or the stop
# of a slur comes a hundred times; the look-up costs less than the check.
_good: set[tuple[str, str]] = set()
_MOST_KNOWN = 8192


def carried_text(element: etree._Element, parent: str, log: Log) -> str:
    """Return an element as XML text that may be written back; empty if it may not.

    Attributes that the standard does not have there, or not with that value, are taken off.

    Args:
        element: The element; attributes may be taken off it.
        parent: Name of the type that holds it.
        log: Told what was left out.
    """
    text = xml_text(element)
    key = (parent, text)
    if key in _good:
        return text
    fault = fault_of(element, parent)
    if fault:
        kind = kind_of(element, parent)
        if kind is not None:
            for line in mend(element, kind):
                log(f"{line}; it was left out")
            fault = fault_of(element, parent)
        if fault:
            log(f"{fault}; <{name_of(element)}> was left out")
            return ""
        text = xml_text(element)
        key = (parent, text)
    if len(_good) >= _MOST_KNOWN:
        _good.clear()
    _good.add(key)
    return text


def carried_page(element: etree._Element, kind: str, log: Log) -> str:
    """Return an element of the page set-up as XML text with its places; empty if it is faulty.

    Args:
        element: The element; ids are taken off it.
        kind: Its type in the schema; ``movement-number`` holds plain text.
        log: Told what was left out.
    """
    for node in element.iter(etree.Element):
        node.attrib.pop("id", "")
    fault_there = "" if kind == "movement-number" else fault(element, kind, is_page=True)
    if fault_there:
        log(f"{fault_there}; <{name_of(element)}> was left out")
        return ""
    if kind == "movement-number":
        return f"<movement-number>{escape(element.text or '')}</movement-number>"
    return etree.tostring(element, encoding="unicode", with_tail=False)


def name_of(element: etree._Element) -> str:
    """Return the name of an element for a message."""
    return str(element.tag).rsplit("}", 1)[-1][:40]


def kept_attributes(
    element: etree._Element, kind: str, but: frozenset[str], log: Log
) -> list[tuple[str, str]]:
    """Return the attributes of an element that may be written back, in order of their names.

    Args:
        element: The element.
        kind: Its type in the schema.
        but: Attributes that are read in another way.
        log: Told what was left out.
    """
    found = []
    for key, value in sorted(element.items()):
        name, text = str(key), str(value)
        if name in but or is_left_out(element.tag, name):
            continue
        if is_allowed(kind, name, text):
            found.append((name, text))
        else:
            log(f"<{name_of(element)}> has the {name[:24]} {text[:24]!r}; it was left out")
    return found


def attributes_text(pairs: Iterable[tuple[str, str]]) -> str:
    """Return attributes as they stand in a tag, each with a space before it."""
    return "".join(f" {name}={quoteattr(value)}" for name, value in pairs)


def first_of_each(extras: Iterable[Extra], log: Log, *, many: frozenset[str]) -> list[Extra]:
    """Return the extras without a second one of a name that the standard has once.

    Args:
        extras: What is carried.
        log: Told what was left out.
        many: Names that may come several times.
    """
    seen: set[str] = set()
    kept = []
    for extra in extras:
        if extra.name in seen and extra.name not in many:
            log(f"a second <{extra.name}> was left out")
            continue
        seen.add(extra.name)
        kept.append(extra)
    return kept
