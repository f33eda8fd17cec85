"""The folk songs of the Essen collection as music21 ships them: one phrase a line of the ABC.

The collection's encoders wrote each phrase on a line of its own (the EsAC code: "each line is a
phrase", www.esac-data.org), and the ABC files keep the lines. Nothing of the collection is part of
this project: the files are read where music21 has them, with its licence note beside them (for
non-commercial use). The reader knows only what these files use.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from variants.tune import gaps
from variants.tune.gaps import HeardMetre, SungNote

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_FIFTHS = {
    "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5, "F#": 6, "F": -1, "Bb": -2, "Eb": -3,
    "Ab": -4, "Db": -5, "Dm": -1, "Gm": -2, "Em": 1, "Cm": -3,
}  # fmt: skip
_TOKEN = re.compile(r"([_^=]*)([A-Ga-gz])([,']*)(\d*)|(-)|(\|)|(\n)|(\S)")
TICKS = 48
_FEWEST_NOTES, _FEWEST_PHRASES = 12, 3


@dataclass(frozen=True, slots=True)
class Song:
    """One song.

    Args:
        name: File and number.
        line: Its notes, 48 ticks a quarter.
        grid: Its metre.
        ends: For each note whether a phrase ends with it.
    """

    name: str
    line: tuple[SungNote, ...]
    grid: HeardMetre
    ends: tuple[bool, ...]


def songs() -> Iterator[Song]:
    """Yield the songs with at least twelve notes, three phrases and a metre."""
    import music21

    folder = Path(music21.__file__).parent / "corpus" / "essenFolksong"
    for path in sorted(folder.glob("*.abc")):
        text = path.read_text(encoding="latin-1").replace("\r", "")
        if path.name.startswith("test"):
            continue
        for block in re.split(r"(?=^X:)", text, flags=re.MULTILINE):
            song = _song(path.name, block)
            if song is not None:
                yield song


def _song(file: str, block: str) -> Song | None:
    number, metre, key, unit = (
        re.search(rf"^{letter}:\s*(\S+)", block, re.MULTILINE) for letter in "XMKL"
    )
    if number is None or metre is None or key is None or unit is None:
        return None
    signature = re.fullmatch(r"(\d+)/(\d+)", metre.group(1))
    if signature is None or key.group(1) not in _FIFTHS:
        return None
    read = _notes(
        block[key.end() :],
        int(Fraction(unit.group(1)) * 4 * TICKS),
        _signature(_FIFTHS[key.group(1)]),
    )
    if read is None:
        return None
    line, ends, bars = read
    if len(line) < _FEWEST_NOTES or sum(ends) < _FEWEST_PHRASES:
        return None
    above, below = int(signature.group(1)), int(signature.group(2))
    measure = above * 4 * TICKS // below
    is_compound = above > 3 and above % 3 == 0 and below >= 8
    beat = 4 * TICKS // below * (3 if is_compound else 1)
    downbeat = bars[0] if bars and bars[0] < measure else 0
    name = f"{file}#{number.group(1)}"
    return Song(
        name, tuple(line), HeardMetre(measure=measure, downbeat=downbeat, beat=beat), tuple(ends)
    )


def _signature(fifths: int) -> dict[str, int]:
    if fifths >= 0:
        return dict.fromkeys("FCGDAEB"[:fifths], 1)
    return dict.fromkeys("BEADGCF"[:-fifths], -1)


def _notes(
    body: str, unit: int, signature: dict[str, int]
) -> tuple[list[SungNote], list[bool], list[int]] | None:
    """Return notes, phrase ends and barlines; `None` where the file uses something else."""
    line: list[SungNote] = []
    ends: list[bool] = []
    bars: list[int] = []
    signs: dict[tuple[str, int], int] = {}
    now, is_tied = 0, False
    for sign, letter, octaves, length, tie, bar, newline, other in _TOKEN.findall(body):
        if letter:
            ticks = unit * int(length or 1)
            name, octave = letter.upper(), octaves.count("'") - octaves.count(",")
            octave += 5 if letter.islower() else 4
            if sign:
                signs[name, octave] = sign.count("^") - sign.count("_")
            if letter != "z":
                shift = signs.get((name, octave), signature.get(name, 0))
                pitch = 12 * (octave + 1) + _STEPS[name] + shift
                if is_tied and line and line[-1].semitones == pitch:
                    line[-1] = SungNote(line[-1].onset, now + ticks, pitch)
                else:
                    line.append(SungNote(now, now + ticks, pitch))
                    ends.append(False)
            now, is_tied = now + ticks, False
        elif tie:
            is_tied = True
        elif bar:
            bars.append(now)
            signs = {}
        elif newline and ends:
            ends[-1] = True
        elif other:
            return None
    if ends:
        ends[-1] = True
    return line, ends, bars


def agreement(
    measured: Sequence[Song], rule: Callable[[Song], Sequence[bool]]
) -> tuple[float, float, float]:
    """Return precision, recall and their harmonic mean (F1) over all songs together."""
    hits = said = true = 0
    for song in measured:
        found = rule(song)
        hits += sum(a and b for a, b in zip(found, song.ends, strict=False))
        said += sum(found)
        true += sum(song.ends[:-1])
    precision, recall = hits / max(1, said), hits / max(1, true)
    return precision, recall, 2 * precision * recall / max(1e-9, precision + recall)


def plain(song: Song) -> list[bool]:
    """Return the ends by rests and long notes alone."""
    features = gaps.gap_features(song.line, song.grid)
    return [
        bool(row["a rest follows"])
        or (row["longer than the note before"] > 0 and row["longer than the note after"] > 0)
        for row in features
    ]


def ours(song: Song) -> list[bool]:
    """Return the ends that the program hears."""
    return [odds > gaps.THRESHOLD for odds in gaps.end_odds(song.line, song.grid)]
