"""Faults of pitch signs, rhythm, voices and spans."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from tests.oracles.faults.fault import (
    Case,
    NothingToSpoil,
    Spoiled,
    at,
    fault,
    remove,
    remove_direction,
    shift_octave,
    text_of,
)
from variants.music import single_value
from variants.music.pitch import LETTERS, NATURALS
from variants.proof.page import Head
from variants.proof.rules.accidentals import NAMES, Trouble, sign_report


@fault("accidental left out", "accidental-missing")
def _sign_out(case: Case) -> Spoiled:
    head = case.pick(h for h in case.notes if h.sign and not h.is_courtesy and not case.tab(h))
    remove(head.element.find("accidental"))
    return at(head.bar)


@fault("accidental changed", "accidental-wrong")
def _sign_wrong(case: Case) -> Spoiled:
    head = case.pick(h for h in case.notes if h.sign and not case.tab(h))
    names = [name for name in ("sharp", "flat", "natural") if name != head.sign]
    text_of(head, "accidental").text = case.rng.choice(names)
    return at(head.bar)


@fault("accidental too many", "accidental-redundant")
def _sign_more(case: Case) -> Spoiled:
    reasons = {
        id(one.head) for part in case.page.parts for one in sign_report(part).of(Trouble.OCTAVE)
    }
    found = []
    for part in case.page.parts:
        seen: dict[tuple[str, int], set[object]] = {}
        tabs = {clef.staff for clef in part.clefs if clef.sign == "TAB"}
        for head in part.heads:
            pitch = head.pitch
            if pitch is None or head.staff in tabs:
                continue
            alters = seen.setdefault((pitch.letter, head.staff), set())
            alters.add(pitch.alter)
            plain = not (head.sign or head.tie_stop or head.is_chord or id(head) in reasons)
            if plain and len(alters) == 1 and int(pitch.alter) in NAMES and not head.is_grace:
                found.append(head)
    head = case.pick(found)
    sign = etree.Element("accidental")
    sign.text = NAMES[int(head.pitch.alter)] if head.pitch else ""
    after = head.element.findall("dot") or [text_of(head, "type")]
    after[-1].addnext(sign)
    return at(head.bar)


@fault("sign in another octave", "accidental-missing", "accidental-octave")
def _sign_octave(case: Case) -> Spoiled:
    pairs = [
        (a, b)
        for a in case.notes
        if a.sign and not case.tab(a) and a.pitch and a.pitch.alter
        for b in a.bar.heads
        if b.pitch == a.pitch and b.staff == a.staff and b.onset > a.onset
        and not (b.sign or b.tie_stop)
    ]  # fmt: skip
    first, _ = case.pick(pairs)
    shift_octave(first, case.rng.choice([-1, 1]))
    return at(first.bar)


@fault("odd spelling", "enharmonic")
def _spelling(case: Case) -> Spoiled:
    head = case.pick(
        h for h in case.notes
        if h.pitch and h.pitch.alter == 0 and not case.tab(h) and not (h.tie_start or h.tie_stop)
    )  # fmt: skip
    assert head.pitch is not None
    index = LETTERS.index(head.pitch.letter)
    octave, other = divmod(index + 1, 7)
    text_of(head, "pitch/step").text = LETTERS[other]
    text_of(head, "pitch/octave").text = str(head.pitch.octave + octave)
    alter = NATURALS[index] - NATURALS[other] - 12 * octave
    element = etree.Element("alter")
    element.text = str(alter)
    text_of(head, "pitch/step").addnext(element)
    return at(head.bar)


def _counted(case: Case) -> list[Head]:
    """Return the notes and rests whose length decides the sum of a measure that has one."""
    return [
        head
        for head in case.heads
        if head.bar.full and head.bar.reach == head.bar.full and head.type
        and case.single(head) and not head.is_grace and not head.is_tuplet
    ]  # fmt: skip


@fault("note too long or too short", "measure-sum", "backup", "voice-overlap", "voice-gap",
       "staff-tab-rhythm")  # fmt: skip
def _length(case: Case) -> Spoiled:
    head = case.pick(_counted(case))
    value = single_value(Fraction(head.duration, case.page.ticks) * case.rng.choice([2, 1]) / 2)
    factor = Fraction(1, 2)
    if value is None or case.rng.random() < 0.5:
        factor = Fraction(2)
    length = Fraction(head.duration, case.page.ticks) * factor
    plain = single_value(length)
    if plain is None:
        raise NothingToSpoil
    duration = text_of(head, "duration")
    new = Fraction(duration.text or "0") * factor
    if new.denominator != 1:
        raise NothingToSpoil
    duration.text = str(new)
    text_of(head, "type").text = plain.type
    for dot in head.element.findall("dot"):
        head.element.remove(dot)
    for _ in range(plain.dots):
        text_of(head, "type").addnext(etree.Element("dot"))
    return at(head.bar)


@fault("note left out", "measure-sum", "backup", "voice-overlap", "voice-gap", "staff-tab-rhythm",
       "tie-open")  # fmt: skip
def _left_out(case: Case) -> Spoiled:
    # A voice that is wholly gone from a measure may be meant to be silent there.
    head = case.pick(
        h
        for h in _counted(case)
        if not (h.tie_start or h.tie_stop or h.spans)
        and sum(o.voice == h.voice and not o.is_chord for o in h.bar.heads) > 1
    )
    remove(head.element)
    return at(head.bar)


@fault("note written twice", "measure-sum", "backup", "voice-overlap", "staff-tab-rhythm")
def _doubled(case: Case) -> Spoiled:
    head = case.pick(h for h in _counted(case) if not (h.tie_start or h.tie_stop or h.spans))
    copy = etree.fromstring(etree.tostring(head.element))
    head.element.addnext(copy)
    return at(head.bar)


@fault("printed value off", "note-value", "tuplet-fill")
def _value(case: Case) -> Spoiled:
    head = case.pick(h for h in case.heads if h.type in {"eighth", "quarter", "half"})
    text_of(head, "type").text = {"eighth": "quarter", "quarter": "half", "half": "quarter"}[
        head.type
    ]
    return at(head.bar)


@fault("tuplet one note short", "tuplet-fill")
def _tuplet_fill(case: Case) -> Spoiled:
    head = case.pick(
        h for h in case.heads if h.is_tuplet and case.single(h) and not h.spans and not h.tie_start
    )
    remove(head.element.find("time-modification"))
    duration = text_of(head, "duration")
    new = Fraction(duration.text or "0") * head.actual / head.normal
    if new.denominator != 1:
        raise NothingToSpoil
    duration.text = str(new)
    return at(head.bar)


@fault("tuplet bracket without its end", "tuplet-open")
def _tuplet(case: Case) -> Spoiled:
    return _spanless(case, "tuplet")


@fault("slur without its end", "slur-open")
def _slur(case: Case) -> Spoiled:
    return _spanless(case, "slur")


def _spanless(case: Case, family: str) -> Spoiled:
    found = [(h, s) for h in case.heads for s in h.spans if s.family == family]
    head, span = case.pick(found)
    other = next(
        (h.bar for h, s in (found if span.role == "start" else reversed(found))
         if s.role != span.role and s.number == span.number and h.bar.part is head.bar.part
         and h.voice == head.voice
         and (h.moment >= head.moment if span.role == "start" else h.moment <= head.moment)),
        head.bar,
    )  # fmt: skip
    remove(span.element)
    return at(head.bar, other)


def _tie_ends(case: Case, role: str) -> list[tuple[Head, list[Head]]]:
    found = []
    for head in case.notes:
        if (head.tie_start if role == "start" else head.tie_stop) and not case.tab(head):
            far = [
                h for h in head.bar.part.heads
                if h.sounding == head.sounding and h.staff == head.staff
                and (h.moment == head.end if role == "start" else h.end == head.moment)
            ]  # fmt: skip
            found.append((head, far))
    return found


@fault("tie without its end", "tie-open", "tie-restruck")
def _tie(case: Case) -> Spoiled:
    role = case.rng.choice(["start", "stop"])
    head, far = case.pick(_tie_ends(case, role))
    for path in (f"tie[@type='{role}']", f"notations/tied[@type='{role}']"):
        remove(head.element.find(path))
    return at(head.bar, *(one.bar for one in far))


@fault("tie to another pitch", "tie-pitch")
def _tie_pitch(case: Case) -> Spoiled:
    head, far = case.pick(_tie_ends(case, "stop"))
    near = {
        h.pitch.letter for h in head.bar.heads
        if h.pitch and h.moment == head.moment and h.staff == head.staff
    }  # fmt: skip
    step = text_of(head, "pitch/step")
    step.text = case.rng.choice([letter for letter in LETTERS if letter not in near])
    return at(head.bar, *(one.bar for one in far))


@fault("tie that is not drawn", "tie-picture")
def _tie_picture(case: Case) -> Spoiled:
    tied = [h for h in case.notes if h.tied_start or h.tied_stop]
    if len(tied) < 4:
        raise NothingToSpoil
    head = case.pick(tied)
    for mark in head.element.findall("notations/tied"):
        remove(mark)
    return at(head.bar)


@fault("beam without its end", "beam-open")
def _beam(case: Case) -> Spoiled:
    head = case.pick(h for h in case.heads if any(v in {"begin", "end"} for _, v in h.beams))
    beams = [b for b in head.element.findall("beam") if (b.text or "") in {"begin", "end"}]
    remove(case.rng.choice(beams))
    return at(head.bar)


@fault("wedge without its end", "line-open")
def _wedge(case: Case) -> Spoiled:
    bar, wedge = case.pick(
        (bar, one) for bar in case.page.bars() for one in bar.element.iter("wedge")
    )
    remove_direction(wedge)
    return at(bar)


@fault("voices overlap", "voice-overlap")
def _overlap(case: Case) -> Spoiled:
    bars = []
    for bar in case.page.bars():
        for staff in {head.staff for head in bar.heads}:
            voices = sorted({h.voice for h in bar.heads if h.staff == staff and not h.is_grace})
            if len(voices) > 1:
                bars.append((bar, staff, voices))
    bar, staff, voices = case.pick(bars)
    for head in bar.heads:
        if head.staff == staff and head.voice == voices[1]:
            text_of(head, "voice").text = voices[0]
    return at(bar)
