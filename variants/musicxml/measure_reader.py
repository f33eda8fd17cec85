"""Reads the measures of one part, with the state that runs from measure to measure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import count

from lxml import etree

from variants.errors import InputError, NeckwiseError
from variants.limits import MOST_QUARTERS, MOST_VOICES
from variants.music import UNISON, Interval, Metre
from variants.musicxml.attributes_reader import interval_of, read_attributes
from variants.musicxml.carrying import carried_text
from variants.musicxml.draft import Draft
from variants.musicxml.events import Pending, event_of, overlaps
from variants.musicxml.harmony_reader import read_harmony
from variants.musicxml.note_reader import read_note
from variants.musicxml.numerals import number, shown
from variants.musicxml.signs_reader import read_barline, read_direction
from variants.score import (
    Attributes,
    Barline,
    Carried,
    Change,
    Direction,
    Harmony,
    Instrument,
    Measure,
    Voice,
)


class PartReader:
    """Reads the measures of one part in order.

    Args:
        ticks: Ticks in a quarter of the whole score.
        part_id: For messages.
        most_notes: How many note elements may still be read.
    """

    def __init__(self, ticks: int, part_id: str, most_notes: int) -> None:
        self.ticks = ticks
        self.most = ticks * MOST_QUARTERS
        self.part_id = part_id
        self.notes_left = most_notes
        self.scale: int | Fraction = 0
        # Ticks of each <duration> met so far; a part has few different ones.
        self.lengths: dict[str | None, int] = {}
        self.metre = Metre()
        self.full = int(self.metre.quarters * ticks)
        self.staves = 1
        self.strung: Instrument | None = None
        self.intervals: dict[int, Interval] = {}
        self.changes: list[Change] = []
        self.number = ""
        self._clear()

    def _clear(self) -> None:
        self.cursor = self.reach = 0
        self.pending: dict[str, list[Pending]] = {}
        self.last: list[Draft] | None = None
        self.attributes: list[Attributes] = []
        self.barlines: list[Barline] = []
        self.harmonies: list[Harmony] = []
        self.directions: list[Direction] = []
        self.carried: list[Carried] = []

    def measure(self, element: etree._Element) -> Measure:
        """Return the measure of one ``measure`` element.

        Raises:
            InputError: It holds what cannot be read; the error names the measure.
        """
        self._clear()
        self.number = element.get("number", "")
        for child in element:
            tag = child.tag
            try:
                if tag == "note":
                    self._note(child)
                else:
                    _CHILDREN.get(tag, PartReader.read_other)(self, child)
            except NeckwiseError as error:
                raise error.at(self._moment()) from None
        return self._finish(element)

    def _finish(self, element: etree._Element) -> Measure:
        length = self.reach or self.full
        if self.harmonies or self.directions:
            self._keep_inside(length)
        return Measure(
            self.number,
            length,
            self._voices(),
            element.get("implicit") == "yes",
            tuple(self.attributes),
            tuple(self.barlines),
            tuple(self.harmonies),
            tuple(self.directions),
            tuple(self.carried),
        )

    def _keep_inside(self, length: int) -> None:
        # An offset may point past the end of the measure; what it moves stays in the measure.
        late = sum(one.onset > length for one in self.harmonies)
        late += sum(one.onset > length for one in self.directions)
        if late:
            self.log(f"{late} of its signs stood past its end; they were put at the end")
        self.harmonies = [
            one if one.onset <= length else replace(one, onset=length) for one in self.harmonies
        ]
        self.directions = [
            one if one.onset <= length else replace(one, onset=length) for one in self.directions
        ]
        self.harmonies.sort(key=lambda one: one.onset)
        self.directions.sort(key=lambda one: one.onset)

    def log(self, message: str) -> None:
        """Add a line about this measure to the change log."""
        self.changes.append(Change(message, "read", measure=self.number, part=self.part_id))

    def length(self, text: str | None, what: str) -> int:
        """Return divisions as ticks.

        Raises:
            InputError: No divisions are known, or the length is negative or no number.
        """
        if text in self.lengths:
            return self.lengths[text]
        if not self.scale:
            raise InputError(
                f"{what} is given before any <divisions>", way_out="export the score again"
            )
        ticks = number(text, what) * self.scale
        if ticks < 0:
            raise InputError(f"{what} is negative ({shown(text)})", way_out="correct the file")
        if ticks > self.most:
            raise InputError(
                f"{what} is {shown(text)}, longer than any measure", way_out="correct the file"
            )
        found = self.lengths[text] = int(ticks)
        return found

    # -- notes ---------------------------------------------------------------------------

    def _note(self, child: etree._Element) -> None:
        self.notes_left -= 1
        if self.notes_left < 0:
            raise InputError(
                "the score has too many notes", way_out="split it, or raise the limit (notes)"
            )
        draft = read_note(child)
        for fault in draft.faults:
            self.log(fault)
        if self.intervals and draft.pitch is not None:
            draft.pitch += self.intervals.get(draft.staff or 1, self.intervals.get(0, UNISON))
        self.staves = max(self.staves, draft.staff)
        if draft.chord and self.last is not None:
            if draft.duration != self.last[0].duration and draft.grace is None:
                self._tell_other_length(draft)
            self.last.append(draft)
            return
        if draft.chord:
            self.log(
                f"{draft.pitch or 'a note'} joins a chord that has no note before it; "
                "it was read as a note of its own"
            )
        duration = self.lengths.get(draft.duration) if draft.grace is None else 0
        if duration is None:
            duration = self._note_length(draft)
        if not duration and draft.grace is None:
            self._without_length(draft)
        onset = self.cursor
        self.last = [draft]
        events = self.pending.get(draft.voice or "1")
        if events is None:
            events = self.pending[draft.voice or "1"] = []
        events.append((onset, duration, self.last))
        self.cursor = onset + duration
        if self.cursor > self.reach:  # noqa: PLR1730 - max() is slower in this hot place
            self.reach = self.cursor

    def _without_length(self, draft: Draft) -> None:
        # The standard has no notes without a length but grace notes; some programs write such.
        draft.grace = ()
        self.log(f"a {'rest' if draft.rest else 'note'} lasts 0; it was read as a grace note")

    def _tell_other_length(self, draft: Draft) -> None:
        first = self.last[0].duration if self.last else None
        if draft.duration is not None and self.length(draft.duration, "a note's <duration>") != (
            self.length(first, "a note's <duration>") if first is not None else -1
        ):
            self.log(f"{draft.pitch} has another duration than its chord; it was given the chord's")

    def _note_length(self, draft: Draft) -> int:
        quarters = draft.value.quarters
        if draft.duration is not None:
            if not self.scale and quarters is not None:
                self._infer_divisions(draft.duration, quarters)
            return self.length(draft.duration, "a note's <duration>")
        if quarters is None:
            raise InputError("a note has no <duration>", way_out="export the score again")
        self.log(f"a note has no <duration>; its printed value ({draft.value}) was taken")
        return int(quarters * self.ticks)

    def _infer_divisions(self, text: str, quarters: Fraction) -> None:
        """Take the divisions from the first note, whose printed value says how long it lasts."""
        divisions = number(text, "a note's <duration>") / quarters
        exact = self.ticks / divisions if divisions > 0 else Fraction(0)
        if exact and exact.denominator == 1:
            self.scale = int(exact)
            self.log(
                f"no <divisions> are given; {divisions} in a quarter were taken from the first "
                "note and its printed value"
            )

    def read_backup(self, child: etree._Element) -> None:
        """Move the cursor back."""
        self.cursor -= self.length(child.findtext("duration"), "a <backup>")
        self.last = None
        if self.cursor < 0:
            raise InputError(
                "a <backup> goes back before the start of the measure", way_out="correct the file"
            )

    def read_forward(self, child: etree._Element) -> None:
        """Move the cursor on."""
        self.cursor += self.length(child.findtext("duration"), "a <forward>")
        self.last = None
        self.reach = max(self.reach, self.cursor)

    def _voices(self) -> tuple[Voice, ...]:
        if len(self.pending) > MOST_VOICES:
            raise self._too_many_voices()
        voices: list[Voice] = []
        for name, pending in self.pending.items():
            if overlaps(pending):
                voices += self._split_by_staff(name, pending)
            else:
                voices.append(Voice(name, tuple(map(event_of, pending))))
        return tuple(voices)

    def _too_many_voices(self) -> InputError:
        return InputError(
            f"more than {MOST_VOICES} voices sound at once",
            place=self._place(),
            way_out="correct the file",
        )

    def _moment(self) -> str:
        """Return part, measure and beat; in a pick-up the beats count from its start."""
        quarters = Fraction(max(0, self.cursor), self.ticks)
        return f"{self._place()}, beat {self.metre.beat_name(quarters)}"

    def _place(self) -> str:
        return f"part {self.part_id}, measure {self.number}"

    def _split_by_staff(self, name: str, pending: list[Pending]) -> list[Voice]:
        # Some programs number the voices of each staff from 1.
        lanes: list[list[Pending]] = []
        for one in sorted(pending, key=lambda item: (item[2][0].staff, item[0])):
            for lane in lanes:
                onset, duration, drafts = lane[-1]
                if drafts[0].staff == one[2][0].staff and onset + duration <= one[0]:
                    lane.append(one)
                    break
            else:
                lanes.append([one])
                if len(lanes) > MOST_VOICES:
                    raise self._too_many_voices()
        taken = set(self.pending)
        voices = []
        for index, lane in enumerate(lanes):
            label = name
            if index:
                label = next(str(n) for n in count(1) if str(n) not in taken)
                taken.add(label)
            voices.append(Voice(label, tuple(map(event_of, lane))))
        return voices

    # -- everything else -----------------------------------------------------------------

    def read_attributes(self, child: etree._Element) -> None:
        """Take over divisions, signatures, clefs and transposition."""
        divisions = child.find("divisions")
        if divisions is not None:
            value = number(divisions.text, "<divisions>")
            exact = self.ticks / value
            self.scale = int(exact) if exact.denominator == 1 else exact
            self.lengths = {}
        read = read_attributes(child, self.cursor, self.intervals, self.log, strung=self.strung)
        if read.metre is not None:
            self.metre = read.metre
            self.full = int(read.metre.quarters * self.ticks)
        self.staves = max(self.staves, read.staves)
        self._tell_of_strings(read)
        for one in read.transpositions:
            self.intervals[one.staff] = interval_of(one)
        self.intervals = {k: v for k, v in self.intervals.items() if v != UNISON or k}
        if read != Attributes(self.cursor):
            self.attributes.append(read)

    def _tell_of_strings(self, read: Attributes) -> None:
        self.strung = read.instrument or self.strung
        if any("<capo>" in text for text in read.details):
            self.log("a capo without the tuning of its strings was not read; --capo sets it")

    def _onset(self, child: etree._Element) -> int:
        offset = child.find("offset")
        if offset is None:
            return self.cursor
        onset = self.cursor + self._moved(offset.text)
        if onset < 0:
            self.log(f"a <{child.tag}> stood before the measure; it was put at its start")
        return max(0, onset)

    def _moved(self, text: str | None) -> int:
        """Return the divisions of an offset, which may be negative, as ticks."""
        return int(number(text, "<offset>") * (self.scale or 1))

    def read_direction(self, child: etree._Element) -> None:
        """Keep a direction, or a sound that stands alone."""
        onset = self.cursor if child.tag == "sound" else self._onset(child)
        found = read_direction(child, onset, self.log, self._moved)
        if found is not None:
            self.directions.append(found)

    def read_harmony(self, child: etree._Element) -> None:
        """Keep a chord symbol."""
        interval = self.intervals.get(0, UNISON) if self.intervals else UNISON
        self.harmonies += read_harmony(child, self._onset(child), interval, self.log)

    def read_barline(self, child: etree._Element) -> None:
        """Keep a barline that is more than plain."""
        self.barlines.append(read_barline(child, self.cursor, self.log))

    def read_figured_bass(self, child: etree._Element) -> None:
        """Carry a figured bass, its durations in ticks."""
        if child.find("figure") is None:
            self.log("a figured bass without a figure was left out")
            return
        duration = child.find("duration")
        if duration is not None:
            duration.text = str(self.length(duration.text, "a figured bass's <duration>"))
        self.read_other(child)

    def read_other(self, child: etree._Element) -> None:
        """Carry what the model does not interpret."""
        text = carried_text(child, "measure", self.log)
        if text:
            self.carried.append(Carried(self.cursor, str(child.tag), text))


_CHILDREN: dict[object, Callable[[PartReader, etree._Element], None]] = {
    "backup": PartReader.read_backup,
    "forward": PartReader.read_forward,
    "attributes": PartReader.read_attributes,
    "direction": PartReader.read_direction,
    "sound": PartReader.read_direction,
    "harmony": PartReader.read_harmony,
    "barline": PartReader.read_barline,
    "figured-bass": PartReader.read_figured_bass,
}
