"""The signs that a sheet uses, each with what it means, in the order in which they are met."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from variants.score import Score, events
from variants.sheets.glyphs import glyph
from variants.sheets.svgtext import Picture, number, picture

_PLUCKING = {"p": "thumb", "i": "index", "m": "middle", "a": "ring", "c": "little finger"}
_FONT_SIGNS = {
    "down-bow": (0xE610, "down-stroke"),
    "up-bow": (0xE612, "up-stroke"),
    "fermata": (0xE4C0, "hold longer than written"),
    "staccato": (0xE4A2, "short"),
    "accent": (0xE4A0, "louder than its neighbours"),
    "tenuto": (0xE4A4, "held for its full length"),
    "snap-pizzicato": (0xE631, "string snaps against the neck"),
    "trill-mark": (0xE566, "trill with the note above"),
}
_TECHNIQUES = {
    "hammer-on": ("H", "hammer on: the finger alone makes the note sound"),
    "pull-off": ("P", "pull off: the finger plucks as it leaves"),
    "slide": ("╱", "slide along the string"),
    "bend": ("↑ full, ½", "bend up by a whole or a half tone"),
    "harmonic": ("‹12›", "harmonic: touch above the fret wire"),
}
_POSITION = re.compile(r"[IVX]+\Z")
_BARRE = re.compile(r"½?B[IVX]+\Z")


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """One sign of the legend.

    Args:
        sign: As letters; empty when it is drawn.
        meaning: In a few words.
        drawing: The sign of the music font, if it is one.
    """

    sign: str
    meaning: str
    drawing: Picture | None = None


def legend(score: Score, *, tab: bool, fingers: bool) -> list[LegendEntry]:
    """Return the legend of a sheet.

    Args:
        score: The score as it is printed.
        tab: Whether it is printed with tab.
        fingers: Whether fingering is printed.
    """
    entries: list[LegendEntry] = []
    marks: set[str] = set()
    seen: dict[str, set[str]] = {"finger": set(), "pluck": set(), "held": set()}
    for part in score.parts:
        for _, event in events(part):
            marks |= {mark.name for mark in event.marks}
            for note in event.notes:
                marks |= {mark.name for mark in note.marks}
                seen["finger"].add(note.finger)
                seen["pluck"].add(note.pluck)
                if note.tie_stop and note.place is not None:
                    seen["held"].add("yes")
    if fingers:
        entries += _fingers(seen["finger"])
    entries += _plucking(seen["pluck"])
    if tab:
        if seen["held"]:
            entries.append(LegendEntry("(2)", "in the tab: still sounding, held by the tie"))
        entries += [LegendEntry(*_TECHNIQUES[name]) for name in _TECHNIQUES if name in marks]
    entries += [_drawn(*_FONT_SIGNS[name]) for name in _FONT_SIGNS if name in marks]
    entries += _counting(score)
    if "string" in marks:
        entries.append(LegendEntry("③", "string to play it on"))
    if fingers:
        entries += _words(score)
    return entries


def _fingers(used: set[str]) -> Iterator[LegendEntry]:
    stopped = sorted(used & {"1", "2", "3", "4"})
    if stopped:
        span = stopped[0] if len(stopped) == 1 else f"{stopped[0]}–{stopped[-1]}"
        yield LegendEntry(span, "finger on the neck (1 index to 4 little)")
    if "0" in used:
        yield LegendEntry("0", "open string")
    if "T" in used:
        yield LegendEntry("T", "thumb over the neck")


def _plucking(used: set[str]) -> Iterator[LegendEntry]:
    here = [name for name in _PLUCKING if name in used]
    if here:
        yield LegendEntry(
            " ".join(here), "plucking: " + ", ".join(_PLUCKING[name] for name in here)
        )


def _counting(score: Score) -> Iterator[LegendEntry]:
    counted = "".join(
        lyric.text
        for part in score.parts
        for _, event in events(part)
        for lyric in event.lyrics
        if lyric.name == "counting"
    )
    if "[" in counted:
        yield LegendEntry("[2]", "counted silently while the note is held")
    if "(" in counted:
        yield LegendEntry("(3)", "under the notes: counted silently in a rest")


def _words(score: Score) -> Iterator[LegendEntry]:
    words = {
        direction.words.strip()
        for part in score.parts
        for measure in part.measures
        for direction in measure.directions
        if direction.origin
    }
    positions = sorted(word for word in words if _POSITION.match(word))
    if positions:
        yield LegendEntry(positions[0], "first finger stands at this fret")
    barres = sorted(word for word in words if _BARRE.match(word))
    if barres:
        half = " (½: not all strings)" if any(word.startswith("½") for word in barres) else ""
        yield LegendEntry(barres[0], f"barre: one finger across the strings at this fret{half}")


def _drawn(code: int, meaning: str) -> LegendEntry:
    sign = glyph(code)
    if sign is None:
        return LegendEntry("", meaning)
    scale = 0.0075
    width = max(sign.width * scale, 1.0) + 0.4
    height = max(sign.height * scale, 1.0) + 0.4
    x = 0.2 - sign.left * scale
    y = 0.2 + (sign.bottom + sign.height) * scale
    shape = (
        f'<path transform="translate({number(x)},{number(y)}) scale({scale},{-scale})" '
        f'd="{sign.outline}"/>'
    )
    drawn = picture([shape], width_mm=width, height_mm=height, title=meaning, alt=meaning)
    return LegendEntry("", meaning, drawn)
