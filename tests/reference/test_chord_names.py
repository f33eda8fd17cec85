"""Names of chords against music21, version 10, as a second opinion.

Source: the open-source library music21 (``chord.Chord.root``, ``Chord.bass`` and
``harmony.chordSymbolFigureFromChord``), whose naming was written independently of ours. Its kinds
are mapped to those of MusicXML by name.
"""

from __future__ import annotations

from itertools import product

import pytest

from variants.music import Interval, Pitch
from variants.music.chordkinds import chord_name, chord_tones, kinds

ROOTS = [f"{letter}{sign}3" for letter in "CDEFGAB" for sign in ("", "#", "b")]
# What music21 calls the kinds that it calls otherwise.
KINDS = {
    "dominant": "dominant-seventh",
    "half-diminished": "half-diminished-seventh",
    "major-minor": "minor-major-seventh",
}
# Chords of thirds, and power chords; a sixth chord has the notes of a seventh chord.
NAMED = [
    kind
    for kind in kinds()
    if kind not in {"major-sixth", "minor-sixth"} and "1" not in kind and "suspended" not in kind
]
# Chords of equal steps have no one root: inverted, each of their notes could be it.
EQUAL_STEPS = {"augmented", "diminished-seventh"}
CHORDS = [
    (root, kind, inversion)
    for root, kind in product(ROOTS, NAMED)
    for inversion in range(1 if kind in EQUAL_STEPS else min(4, len(chord_tones(kind) or ())))
]


def sounding(root: str, kind: str, inversion: int) -> list[Pitch]:
    """Return the notes of a chord, the lowest ones moved up an octave for each inversion."""
    notes = [Pitch.parse(root) + tone for tone in chord_tones(kind) or ()]
    lifted = [note + Interval.parse("P15") for note in notes[:inversion]]
    return [*notes[inversion:], *lifted]


def test_there_are_enough_of_them() -> None:
    """More than two hundred chords are compared."""
    assert len(CHORDS) > 200


@pytest.mark.parametrize("kind", NAMED)
def test_root_bass_and_kind(kind: str) -> None:
    """Root, lowest note and kind are those that music21 tells from the same notes."""
    from music21 import chord, harmony

    for root, _, inversion in (one for one in CHORDS if one[1] == kind):
        notes = sounding(root, kind, inversion)
        theirs = chord.Chord([str(note).replace("b", "-") for note in notes])
        ours = chord_name(notes)
        assert ours is not None
        where = f"{kind} on {root}, inversion {inversion}"
        assert ours.root == (theirs.root().step, int(theirs.root().alter)), where
        _, named = harmony.chordSymbolFigureFromChord(theirs, includeChordType=True)
        assert KINDS.get(ours.kind, ours.kind) == named, where
        lowest = (theirs.bass().step, int(theirs.bass().alter))
        assert (ours.bass or ours.root) == lowest, where


@pytest.mark.parametrize("root", ROOTS)
def test_suspended_chords(root: str) -> None:
    """Root and kind of suspended chords in root position are those of music21."""
    from music21 import chord, harmony

    for kind in ("suspended-second", "suspended-fourth"):
        notes = sounding(root, kind, 0)
        theirs = chord.Chord([str(note).replace("b", "-") for note in notes])
        ours = chord_name(notes)
        assert ours is not None
        _, named = harmony.chordSymbolFigureFromChord(theirs, includeChordType=True)
        assert (ours.root, ours.kind) == ((theirs.root().step, int(theirs.root().alter)), named)


@pytest.mark.parametrize("kind", NAMED)
def test_notes_of_the_kinds(kind: str) -> None:
    """The notes of a kind are those of music21's table of chord symbols, octaves aside."""
    from music21 import harmony

    degrees = harmony.CHORD_TYPES[KINDS.get(kind, kind)][0].split(",")
    ours = [tone.name for tone in chord_tones(kind) or ()]
    assert len(ours) == len(degrees)
    for tone, degree in zip(ours, degrees, strict=True):
        assert int(tone.lstrip("PMmAd")) == int(degree.lstrip("-#"))
        plain = Interval.parse(tone).semitones
        assert plain == _semitones(degree)


def _semitones(degree: str) -> int:
    number = int(degree.lstrip("-#"))
    octaves, step = divmod(number - 1, 7)
    size = 12 * octaves + (0, 2, 4, 5, 7, 9, 11)[step]
    return size - degree.count("-") + degree.count("#")


def test_chords_of_real_music() -> None:
    """In three chorales of Bach (music21's corpus) both name more than 200 chords, all alike."""
    from music21 import chord, corpus, harmony

    compared = 0
    for name in ("bwv66.6", "bwv269", "bwv7.7"):
        parsed = corpus.parse(f"bach/{name}").chordify()
        for theirs in parsed.recurse().getElementsByClass(chord.Chord):
            pitches = [Pitch.parse(p.nameWithOctave.replace("-", "b")) for p in theirs.pitches]
            ours = chord_name(pitches)
            figure, named = harmony.chordSymbolFigureFromChord(theirs, includeChordType=True)
            # A figure with notes added or left out is a guess of theirs.
            is_guess = any(word in figure for word in ("Cannot", "add", "omit"))
            if ours is None or len(set(theirs.pitchClasses)) < 3 or is_guess:
                continue
            compared += 1
            where = f"{name}, measure {theirs.measureNumber}: {figure}"
            assert ours.root == (theirs.root().step, int(theirs.root().alter)), where
            assert KINDS.get(ours.kind, ours.kind) == named, where
    assert compared > 200
