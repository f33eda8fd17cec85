"""Strings and frets: whether they exist, sound their note, and are free."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from variants.music import Key, spelled
from variants.proof.finding import Fix, Flaw, Severity, at_bar, at_head
from variants.proof.page import Head, PagePart, ScannedPage, heads, pages, parts, placed
from variants.proof.registry import Flaws, rule
from variants.proof.scan_attributes import MOST_FRETS
from variants.proof.views.doubling import partners
from variants.proof.views.grips import PageGrip, Stop, grips
from variants.proof.views.spans import matched, note_spans
from variants.proof.views.strings import StrungNeck, fret_sound, instrument_of, slip_of

# From so many notes on, one common distance of most of them is one cause and not many.
LEAST_NOTES = 4
# No fretted neck has more: the longest guitars have 36 frets (common practice, from memory).
LONGEST_NECK = 36
# No staff is taken to be further off than two octaves, so higher notes need no second look.
MOST_SLIP = 24
# Semitones above the open string that sound where a fret is touched: the string divides in two,
# three, four or five (2, 3, 4 and 5 times its frequency; 28 is within a seventh of a semitone).
SOUNDS = {12: 12, 7: 19, 19: 19, 5: 24, 24: 24, 4: 28, 9: 28, 16: 28}
_Wrong = tuple[Head, StrungNeck, int, int | Fraction]


@rule("tab-pitch", Severity.ERROR, parts)
def tab_pitch(part: PagePart) -> Flaws:
    """String and fret sound another pitch than the note has.

    One flaw where all have one cause.
    """
    for staff in sorted({head.staff for head in part.placed}):
        wrong, right = _by_sound(part, staff)
        if not wrong:
            continue
        common = _common_distance(wrong, len(wrong) + len(right))
        known = {head.string for head in right}
        if common is not None:
            yield _wrong_as_a_whole(wrong, common)
        else:
            yield from (_wrong_place(one, known) for one in wrong)


def _by_sound(part: PagePart, staff: int) -> tuple[list[_Wrong], list[Head]]:
    found: list[_Wrong] = []
    right: list[Head] = []
    for head in part.placed:
        sounding = head.sounding
        if head.staff != staff or sounding is None or head.is_harmonic:
            continue
        instrument = instrument_of(head)
        sound = fret_sound(instrument, head) if instrument else None
        if instrument is None or sound is None:
            continue
        wanted = sounding + slip_of(head)
        # A bent note may be written at the pitch that it is bent to, or at any on the way.
        if sound != wanted and not (head.bend and 0 <= wanted - sound <= head.bend):
            found.append((head, instrument, sound, wanted))
        else:
            right.append(head)
    return found, right


def _common_distance(wrong: list[_Wrong], total: int) -> int | Fraction | None:
    """Return the distance that most notes share; any number when a tuning is only assumed."""
    counts = Counter(sound - wanted for _, _, sound, wanted in wrong)
    distance, count = max(counts.items(), key=lambda item: (item[1], -abs(float(item[0]))))
    if count >= LEAST_NOTES and 2 * count > total:
        return distance
    if wrong[0][1].assumed and 2 * len(wrong) > total:
        return 0
    return None


def _wrong_as_a_whole(wrong: list[_Wrong], distance: int | Fraction) -> Flaw:
    head, instrument, _, _ = wrong[0]
    if instrument.assumed:
        return at_head(
            head, f"{len(wrong)} notes do not fit the frets in standard tuning, and the file "
            "gives no tuning", expected="a tuning, and a capo if there is one",
            severity=Severity.WARNING,
        )  # fmt: skip
    way = "higher" if distance > 0 else "lower"
    return at_head(
        head, f"the frets of {len(wrong)} notes sound {abs(distance)} semitones {way} than their "
        "pitches: tuning, capo or pitches are off as a whole",
        expected="another tuning or capo, or other pitches",
    )  # fmt: skip


def _wrong_place(one: _Wrong, known: set[int]) -> Flaw:
    """Return the flaw of one note; certain only if its string is known to be tuned so."""
    head, instrument, sound, wanted = one
    fret = wanted - instrument.open_midi[head.string - 1]
    octaves = " (an octave off)" if abs(sound - wanted) == 12 else ""

    def write() -> None:
        element = head.element.find("notations/technical/fret")
        if element is not None:
            element.text = str(fret)

    fits = fret.denominator == 1 and 0 <= fret <= instrument.top_fret
    return at_head(
        head,
        f"string {head.string} fret {head.fret} sounds {_sound_name(sound)}, the note is "
        f"{_sound_name(wanted)}{octaves}",
        expected=f"fret {fret}" if fits else f"{_sound_name(wanted)} on another string",
        fix=Fix(f"write fret {fret}", write) if fits else None,
        severity=Severity.WARNING if instrument.assumed and head.string not in known else None,
    )


def _sound_name(midi: int | Fraction) -> str:
    name = str(spelled(int(midi // 1), Key(0)))
    return name if midi.denominator == 1 else f"{name} and a part of a semitone"


@rule("no-such-fret", Severity.ERROR, heads)
def no_such_fret(head: Head) -> Flaws:
    """A fret that the neck does not have.

    Frets that few necks have are warnings.
    """
    if head.fret == -1:
        return
    if head.fret < 0:
        yield at_head(head, f"there is no fret {head.fret + 1000}", expected="fret 0 or more")
        return
    instrument = instrument_of(head)
    fret = head.fret + (instrument.capo if instrument else 0)
    if fret > MOST_FRETS:
        behind = f", behind the capo fret {fret}" if fret != head.fret else ""
        yield at_head(
            head, f"fret {head.fret} is beyond the end of the neck{behind}",
            expected=f"a fret up to {MOST_FRETS}",
            severity=None if fret > LONGEST_NECK else Severity.WARNING,
        )  # fmt: skip


@rule("no-such-string", Severity.ERROR, heads)
def no_such_string(head: Head) -> Flaws:
    """A string that the instrument does not have."""
    if not head.string:
        return
    if head.string < 0:
        yield at_head(head, f"there is no string {head.string + 1000}", expected="string 1 or more")
        return
    instrument = instrument_of(head)
    if instrument is not None and head.string > instrument.strings:
        assumed = " on the six strings that are assumed" if instrument.assumed else ""
        yield at_head(
            head, f"there is no string {head.string}{assumed}",
            expected=f"string 1 to {instrument.strings}",
            severity=Severity.WARNING if instrument.assumed else None,
        )  # fmt: skip


@rule("place-incomplete", Severity.WARNING, heads)
def place_incomplete(head: Head) -> Flaws:
    """A tab note without string or fret, or with two."""
    if head.extra_places:
        yield at_head(head, "the note has more than one string or fret", expected="one of each")
    if head.pitch is None or head.is_placed or head.staff not in head.bar.part.tab_staves:
        return
    if head.string or head.fret != -1 or head.is_struck:
        lacks = "fret" if head.string else "string"
        if not head.string and head.fret == -1:
            lacks = "string and fret"
        yield at_head(head, f"the tab note {head.pitch} has no {lacks}",
                      expected="a string and a fret")  # fmt: skip


@rule("tuning-missing", Severity.WARNING, parts)
def tuning_missing(part: PagePart) -> Flaws:
    """A tab staff has no tuning."""
    tuned = {one.staff for one in part.strings if one.instrument is not None}
    for staff in sorted(part.tab_staves - tuned):
        clef = next(one for one in part.clefs if one.staff == staff)
        yield at_bar(
            clef.bar, f"the tab of staff {staff} has no tuning", element=clef.element,
            expected="<staff-tuning> for every line",
        )  # fmt: skip


@rule("string-twice", Severity.ERROR, grips)
def string_twice(grip: PageGrip) -> Flaws:
    """Two notes begin on one string at once."""
    seen: dict[int, Stop] = {}
    for stop in grip.stops:
        other = seen.get(stop.string)
        # The same fret in two voices is one note, written for both.
        doubled = other and other.fret == stop.fret and other.head.voice != stop.head.voice
        if other is not None and not doubled:
            yield at_head(
                stop.head,
                f"string {stop.string} has fret {other.fret} and fret {stop.fret} at once",
                expected="one note a string",
            )
        seen[stop.string] = stop


@rule("string-held", Severity.WARNING, pages)
def string_held(page: ScannedPage) -> Flaws:
    """A note cuts off another that is still held on its string."""
    busy: dict[tuple[int, int, int], Head] = {}
    for grip in grips(page):
        for stop in grip.stops:
            head = stop.head
            if head.is_grace:
                continue
            key = (id(head.bar.part), head.staff, stop.string)
            before = busy.get(key)
            if before is not None and before.moment < head.moment < before.end:
                yield at_head(
                    head,
                    f"string {stop.string} still holds the {before.pitch} of voice {before.voice}",
                    expected="a shorter note before it, or another string",
                )
            if before is None or before.end <= head.end or before.moment < head.moment:
                busy[key] = head


@rule("note-range", Severity.WARNING, heads)
def note_range(head: Head) -> Flaws:
    """A note lies below the lowest string.

    In fretted parts. Where the place of a note is given, its string and fret are what is asked.
    """
    sounding = head.sounding
    if sounding is None or head.is_placed or head.is_cue or not head.bar.part.is_fretted:
        return
    instrument = instrument_of(head)
    if instrument is None:
        return
    lowest = min(instrument.open_midi)
    # A staff that is off as a whole has that finding already.
    if sounding < lowest + MOST_SLIP and sounding + slip_of(head) < lowest:
        yield at_head(
            head, f"{head.pitch} sounds lower than the lowest string, {spelled(lowest, Key(0))}",
            expected="a note that the instrument has",
        )  # fmt: skip


@rule("harmonic-pitch", Severity.WARNING, placed)
def harmonic_pitch(head: Head) -> Flaws:
    """A natural harmonic is no note of its string and fret.

    Octaves are left alone: harmonics are written at the touched fret, at the sound, or an octave
    off either.
    """
    sound, sounding = SOUNDS.get(head.fret), head.sounding
    if not head.is_harmonic or sound is None or sounding is None:
        return
    instrument = instrument_of(head)
    natural = head.element.find("notations/technical/harmonic/natural")
    if natural is None or instrument is None or head.string > instrument.strings:
        return
    low = instrument.open_midi[head.string - 1]
    if (sounding + slip_of(head)) % 12 not in {(low + sound) % 12, (low + head.fret) % 12}:
        yield at_head(
            head,
            f"the harmonic at fret {head.fret} of string {head.string} is written as {head.pitch}",
            expected=str(spelled(low + sound, Key(0))),
        )


@dataclass(frozen=True, slots=True)
class Hammer:
    """A hammer-on or pull-off with both its ends.

    Args:
        family: ``hammer-on`` or ``pull-off``.
        start: The note that is struck.
        stop: The note that the left hand sounds.
        strings: Both strings, 0 where one is not known.
    """

    family: str
    start: Head
    stop: Head
    strings: tuple[int, int]

    @property
    def changes_string(self) -> bool:
        """Whether both strings are known, and are two."""
        return all(self.strings) and self.strings[0] != self.strings[1]


def hammers(page: ScannedPage) -> Iterator[Hammer]:
    """Yield the hammer-ons and pull-offs that have both ends; either staff may tell the string."""
    other = partners(page)

    def string(head: Head) -> int:
        there = head if head.string > 0 else other.get(head)
        return max(there.string, 0) if there is not None else 0

    for part in page.parts:
        for family in ("hammer-on", "pull-off"):
            for start, stop in matched(note_spans(part).get(family, ()))[0]:
                if start.head is not None and stop.head is not None:
                    strings = (string(start.head), string(stop.head))
                    yield Hammer(family, start.head, stop.head, strings)


@rule("hammer-direction", Severity.ERROR, hammers)
def hammer_direction(one: Hammer) -> Flaws:
    """A hammer-on goes down or a pull-off goes up."""
    was, now = one.start.sounding, one.stop.sounding
    if was is None or now is None or one.changes_string:
        return
    if now <= was if one.family == "hammer-on" else now >= was:
        way = "falls" if now < was else "rises" if now > was else "stays"
        yield at_head(
            one.stop, f"the {one.family} {way} from {one.start.pitch} to {one.stop.pitch}",
            expected="a hammer-on upward, a pull-off downward",
        )  # fmt: skip


@rule("hammer-string", Severity.ERROR, hammers)
def hammer_string(one: Hammer) -> Flaws:
    """A hammer-on or pull-off changes the string."""
    if one.changes_string:
        yield at_head(
            one.stop, f"the {one.family} goes from string {one.strings[0]} to string "
            f"{one.strings[1]}", expected="one string",
        )  # fmt: skip
