"""Where a text is that the library cannot read: found by trying shorter ones.

What the library says of it is of its own inner life; a line or a measure is what helps.
"""

from __future__ import annotations

from collections.abc import Callable

from lxml import etree

from variants.convert.formats import ABC, KERN, MEI, NotationFormat

# Elements of a measure that are tried one by one.
_MOST_TRIED = 64
_LONGEST_SHOWN = 60


def fault_told(
    source: str | bytes, kind: NotationFormat, fails: Callable[[str], bool]
) -> tuple[str, str]:
    """Return the place of the first fault and what stands there; empty where none is found.

    Args:
        source: The whole text, which fails.
        kind: Its notation.
        fails: Whether a text cannot be read.
    """
    if isinstance(source, bytes) or kind not in (ABC, KERN, MEI):
        return "", ""
    if kind is MEI:
        return _fault_of_mei(source, fails)
    lines = source.split("\n")
    last = _first_failing(len(lines), lambda count: fails("\n".join(lines[:count]) + "\n"))
    of_tune = " of the tune" if kind is ABC else ""
    return f"line {last}{of_tune}", _cut(lines[last - 1])


def _first_failing(count: int, fails: Callable[[int], bool]) -> int:
    """Return the least number of pieces that fails, where all of them do."""
    low, high = 1, count
    while low < high:
        middle = (low + high) // 2
        if fails(middle):
            high = middle
        else:
            low = middle + 1
    return low


def _fault_of_mei(source: str, fails: Callable[[str], bool]) -> tuple[str, str]:
    root = etree.fromstring(source.encode(), etree.XMLParser(load_dtd=False, no_network=True))
    measures = root.findall(".//{*}measure")
    if not measures:
        return "", ""

    def without(gone: list[etree._Element]) -> bool:
        # Elements are taken out and put back: a copy of the tree for each trial would be dear.
        homes = [(one, one.getparent(), one.getnext()) for one in gone]
        for one, parent, _ in homes:
            if parent is not None:
                parent.remove(one)
        answer = fails(etree.tostring(root, encoding="unicode"))
        for one, parent, after in reversed(homes):
            if parent is not None:
                parent.insert(len(parent) if after is None else parent.index(after), one)
        return answer

    last = _first_failing(len(measures), lambda count: without(measures[count:]))
    measure = measures[last - 1]
    place = f"measure {measure.get('n') or last}"
    guilty: etree._Element | None = None
    # The innermost element without which the rest can be read.
    for element in list(measure.iter(etree.Element))[1 : _MOST_TRIED + 1]:
        if guilty is not None and guilty not in element.iterancestors():
            break
        if not without([*measures[last:], element]):
            guilty = element
    return place, "" if guilty is None else _tag(guilty)


def _tag(element: etree._Element) -> str:
    looks = "".join(f' {name!s}="{value!s}"' for name, value in element.items())
    return _cut(f"<{etree.QName(element).localname!s}{looks}>")


def _cut(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."
