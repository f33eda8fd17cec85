"""Lines that directions begin and end."""

from __future__ import annotations

from lxml import etree

from variants.proof.page import Page, PagePart
from variants.proof.scan_note import whole
from variants.proof.views.spans import End

FAMILIES = ("wedge", "dashes", "bracket", "octave-shift")
_BEGINS = {
    "wedge": frozenset({"crescendo", "diminuendo"}),
    "dashes": frozenset({"start"}),
    "bracket": frozenset({"start"}),
    "octave-shift": frozenset({"up", "down"}),
}


def direction_ends(page: Page, part: PagePart, family: str) -> list[End]:
    """Return the ends of a family of lines in order of time."""
    tables = page.views.get(("lines", id(part)))
    if tables is None:
        tables = page.views["lines", id(part)] = _tables(part)
    return tables.get(family, [])  # type: ignore[attr-defined, no-any-return]


def _tables(part: PagePart) -> dict[str, list[End]]:
    tables: dict[str, list[End]] = {}
    for bar in part.bars:
        for direction in bar.directions:
            staff = _staff(direction.element) if _is_staved(bar.part) else 0
            for kind in direction.element.findall("direction-type"):
                for line in kind:
                    family, role = str(line.tag), line.get("type", "")
                    if family not in _BEGINS or role == "continue":
                        continue
                    is_start = role in _BEGINS[family]
                    end = End(
                        bar.start + direction.onset, bar, direction.onset,
                        line.get("number", "1"), ("", staff), is_start, line,
                    )  # fmt: skip
                    tables.setdefault(family, []).append(end)
    for ends in tables.values():
        # At one moment a line ends before the next one begins.
        ends.sort(key=lambda end: (end.moment, end.is_start))
    return tables


def _staff(element: etree._Element) -> int:
    return whole(element.findtext("staff")) or 0


def _is_staved(part: PagePart) -> bool:
    return len(part.used_staves) > 1
