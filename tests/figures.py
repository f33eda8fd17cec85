"""Reads figures beside notes back: from an engraved drawing by where they stand, and from a file.

Nothing here uses what the program knows of whose a figure is: a figure belongs to the moment that
it stands nearest to across the page, and top to bottom to the heads of that moment.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from lxml import etree

from tests.unit.sheets.pages import SVG, head_at, note_groups, text_in
from variants.sheets.engrave import Engraving

_NUMBERS = re.compile(r"-?[\d.]+")
_PLUCKS = frozenset("pimac")
# Half the width of a note head, and of a fret number, in the drawing's units.
_HALF_HEAD = 108.0
# Half the height of a figure, which stands on its place.
_HALF_FIGURE = 85.0
# Seven steps of half a space, in the drawing's units.
_OCTAVE = 630.0
_NOT_GRACE = -1e6
_LETTERS = "CDEFGAB"


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures of one moment from top to bottom: those of its heads, and those seen.

    Args:
        where: The moment.
        wanted: The figures that its heads have.
        seen: The figures that stand there.
        heads: Height, figure and voice of each head that has a figure.
        places: Height and letters of each figure that stands there.
    """

    where: str
    wanted: str
    seen: str
    heads: tuple[tuple[float, str, str], ...]
    places: tuple[tuple[float, str], ...]

    @property
    def astray(self) -> str:
        """A figure that stands nearer to another head than to its own, where two have one each."""
        for height, text in self._either_side():
            if min(self.heads, key=lambda one: abs(one[0] - height))[1] != text:
                return text
        return ""

    @property
    def far(self) -> str:
        """The figure of another head that is nearest to a head, where two have one each.

        A second apart, heads are nearly as near to the one figure as to the other.
        """
        middles = self._either_side()
        if not middles or abs(self.heads[0][0] - self.heads[1][0]) < _OCTAVE:
            return ""
        for height, own, _ in self.heads:
            text = min(middles, key=lambda one: abs(one[0] - height))[1]
            if text != own:
                return text
        return ""

    def _either_side(self) -> list[tuple[float, str]]:
        """Return middle and letters of figures on either side of two voices' heads, else none."""
        if len({voice for _, _, voice in self.heads}) != 2 or len(self.heads) != 2:
            return []
        middles = [(height - _HALF_FIGURE, text) for height, text in self.places]
        above = [one for one in middles if one[0] < self.heads[0][0]]
        return middles if len(middles) == 2 and len(above) == 1 else []


def figures_of(engraving: Engraving, kind: str) -> Iterator[Figures]:
    """Yield the figures of every moment of the first part.

    Args:
        engraving: What was engraved, with notation or with tab alone.
        kind: ``finger`` or ``pluck``.
    """
    for system in _lines_of_music(engraving):
        heads = _heads(system)
        columns: dict[tuple[int, int, float], list[tuple[float, float, str, str]]] = {}
        for name, (x, y) in heads.items():
            part, measure, event, note = engraving.heads[name]
            if part == 0:
                text = note.finger if kind == "finger" else note.pluck
                key = (measure, event.onset, _NOT_GRACE)
                if event.grace is not None:
                    # Grace notes of two voices stand in one column, those of one voice do not.
                    near = (one for one in columns if one[:2] == key[:2] and abs(one[2] - x) < 150)
                    key = next(near, (measure, event.onset, x))
                columns.setdefault(key, []).append((y, x, text, name.split(".")[2]))
        seen: dict[tuple[int, int, float], list[tuple[float, str]]] = {}
        for x, y, text in _texts(system):
            if (text in _PLUCKS) == (kind == "pluck") and columns:
                key = min(columns, key=lambda one: min(abs(spot[1] - x) for spot in columns[one]))
                seen.setdefault(key, []).append((y, text))
        for key, found in columns.items():
            places = sorted(seen.get(key, []))
            got = "".join(text for _, text in places)
            rows = sorted((round(y), text, voice) for y, _, text, voice in found if text)
            where = f"measure {key[0]}, tick {key[1]}"
            yield Figures(where, _from_top(rows, got), got, tuple(rows), tuple(places))


def _from_top(rows: list[tuple[int, str, str]], seen: str) -> str:
    """Return the figures of heads from top to bottom; of heads at one height as they were seen."""
    wanted = ""
    for _, group in groupby(rows, lambda row: row[0]):
        texts = sorted(text for _, text, _ in group)
        here = seen[len(wanted) : len(wanted) + len(texts)]
        wanted += here if sorted(here) == texts else "".join(texts)
    return wanted


def _lines_of_music(engraving: Engraving) -> Iterator[str]:
    """Yield every line of music as a drawing of its own; one drawing may hold several."""
    for system in engraving.systems:
        for group in etree.fromstring(system.svg.encode()).iter(f"{SVG}g"):
            if group.get("class") == "system":
                yield etree.tostring(group, encoding="unicode")


def _heads(svg: str) -> dict[str, tuple[float, float]]:
    """Return the middle of every head on notation; of every fret number where tab is alone."""
    found: dict[str, tuple[float, float]] = {}
    for name, group in note_groups(svg).items():
        if name.startswith("n") and group.find(f"{SVG}g[@class='notehead']/{SVG}use") is not None:
            x, y = head_at(group)
            found[name] = (x + _HALF_HEAD, y)
        elif name.startswith("n"):
            for text in group.iter(f"{SVG}text"):
                found[name] = (float(text.get("x", "0")), float(text.get("y", "0")))
    return found


def _texts(svg: str) -> Iterator[tuple[float, float, str]]:
    """Yield place and letters of every figure and plucking letter."""
    for group in etree.fromstring(svg.encode()).iter(f"{SVG}g"):
        if (group.get("class") or "").split(" ")[0] != "fing":
            continue
        for text in group.iter(f"{SVG}text"):
            if group.find(f".//{SVG}circle") is not None:
                continue
            x, y = float(text.get("x", "0")), float(text.get("y", "0"))
            for ancestor in text.iterancestors():
                numbers = _NUMBERS.findall(ancestor.get("transform", ""))
                if len(numbers) == 2 and ancestor.get("class") != "page-margin":
                    x, y = x + float(numbers[0]), y + float(numbers[1])
            if text_in(text) in {*_PLUCKS, "0", "1", "2", "3", "4", "T"}:
                yield x, y, text_in(text)


def sides_in(data: bytes, tag: str) -> Iterator[tuple[str, list[str]]]:
    """Yield for each moment of a staff that voices share the sides of its figures, highest first.

    Heights are those of the written pitches; notes of one height may stand in either order.
    """
    for part in etree.fromstring(data).iterfind("part"):
        for measure in part.iterfind("measure"):
            staves: dict[str, set[str]] = {}
            rows: dict[tuple[str, int, int], list[tuple[int, str]]] = {}
            now = start = graces = 0
            for child in measure:
                length = int(child.findtext("duration") or 0)
                if child.tag == "backup":
                    now -= length
                elif child.tag == "forward":
                    now += length
                elif child.tag == "note":
                    graces = graces + 1 if child.find("grace") is not None else 0
                    if child.find("chord") is None:
                        start, now = now, now + length
                    if child.find("pitch") is None:
                        continue
                    staff = child.findtext("staff") or "1"
                    staves.setdefault(staff, set()).add(child.findtext("voice") or "1")
                    sign = child.find(f"notations/technical/{tag}")
                    if sign is not None:
                        key = (staff, start, graces)
                        side = sign.get("placement", "none")
                        rows.setdefault(key, []).append((_height(child), side))
            for (staff, tick, _), found in rows.items():
                if len(staves[staff]) > 1:
                    found.sort(key=lambda one: (-one[0], one[1]))
                    where = f"measure {measure.get('number')}, tick {tick}"
                    yield where, [side for _, side in found]


def _height(note: etree._Element) -> int:
    letter = note.findtext("pitch/step") or "C"
    return int(note.findtext("pitch/octave") or 0) * 7 + _LETTERS.index(letter)
