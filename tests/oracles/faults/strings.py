"""Faults of what a fretted part says about itself: tuning, capo, clef, range."""

from __future__ import annotations

from lxml import etree

from tests.oracles.faults.fault import (
    EVERYWHERE,
    Case,
    Spoiled,
    at,
    fault,
    remove,
    shift_octave,
    text_of,
)
from variants.proof.rules.frets import SOUNDS
from variants.proof.views.strings import instrument_of


@fault("tuning left out", "tuning-missing")
def _no_tuning(case: Case) -> Spoiled:
    part = case.pick(
        p for p in case.page.parts if p.tab_staves and any(s.instrument for s in p.strings)
    )
    for one in part.strings:
        for tuning in one.element.findall("staff-tuning"):
            one.element.remove(tuning)
    return EVERYWHERE


@fault("one string not tuned", "string-count")
def _string_count(case: Case) -> Spoiled:
    part = case.pick(p for p in case.page.parts if any(s.instrument for s in p.strings))
    details = next(s for s in part.strings if s.instrument)
    remove(case.rng.choice(details.element.findall("staff-tuning")))
    return EVERYWHERE


@fault("capo in words alone", "capo-text")
def _capo_text(case: Case) -> Spoiled:
    part = case.pick(p for p in case.page.parts if p.strings and p.placed)
    words = f"Capo {case.rng.choice([1, 3, 4, 5])}"
    bar = case.rng.choice(part.bars)
    bar.element.insert(0, etree.fromstring(
        f"<direction><direction-type><words>{words}</words></direction-type></direction>"
    ))  # fmt: skip
    return at(bar)


@fault("octave clef left out", "clef-octave", "octave-slip")
def _clef(case: Case) -> Spoiled:
    change = case.pick(
        clef.element.find("clef-octave-change")
        for part in case.page.parts
        for clef in part.clefs
        if clef.octave_change == -1 and clef.sign == "G" and part.is_fretted
    )
    remove(change)
    return EVERYWHERE


@fault("note below the lowest string", "note-range")
def _range(case: Case) -> Spoiled:
    head = case.pick(
        h for h in case.notes if not h.is_placed and h.bar.part.is_fretted and not case.tab(h)
    )
    # Three octaves below E5 lies the low string itself.
    shift_octave(head, -4 if (head.sounding or 0) >= 76 else -3)
    return at(head.bar)


@fault("harmonic of another note", "harmonic-pitch")
def _harmonic(case: Case) -> Spoiled:
    found = []
    for head in case.placed:
        instrument = instrument_of(head)
        if instrument is None or head.sounding is None or head in case.partner:
            continue
        low = instrument.open_midi[head.string - 1]
        for fret, semitones in SOUNDS.items():
            classes = {(low + fret) % 12, (low + semitones) % 12}
            if fret <= 12 and head.sounding % 12 not in classes:
                found.append((head, fret))
    head, fret = case.pick(found)
    text_of(head, "notations/technical/fret").text = str(fret)
    harmonic = etree.SubElement(text_of(head, "notations/technical"), "harmonic")
    etree.SubElement(harmonic, "natural")
    return at(head.bar)
