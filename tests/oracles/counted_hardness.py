"""How much of each thing that is hard stands in a MusicXML file, counted from the file alone.

No code of the package is used. Ledger lines are those of the treble staff (E4 to F5 on the lines);
a clef with an octave sign shows its notes an octave higher than they sound, an F clef twelve steps.
Beats are not counted here: `tests.oracles.counted_time` does that.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

_LETTERS = "CDEFGAB"
_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
# The order in which sharps come; flats come the other way round.
_SHARPS = "FCGDAEB"


@dataclass(frozen=True)
class Head:
    """A note that is struck: name, height, place and finger; 0 or empty where there is none."""

    name: tuple[str, int, int]
    shown: int
    string: int
    fret: int
    finger: str
    in_key: bool

    @property
    def height(self) -> int:
        """Semitones above C0."""
        letter, alter, octave = self.name
        return 12 * octave + _SEMITONES[_LETTERS.index(letter)] + alter


@dataclass
class Counts:
    """What stands in a part.

    Args:
        struck: The heads that begin together, by measure, onset in quarters, and 0 for a grace.
        lengths: The length of each measure, in quarters.
        signs: The most signs of a key signature.
        ties: At how many chords or notes a tie ends.
        tuplets: How many chords or notes have tuplet values.
        values: Type and dots of the notes that have a length.
        tempo: Quarters in a minute, the last that is stated.
    """

    struck: dict[tuple[int, Fraction, int], list[Head]] = field(default_factory=dict)
    lengths: list[Fraction] = field(default_factory=list)
    signs: int = 0
    ties: int = 0
    tuplets: int = 0
    values: set[tuple[str, int]] = field(default_factory=set)
    tempo: float = 120.0

    @property
    def heads(self) -> list[Head]:
        """Every head."""
        return [head for heads in self.struck.values() for head in heads]

    def rows(self) -> dict[int, list[tuple[Fraction, tuple[tuple[str, int, int], ...]]]]:
        """Return onsets and names of what is struck in each measure."""
        found = defaultdict(list)
        for (measure, onset, _), heads in sorted(self.struck.items()):
            found[measure].append((onset, tuple(sorted(head.name for head in heads))))
        return found


def counted_hardness(data: bytes) -> Counts:
    """Return what stands on the first staff of the first part."""
    part = ET.fromstring(data).find("part")
    counts = Counts()
    if part is None:
        return counts
    divisions, fifths, shown_higher = Fraction(1), 0, 0
    for measure, element in enumerate(part.findall("measure")):
        now = start = reach = Fraction(0)
        is_tied = False
        for child in element:
            if child.tag == "attributes":
                divisions = Fraction(child.findtext("divisions") or divisions)
                fifths = int(child.findtext("key/fifths") or fifths)
                counts.signs = max(counts.signs, abs(fifths))
                for clef in child.findall("clef"):
                    if clef.get("number", "1") == "1":
                        shown_higher = -7 * int(clef.findtext("clef-octave-change") or 0)
                        shown_higher += 12 * (clef.findtext("sign") == "F")
            for sound in child.iter("sound"):
                counts.tempo = float(sound.get("tempo", counts.tempo))
            length = Fraction(child.findtext("duration") or 0) / divisions
            now += {"backup": -length, "forward": length}.get(child.tag, Fraction(0))
            if child.tag == "note":
                if child.find("chord") is None:
                    start, now, is_tied = now, now + length, False
                if child.findtext("staff", "1") == "1" and child.find("cue") is None:
                    is_tied = _note(counts, child, is_tied=is_tied)
                    if child.find("pitch") is not None and child.find("tie[@type='stop']") is None:
                        key = measure, start, int(child.find("grace") is None)
                        counts.struck.setdefault(key, []).append(_head(child, fifths, shown_higher))
            reach = max(reach, now)
        counts.lengths.append(reach)
    return counts


def _note(counts: Counts, note: ET.Element, *, is_tied: bool) -> bool:
    """Count ties and values; return whether a tie ends at this chord."""
    ends = note.find("tie[@type='stop']") is not None
    counts.ties += ends and not is_tied
    if note.find("chord") is None and note.find("rest") is None and note.find("grace") is None:
        counts.values.add((note.findtext("type", ""), len(note.findall("dot"))))
        counts.tuplets += note.find("time-modification") is not None
    return ends or is_tied


def _head(note: ET.Element, fifths: int, shown_higher: int) -> Head:
    letter = note.findtext("pitch/step", "C")
    alter, octave = int(note.findtext("pitch/alter", "0")), int(note.findtext("pitch/octave", "0"))
    order = _SHARPS if fifths > 0 else _SHARPS[::-1]
    signed = (1 if fifths > 0 else -1) if letter in order[: abs(fifths)] else 0
    technical = "notations/technical/"
    return Head(
        (letter, alter, octave),
        7 * octave + shown_higher + _LETTERS.index(letter),
        int(note.findtext(f"{technical}string", "0")),
        int(note.findtext(f"{technical}fret", "0")),
        note.findtext(f"{technical}fingering", ""),
        alter == signed,
    )


def hardness_counts(counts: Counts) -> Iterator[tuple[str, float]]:
    """Yield name and amount of what can be counted without an opinion."""
    heads, struck = counts.heads, sorted(counts.struck.items())
    heights = [head.height for head in heads]
    lines = [(max(0, h.shown - 38) // 2, max(0, 30 - h.shown) // 2) for h in heads]
    yield "notes", len({head.name for head in heads})
    yield "range", max(heights) - min(heights) if heights else 0
    yield "ledger lines", max((max(one) for one in lines), default=0)
    yield "accidentals", sum(not head.in_key for head in heads)
    yield "key", counts.signs
    yield "ties", counts.ties
    yield "tuplets", counts.tuplets
    yield "barres", sum(_is_barre(heads) for _, heads in struck)
    yield "fingers", len({head.finger for head in heads} & set("1234"))
    strings = [[h.string for h in heads if h.string] for _, heads in struck]
    lowest = [max(row) for row in strings if row]
    yield "crossings", sum(abs(a - b) for a, b in pairwise(lowest))
    rows: dict[int, set[int]] = defaultdict(set)
    for (measure, _, _), heads in struck:
        rows[measure] |= {head.string for head in heads if head.string}
    yield "strings apart", max((max(row) - min(row) for row in rows.values() if row), default=0)
    yield "at once", max((len(heads) - 1 for _, heads in struck), default=0)
    yield "length", len(counts.lengths)
    yield "new measures", len({tuple(row) for row in counts.rows().values()})


def _is_barre(heads: list[Head]) -> bool:
    held = [(h.finger, h.fret) for h in heads if h.fret and h.finger in {"1", "2", "3", "4"}]
    return len(held) > len(set(held))
