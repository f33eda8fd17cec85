"""From a tuning to an instrument, and the check that a place sounds what it should."""

from __future__ import annotations

from dataclasses import dataclass

from variants.errors import NeckwiseError, UsageError
from variants.guitar.neck import STRING_SPACINGS, Neck, StringSpacing
from variants.guitar.tuning import Tuning, named_tuning
from variants.score.instrument import Instrument, Place

# The smallest ukuleles have about 280 mm, the longest basses about 900 (common practice, memory).
SHORTEST_SCALE_MM = 250.0
LONGEST_SCALE_MM = 1000.0
MOST_FRETS = 36


@dataclass(frozen=True, slots=True)
class BodyBuild:
    """How an instrument of a kind is usually built.

    Args:
        frets: Number of frets.
        scale_length_mm: Length of the open string.
        spacing: Where the outer strings run.
    """

    frets: int
    scale_length_mm: float
    spacing: StringSpacing


# Common practice, from memory: the usual size of each kind (34 inches for a bass, 27 for a
# baritone, 15 for a concert ukulele, 23 for a tenor guitar, 13 7/8 for a mandolin, 26 1/4 for a
# banjo). The guitar has the classical scale and the 22 frets of most electric ones, so that
# nothing playable is refused; a classical guitar has 19.
BUILDS: dict[str, BodyBuild] = {
    "guitar": BodyBuild(22, 650.0, STRING_SPACINGS["classical"]),
    "seven": BodyBuild(24, 647.7, STRING_SPACINGS["seven"]),
    "baritone": BodyBuild(22, 685.8, STRING_SPACINGS["baritone"]),
    "bass": BodyBuild(20, 863.6, STRING_SPACINGS["bass"]),
    "ukulele": BodyBuild(15, 381.0, STRING_SPACINGS["ukulele"]),
    "tenor": BodyBuild(19, 584.2, STRING_SPACINGS["tenor"]),
    "mandolin": BodyBuild(20, 352.4, STRING_SPACINGS["mandolin"]),
    "banjo": BodyBuild(22, 666.75, STRING_SPACINGS["banjo"]),
}


def instrument_for(
    tuning: Tuning, *, capo: int = 0, frets: int | None = None, scale_length_mm: float | None = None
) -> Instrument:
    """Return an instrument in a tuning.

    Args:
        tuning: What the open strings sound without capo.
        capo: Fret of the capo; 0 for none.
        frets: Number of frets; that of the kind unless given.
        scale_length_mm: Length of the open string; that of the kind unless given.

    Raises:
        UsageError: A capo, a number of frets or a length that no such instrument has.

    >>> from variants.guitar.tuning import parse_tuning
    >>> instrument_for(parse_tuning("drop-d"), capo=2).open_midi
    (66, 61, 57, 52, 47, 40)
    """
    build = BUILDS[tuning.kind]
    fret_count = build.frets if frets is None else frets
    length_mm = build.scale_length_mm if scale_length_mm is None else scale_length_mm
    if not 1 <= fret_count <= MOST_FRETS:
        raise UsageError(f"a neck of {fret_count} frets", way_out=f"give 1 to {MOST_FRETS}")
    room = fret_count - max(tuning.first_frets, default=0)
    if not 0 <= capo < room:
        raise UsageError(
            f"no capo fits at fret {capo} of a neck with {fret_count} frets",
            way_out=f"give 0 to {room - 1}" if room > 0 else "give more frets",
        )
    if not SHORTEST_SCALE_MM <= length_mm <= LONGEST_SCALE_MM:
        raise UsageError(
            f"a scale length of {length_mm:g} mm",
            way_out=f"give {SHORTEST_SCALE_MM:g} to {LONGEST_SCALE_MM:g} mm",
        )
    return Instrument(
        open_strings=tuning.open_strings,
        capo=capo,
        frets=fret_count,
        scale_length_mm=length_mm,
        tuning=tuning.name,
        first_frets=tuning.first_frets,
    )


def neck_of(instrument: Instrument) -> Neck:
    """Return the neck of an instrument, with the string spacing of its kind.

    >>> from variants.guitar.tuning import parse_tuning
    >>> neck_of(instrument_for(parse_tuning("ukulele"))).strings
    4
    """
    tuning = named_tuning(instrument.open_strings)
    build = BUILDS[tuning.kind if tuning else "guitar"]
    return Neck(
        strings=instrument.strings,
        frets=instrument.frets,
        scale_length_mm=instrument.scale_length_mm,
        spacing=build.spacing,
    )


def neck_fret(instrument: Instrument, place: Place) -> int:
    """Return the fret counted from the nut at which a place is stopped.

    Tab counts from the capo, and on a short string from where it starts; a capo shortens the
    short string as much as the others (players move its peg, or hook it under a spike).

    >>> from variants.guitar.tuning import parse_tuning
    >>> neck_fret(instrument_for(parse_tuning("banjo-5")), Place(5, 2))
    7
    """
    first = instrument.first_frets[place.string - 1] if instrument.first_frets else 0
    return instrument.capo + first + place.fret


def check_place(instrument: Instrument, place: Place, *, midi: int, where: str = "") -> None:
    """Check that tuning, capo and fret make the pitch.

    Args:
        instrument: The instrument that is played.
        place: String and fret.
        midi: The MIDI number that should sound.
        where: The place in the score, for the error.

    Raises:
        NeckwiseError: The instrument has no such place, or it sounds another note.
    """
    sounds = instrument.sounding(place)
    if sounds is None:
        raise NeckwiseError(
            f"the instrument has no {place}",
            place=where,
            way_out=f"it has {instrument.strings} strings and {instrument.top_fret} frets to stop",
        )
    if sounds != midi:
        raise NeckwiseError(
            f"{place} sounds MIDI {sounds}, not {midi}",
            place=where,
            way_out="correct the fret, the tuning or the capo",
        )
