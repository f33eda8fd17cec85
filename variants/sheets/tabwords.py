"""Words and counting syllables under a tab that stands alone, where the engraver sets none.

They are written into the engraver's drawing as if it had set them, each centred under its fret
number; one that would run into the syllable before it gives way to the right.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lxml import etree

from variants.score import Event, Measure, Note
from variants.sheets.fonts import width_em
from variants.sheets.restcounts import AT, COUNTING, RESTS, SVG, lowest_line
from variants.sheets.style import Print

Heads = Mapping[str, tuple[int, int, Event, Note]]
_ALONE = "n"
_HYPHENATED = frozenset({"begin", "middle"})
# From the lowest line to the syllables, in the drawing's units, of which 180 are a space of the
# staff; where plucking fingers stand between, to the last of them, and from it on.
_BELOW = 720.0
_PLUCKS_END = 570.0
_UNDER_PLUCKS = 400.0
_PLUCK_ROW = 0.9
_LEADING = 1.15
_GAP = 70.0
# Half the width of a rest of a beat or so.
_HALF_REST = 90.0


@dataclass(frozen=True, slots=True)
class Sung:
    """What may be sung or counted on a line of music.

    Args:
        heads: Part, measure, event and note of each id.
        part: Index of the last part; only under its tab is there room.
        measures: Its measures on the line.
    """

    heads: Heads
    part: int
    measures: Sequence[Measure]


@dataclass(frozen=True, slots=True)
class _Syllable:
    verse: int
    text: str
    is_counting: bool


def add_tab_syllables(root: etree._Element, sung: Sung, printed: Print) -> None:
    """Write the syllables of a lone tab into a drawing as the engraver made it."""
    em = printed.units(printed.size_pt("lyric"))
    rows = _pluck_rows(sung.heads)
    below = _BELOW
    if rows:
        pluck = printed.units(printed.size_pt("pluck")) * _PLUCK_ROW
        below = _PLUCKS_END + rows * pluck + _UNDER_PLUCKS
    verses = _verses(sung.heads)
    ends: dict[int, float] = {}
    for staff, measure in zip(_last_staves(root), sung.measures, strict=False):
        foot = lowest_line(staff) + below
        notes = [
            (x, sung.heads[name][2])
            for x, name in _columns(staff)
            if sung.heads[name][0] == sung.part and _is_first(sung.heads[name])
        ]
        if not notes and not _is_tab(staff):
            continue
        for x, event in sorted([*notes, *_rests(staff, measure)], key=lambda one: one[0]):
            for one in _syllables(event, verses):
                width = width_em(one.text, weight=400, italic=False) * em
                left = max(x - width / 2, ends.get(one.verse, 0.0) + _GAP)
                ends[one.verse] = left + width
                _write(staff, one, (left, foot + one.verse * em * _LEADING))


def _is_first(head: tuple[int, int, Event, Note]) -> bool:
    return head[2].notes[0] is head[3]


def _is_tab(staff: etree._Element) -> bool:
    """Whether a staff is a tab, as far as can be seen: it has fret numbers, or six lines."""
    if any(group.get("class") == "tabGrp" for group in staff.iter(f"{SVG}g")):
        return True
    return len({path.get("d", "").split(" ")[1] for path in staff.findall(f"{SVG}path")}) != 5


def _last_staves(root: etree._Element) -> Iterator[etree._Element]:
    """Yield the lowest staff of each measure."""
    for measure in root.iter(f"{SVG}g"):
        if measure.get("class") == "measure":
            staves = [one for one in measure if one.get("class") == "staff"]
            if staves:
                yield staves[-1]


def _rests(staff: etree._Element, measure: Measure) -> Iterator[tuple[float, Event]]:
    """Yield the rests of a measure with their middles; the engraver keeps no ids of them."""
    groups = [group for group in staff.iter(f"{SVG}g") if group.get("class") in RESTS]
    events = [one for voice in measure.voices for one in voice.events if one.is_rest]
    if len(groups) != len(events):
        return
    for group, event in zip(groups, events, strict=True):
        use = group.find(f"{SVG}use")
        found = AT.search("" if use is None else use.get("transform", ""))
        if found is not None:
            yield float(found.group(1)) + _HALF_REST, event


def lost_words(part_index: int, parts: int, events: Sequence[Event]) -> bool:
    """Whether a part with a lone tab has words for which there is no room."""
    return part_index != parts - 1 and any(event.lyrics for event in events)


def _pluck_rows(heads: Heads) -> int:
    """Return how many plucking fingers stand under one another at most."""
    return max(
        (sum(bool(note.pluck) for note in event.notes) for _, _, event, _ in heads.values()),
        default=0,
    )


def _verses(heads: Heads) -> dict[tuple[str, str], int]:
    """Return the line of each verse, from 0, in the order in which they are met."""
    found: dict[tuple[str, str], int] = {}
    for _, _, event, _ in heads.values():
        for lyric in event.lyrics:
            found.setdefault((lyric.name, lyric.number), len(found))
    return found


def _columns(staff: etree._Element) -> Iterator[tuple[float, str]]:
    for group in staff.iter(f"{SVG}g"):
        name = group.get("id", "")
        text = group.find(f"{SVG}text")
        if group.get("class") == "note" and name.startswith(_ALONE) and text is not None:
            yield float(text.get("x", "0")), name


def _syllables(event: Event, verses: Mapping[tuple[str, str], int]) -> Iterator[_Syllable]:
    for lyric in event.lyrics:
        if lyric.text:
            text = lyric.text + ("-" if lyric.syllabic in _HYPHENATED else "")
            verse = verses[lyric.name, lyric.number]
            yield _Syllable(verse, text, lyric.name == COUNTING)


def _write(staff: etree._Element, one: _Syllable, at: tuple[float, float]) -> None:
    verse = etree.SubElement(staff, f"{SVG}g", {"class": "verse"})
    if one.is_counting:
        # By this the syllables of rests find the line that they belong on.
        etree.SubElement(verse, f"{SVG}title").text = COUNTING
    group = etree.SubElement(verse, f"{SVG}g", {"class": "syl"})
    text = etree.SubElement(group, f"{SVG}text", {"x": f"{at[0]:g}", "y": f"{at[1]:g}"})
    etree.SubElement(text, f"{SVG}tspan", {"font-size": "405px"}).text = one.text
