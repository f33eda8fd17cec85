"""Mends what programs write and the standard does not allow, with a line in the change log.

Only faults that were met in real files are here; anything else that is wrong is carried as it is
or refused.
"""

from __future__ import annotations

from collections.abc import Callable

from lxml import etree

from variants.musicxml.numerals import is_digits

# The values of ``kind`` in MusicXML 4.0.
_KIND_WORDS = """
major minor augmented diminished dominant major-seventh minor-seventh diminished-seventh
augmented-seventh half-diminished major-minor major-sixth minor-sixth dominant-ninth major-ninth
minor-ninth dominant-11th major-11th minor-11th dominant-13th major-13th minor-13th
suspended-second suspended-fourth Neapolitan Italian French German pedal power Tristan other none
"""
KINDS = frozenset(_KIND_WORDS.split())
# Names in use that the standard spells in another way.
_KIND_ALIASES = {"": "other", "minor-major": "major-minor", "min": "minor", "maj": "major"}
_ACCORDION_MIDDLE = frozenset({"1", "2", "3"})
MIDI_PROGRAMS = range(1, 129)


def repair_kind(kind: str, text: str, log: Callable[[str], None]) -> tuple[str, str]:
    """Return a chord kind of the standard and its printed text."""
    if kind in KINDS:
        return kind, text
    known = _KIND_ALIASES.get(kind)
    if known:
        if kind:
            log(f"the chord kind {kind!r} is not in the standard; it is written as {known!r}")
        return known, text
    log(f"the chord kind {kind!r} is not in the standard; it is written as 'other'")
    return "other", text or kind


def repair_direction(element: etree._Element, log: Callable[[str], None]) -> None:
    """Take out what makes a direction invalid, in place."""
    for sound in element.iter("sound"):
        loudness = sound.get("dynamics")
        if loudness is not None and loudness.strip().startswith("-"):
            del sound.attrib["dynamics"]
            log("a negative loudness was left out")
    for middle in list(element.iter("accordion-middle")):
        if (middle.text or "").strip() not in _ACCORDION_MIDDLE:
            parent = middle.getparent()
            if parent is not None:
                parent.remove(middle)
                log("an accordion registration that the standard does not have was left out")


def repair_score_part(element: etree._Element, taken: set[str], log: Callable[[str], None]) -> None:
    """Take out, in place, MIDI programs that are not between 1 and 128, and ids that are taken.

    Args:
        element: The ``score-part``.
        taken: Ids in use so far in the file; those of this element are added.
        log: Told what was left out.
    """
    for one in [*element.findall("score-instrument"), *element.findall("player")]:
        name = one.get("id", "")
        if name in taken:
            element.remove(one)
            log(f"a second use of the id {name[:24]!r} in the part list was left out")
        taken.add(name)
    for program in list(element.iter("midi-program")):
        text = (program.text or "").strip()
        if not is_digits(text) or int(text) not in MIDI_PROGRAMS:
            parent = program.getparent()
            if parent is not None:
                parent.remove(program)
                log(f"the MIDI program {text!r} is not between 1 and 128; it was left out")
