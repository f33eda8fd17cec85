"""What the fingering engine is given: notes in time on an instrument, and the player's wishes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from variants.errors import UsageError
from variants.guitar.hand import Hand

OpenStrings = Literal["usual", "prefer", "avoid", "allow"]
Convention = Literal["own-fret", "classical", "one-two-four"]
Dyads = Literal["either", "one-finger", "two"]
HoldChords = Literal["usual", "always", "never"]
_FINGERS = (1, 2, 3, 4)


def parse_fingers(text: str) -> tuple[int, ...]:
    """Read the fretting fingers that a hand has.

    Raises:
        UsageError: They are not one or more of the fingers 1 to 4.

    >>> parse_fingers("1,2,3")
    (1, 2, 3)
    """
    words = {word.strip() for word in text.split(",")}
    if not words <= set(map(str, _FINGERS)):
        raise UsageError(
            f"{text!r} are no fretting fingers", way_out="name some of them, as in 1,2,3"
        )
    return tuple(sorted(map(int, words)))


@dataclass(frozen=True, slots=True, kw_only=True)
class PassageNote:
    """One note head of a passage.

    Args:
        onset: Ticks from the start of the passage.
        duration: Ticks that it sounds; 0 for a grace note.
        midi: Sounding MIDI number.
        voice: Name of the voice that it belongs to.
        measure: Index of the measure, from 0.
        tied_from: Goes on from the note before it of the same pitch: it keeps its place.
        slurred_from: Legato from the note before it in the voice: it stays on that string.
        grace: 0 for an ordinary note; grace notes before it count -n ... -1 in time, and those of
            one number are struck together.
        string: Wished string (1 is printed highest), a hard constraint.
        fret: Wished fret counted from the capo, a hard constraint.
        finger: Wished finger, 0 (open) to 4, a hard constraint.
        position: Wished position of the hand as it is struck, a hard constraint.
        barre: Fret that a barre lies across as it is struck, a hard constraint; 0 for no barre. A
            note that is alone in the hand has finger 1 there.
        not_at: Places (string, fret) where it must not be.
    """

    onset: int
    duration: int
    midi: int
    voice: str = "1"
    measure: int = 0
    tied_from: bool = False
    slurred_from: bool = False
    grace: int = 0
    string: int | None = None
    fret: int | None = None
    finger: int | None = None
    position: int | None = None
    barre: int | None = None
    not_at: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HandPin:
    """What somebody has settled for a note: hard limits for the search.

    Args:
        string: Its string.
        fret: Its fret, counted from the capo.
        finger: Its finger, as `PassageNote` counts it.
        position: Position of the hand.
        barre: Fret of a barre; 0 for none.
        not_at: Places where it must not be.
        is_firm: Whether it is an error that no hand can hold it; else it is let go then, with a
            line in the change log.
    """

    string: int | None = None
    fret: int | None = None
    finger: int | None = None
    position: int | None = None
    barre: int | None = None
    not_at: tuple[tuple[int, int], ...] = ()
    is_firm: bool = True

    def on(self, note: PassageNote) -> PassageNote:
        """Return a note with what is pinned; a wish that it had and that is in the way is gone."""
        place = (note.string or 0, -1 if note.fret is None else note.fret)
        moved = self.string is not None or self.fret is not None or place in self.not_at
        finger = None if moved else note.finger
        return replace(
            note,
            string=self.string if moved else note.string,
            fret=self.fret if moved else note.fret,
            finger=finger if self.finger is None else self.finger,
            position=self.position,
            barre=self.barre,
            not_at=self.not_at,
        )

    @property
    def kinds(self) -> frozenset[str]:
        """What is pinned, by the names that `keeping.Loosened` uses."""
        told = {
            "place": self.string is not None or self.fret is not None,
            "finger": self.finger is not None,
            "position": self.position is not None,
            "barre": self.barre is not None,
            "not here": bool(self.not_at),
        }
        return frozenset(name for name, value in told.items() if value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """Notes in time on a fretted instrument.

    Args:
        notes: In any order; the answer keeps it.
        ticks_per_quarter: Ticks in a quarter note.
        quarters_per_minute: Tempo, for the time that a shift has.
        tempi: Pairs of onset in ticks and tempo where it changes; empty for one tempo.
        tuning_midi: MIDI number of each open string without capo, string 1 first. Never sorted.
        capo: Fret of the capo, 0 for none.
        frets: Frets on the neck, counted from the nut.
        first_frets: Fret at which each string starts (5 for the fifth string of a banjo); empty
            when all start at the nut.
        scale_length_mm: Sounding length of the open string.
        measure_starts: Onset of each measure in ticks; empty when measures do not matter.
        measure_numbers: Printed number of each measure, for messages; empty for index + 1.
    """

    notes: tuple[PassageNote, ...]
    ticks_per_quarter: int = 480
    quarters_per_minute: float = 90.0
    tempi: tuple[tuple[int, float], ...] = ()
    tuning_midi: tuple[int, ...] = (64, 59, 55, 50, 45, 40)
    capo: int = 0
    frets: int = 22
    first_frets: tuple[int, ...] = ()
    scale_length_mm: float = 650.0
    measure_starts: tuple[int, ...] = ()
    measure_numbers: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.tuning_midi or self.ticks_per_quarter <= 0 or self.quarters_per_minute <= 0:
            raise UsageError(
                "a passage needs strings, ticks in a quarter and a tempo above 0",
                way_out="give tuning_midi, ticks_per_quarter and quarters_per_minute",
            )
        if not 0 <= self.capo < self.frets or self.scale_length_mm <= 0:
            raise UsageError(
                f"a capo at fret {self.capo} does not fit a neck of {self.frets} frets and "
                f"{self.scale_length_mm:g} mm",
                way_out="give a capo on the neck and a scale length above 0 mm",
            )

    @property
    def open_midi(self) -> tuple[int, ...]:
        """MIDI number of each open string behind the capo."""
        return tuple(midi + self.capo for midi in self.tuning_midi)

    def place_of(self, onset: int) -> str:
        """Return ``measure 3, beat 2`` for an onset in ticks; beats are quarters from 1."""
        if not self.measure_starts:
            return f"quarter {1 + onset / self.ticks_per_quarter:g}"
        index = max(i for i, start in enumerate(self.measure_starts) if start <= onset or i == 0)
        beat = 1 + (onset - self.measure_starts[index]) / self.ticks_per_quarter
        number = self.measure_numbers[index] if self.measure_numbers else str(index + 1)
        return f"measure {number}, beat {beat:g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The hand, the limits and the wishes.

    Args:
        hand: ``small``, ``medium``, ``large``, an index-to-little span in mm, or a ``Hand``.
        open_strings: ``prefer``, ``avoid`` (used only where there is no other way), ``allow`` (as
            editors of classical pieces do), or ``usual``: as a first version for a pupil has it.
            Music that fits into the first position then has its open strings, each finger at its
            own fret, and the chord shapes of every chord book; in a wished position above the
            first, open strings are left alone where there is another way.
        position: Wished position (fret of finger 1), a wish and no limit.
        strings: Wished string set, a wish and no limit.
        max_fret: Highest fret allowed, counted from the capo.
        allowed_strings: The only strings allowed; ``None`` for all.
        max_span_frets: Most frets between the lowest and the highest stopped note of a grip.
        barres: Whether one finger may hold several strings.
        fingers: Fretting fingers allowed.
        thumb: Whether the thumb may stop the lowest string.
        beam: Most grips kept at an onset.
        convention: Which finger takes fret 3 in the first position: ``own-fret``, the third, as
            most first books have it; ``classical``, the fourth, as many classical methods do;
            ``one-two-four``, as bassists do below fret 5: the fourth finger two frets above the
            first, the third left out.
        dyads: Whether two notes at one fret of neighbouring strings lie under one finger or take
            two; teachers allow both.
        hold_chords: Whether the notes of a broken chord are held together while the harmony stands
            for a measure: ``usual`` does so with the usual open strings only.
        picking: ``fingers`` or ``pick``.
        repeat_alike: Whether equal measures get equal fingerings.
        closed: Whether open strings are forbidden.
        positions: The only positions allowed; ``None`` for all.
    """

    hand: str | float | tuple[float, ...] | Hand = "medium"
    open_strings: OpenStrings = "allow"
    position: int | None = None
    strings: tuple[int, ...] | None = None
    max_fret: int | None = None
    allowed_strings: tuple[int, ...] | None = None
    max_span_frets: int | None = None
    barres: bool = True
    fingers: tuple[int, ...] = _FINGERS
    thumb: bool = False
    beam: int = 96
    convention: Convention = "own-fret"
    dyads: Dyads = "either"
    hold_chords: HoldChords = "usual"
    picking: Literal["fingers", "pick"] = "fingers"
    repeat_alike: bool = True
    closed: bool = False
    positions: tuple[int, ...] | None = None

    @property
    def is_usual(self) -> bool:
        """Whether the fingering is that of a first version for a pupil."""
        return self.open_strings == "usual"

    @property
    def holds_chords(self) -> bool:
        """Whether broken chords are held as grips."""
        return self.hold_chords == "always" or (self.hold_chords == "usual" and self.is_usual)
