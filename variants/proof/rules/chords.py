"""Chord symbols against the notes at their moment, and chord diagrams against their symbol."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lxml import etree

from variants.music import pitch
from variants.music.chordkinds import Degree, chord_tones, tone_classes
from variants.music.pitch import LETTERS
from variants.proof.finding import Severity, at_bar
from variants.proof.page import PageBar, ScannedPage
from variants.proof.registry import Flaws, rule
from variants.proof.scan_note import whole
from variants.score import STANDARD_GUITAR

_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
_SIGNS = {0: "", 1: "#", -1: "b", 2: "##", -2: "bb"}


@dataclass(frozen=True, slots=True)
class PageSymbol:
    """A chord symbol: its measure, its tick there, its ``harmony`` element."""

    bar: PageBar
    onset: int
    element: etree._Element


def symbols(page: ScannedPage) -> Iterator[PageSymbol]:
    """Yield every chord symbol."""
    return (PageSymbol(bar, onset, one) for bar in page.bars() for onset, one in bar.harmonies)


def chord_classes(harmony: etree._Element, *, transposed: int = 0) -> set[int]:
    """Return the sounding pitch classes of a chord symbol; empty for one that is not known.

    Args:
        harmony: The ``harmony`` element.
        transposed: Semitones from written to sounding.
    """
    root, bass = _symbol_note(harmony, "root"), _symbol_note(harmony, "bass")
    degrees = tuple(one for degree in harmony.findall("degree") for one in _written_degrees(degree))
    tones = chord_tones((harmony.findtext("kind") or "").strip(), degrees)
    if root is None or tones is None or len(harmony.findall("root")) != 1:
        return set()
    classes = tone_classes(pitch(root[0], root[1], 4), tones)
    if bass is not None:
        classes |= {pitch(bass[0], bass[1], 4).pitch_class}
    return {int(one + transposed) % 12 for one in classes}


def _symbol_note(harmony: etree._Element, name: str) -> tuple[str, int] | None:
    letter = (harmony.findtext(f"{name}/{name}-step") or "").strip().upper()
    alter = whole(harmony.findtext(f"{name}/{name}-alter") or "0")
    return (letter, alter) if len(letter) == 1 and letter in LETTERS and alter is not None else None


def _written_degrees(degree: etree._Element) -> Iterator[Degree]:
    value = whole(degree.findtext("degree-value"))
    alter = whole(degree.findtext("degree-alter") or "0")
    kind = (degree.findtext("degree-type") or "").strip()
    if value is not None and alter is not None and value > 0:
        yield value, alter, kind


def chord_text(harmony: etree._Element) -> str:
    """Return a chord symbol as people write it: ``F# minor``, ``C major over G``."""

    def name(what: str) -> str:
        alter = whole(harmony.findtext(f"{what}/{what}-alter") or "0") or 0
        return (harmony.findtext(f"{what}/{what}-step") or "").strip() + _SIGNS.get(alter, "")

    kind = (harmony.findtext("kind") or "").strip()
    bass = name("bass")
    return f"{name('root')} {kind}".strip() + (f" over {bass}" if bass else "")


@rule("chord-symbol", Severity.WARNING, symbols)
def chord_symbol(symbol: PageSymbol) -> Flaws:
    """A chord symbol does not fit the chord that is played.

    It shares less than half of the chord that begins with it. A single note may be foreign to its
    chord, so two notes at least must begin together.
    """
    bar, onset, harmony = symbol.bar, symbol.onset, symbol.element
    notes = [(one, one.pitch, one.sounding) for one in bar.heads]
    shifts = (now - was.semitones for _, was, now in notes if was is not None and now is not None)
    classes = chord_classes(harmony, transposed=int(next(shifts, 0)))
    played = {
        int(sounding) % 12
        for one, _, sounding in notes
        if sounding is not None and one.onset == onset and not one.is_grace
    }
    if classes and len(played) > 1 and 2 * len(played & classes) < len(played):
        names = " ".join(_NAMES[one] for one in sorted(played))
        yield at_bar(
            bar, f"the symbol says {chord_text(harmony)}, the notes are {names}",
            onset=onset, expected="a symbol of the chord that is played", element=harmony,
        )  # fmt: skip


def frame_notes(harmony: etree._Element) -> list[tuple[int, int]]:
    """Return string and fret, counted from the nut, of the dots and open strings of a diagram."""
    return [
        (whole(note.findtext("string")) or 0, whole(note.findtext("fret")) or 0)
        for note in harmony.findall("frame/frame-note")
    ]


@rule("frame-chord", Severity.WARNING, symbols)
def frame_chord(symbol: PageSymbol) -> Flaws:
    """A chord diagram does not give its chord in the tuning.

    A string that it draws is no note of the symbol.
    """
    bar, onset, harmony = symbol.bar, symbol.onset, symbol.element
    tuned = (one.instrument for one in bar.part.strings if one.instrument is not None)
    open_midi = next(tuned, STANDARD_GUITAR).open_midi
    classes = chord_classes(harmony)
    sounds = {
        (open_midi[string - 1] + fret) % 12
        for string, fret in frame_notes(harmony)
        if 1 <= string <= len(open_midi)
    }
    if classes and not sounds <= classes:
        yield at_bar(
            bar, f"the diagram of {chord_text(harmony)} has a note that is not in the chord",
            onset=onset, expected="strings and frets of the chord", element=harmony,
        )  # fmt: skip


@rule("frame-shape", Severity.ERROR, symbols)
def frame_shape(symbol: PageSymbol) -> Flaws:
    """A chord diagram has a dot outside its grid."""
    bar, onset, harmony = symbol.bar, symbol.onset, symbol.element
    frame = harmony.find("frame")
    if frame is None:
        return
    strings = whole(frame.findtext("frame-strings")) or 0
    frets = whole(frame.findtext("frame-frets")) or 0
    first = whole(frame.findtext("first-fret")) or 1
    seen: set[int] = set()
    for string, fret in frame_notes(harmony):
        cause = ""
        if not 1 <= string <= strings:
            cause = f"string {string} of {strings}"
        elif fret and not first <= fret < first + frets:
            cause = f"fret {fret} on frets {first} to {first + frets - 1}"
        elif string in seen:
            cause = f"two notes on string {string}"
        seen.add(string)
        if cause:
            yield at_bar(bar, f"the diagram has {cause}", onset=onset,
                         expected="dots inside the grid", element=harmony)  # fmt: skip
            break
