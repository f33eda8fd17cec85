"""What stands in a measure beside its notes: clefs, signatures, chord symbols, directions."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from variants.music import Key, Metre
from variants.score.instrument import Instrument


@dataclass(frozen=True, slots=True)
class Extra:
    """Something of a note that the model only carries: its element name and XML text.

    A name that begins with ``@`` is an attribute of the note and ``xml`` is its value.
    """

    name: str
    xml: str


@dataclass(frozen=True, slots=True)
class Clef:
    """A clef: MusicXML sign (``G``, ``F``, ``TAB``, ...), line, octave change and staff.

    ``looks`` holds its further attributes as XML text.
    """

    sign: str
    line: int = 0
    octave_change: int = 0
    staff: int = 1
    looks: str = ""


@dataclass(frozen=True, slots=True)
class Transposition:
    """Written to sounding, as in MusicXML: add this to what is written.

    Args:
        chromatic: Semitones, without the octaves of ``octave_change``.
        diatonic: Letter steps; ``None`` when the source does not say.
        octave_change: Whole octaves.
        staff: Staff that it holds for; 0 for all.
        doubled: Whether the music also sounds an octave lower.
    """

    chromatic: Fraction = Fraction(0)
    diatonic: int | None = None
    octave_change: int = 0
    staff: int = 0
    doubled: str = ""


@dataclass(frozen=True, slots=True)
class KeySign:
    """A key signature at a time; ``xml`` for one that is no place on the circle of fifths.

    ``looks`` holds the further attributes of one that is, as XML text.
    """

    key: Key | None
    staff: int = 0
    xml: str = ""
    looks: str = ""


@dataclass(frozen=True, slots=True)
class Attributes:
    """What changes at a moment of a measure; empty members do not change.

    Args:
        onset: Ticks from the start of the measure.
        keys: New key signatures.
        metre: New metre.
        clefs: New clefs.
        transpositions: New transpositions.
        staves: New number of staves; 0 for no change.
        instrument: Tuning and capo, where the source gives them.
        details: ``staff-details`` as XML text, where the model does not read them.
        carried: Further children as (name, XML text), and ``@time``: further attributes of the
            time signature.
    """

    onset: int
    keys: tuple[KeySign, ...] = ()
    metre: Metre | None = None
    clefs: tuple[Clef, ...] = ()
    transpositions: tuple[Transposition, ...] = ()
    staves: int = 0
    instrument: Instrument | None = None
    details: tuple[str, ...] = ()
    carried: tuple[Extra, ...] = ()


@dataclass(frozen=True, slots=True)
class Barline:
    """A barline that is more than plain.

    Args:
        location: ``left``, ``right`` or ``middle``.
        onset: Ticks from the start of the measure.
        style: MusicXML bar style; empty if not given.
        repeat: ``forward``, ``backward`` or empty.
        times: Number of times, 0 if not given.
        ending: (number, type, text) of an ending bracket.
        carried: Further children (segno, coda, fermata, ...) as XML text, and, as ``@`` and the
            name of an element, its further attributes.
    """

    location: str
    onset: int
    style: str = ""
    repeat: str = ""
    times: int = 0
    ending: tuple[str, str, str] | None = None
    carried: tuple[Extra, ...] = ()


@dataclass(frozen=True, slots=True)
class Harmony:
    """A chord symbol.

    Args:
        onset: Ticks from the start of the measure.
        root: (letter, alteration) of the root; ``None`` for a function or no chord.
        kind: MusicXML kind (``major``, ``power``, ``minor-seventh``, ...).
        text: The kind as printed, when the source says so.
        bass: (letter, alteration) of a bass note that differs from the root.
        degrees: (value, alteration, type) of added, altered and left-out degrees.
        frame: Chord diagram as XML text; redrawn or dropped when the chord moves.
        staff: Staff, 0 if not given.
        xml: The children as they stood, for chords that the model does not read; else empty.
        placement: ``above``, ``below`` or empty.
        extras: What is only carried: further children, and, as ``@`` and the name of an element,
            its further attributes (``@degree-alter.1`` those of the second degree).
    """

    onset: int
    root: tuple[str, int] | None
    kind: str = "major"
    text: str = ""
    bass: tuple[str, int] | None = None
    degrees: tuple[tuple[int, int, str], ...] = ()
    frame: str = ""
    staff: int = 0
    xml: str = ""
    placement: str = ""
    extras: tuple[Extra, ...] = ()


@dataclass(frozen=True, slots=True)
class Direction:
    """Words, dynamics, wedges, tempo marks and the like.

    Args:
        onset: Ticks from the start of the measure, the source's offset included.
        xml: The ``direction-type`` children as XML text.
        sound: The ``sound`` and ``listening`` children as XML text.
        words: The text of its words, for people and for searching.
        quarters_per_minute: Tempo that it sets, if it does.
        placement: ``above``, ``below`` or empty.
        staff: Staff, 0 if not given.
        voice: Voice, empty if not given.
        origin: Empty for the source's own; else the mark that we wrote (``position``, ...).
        extras: What is only carried: footnote, level, and ``@direction``: further attributes.
    """

    onset: int
    xml: str
    sound: str = ""
    words: str = ""
    quarters_per_minute: Fraction | None = None
    placement: str = ""
    staff: int = 0
    voice: str = ""
    origin: str = ""
    extras: tuple[Extra, ...] = ()


@dataclass(frozen=True, slots=True)
class Carried:
    """Another child of a measure at its time: figured bass, print, sound, bookmark, ..."""

    onset: int
    name: str
    xml: str
