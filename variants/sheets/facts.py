"""What stands at the head of a sheet: key, tempo, tuning, capo, who made it, whose it is."""

from __future__ import annotations

from fractions import Fraction

from variants.guitar import named_tuning
from variants.guitar.tuning import STANDARD
from variants.score import Direction, Instrument, Part, Score, key_at_start

_UNITS = {
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
}
_WHO = {"composer": "Music", "lyricist": "Words", "poet": "Words", "arranger": "Arrangement"}
_SIGNS = {"#": "♯", "b": "♭"}


def facts(score: Score, *, level: str = "") -> list[tuple[str, str]]:
    """Return (label, text) of what a player needs to know before the first note.

    Args:
        score: The score.
        level: Name of the level that the version was made for; empty for none.
    """
    part = main_part(score)
    found = []
    key = key_at_start(part)
    if key is not None:
        # Without a mode a signature names two keys: say only what is printed.
        found.append(("Key", signed(str(key)) if key.mode else _signature(key.fifths)))
    metre = next(
        (str(c.metre) for m in part.measures for c in m.attributes if c.metre is not None), ""
    )
    if metre:
        found.append(("Time", metre))
    tempo = tempo_text(part)
    if tempo:
        found.append(("Tempo", tempo))
    if part.instrument is not None:
        found.append(("Tuning", tuning_text(part.instrument)))
        if part.instrument.capo:
            found.append(("Capo", f"fret {part.instrument.capo}"))
    if level:
        found.append(("Level", level))
    return found


def about(score: Score) -> str:
    """Return a score in words, for those who do not see it.

    >>> from variants.score import Measure
    >>> about(Score(ticks=1, parts=(Part("P1", "", (Measure("1", 4),)),)))
    '1 measure.'
    """
    count = len(score.parts[0].measures)
    players = "" if len(score.parts) == 1 else f", {len(score.parts)} parts"
    told = "".join(f" {label}: {text}." for label, text in facts(score))
    return f"{count} {'measure' if count == 1 else 'measures'}{players}.{told}"


def main_part(score: Score) -> Part:
    """Return the part that a sheet is about: the first one for a fretted instrument."""
    return next((part for part in score.parts if part.instrument is not None), score.parts[0])


def _signature(fifths: int) -> str:
    if fifths == 0:
        return "no sharps or flats"
    many = abs(fifths)
    return f"{many} {'sharp' if fifths > 0 else 'flat'}{'s' if many > 1 else ''}"


def signed(text: str) -> str:
    """Return the name of a note or key with real accidentals.

    >>> signed("Bb major"), signed("F# minor")
    ('B♭ major', 'F♯ minor')
    """
    return text[:1] + "".join(_SIGNS.get(c, c) for c in text[1:3]) + text[3:]


def tempo_text(part: Part) -> str:
    """Return the first tempo in words: ``quarter = 66``; empty if none is given."""
    for measure in part.measures:
        for direction in measure.directions:
            if direction.quarters_per_minute:
                return _tempo(direction)
    return ""


def _tempo(direction: Direction) -> str:
    per_quarter = direction.quarters_per_minute or Fraction(120)
    unit, dotted = "quarter", False
    if "<beat-unit>" in direction.xml:
        unit = direction.xml.split("<beat-unit>")[1].split("<")[0]
        dotted = "<beat-unit-dot" in direction.xml
    length = _UNITS.get(unit, Fraction(1)) * (Fraction(3, 2) if dotted else 1)
    number = f"{float(per_quarter / length):.4g}"
    return f"{'dotted ' if dotted else ''}{unit} = {number}"


def tuning_text(instrument: Instrument) -> str:
    """Return name and strings, lowest-numbered string last as they are tuned: E A D G B E."""
    names = " ".join(
        signed(f"{string.letter}{ {1: '#', -1: 'b'}.get(int(string.alter), '') }")
        for string in reversed(instrument.open_strings)
    )
    known = named_tuning(instrument.open_strings)
    if known is STANDARD:
        return f"standard ({names})"
    if known is not None:
        return f"{known.title or known.name} ({names})"
    strings = "" if instrument.strings == 6 else f", {instrument.strings} strings"
    return f"{names}{strings}"


def creators(score: Score) -> list[str]:
    """Return one line for each creator."""
    return [f"{_WHO.get(kind, kind.capitalize() or 'By')}: {name}" for kind, name in score.creators]


def rights(score: Score) -> str:
    """Return the rights line; empty when the file names none."""
    return " · ".join(" ".join(text.split()) for _, text in score.rights if text.strip())
