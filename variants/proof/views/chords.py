"""Chord symbols as sets of pitch classes."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from variants.music.pitch import LETTERS, NATURALS
from variants.proof.scan_note import whole

# Semitones above the root of each MusicXML kind (common practice, from the names).
KINDS: dict[str, tuple[int, ...]] = {
    "major": (0, 4, 7),
    "minor": (0, 3, 7),
    "augmented": (0, 4, 8),
    "diminished": (0, 3, 6),
    "dominant": (0, 4, 7, 10),
    "major-seventh": (0, 4, 7, 11),
    "minor-seventh": (0, 3, 7, 10),
    "diminished-seventh": (0, 3, 6, 9),
    "augmented-seventh": (0, 4, 8, 10),
    "half-diminished": (0, 3, 6, 10),
    "major-minor": (0, 3, 7, 11),
    "major-sixth": (0, 4, 7, 9),
    "minor-sixth": (0, 3, 7, 9),
    "dominant-ninth": (0, 4, 7, 10, 2),
    "major-ninth": (0, 4, 7, 11, 2),
    "minor-ninth": (0, 3, 7, 10, 2),
    "dominant-11th": (0, 4, 7, 10, 2, 5),
    "major-11th": (0, 4, 7, 11, 2, 5),
    "minor-11th": (0, 3, 7, 10, 2, 5),
    "dominant-13th": (0, 4, 7, 10, 2, 5, 9),
    "major-13th": (0, 4, 7, 11, 2, 5, 9),
    "minor-13th": (0, 3, 7, 10, 2, 5, 9),
    "suspended-second": (0, 2, 7),
    "suspended-fourth": (0, 5, 7),
    "power": (0, 7),
}
_DEGREES = (0, 2, 4, 5, 7, 9, 11)


def chord_classes(harmony: etree._Element, *, transposed: int | Fraction = 0) -> set[int]:
    """Return the sounding pitch classes of a chord symbol; empty for one that is not known.

    Args:
        harmony: The ``harmony`` element.
        transposed: Semitones from written to sounding.
    """
    root = _class(harmony, "root")
    kind = KINDS.get((harmony.findtext("kind") or "").strip())
    if root is None or kind is None or len(harmony.findall("root")) != 1:
        return set()
    steps = set(kind)
    for degree in harmony.findall("degree"):
        _change(steps, degree)
    classes = {root + step for step in steps}
    bass = _class(harmony, "bass")
    if bass is not None:
        classes.add(bass)
    return {int(one + transposed) % 12 for one in classes}


def _class(harmony: etree._Element, name: str) -> int | None:
    element = harmony.find(name)
    if element is None:
        return None
    letter = (element.findtext(f"{name}-step") or "").strip().upper()
    alter = whole(element.findtext(f"{name}-alter") or "0")
    if len(letter) != 1 or letter not in LETTERS or alter is None:
        return None
    return NATURALS[LETTERS.index(letter)] + alter


def _change(steps: set[int], degree: etree._Element) -> None:
    value = whole(degree.findtext("degree-value"))
    alter = whole(degree.findtext("degree-alter") or "0")
    kind = (degree.findtext("degree-type") or "").strip()
    if value is None or alter is None or value < 1:
        return
    natural = _DEGREES[(value - 1) % 7] - (1 if value == 7 and kind != "alter" else 0)
    step = (natural + alter) % 12
    if kind == "add":
        steps.add(step)
        if value == 7:
            steps.add((step + 1) % 12)
    elif kind == "subtract":
        steps -= {natural % 12, step, (natural - 1) % 12}
    elif kind == "alter":
        steps -= {natural % 12, (natural - 1) % 12 if value in {3, 7, 10} else natural % 12}
        steps.add(step)


def text_of(harmony: etree._Element) -> str:
    """Return a chord symbol as people write it: ``F# minor``, ``C/G``."""
    signs = {0: "", 1: "#", -1: "b", 2: "##", -2: "bb"}

    def name(what: str) -> str:
        alter = whole(harmony.findtext(f"{what}/{what}-alter") or "0") or 0
        return (harmony.findtext(f"{what}/{what}-step") or "").strip() + signs.get(alter, "")

    kind = (harmony.findtext("kind") or "").strip()
    bass = name("bass")
    return f"{name('root')} {kind}".strip() + (f" over {bass}" if bass else "")
