"""The fretted instrument that a part is for: plain data, checked when a place is asked for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from variants.music import Pitch

STANDARD_SCALE_MM = 650.0


@dataclass(frozen=True, slots=True)
class Place:
    """A place on the neck: string 1 is the one printed highest in tab; fret 0 is open.

    Frets count from the capo.
    """

    string: int
    fret: int

    def __str__(self) -> str:
        return f"string {self.string} fret {self.fret}"


@dataclass(frozen=True, slots=True)
class Instrument:
    """A fretted instrument as it is strung and capoed.

    Args:
        open_strings: Sounding pitch of each open string without capo, string 1 first. Never
            sorted: a re-entrant instrument has its high string where it hangs.
        capo: Fret at which the capo sits; 0 for none.
        frets: Number of frets on the neck, counted from the nut.
        scale_length_mm: Length of the sounding string between nut and saddle.
        tuning: Name of the tuning, empty when it has none.
        first_frets: Fret at which each string starts (5 for the fifth string of a banjo);
            empty when all start at the nut.
        assumed: True when the source did not say and the standard guitar was supposed.
    """

    open_strings: tuple[Pitch, ...]
    capo: int = 0
    frets: int = 22
    scale_length_mm: float = STANDARD_SCALE_MM
    tuning: str = ""
    first_frets: tuple[int, ...] = ()
    assumed: bool = False

    @property
    def strings(self) -> int:
        """Number of strings."""
        return len(self.open_strings)

    @property
    def open_midi(self) -> tuple[int, ...]:
        """MIDI number of each open string behind the capo, string 1 first."""
        return _open_midi(self)

    @property
    def top_fret(self) -> int:
        """Highest fret that can be stopped, counted from the capo."""
        return self.frets - self.capo

    def sounding(self, place: Place) -> int | None:
        """Return the MIDI number at a place, or ``None`` where there is no such place."""
        if not 1 <= place.string <= self.strings:
            return None
        if not 0 <= place.fret <= self._last_fret(place.string):
            return None
        return self.open_midi[place.string - 1] + place.fret

    def places(self, midi: int) -> tuple[Place, ...]:
        """Return every place that sounds a MIDI number, string 1 first."""
        return tuple(
            Place(number, midi - low)
            for number, low in enumerate(self.open_midi, 1)
            if 0 <= midi - low <= self._last_fret(number)
        )

    @property
    def lowest(self) -> int:
        """MIDI number of the lowest note."""
        return min(self.open_midi)

    @property
    def highest(self) -> int:
        """MIDI number of the highest note."""
        return max(low + self._last_fret(number) for number, low in enumerate(self.open_midi, 1))

    def _last_fret(self, string: int) -> int:
        start = self.first_frets[string - 1] if self.first_frets else 0
        return self.frets - self.capo - start


@lru_cache(maxsize=256)
def _open_midi(instrument: Instrument) -> tuple[int, ...]:
    # A short fifth string has a capo of its own (or a spike), so the capo raises it as well.
    return tuple(string.midi + instrument.capo for string in instrument.open_strings)


# What a plain six-line tab stands for unless it says otherwise (common practice).
STANDARD_GUITAR = Instrument(
    tuple(Pitch.parse(name) for name in ("E4", "B3", "G3", "D3", "A2", "E2")),
    tuning="standard",
    assumed=True,
)
