"""Names of chords as letters: what the chord symbols and the grips are called on paper."""

from __future__ import annotations

from variants.score import Harmony

# Common practice of lead sheets; a kind that is missing here is written out in words.
KINDS = {
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
    "none": "N.C.",
}
_SIGNS = {-2: "♭♭", -1: "♭", 0: "", 1: "♯", 2: "♯♯"}


def kind_text(kind: str) -> str:
    """Return the letters of a MusicXML kind.

    >>> kind_text("minor-seventh"), kind_text("major"), kind_text("Neapolitan")
    ('m7', '', ' Neapolitan')
    """
    return KINDS.get(kind, f" {kind}")


def chord_name(harmony: Harmony) -> str:
    """Return the name of a chord symbol, without its added degrees.

    >>> chord_name(Harmony(0, ("F", 1), "minor", bass=("C", 1)))
    'F♯m/C♯'
    """
    if harmony.root is None or harmony.kind == "none":
        return harmony.text or kind_text("none")
    name = _letter(harmony.root) + (harmony.text or kind_text(harmony.kind))
    return f"{name}/{_letter(harmony.bass)}" if harmony.bass else name


def _letter(note: tuple[str, int]) -> str:
    return note[0] + _SIGNS.get(note[1], "")
