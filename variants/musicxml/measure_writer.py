"""Writes the measures of one part as XML text."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from xml.sax.saxutils import escape, quoteattr

from variants.errors import NeckwiseError
from variants.music import UNISON, Interval, Key, Metre, NoteValue
from variants.musicxml.accidentals import Styles, needed_accidentals
from variants.musicxml.attributes_reader import interval_of
from variants.musicxml.fretted import GUITAR_PROGRAMS, is_named_guitar
from variants.musicxml.layout import Layout
from variants.musicxml.note_writer import NoteStyle, event_xml
from variants.musicxml.signs_reader import OUR_LABELS
from variants.musicxml.signs_writer import (
    barline_xml,
    direction_xml,
    harmony_xml,
    instrument_xml,
    key_xml,
    metre_xml,
    transposition_xml,
)
from variants.musicxml.xml_text import escaped, quoted
from variants.score import (
    STANDARD_GUITAR,
    Attributes,
    Clef,
    Direction,
    Event,
    Measure,
    Part,
    Score,
    Transposition,
    Voice,
    measures,
)
from variants.score.sides import undersides

# Something that is not a note: (tick, rank at that tick, text, staff or 0).
Sign = tuple[int, int, str, int]
# Ranks of signs that stand at the same tick.
_PRINT, _BARLINE, _ATTRIBUTES, _CARRIED, _DIRECTION, _HARMONY = range(6)


class PartWriter:
    """Writes one part, keeping what is in force from measure to measure."""

    def __init__(self, score: Score, part: Part, layout: Layout) -> None:
        self.ticks = score.ticks
        self.part = part
        self.layout = layout
        self.keys: dict[int, Key] = {}
        self.intervals: dict[int, Interval] = {}
        self.styles = layout.styles
        self.labels = 0
        self.metre = Metre()
        self.full = int(self.metre.quarters * score.ticks)

    def lines(self) -> list[str]:
        """Return the lines of the whole part.

        Raises:
            OutputError: A note cannot be written.
        """
        lines = [f"  <part id={quoteattr(self.part.id)}>"]
        for view in measures(self.part, self.ticks):
            measure, self.view = view.measure, view
            try:
                self._measure(measure, lines, is_first=view.index == 0)
            except NeckwiseError as error:
                raise error.at(f"part {self.part.id}, measure {measure.number}") from None
        lines.append("  </part>")
        return lines

    def _measure(self, measure: Measure, lines: list[str], *, is_first: bool) -> None:
        implicit = ' implicit="yes"' if measure.is_implicit else ""
        lines.append(f"    <measure{implicit} number={quoted(measure.number)}>")
        key_changes = self._start_keys()
        attributes = measure.attributes
        if is_first and not any(change.onset == 0 for change in attributes):
            attributes = (Attributes(0), *attributes)
        signs: list[Sign] = []
        styles: Styles = [(0, self.styles[0])]
        for index, change in enumerate(attributes):
            first = is_first and index == 0
            signs.append((change.onset, _ATTRIBUTES, self._attributes(change, first=first), 0))
            if change.transpositions:
                styles.append((change.onset, self.styles[0]))
            key_changes += [
                (change.onset, sign.staff, self.keys[sign.staff])
                for sign in change.keys
                if sign.key is not None
            ]
        self._other_signs(measure, signs)
        signs = sorted((sign for sign in signs if sign[2]), key=lambda sign: sign[:2])
        self._write_streams(measure, signs, (key_changes, styles), lines)
        right = [one for one in measure.barlines if one.location not in ("left", "middle")]
        lines += [text for text in map(barline_xml, right) if text]
        lines.append("    </measure>")

    def _start_keys(self) -> list[tuple[int, int, Key]]:
        return [(0, staff, key) for staff, key in self.keys.items()]

    def _other_staves(self, voices: tuple[Voice, ...], cursor: _Cursor) -> None:
        taken = {voice.id for voice in voices}
        for style in self.styles[1:]:
            for voice in voices:
                name = _free_name(taken)
                for event in voice.events:
                    cursor.event(event, name, style, None)

    # -- signs ---------------------------------------------------------------------------

    def _other_signs(self, measure: Measure, signs: list[Sign]) -> None:
        for barline in measure.barlines:
            if barline.location == "left":
                signs.append((0, _BARLINE, barline_xml(barline), 0))
            elif barline.location == "middle":
                signs.append((barline.onset, _BARLINE, barline_xml(barline), 0))
        own = self.layout.is_own
        for carried in measure.carried:
            if carried.name == "print":
                if own:
                    signs.append((carried.onset, _PRINT, "      " + carried.xml, 0))
            else:
                signs.append((carried.onset, _CARRIED, "      " + carried.xml, 0))
        staved = self.part.staves > 1 and own
        signs += [
            (
                one.onset,
                _DIRECTION,
                direction_xml(one, staved=staved, label=self._label(one)),
                one.staff * staved,
            )
            for one in measure.directions
        ]
        down = -self.intervals.get(0, UNISON)
        signs += [
            (one.onset, _HARMONY, harmony_xml(one, down, staved=staved), one.staff * staved)
            for one in measure.harmonies
        ]

    def _label(self, direction: Direction) -> str:
        if not direction.origin:
            return ""
        self.labels += 1
        return f"{OUR_LABELS}{direction.origin}.{self.part.id}.{self.labels}"

    def _attributes(self, change: Attributes, *, first: bool) -> str:
        own = self.layout.is_own
        if own:
            for one in change.transpositions:
                self.intervals[one.staff] = interval_of(one)
            if change.transpositions:
                shift = tuple((staff, -i) for staff, i in sorted(self.intervals.items()))
                self.styles = tuple(replace(style, shift=shift) for style in self.styles)
        looks = {e.name: e.xml for e in change.carried if e.name not in ("time", "measure-style")}
        pieces = [looks.get("footnote", "") + looks.get("level", "")]
        if first:
            pieces.append(f"<divisions>{self.ticks}</divisions>")
        for sign in change.keys:
            written = sign
            if sign.key is not None:
                interval = self.intervals.get(sign.staff, self.intervals.get(0, UNISON))
                key = sign.key.moved(-interval) if interval != UNISON else sign.key
                self.keys[sign.staff] = key
                written = replace(sign, key=key)
            pieces.append(key_xml(written))
        if change.metre is not None:
            unmeasured = looks.get("senza-misura", "")
            pieces.append(metre_xml(change.metre, looks.get("@time", ""), unmeasured))
            self.metre = change.metre
            self.full = int(change.metre.quarters * self.ticks)
        pieces += [extra.xml for extra in change.carried if extra.name == "time"]
        pieces += self._staves_xml(change, first=first)
        text = "".join(pieces)
        return f"      <attributes>{text}</attributes>" if text else ""

    def _staves_xml(self, change: Attributes, *, first: bool) -> list[str]:
        if not self.layout.is_own:
            return self._fixed_staves_xml(change) if first else _last_of(change)
        pieces = []
        staves = change.staves or (self.part.staves if first and self.part.staves > 1 else 0)
        if staves:
            pieces.append(f"<staves>{staves}</staves>")
        pieces += [e.xml for e in change.carried if e.name in ("part-symbol", "instruments")]
        many = self.part.staves > 1
        for clef in change.clefs:
            pieces.append(clef_xml_of(clef, clef.staff * many))
        if change.instrument is None and first and self._is_strung_anew():
            pieces.append(instrument_xml(self.part.instrument or STANDARD_GUITAR, 0, is_tab=False))
        if change.instrument is not None:
            staff = next((c.staff for c in change.clefs if c.sign == "TAB"), 1)
            number = staff if many else 0
            pieces.append(instrument_xml(change.instrument, number, extras=change.carried))
        pieces += change.details
        pieces += [transposition_xml(one) for one in change.transpositions]
        return pieces + _last_of(change)

    def _is_strung_anew(self) -> bool:
        """Whether strings or capo must be told, and the source says nothing of them."""
        if self.part.instrument is None or self.part.staves > 1 or self._is_understood():
            return False
        return not any(
            change.instrument for measure in self.part.measures for change in measure.attributes
        )

    def _is_understood(self) -> bool:
        """Whether a reader knows the strings and the capo of the part without being told."""
        instrument, part = self.part.instrument, self.part
        # A part that is written on staves of ours has a guitar's sound, unless it has its own.
        silent = all(extra.name != "score-instrument" for extra in part.carried)
        sounds = silent and not self.layout.is_own and part.midi_program in (0, *GUITAR_PROGRAMS)
        if instrument is None or instrument.capo or not (sounds or is_named_guitar(part)):
            return False
        return instrument.open_midi == STANDARD_GUITAR.open_midi

    def _fixed_staves_xml(self, change: Attributes) -> list[str]:
        instrument = self.part.instrument
        count = len(self.layout.clefs)
        pieces = [f"<staves>{count}</staves>"] if count > 1 else []
        pieces += [extra.xml for extra in change.carried if extra.name == "instruments"]
        for clef in self.layout.clefs:
            staff = clef.staff if count > 1 else 0
            pieces.append(clef_xml_of(clef, staff))
        if self.layout.tab_staff and instrument is not None:
            number = self.layout.tab_staff if count > 1 else 0
            pieces.append(instrument_xml(instrument, number, extras=change.carried))
        elif instrument is not None and not self._is_understood():
            # Places and fingers mean nothing without the strings that they are on.
            pieces.append(instrument_xml(instrument, 0, is_tab=False))
        if any(clef.sign == "G" and not clef.octave_change for clef in self.layout.clefs):
            # A plain treble clef would be read as a guitar's, an octave lower.
            pieces.append(transposition_xml(Transposition()))
        return pieces + _last_of(change)

    # -- notes ---------------------------------------------------------------------------

    def _write_streams(
        self,
        measure: Measure,
        signs: list[Sign],
        in_force: tuple[list[tuple[int, int, Key]], Styles],
        lines: list[str],
    ) -> None:
        voices = measure.voices
        if not self.layout.is_own and not any(voice.events for voice in voices):
            voices = (Voice("1", (_whole_rest(measure),)),)
        cursor = _Cursor(lines)
        keys, styles = in_force
        needed = needed_accidentals(voices, keys, styles)
        has_fingers = any(n.finger or n.pluck for event in measure.events for n in event.notes)
        below = undersides(measure) if has_fingers else {}
        waiting, own = _streamed(voices, signs)
        for number, voice in enumerate(voices):
            name, style = escaped(voice.id), styles[-1][1]
            of_staff = own.get(number, [])
            for place, event in enumerate(voice.events):
                while waiting and waiting[-1][0] <= event.onset:
                    cursor.sign(waiting.pop())
                while of_staff and of_staff[-1][0] <= event.onset:
                    cursor.sign(of_staff.pop())
                if len(styles) > 1:
                    style = [style for tick, style in styles if tick <= event.onset][-1]
                under = below.get((number, place), ())
                try:
                    cursor.event(event, name, style, needed[number][place], under)
                except NeckwiseError as error:
                    raise error.at(f"beat {self.view.beat_text(event.onset)}") from None
            while of_staff:
                cursor.sign(of_staff.pop())
            # Where a part has several staves, what is left belongs to the first.
            while waiting and (self.part.staves > 1 or number == len(voices) - 1):
                cursor.sign(waiting.pop())
        while waiting:
            cursor.sign(waiting.pop())
        self._other_staves(voices, cursor)
        # An empty measure lasts as long as its metre says, unless it is told otherwise.
        if cursor.reach < measure.length and (measure.voices or measure.length != self.full):
            cursor.move(measure.length)
        elif cursor.now < cursor.reach:
            cursor.move(cursor.reach)


def _streamed(
    voices: tuple[Voice, ...], signs: list[Sign]
) -> tuple[list[Sign], dict[int, list[Sign]]]:
    """Return the signs of the measure, and for some voices those of its staff; the last one first.

    What belongs to a further staff stands in the stream of that staff, so that readers which pair
    the ends of wedges as they come pair those of one staff.
    """
    backward = signs[::-1]
    if all(sign[3] < 2 for sign in signs):
        return backward, {}
    staves = _first_voices(voices)
    own: dict[int, list[Sign]] = {}
    for sign in backward:
        if sign[3] in staves:
            own.setdefault(staves[sign[3]], []).append(sign)
    return [sign for sign in backward if sign[3] not in staves], own


class _Cursor:
    """Where writing stands in the measure; moves by ``backup`` and ``forward``."""

    def __init__(self, lines: list[str]) -> None:
        self.lines = lines
        self.now = self.reach = 0

    def move(self, tick: int) -> None:
        if tick > self.now:
            self.lines.append(f"      <forward><duration>{tick - self.now}</duration></forward>")
        elif tick < self.now:
            self.lines.append(f"      <backup><duration>{self.now - tick}</duration></backup>")
        self.now = tick
        self.reach = max(self.reach, tick)

    def sign(self, sign: Sign) -> None:
        self.move(sign[0])
        self.lines.append(sign[2])

    def event(
        self,
        event: Event,
        voice: str,
        style: NoteStyle,
        needed: tuple[bool, ...] | None,
        below: tuple[bool, ...] = (),
    ) -> None:
        if event.onset != self.now:
            self.move(event.onset)
        self.lines.append(event_xml(event, voice, style, needed, below=below))
        self.now += event.duration
        if self.now > self.reach:  # noqa: PLR1730 - max() is slower in this hot place
            self.reach = self.now


def _first_voices(voices: tuple[Voice, ...]) -> dict[int, int]:
    """Return for each staff but the first the voice that begins on it, the first of them."""
    found: dict[int, int] = {}
    for number, voice in enumerate(voices):
        if voice.events and voice.events[0].staff > 1:
            found.setdefault(voice.events[0].staff, number)
    return found


def _whole_rest(measure: Measure) -> Event:
    return Event(0, measure.length, NoteValue(), is_measure_rest=True)


def _free_name(taken: set[str]) -> str:
    # Common practice of exporters: four voices a staff, so the second staff begins with voice 5.
    name = next(str(n) for n in count(5) if str(n) not in taken)
    taken.add(name)
    return name


def _last_of(change: Attributes) -> list[str]:
    """Return what stands at the end of ``attributes``, whatever the layout."""
    order = ("for-part", "directive", "measure-style")
    return [extra.xml for name in order for extra in change.carried if extra.name == name]


def clef_xml_of(clef: Clef, staff: int) -> str:
    """Return a ``clef`` element; staff 0 writes no number."""
    number = f' number="{staff}"' if staff else ""
    line = f"<line>{clef.line}</line>" if clef.line else ""
    change = clef.octave_change
    octave = f"<clef-octave-change>{change}</clef-octave-change>" if change else ""
    return f"<clef{number}{clef.looks}><sign>{escape(clef.sign)}</sign>{line}{octave}</clef>"
