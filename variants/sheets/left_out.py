"""What the engraver leaves out, written into its drawing as if it had set it.

It sets no lyrics under rests and none under a tab that stands alone; in a tab it has no grace
notes. The ids of counted rests carry their syllables to the drawing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from lxml import etree

from variants.score import Event, Measure, Note
from variants.sheets import lengths
from variants.sheets.engraved import (
    PATH,
    RESTS,
    TEXT,
    USE,
    G,
    ends,
    groups,
    lowest_line,
    spot,
    staff_lines,
    staves,
)
from variants.sheets.fonts import width_em
from variants.sheets.style import Print

Heads = Mapping[str, tuple[int, int, Event, Note]]
COUNTING = "counting"
_COUNTED = "count."
# First letter of the id of a head, and of its copy on the tab under it (`engraver_xml.HEAD_ID`).
_ALONE, _DOUBLED = "n", "t"
_HYPHENATED = frozenset({"begin", "middle"})
# Height of one plucking finger in a pile, and of a line of syllables, in ems.
_PLUCK_ROW, _LEADING = 0.9, 1.15
# The engraver's own sizes of a syllable and of a fret number, by which `lettering` knows their
# feet; and how far under its line a fret number's foot is, in ems.
_SYLLABLE_SIZE, _FRET_SIZE, _FRET_FOOT = 405, 302, 0.33
_STAFF = 5
# Left and right end of a syllable.
_Span = tuple[float, float]


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
                note.set("id", f"{_COUNTED}{place}.{index}.{text.encode().hex()}")


def lost_words(part_index: int, parts: int, events: Sequence[Event]) -> bool:
    """Whether a part with a lone tab has words for which there is no room."""
    return part_index != parts - 1 and any(event.lyrics for event in events)


def add_left_out(root: etree._Element, sung: Sung, printed: Print) -> None:
    """Write into a drawing of the engraver what it has left out."""
    measures = [staves(one) for one in groups(root, "measure")]
    for row in measures:
        _graces(row, sung.heads)
    em = printed.units(printed.size_pt("lyric"))
    _tab_syllables([row[-1] for row in measures if row], sung, printed, em)
    for number in range(max(map(len, measures), default=0)):
        _rest_syllables([row[number] for row in measures if number < len(row)], em)


def _width(text: str, em: float) -> float:
    return width_em(text, weight=400, italic=False) * em


def _syllable(parent: etree._Element, content: str, at: tuple[float, float]) -> None:
    group = etree.SubElement(parent, G, {"class": "syl"})
    _text(group, content, at, size=_SYLLABLE_SIZE)


def _text(
    parent: etree._Element, content: str, at: tuple[float, float], *, size: int, anchor: str = ""
) -> None:
    where = {"x": f"{at[0]:g}", "y": f"{at[1]:g}"} | ({"text-anchor": anchor} if anchor else {})
    text = etree.SubElement(parent, TEXT, where)
    etree.SubElement(text, TEXT.replace("text", "tspan"), {"font-size": f"{size}px"}).text = content


# -- grace notes ----------------------------------------------------------------------------------


def _graces(row: Sequence[etree._Element], heads: Heads) -> None:
    """Put the fret numbers of grace notes into a measure.

    In the tab under a notation the engraver is not given them; each gets its fret number under its
    head above. In a tab that stands alone they have columns of their own, without a stem, so that
    they are not taken for beats.
    """
    for staff, below in zip(row, [*row[1:], None], strict=True):
        for group in list(groups(staff, "note")):
            name = group.get("id", "")
            if name not in heads or heads[name][2].grace is None:
                continue
            doubled = _DOUBLED + name[1:]
            if doubled in heads and below is not None:
                _under_head(group, below, doubled, heads[doubled][3])
            else:
                parent = group.getparent()
                for sign in [] if parent is None else parent.findall(f"{G}[@class='tabDurSym']"):
                    sign[:] = []


def _under_head(group: etree._Element, tab: etree._Element, name: str, note: Note) -> None:
    """Write the fret number of a grace note under its head."""
    found = spot(group.find(f"{G}[@class='notehead']/{USE}"))
    lines = sorted({one.y1 for _, one in staff_lines(tab)})
    if note.place is None or found is None or note.place.string > len(lines):
        return
    at = found.x + lengths.HALF_HEAD, lines[note.place.string - 1] + _FRET_FOOT * _FRET_SIZE
    fret = etree.SubElement(tab, G, {"class": "note", "id": name})
    _text(fret, str(note.place.fret), at, size=_FRET_SIZE, anchor="middle")


# -- syllables under rests ------------------------------------------------------------------------


def _rest_syllables(row: Sequence[etree._Element], em: float) -> None:
    """Write the syllables of counted rests under the staves of a line.

    Each begins where its rest does, as under a note, and gives way to its neighbours.
    """
    height: float | None = None
    spans: list[_Span] = []
    waiting: list[tuple[etree._Element, etree._Element]] = []
    for staff in row:
        for group in groups(staff, "verse", *RESTS):
            if group.get("class") in RESTS:
                waiting += [(staff, group)] if group.get("id", "").startswith(_COUNTED) else []
            elif group.findtext(TEXT.replace("text", "title")) == COUNTING:
                text = group.find(f".//{TEXT}")
                if text is not None:
                    height = float(text.get("y", "0")) if height is None else height
                    left = float(text.get("x", "0"))
                    width = _width("".join(map(str, text.itertext())).strip(), em)
                    spans.append((left, left + width))
    for staff, rest in waiting:
        below = lowest_line(staff) + lengths.SYLLABLES_BELOW if height is None else height
        spans += _rest_syllable(rest, below, em=em, others=spans, edges=ends(staff))


def _rest_syllable(
    rest: etree._Element, y: float, *, em: float, others: list[_Span], edges: _Span
) -> list[_Span]:
    found, parent = spot(rest.find(USE)), rest.getparent()
    if found is None or parent is None:
        return []
    content = bytes.fromhex(rest.get("id", "").rpartition(".")[2]).decode()
    width, gap = _width(content, em), lengths.SYLLABLE_GAP
    low = max([edges[0], *(right for left, right in others if left <= found.x)]) + gap
    high = min([edges[1], *(left for left, _ in others if left > found.x)]) - gap
    x = max(min(found.x - lengths.OUTDENT, high - width), low)
    if low + width > high:
        # Too narrow for it: the middle of the room there is does least harm.
        x = (low + high - width) / 2
    _syllable(parent, content, (x, y))
    return [(x, x + width)]


# -- syllables under a lone tab -------------------------------------------------------------------


def _tab_syllables(row: Sequence[etree._Element], sung: Sung, printed: Print, em: float) -> None:
    """Write the syllables of a lone tab, each centred under its fret number.

    One that would run into the syllable before it gives way to the right.
    """
    below = lengths.SYLLABLES_BELOW
    voices = [voice for measure in sung.measures for voice in measure.voices]
    plucked = (sum(bool(n.pluck) for n in event.notes) for one in voices for event in one.events)
    rows = max(plucked, default=0)
    if rows:
        pluck = printed.units(printed.size_pt("pluck")) * _PLUCK_ROW
        below = lengths.PLUCKS_END + rows * pluck + lengths.UNDER_PLUCKS
    verses: dict[tuple[str, str], int] = {}
    for _, _, event, _ in sung.heads.values():
        for lyric in event.lyrics:
            verses.setdefault((lyric.name, lyric.number), len(verses))
    feet: dict[int, float] = {}
    for staff, measure in zip(row, sung.measures, strict=False):
        foot = lowest_line(staff) + below
        notes = list(_numbered(staff, sung))
        if not notes and not _is_tab(staff):
            continue
        for x, event in sorted([*notes, *_rests(staff, measure)], key=lambda one: one[0]):
            for lyric in event.lyrics:
                if not lyric.text:
                    continue
                text = lyric.text + ("-" if lyric.syllabic in _HYPHENATED else "")
                line = verses[lyric.name, lyric.number]
                width = _width(text, em)
                left = max(x - width / 2, feet.get(line, 0.0) + lengths.SYLLABLE_GAP)
                feet[line] = left + width
                verse = etree.SubElement(staff, G, {"class": "verse"})
                if lyric.name == COUNTING:
                    # By this the syllables of rests find the line that they belong on.
                    etree.SubElement(verse, TEXT.replace("text", "title")).text = COUNTING
                _syllable(verse, text, (left, foot + line * em * _LEADING))


def _is_tab(staff: etree._Element) -> bool:
    """Whether a staff is a tab, as far as can be seen: it has fret numbers, or six lines."""
    if next(groups(staff, "tabGrp"), None) is not None:
        return True
    return len({path.get("d", "").split(" ")[1] for path in staff.findall(PATH)}) != _STAFF


def _numbered(staff: etree._Element, sung: Sung) -> Iterator[tuple[float, Event]]:
    """Yield the events of the last part whose fret numbers stand on a staff, with their middles."""
    for group in groups(staff, "note"):
        name, text = group.get("id", ""), group.find(TEXT)
        if name.startswith(_ALONE) and text is not None:
            part, _, event, note = sung.heads[name]
            if part == sung.part and event.notes[0] is note:
                yield float(text.get("x", "0")), event


def _rests(staff: etree._Element, measure: Measure) -> Iterator[tuple[float, Event]]:
    """Yield the rests of a measure with their middles; the engraver keeps no ids of them."""
    found = list(groups(staff, *RESTS))
    events = [one for one in measure.events if one.is_rest]
    if len(found) == len(events):
        for group, event in zip(found, events, strict=True):
            at = spot(group.find(USE))
            if at is not None:
                yield at.x + lengths.HALF_REST, event
