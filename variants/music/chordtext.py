"""Chords as letters: what a chord symbol is called on paper, and in a line of text.

One table for all that is printed, so that no page names a chord in two ways.
"""

from __future__ import annotations

from collections.abc import Sequence

from variants.music.chordkinds import Degree

# Common practice of lead sheets and songbooks: letters rather than signs, so "dim" and not the
# small circle. A kind that is missing here is written out as MusicXML names it.
_KINDS = {
    "major": "",
    "minor": "m",
    "augmented": "+",
    "diminished": "dim",
    "dominant": "7",
    "major-seventh": "maj7",
    "minor-seventh": "m7",
    "diminished-seventh": "dim7",
    "augmented-seventh": "+7",
    "half-diminished": "m7♭5",
    "major-minor": "m(maj7)",
    "major-sixth": "6",
    "minor-sixth": "m6",
    "dominant-ninth": "9",
    "major-ninth": "maj9",
    "minor-ninth": "m9",
    "dominant-11th": "11",
    "major-11th": "maj11",
    "minor-11th": "m11",
    "dominant-13th": "13",
    "major-13th": "maj13",
    "minor-13th": "m13",
    "suspended-second": "sus2",
    "suspended-fourth": "sus4",
    "power": "5",
    "pedal": " (pedal)",
    "none": "N.C.",
}
_NO_CHORD = "none"
_WORDS = {"add": "add", "subtract": "no"}
_FLAT, _SHARP = "♭", "♯"


def kind_text(kind: str) -> str:
    """Return the letters of a MusicXML kind.

    >>> kind_text("minor-seventh"), kind_text("major"), kind_text("Neapolitan")
    ('m7', '', ' Neapolitan')
    """
    return _KINDS.get(kind, f" {kind}")


def chord_text(
    root: tuple[str, int] | None,
    kind: str,
    *,
    degrees: Sequence[Degree] = (),
    bass: tuple[str, int] | None = None,
    text: str = "",
) -> str:
    """Return the name of a chord.

    Args:
        root: Letter and alteration; ``None`` where no chord sounds.
        kind: MusicXML kind.
        degrees: Added, altered and left-out degrees.
        bass: Letter and alteration of a bass that is not the root.
        text: What the source prints for the kind, if it says so.

    >>> chord_text(("F", 1), "minor-seventh", bass=("E", 0))
    'F♯m7/E'
    >>> chord_text(("D", 0), "dominant", degrees=[(5, -1, "alter"), (3, 0, "subtract")])
    'D7(♭5)(no3)'
    """
    if root is None:
        return text or kind_text(_NO_CHORD)
    added = "".join(f"({_WORDS.get(what, '')}{_sign(alter)}{n})" for n, alter, what in degrees)
    under = f"/{_letter(bass)}" if bass else ""
    return f"{_letter(root)}{text or kind_text(kind)}{added}{under}"


def plain_text(name: str) -> str:
    """Return a name in the letters of a keyboard, for change logs and messages.

    >>> plain_text("F♯m7♭5")
    'F#m7b5'
    """
    return name.replace(_SHARP, "#").replace(_FLAT, "b")


def _letter(name: tuple[str, int]) -> str:
    return name[0] + _sign(name[1])


def _sign(alter: int) -> str:
    return (_SHARP if alter > 0 else _FLAT) * abs(alter)
