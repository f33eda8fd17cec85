"""What the engraver is given: our MusicXML, with ids, breaks, and stand-ins for what it lacks."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from lxml import etree

from variants.music.chordtext import kind_text
from variants.musicxml import Staves, to_bytes
from variants.score import Change, Event, Measure, Note, Part, Score, with_parts
from variants.score.notation import with_beams
from variants.score.sides import from_high, voices_from_high
from variants.sheets.left_out import lost_words, name_rests
from variants.sheets.rewriting import (
    add_tokens,
    as_bracket,
    as_words,
    blank_out,
    bound,
    bring_forward,
    follow_clefs,
    has_tab,
    keep_only,
    remove,
    rename_parts,
    scordatura,
    technique_words,
    unname,
)
from variants.sheets.signs import (
    ACCIDENTALS,
    DIRECTION_WORDS,
    DRAWN,
    DRAWN_DIRECTIONS,
    DRAWN_ON_TAB,
    IN_TAB,
    PLACES,
    UNSEEN,
    circled,
    stand_in,
)

# Suffix-free ids of note heads: part, measure, voice, event, note, each counted from 0. The copy
# of a note on the tab staff of a part with both staves has a `t` in front instead of an `n`.
HEAD_ID = "n{}.{}.{}.{}.{}"
_GROUPS = ("technical", "articulations", "ornaments")


@dataclass(frozen=True, slots=True)
class Wants:
    """What is printed at the notes.

    Args:
        fingers: Fretting fingers.
        strings: Circled strings under a notation that stands without tab.
        empty_tab: Leave the tab under the notation empty, to be filled in.
        words: Printed directions of ours (positions, barres).
        empty_parts: Parts, from 0, whose staves stay empty.
        writing: Leave room under the notes for a pupil's own letters.
        hidden: Measures and ticks, from 0, whose notes are left to be written in.
    """

    fingers: bool = True
    strings: bool = False
    empty_tab: bool = False
    words: bool = True
    empty_parts: frozenset[int] = frozenset()
    writing: bool = False
    hidden: frozenset[tuple[int, int]] = frozenset()


@dataclass(frozen=True, slots=True)
class Prepared:
    """A score for the engraver.

    Args:
        tree: The MusicXML, still to be broken into systems.
        heads: For each id of a note head its part, measure, event and note.
        log: What will not be on paper, or not as it stood.
        wants: What was asked for.
    """

    tree: etree._Element
    heads: dict[str, tuple[int, int, Event, Note]]
    log: tuple[Change, ...]
    wants: Wants = Wants()


def prepare(score: Score, *, staves: Staves | str, wants: Wants) -> Prepared:
    """Return a score as the engraver takes it.

    Raises:
        UsageError: There is no such layout.
    """
    # The engraver sets stems, rests and ties by the order of the voices.
    ordered = with_parts(
        score, [voices_from_high(with_beams(part, score.ticks)) for part in score.parts]
    )
    tree = etree.fromstring(to_bytes(ordered, staves=staves))
    maker = _Maker(score, wants)
    rename_parts(tree)
    if len(score.parts) == 1:
        unname(tree)
    for index, part in enumerate(tree.findall("part")):
        maker.part(index, part)
    return Prepared(tree, maker.heads, tuple(dict.fromkeys(maker.log)), wants)


def with_breaks(prepared: Prepared, starts: Collection[int]) -> str:
    """Return the MusicXML with each system on a page of its own.

    Args:
        prepared: The score.
        starts: Indices of the measures that begin a system; the first need not be named.
    """
    for part in prepared.tree.findall("part"):
        for index, measure in enumerate(part.findall("measure")):
            for old in measure.findall("print"):
                measure.remove(old)
            if index and index in starts:
                measure.insert(0, etree.Element("print", {"new-page": "yes"}))
    return etree.tostring(prepared.tree, encoding="unicode")


class _Maker:
    """Goes through the written parts beside the score that they were written from."""

    def __init__(self, score: Score, wants: Wants) -> None:
        self.score = score
        self.wants = wants
        self.heads: dict[str, tuple[int, int, Event, Note]] = {}
        self.log: list[Change] = []
        self.where = ("", "")
        # Numbers of the staves that are tab.
        self.tab: set[str] = set()

    def part(self, index: int, written: etree._Element) -> None:
        """Prepare one part."""
        part = self.score.parts[index]
        two = has_tab(written) and len(written.findall("measure/attributes/staves")) > 0
        tab = self.tab = set()
        for number, element in enumerate(written.findall("measure")):
            follow_clefs(element, tab)
            measure = part.measures[number]
            self.where = (measure.number, part.id if len(self.score.parts) > 1 else "")
            notes = element.findall("note")
            for note, (head, event, one) in zip(
                notes, _written_heads(part, index, number, len(notes)), strict=False
            ):
                staff = note.findtext("staff") or "1"
                on_tab = staff in tab
                below = on_tab and two and part.instrument is not None
                name = "t" + head[1:] if below else head
                gap = event is not None and (number, event.onset) in self.wants.hidden
                if index in self.wants.empty_parts or gap:
                    note.set("print-object", "no")
                if event is not None and one is not None:
                    note.set("id", name)
                    self.heads[name] = (index, number, event, one)
                if on_tab and one is not None and one.place is None and self._placeless(note):
                    continue
                if below:
                    self._doubled(note)
                else:
                    self._note(note, on_tab=on_tab, both=two)
            name_rests(element, f"{index}.{number}", tab if two else frozenset())
            if tab and not two and lost_words(index, len(self.score.parts), measure.events):
                message = "the words under a tab with another part below it are not on the sheet"
                self.log.append(Change(message, "sheet", measure.number, part=part.id))
            self._measure(element, two=two)
            for name in bound(element):
                self._lost(name)

    def _placeless(self, note: etree._Element) -> bool:
        """Take a note without a place out of the tab, and say so."""
        number, part = self.where
        message = "a note has no place on the neck and is not in the tab"
        self.log.append(Change(message, "sheet", number, part=part))
        blank_out(note)
        return True

    # -- notes ---------------------------------------------------------------------------

    def _doubled(self, note: etree._Element) -> None:
        """Keep of a note on the tab under the notation its place alone.

        A grace note goes: the engraver would give it time of its own there (`left_out`).
        """
        if note.find("grace") is not None:
            remove(note)
            return
        if self.wants.empty_tab and note.find("rest") is None:
            blank_out(note)
        if note.find("rest") is not None:
            note.set("print-object", "no")
        for notations in note.findall("notations"):
            for child in list(notations):
                if child.tag == "tuplet":
                    child.set("bracket", "no")
                    child.set("show-number", "none")
                elif child.tag == "technical":
                    keep_only(child, PLACES)
                else:
                    notations.remove(child)

    def _note(self, note: etree._Element, *, on_tab: bool, both: bool) -> None:
        drawn = DRAWN_ON_TAB if on_tab else DRAWN
        tokens: list[tuple[str, str]] = []
        for notations in note.findall("notations"):
            for child in list(notations):
                if child.tag in _GROUPS:
                    tokens += self._group(child, drawn, on_tab=on_tab, both=both)
                elif on_tab and child.tag in ("slide", "glissando", "tied", "slur"):
                    notations.remove(child)
                elif child.tag == "accidental-mark":
                    notations.remove(child)
                    tokens += self._accidental((child.text or "").strip())
                elif child.tag == "other-notation":
                    notations.remove(child)
                    tokens.append(("above", (child.text or "").strip()))
        if tokens:
            add_tokens(note, tokens)

    def _accidental(self, name: str) -> Iterator[tuple[str, str]]:
        """Yield the sign of an accidental that stands above a note, with no ornament under it."""
        if name in ACCIDENTALS:
            yield "above", ACCIDENTALS[name]
        else:
            self._lost("accidental-mark")

    def _group(
        self, group: etree._Element, drawn: Collection[str], *, on_tab: bool, both: bool
    ) -> Iterator[tuple[str, str]]:
        """Yield the stand-ins for the members of a group that are not drawn, as they go."""
        # A string without a fret is a sign of its own; with one, the two are a place for tab.
        circles = self.wants.strings or group.find("fret") is None
        # What is given out in place of a sign stands on the side of the note's figures.
        side = next((str(one.get("placement")) for one in group if one.get("placement")), "below")
        for sign in list(group):
            name = str(sign.tag)
            text = (sign.text or "").strip()
            if name == "fingering":
                if not self.wants.fingers:
                    group.remove(sign)
                continue
            if name in PLACES:
                if not on_tab:
                    group.remove(sign)
                    if name == "string" and circles and text.isdigit():
                        yield side, circled(int(text))
                continue
            if name == "pluck":
                group.remove(sign)
                yield side, text
                continue
            # An accidental belongs to the ornament before it; alone it is not drawn.
            if name in drawn and (name != "accidental-mark" or sign.getprevious() is not None):
                continue
            group.remove(sign)
            if name in IN_TAB and (on_tab or both):
                continue
            token = technique_words(sign) or stand_in(name, text)
            if token:
                yield "above", token
            elif sign.get("type") != "stop":
                self._lost(name)

    # -- everything else ---------------------------------------------------------------------

    def _measure(self, measure: etree._Element, *, two: bool) -> None:
        for frame in measure.findall("harmony/frame"):
            remove(frame)
        for kind in measure.findall("harmony/kind"):
            if kind.get("text") is None and kind.text:
                kind.set("text", kind_text(kind.text))
        bring_forward(measure)
        for attributes in measure.findall("attributes"):
            self._attributes(attributes, two=two)
        for direction in measure.findall("direction"):
            self._direction(direction)
        for segno in measure.iterfind("barline/segno"):
            self._lost(str(segno.tag))
        for child in measure:
            name = str(child.tag)
            known = ("note", "harmony", "attributes", "direction", "barline", "backup", "forward")
            if name not in known and name not in UNSEEN:
                self._lost(name)

    def _attributes(self, attributes: etree._Element, *, two: bool) -> None:
        if two:
            for time in attributes.findall("time"):
                hidden = etree.fromstring(etree.tostring(time))
                time.set("number", "1")
                hidden.set("number", "2")
                hidden.set("print-object", "no")
                time.addnext(hidden)
            for staves in attributes.findall("staves"):
                symbol = etree.Element("part-symbol")
                symbol.text = "line"
                staves.addnext(symbol)
        for details in attributes.findall("staff-details"):
            # The engraver takes every staff whose strings it is told for a tab.
            if details.get("number", "1") not in self.tab:
                for name in ("staff-tuning", "capo"):
                    etree.strip_elements(details, name)
        for style in attributes.findall("measure-style"):
            for child in list(style):
                if child.tag == "multiple-rest":
                    # Each of its measures is printed: lines of music are counted by measures.
                    style.remove(child)
                else:
                    self._lost(str(child.tag))
            if not len(style):
                attributes.remove(style)

    def _direction(self, direction: etree._Element) -> None:
        if not self.wants.words and (direction.get("id") or "").startswith("neckwise."):
            remove(direction)
            return
        for kind in direction.findall("direction-type"):
            for child in list(kind):
                name = str(child.tag)
                if name == "dashes":
                    as_bracket(child)
                elif name == "bracket" and child.get("line-type") is None:
                    # The engraver draws no bracket without hooks whose line it is not told.
                    child.set("line-type", "solid")
                elif name == "scordatura":
                    as_words(child, scordatura(child))
                elif name == "string-mute":
                    as_words(child, f"mute {child.get('type', '')}")
                elif name in DIRECTION_WORDS:
                    as_words(child, DIRECTION_WORDS[name] or (child.text or "").strip())
                elif name not in DRAWN_DIRECTIONS:
                    self._lost(name)
                    kind.remove(child)
            if not len(kind):
                direction.remove(kind)
        if direction.find("direction-type") is None:
            remove(direction)

    def _lost(self, name: str) -> None:
        number, part = self.where
        what = name.replace("-", " ")
        self.log.append(
            Change(f"the sign {what!r} is not on the sheet", "sheet", number, part=part)
        )


def _written_heads(
    part: Part, index: int, number: int, count: int
) -> Iterator[tuple[str, Event | None, Note | None]]:
    """Yield id, event and note of each written note of a measure, in the writer's order.

    The writer goes through the voices once for each staff that it writes; a rest has no note.
    """
    measure = part.measures[number]
    once = list(_heads(measure, index, number))
    if not once:
        once = [("", None, None)]
    while count > 0:
        yield from once
        count -= len(once)


def _heads(
    measure: Measure, index: int, number: int
) -> Iterator[tuple[str, Event | None, Note | None]]:
    for v in from_high(measure):
        for e, event in enumerate(measure.voices[v].events):
            if not event.notes:
                yield "", None, None
            for n, note in enumerate(event.notes):
                yield HEAD_ID.format(index, number, v, e, n), event, note
