"""Which notations are read through music21, and by what they are known."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import PurePath


@dataclass(frozen=True, slots=True)
class NotationFormat:
    """One notation.

    Args:
        name: What people call it.
        endings: Endings of its files.
        key: What music21 calls it.
        is_sounding: Whether its pitches are those that sound, whatever clef is drawn for them.
        guesses: What a score needs and the notation does not hold, and how it was supplied.
    """

    name: str
    endings: tuple[str, ...]
    key: str
    is_sounding: bool
    guesses: tuple[str, ...]


ABC = NotationFormat(
    "ABC",
    (".abc",),
    "abc",
    False,  # noqa: FBT003 - fields in a row, as in the rows below
    ("clefs, stems and beams are not in ABC; they were drawn as usual",),
)
KERN = NotationFormat(
    "Humdrum kern",
    (".krn", ".kern"),
    "humdrum",
    False,  # noqa: FBT003
    ("stems and beams are drawn as usual; spines that are not kern were left out",),
)
MIDI = NotationFormat(
    "MIDI",
    (".mid", ".midi"),
    "midi",
    True,  # noqa: FBT003
    (
        "MIDI holds no note values: times were put on the nearest 16th or triplet of eighths",
        "MIDI holds no names of notes: they were taken from the key",
        "MIDI holds no voices, slurs, ties or signs: there are only those that the times need",
    ),
)
MEI = NotationFormat(
    "MEI",
    (".mei",),
    "mei",
    False,  # noqa: FBT003
    ("what music21 does not read of MEI (layout, variants, editorial signs) was left out",),
)
FORMATS = (ABC, KERN, MIDI, MEI)


def format_of(name: str) -> NotationFormat | None:
    """Return the notation that the ending of a file name stands for; ``None`` for MusicXML.

    >>> format_of("tunes.abc").name, format_of("song.musicxml")
    ('ABC', None)
    """
    ending = PurePath(name).suffix.lower()
    return next((one for one in FORMATS if ending in one.endings), None)


def sniffed(data: bytes) -> NotationFormat | None:
    r"""Return the notation that bytes without a name look like; ``None`` for MusicXML.

    >>> sniffed(b"MThd\0\0\0\6").name, sniffed(b"<?xml version='1.0'?><score-partwise/>")
    ('MIDI', None)
    """
    head = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    if head.startswith(b"MThd"):
        return MIDI
    if head.startswith(b"X:"):
        return ABC
    if head.startswith((b"**kern", b"!!!")) or b"\n**kern" in head:
        return KERN
    return MEI if b"<mei" in head else None
