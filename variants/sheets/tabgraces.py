"""Grace notes in the tab: the engraver has none there, so they are put under their note heads.

In the tab under a notation the engraver is not given them; each gets its fret number under its head
above. In a tab that stands alone they have columns of their own, without a stem, so that they are
not taken for beats.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from lxml import etree

from variants.score import Event, Note
from variants.sheets.restcounts import SVG

Heads = Mapping[str, tuple[int, int, Event, Note]]
_PATH = re.compile(r"M-?[\d.]+[ ,](-?[\d.]+)")
_MOVED = re.compile(r"translate\((-?[\d.]+),")
# The engraver's own size of a fret number, and how far under its line the number's foot is.
_SIZE = 302.0
_FOOT = 0.33
# Half the width of a small note head.
_HALF_HEAD = 75.0


def add_tab_graces(root: etree._Element, heads: Heads) -> None:
    """Put the fret numbers of grace notes into a drawing as the engraver made it."""
    for measure in root.iter(f"{SVG}g"):
        if measure.get("class") != "measure":
            continue
        staves = [one for one in measure if one.get("class") == "staff"]
        for staff, below in zip(staves, [*staves[1:], None], strict=True):
            for group in list(staff.iter(f"{SVG}g")):
                name = group.get("id", "")
                if group.get("class") == "note" and name in heads and _is_grace(heads[name]):
                    if "t" + name[1:] in heads and below is not None:
                        _under(group, below, "t" + name[1:], heads)
                    else:
                        _unstem(group)


def _is_grace(head: tuple[int, int, Event, Note]) -> bool:
    return head[2].grace is not None


def _under(group: etree._Element, tab: etree._Element, name: str, heads: Heads) -> None:
    """Write the fret number of a grace note under its head."""
    place = heads[name][3].place
    use = group.find(f"{SVG}g[@class='notehead']/{SVG}use")
    found = _MOVED.search("" if use is None else use.get("transform", ""))
    lines = sorted(
        {
            float(match.group(1))
            for path in tab.findall(f"{SVG}path")
            if (match := _PATH.match(path.get("d", "")))
        }
    )
    if place is None or found is None or place.string > len(lines):
        return
    note = etree.SubElement(tab, f"{SVG}g", {"class": "note", "id": name})
    x, y = float(found.group(1)) + _HALF_HEAD, lines[place.string - 1] + _FOOT * _SIZE
    where = {"x": f"{x:g}", "y": f"{y:g}", "text-anchor": "middle"}
    text = etree.SubElement(note, f"{SVG}text", where)
    etree.SubElement(text, f"{SVG}tspan", {"font-size": f"{_SIZE:g}px"}).text = str(place.fret)


def _unstem(group: etree._Element) -> None:
    """Take the stem from a grace note that has a column of its own in a lone tab."""
    parent = group.getparent()
    for sign in [] if parent is None else parent.findall(f"{SVG}g[@class='tabDurSym']"):
        for child in list(sign):
            sign.remove(child)
