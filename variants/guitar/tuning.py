"""Named tunings and the reading of a tuning given as notes.

The trade writes a tuning from the string nearest the player's chin to the one nearest the floor:
string 6 first on a guitar. `Tuning.strings` keeps that order, `Tuning.open_strings` counts from
string 1. Neither is ever sorted by pitch: the fourth string of a ukulele and the fifth string of
a banjo are high strings that hang where a low one would.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass

from variants.errors import UsageError
from variants.music import Pitch

# A double-necked harp guitar aside, nothing that is fretted has more strings (12-string guitars
# have six courses, and a course counts as one string here).
MAX_STRINGS = 12
# From an octave below a four-string bass to an octave above the open first string of a guitar:
# outside, a note is a slip of the octave and no string (common practice).
LOWEST_OPEN_MIDI = 16
HIGHEST_OPEN_MIDI = 88

_NOTE_LIKE = re.compile(r"[A-Ga-g][b#♭♯x]*\d*\Z")


@dataclass(frozen=True, slots=True)
class Tuning:
    """Which open string sounds what.

    Args:
        name: The name on the command line; for a tuning given as notes, those notes.
        strings: Sounding pitches as the trade writes them, highest-numbered string first.
        title: The name in words, for tables.
        kind: The kind of instrument, a key of `variants.guitar.instrument.BUILDS`.
        first_frets: Fret at which each string starts, string 1 first; empty when all start at
            the nut.

    Raises:
        UsageError: No strings, too many of them, or one that no instrument has.

    >>> standard = parse_tuning("standard")
    >>> standard.notes, standard.open_midi
    ('E2-A2-D3-G3-B3-E4', (64, 59, 55, 50, 45, 40))
    """

    name: str
    strings: tuple[Pitch, ...]
    title: str = ""
    kind: str = "guitar"
    first_frets: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        count = len(self.strings)
        if not 1 <= count <= MAX_STRINGS:
            raise UsageError(
                f"a tuning of {count} strings", way_out=f"name between 1 and {MAX_STRINGS} notes"
            )
        if self.first_frets and len(self.first_frets) != count:
            raise UsageError(
                f"{len(self.first_frets)} first frets for {count} strings",
                way_out="give one for each string, string 1 first, or none",
            )
        for index, pitch in enumerate(self.strings):
            if pitch.is_microtone or not LOWEST_OPEN_MIDI <= pitch.midi <= HIGHEST_OPEN_MIDI:
                raise UsageError(
                    f"no string {count - index} can be tuned to {pitch}",
                    way_out="give sounding notes between E0 and E6; middle C is C4",
                )

    @property
    def open_strings(self) -> tuple[Pitch, ...]:
        """Sounding pitches with string 1 first, as tab counts them."""
        return self.strings[::-1]

    @property
    def open_midi(self) -> tuple[int, ...]:
        """MIDI number of each open string, string 1 first."""
        return tuple(pitch.midi for pitch in self.open_strings)

    @property
    def notes(self) -> str:
        """The notes as `parse_tuning` reads them: ``D2-A2-D3-G3-B3-E4``."""
        return "-".join(str(pitch) for pitch in self.strings)

    def __str__(self) -> str:
        return self.name


def _named(name: str, notes: str, *, title: str, kind: str = "guitar") -> Tuning:
    # The fifth string of a banjo starts at a peg beside the fifth fret.
    first_frets = (0, 0, 0, 0, 5) if kind == "banjo" else ()
    strings = tuple(Pitch.parse(note) for note in notes.split())
    return Tuning(name, strings, title=title, kind=kind, first_frets=first_frets)


# Letters: published tables of tunings; octaves, seven-string, baritone, five-string bass, tenor
# and banjo octaves: common practice (tests/reference/test_tunings.py names the sources).
TUNINGS: tuple[Tuning, ...] = (
    _named("standard", "E2 A2 D3 G3 B3 E4", title="Standard"),
    _named("drop-d", "D2 A2 D3 G3 B3 E4", title="Drop D"),
    _named("double-drop-d", "D2 A2 D3 G3 B3 D4", title="Double drop D"),
    _named("dadgad", "D2 A2 D3 G3 A3 D4", title="DADGAD"),
    _named("open-g", "D2 G2 D3 G3 B3 D4", title="Open G"),
    _named("open-d", "D2 A2 D3 F#3 A3 D4", title="Open D"),
    _named("open-e", "E2 B2 E3 G#3 B3 E4", title="Open E"),
    _named("half-step-down", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4", title="Half a step down"),
    _named("whole-step-down", "D2 G2 C3 F3 A3 D4", title="A whole step down"),
    _named("seven-string", "B1 E2 A2 D3 G3 B3 E4", title="Seven-string guitar", kind="seven"),
    _named("baritone", "B1 E2 A2 D3 F#3 B3", title="Baritone guitar", kind="baritone"),
    _named("bass-4", "E1 A1 D2 G2", title="Four-string bass", kind="bass"),
    _named("bass-5", "B0 E1 A1 D2 G2", title="Five-string bass", kind="bass"),
    _named("ukulele", "G4 C4 E4 A4", title="Ukulele (high G)", kind="ukulele"),
    _named("tenor", "C3 G3 D4 A4", title="Tenor guitar", kind="tenor"),
    _named("mandolin", "G3 D4 A4 E5", title="Mandolin", kind="mandolin"),
    _named("banjo-5", "G4 D3 G3 B3 D4", title="Five-string banjo (open G)", kind="banjo"),
)
_BY_NAME = {tuning.name: tuning for tuning in TUNINGS}
STANDARD = _BY_NAME["standard"]


def tuning_names() -> tuple[str, ...]:
    """Return the names that `parse_tuning` knows, in the order of the table."""
    return tuple(_BY_NAME)


def named_tuning(open_strings: tuple[Pitch, ...]) -> Tuning | None:
    """Return the named tuning with these strings (string 1 first), however they are spelled.

    >>> str(named_tuning(tuple(Pitch.parse(n) for n in ("D4", "B3", "G3", "D3", "G2", "D2"))))
    'open-g'
    """
    numbers = tuple(pitch.midi for pitch in open_strings)
    return next((tuning for tuning in TUNINGS if tuning.open_midi == numbers), None)


def parse_tuning(text: str) -> Tuning:
    """Read a tuning: a name, or the notes from the highest-numbered string to string 1.

    Notes that are those of a named tuning give that tuning, so that ``G4-D3-G3-B3-D4`` has the
    short fifth string of a banjo.

    Raises:
        UsageError: Unknown name (close ones are suggested), a note that is none, a string that
            no instrument has.

    >>> parse_tuning("C2-G2-D3-A3-E4-B4").open_midi
    (71, 64, 57, 50, 43, 36)
    >>> parse_tuning("drop d") is parse_tuning("D2-A2-D3-G3-B3-E4")
    True
    """
    name = "-".join(text.lower().replace("_", " ").replace("-", " ").split())
    if name in _BY_NAME:
        return _BY_NAME[name]
    parts = [part.strip() for part in text.split("-")]
    note_like = sum(1 for part in parts if _NOTE_LIKE.match(part))
    if 2 * note_like <= len(parts):
        raise _unknown(text, name)
    strings = tuple(_open_string(part, len(parts) - index) for index, part in enumerate(parts))
    tuning = Tuning("-".join(str(pitch) for pitch in strings), strings)
    return named_tuning(tuning.open_strings) or tuning


def _open_string(text: str, number: int) -> Pitch:
    if _NOTE_LIKE.match(text) and not text[-1].isdigit():
        raise UsageError(
            f"string {number} is tuned to {text!r}, which has no octave",
            way_out="write the sounding octave too, as in E2-A2-D3-G3-B3-E4",
        )
    try:
        return Pitch.parse(text)
    except UsageError as error:
        raise error.at(f"tuning, string {number}") from None


def _unknown(text: str, name: str) -> UsageError:
    begun = [known for known in _BY_NAME if name and known.startswith(f"{name}-")]
    close = begun or difflib.get_close_matches(name, _BY_NAME, n=2, cutoff=0.5)
    if close:
        way_out = f"did you mean {' or '.join(close)}?"
    else:
        way_out = "see `neckwise list tunings`, or give the notes, as in E2-A2-D3-G3-B3-E4"
    return UsageError(f"no tuning is called {text!r}", way_out=way_out)
