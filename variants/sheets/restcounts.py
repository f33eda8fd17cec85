"""Counting syllables under rests, and plucking fingers beside the voice that they are for.

The engraver sets no lyrics under rests. The ids of counted rests carry their syllable to the
drawing, where it is put on the line of the other syllables.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from lxml import etree

from variants.sheets.fonts import width_em
from variants.sheets.style import Print

SVG = "{http://www.w3.org/2000/svg}"
COUNTING = "counting"
_PREFIX = "count."
AT = re.compile(r"translate\((-?[\d.]+),")
_STAFF_LINE = re.compile(r"M-?[\d.]+[ ,](-?[\d.]+)")
_STAFF_ENDS = re.compile(r"M(-?[\d.]+)[ ,]-?[\d.]+ ?L(-?[\d.]+)")
RESTS = frozenset({"rest", "mRest"})
# In the drawing's units, of which 180 are a space of the staff: from the lowest staff line to a
# syllable where no other one shows the line; how far a syllable begins before its rest; and the
# room between two syllables.
_BELOW = 720.0
_OUTDENT = 60.0
_GAP = 70.0
# Left and right end of a syllable.
_Span = tuple[float, float]


def name_rests(measure: etree._Element, place: str, tab: Collection[str]) -> None:
    """Give the counted rests of a written measure ids that carry their syllables.

    Args:
        measure: The measure.
        place: What tells its ids from those of other measures.
        tab: Numbers of the tab staves, which carry no syllables.
    """
    for index, note in enumerate(measure.findall("note")):
        if note.find("rest") is None or (note.findtext("staff") or "1") in tab:
            continue
        for lyric in note.findall("lyric"):
            if lyric.get("name") == COUNTING:
                text = "".join(part.text or "" for part in lyric.iter("text"))
                note.set("id", f"{_PREFIX}{place}.{index}.{text.encode().hex()}")


def add_rest_syllables(root: etree._Element, printed: Print) -> None:
    """Write the syllables of counted rests into a drawing as the engraver made it.

    Each begins where its rest does, as under a note, and gives way to its neighbours.
    """
    em = printed.units(printed.size_pt("lyric"))
    lines: dict[int, float] = {}
    set_already: dict[int, list[_Span]] = {}
    waiting: list[tuple[int, etree._Element, etree._Element]] = []
    for number, staff in _staves(root):
        for group in staff.iter(f"{SVG}g"):
            if group.get("class") == "verse" and group.findtext(f"{SVG}title") == COUNTING:
                text = group.find(f".//{SVG}text")
                if text is not None:
                    lines.setdefault(number, float(text.get("y", "0")))
                    left = float(text.get("x", "0"))
                    width = _width("".join(map(str, text.itertext())).strip(), em)
                    set_already.setdefault(number, []).append((left, left + width))
            elif group.get("class") in RESTS and group.get("id", "").startswith(_PREFIX):
                waiting.append((number, staff, group))
    for number, staff, rest in waiting:
        spans = set_already.setdefault(number, [])
        y = lines.get(number, lowest_line(staff) + _BELOW)
        span = _write(rest, y, em=em, others=spans, edges=_edges(staff))
        if span:
            spans.append(span)


def _write(
    rest: etree._Element, y: float, *, em: float, others: list[_Span], edges: _Span
) -> _Span | None:
    glyph = rest.find(f"{SVG}use")
    found = AT.search("" if glyph is None else glyph.get("transform", ""))
    parent = rest.getparent()
    if found is None or parent is None:
        return None
    content = bytes.fromhex(rest.get("id", "").rpartition(".")[2]).decode()
    width, at = _width(content, em), float(found.group(1))
    low = max([edges[0], *(right for left, right in others if left <= at)]) + _GAP
    high = min([edges[1], *(left for left, _ in others if left > at)]) - _GAP
    x = max(min(at - _OUTDENT, high - width), low)
    if low + width > high:
        # Too narrow for it: the middle of the room there is does least harm.
        x = (low + high - width) / 2
    group = etree.SubElement(parent, f"{SVG}g", {"class": "syl"})
    text = etree.SubElement(group, f"{SVG}text", {"x": f"{x:g}", "y": f"{y:g}"})
    etree.SubElement(text, f"{SVG}tspan", {"font-size": "405px"}).text = content
    return x, x + width


def _width(text: str, em: float) -> float:
    return width_em(text, weight=400, italic=False) * em


def _edges(staff: etree._Element) -> _Span:
    """Return the left and the right end of a staff in its measure."""
    found = [_STAFF_ENDS.match(path.get("d", "")) for path in staff.findall(f"{SVG}path")]
    ends = [(float(one.group(1)), float(one.group(2))) for one in found if one]
    if not ends:
        return 0.0, float("inf")
    return min(left for left, _ in ends), max(right for _, right in ends)


def _staves(root: etree._Element) -> Iterator[tuple[int, etree._Element]]:
    """Yield every staff of every measure with its number from the top."""
    for measure in root.iter(f"{SVG}g"):
        if measure.get("class") == "measure":
            staves = [one for one in measure if one.get("class") == "staff"]
            yield from enumerate(staves)


def lowest_line(staff: etree._Element) -> float:
    """Return the height of a staff's lowest line."""
    found = [_STAFF_LINE.match(path.get("d", "")) for path in staff.findall(f"{SVG}path")]
    return max((float(one.group(1)) for one in found if one), default=0.0)
