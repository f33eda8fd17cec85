"""Faults of tab, fingers, marks of the hand, and techniques."""

from __future__ import annotations

from itertools import combinations, pairwise

from lxml import etree

from tests.oracles.faults.fault import (
    EVERYWHERE,
    Case,
    NothingToSpoil,
    Spoiled,
    at,
    child,
    fault,
    remove,
    shift_octave,
    text_of,
)
from variants.guitar.neck import span_mm
from variants.proof.page import Head, Span
from variants.proof.rules.fingers import tempi
from variants.proof.rules.marks import labels, next_grip
from variants.proof.views.grips import FINGERS, Stop

_ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII", "XIII", "XIV",
          "XV", "XVI", "XVII", "XVIII", "XIX", "XX")  # fmt: skip


@fault("fret off", "tab-pitch")
def _fret(case: Case) -> Spoiled:
    head = case.pick(case.placed)
    fret = text_of(head, "notations/technical/fret")
    fret.text = str(head.fret + case.rng.choice([1, 2, 3] if head.fret < 3 else [-2, -1, 1, 2]))
    return at(head.bar)


@fault("string off", "tab-pitch", "string-twice")
def _string(case: Case) -> Spoiled:
    head = case.pick(case.placed)
    text_of(head, "notations/technical/string").text = str(
        head.string + 1 if (head.string < 6 and case.rng.random() < 0.5) or head.string == 1
        else head.string - 1
    )  # fmt: skip
    return at(head.bar)


@fault("notation pitch off", "staff-tab-pitch")
def _pitch(case: Case) -> Spoiled:
    head = case.pick(h for h in case.notes if h in case.partner and not case.tab(h))
    step = text_of(head, "pitch/step")
    step.text = "CDEFGAB"[("CDEFGAB".index(step.text or "C") + case.rng.choice([1, 2, 5, 6])) % 7]
    return at(head.bar)


@fault("one note an octave off", "staff-tab-pitch", "tab-pitch")
def _octave(case: Case) -> Spoiled:
    head = case.pick(
        h for h in case.notes if (h in case.partner or h.is_placed) and not h.is_harmonic
    )
    shift_octave(head, case.rng.choice([-1, 1]))
    return at(head.bar)


@fault("a whole staff an octave off", "octave-slip")
def _whole_octave(case: Case) -> Spoiled:
    head = case.pick(h for h in case.notes if h in case.partner or h.is_placed)
    for other in head.bar.part.heads:
        if other.staff == head.staff and other.pitch is not None:
            shift_octave(other, 1)
    return EVERYWHERE


# Where all notes lie on that string, the whole staff is an octave off.
@fault("tuning of one string off", "tab-pitch", "octave-slip")
def _tuning(case: Case) -> Spoiled:
    head = case.pick(case.placed)
    part = head.bar.part
    details = [one for one in part.strings if one.instrument is not None]
    if not details:
        raise NothingToSpoil
    count = details[0].instrument.strings if details[0].instrument else 6
    line = str(count + 1 - head.string)
    tuning = next(one for one in details[0].element if one.get("line") == line)
    octave = tuning.find("tuning-octave")
    assert octave is not None
    octave.text = str(int(octave.text or 0) + case.rng.choice([-1, 1]))
    return at(*(h.bar for h in part.placed if h.string == head.string))


@fault("capo off", "tab-pitch")
def _capo(case: Case) -> Spoiled:
    parts = [p for p in case.page.parts if len(p.placed) > 4]
    part = case.pick(p for p in parts if any(s.instrument for s in p.strings))
    details = next(s.element for s in part.strings if s.instrument)
    capo = details.find("capo")
    if capo is None:
        capo = etree.Element("capo")
        tunings = details.findall("staff-tuning")
        tunings[-1].addnext(capo)
    capo.text = str(int(capo.text or 0) + case.rng.choice([1, 3, 4]))
    return EVERYWHERE


@fault("tab note left out", "staff-tab-rhythm")
def _tab_left_out(case: Case) -> Spoiled:
    if len(case.partner) < 8:
        raise NothingToSpoil  # too few notes to tell that the tab doubles the notation
    head = case.pick(
        h for h in case.notes if case.tab(h) and h in case.partner and h.is_struck
        and not (h.tie_start or h.is_grace)
    )  # fmt: skip
    if case.single(head):
        for child in list(head.element):
            if child.tag == "pitch":
                child.addprevious(etree.Element("rest"))
            if child.tag in {"pitch", "notations", "accidental", "beam", "stem"}:
                head.element.remove(child)
    elif head.is_chord:
        remove(head.element)
    else:
        raise NothingToSpoil
    return at(head.bar)


@fault("tab rhythm swapped", "staff-tab-rhythm")
def _tab_rhythm(case: Case) -> Spoiled:
    pairs = [
        (a, b)
        for a, b in pairwise([h for h in case.heads if case.tab(h) and h in case.partner])
        if a.bar is b.bar and a.duration != b.duration and case.single(a) and case.single(b)
        and a.end == b.moment and a.is_struck and b.is_struck
    ]  # fmt: skip
    first, second = case.pick(pairs)
    for path in ("duration", "type"):
        one, other = text_of(first, path), text_of(second, path)
        one.text, other.text = other.text, one.text
    for head, dots in ((first, second.dots), (second, first.dots)):
        for dot in head.element.findall("dot"):
            head.element.remove(dot)
        for _ in range(dots):
            text_of(head, "type").addnext(etree.Element("dot"))
    return at(first.bar)


@fault("tied note struck again in the tab", "tie-restruck")
def _restruck(case: Case) -> Spoiled:
    head = case.pick(h for h in case.notes if case.tab(h) and h in case.partner and h.tie_stop)
    for path in ("tie[@type='stop']", "notations/tied[@type='stop']"):
        remove(head.element.find(path))
    return at(head.bar)


@fault("two notes on one string", "string-twice")
def _twice(case: Case) -> Spoiled:
    grip = case.pick(g for g in case.grips if len(g.stops) > 1)
    one, other = case.rng.sample(list(grip.stops), 2)
    text_of(one.head, "notations/technical/string").text = str(other.string)
    return at(one.head.bar)


@fault("string that another voice holds", "string-held")
def _held(case: Case) -> Spoiled:
    found = []
    for part in case.page.parts:
        heads = [head for head in part.placed if not head.is_grace]
        instrument = next((s.instrument for s in part.strings if s.instrument), None)
        if instrument is None:
            continue
        for one in heads:
            for other in heads:
                held = other.voice != one.voice and other.staff == one.staff
                if held and other.moment < one.moment < other.end and one.string != other.string:
                    fret = int(one.sounding or 0) - instrument.open_midi[other.string - 1]
                    if 0 <= fret <= 22:
                        found.append((one, other.string, fret))
    head, string, fret = case.pick(found)
    text_of(head, "notations/technical/string").text = str(string)
    text_of(head, "notations/technical/fret").text = str(fret)
    return at(head.bar)


@fault("string that does not exist", "no-such-string")
def _no_string(case: Case) -> Spoiled:
    head = case.pick(case.placed)
    text_of(head, "notations/technical/string").text = str(case.rng.choice([7, 8, 9, 0]))
    return at(head.bar)


@fault("fret that does not exist", "no-such-fret")
def _no_fret(case: Case) -> Spoiled:
    head = case.pick(case.placed)
    text_of(head, "notations/technical/fret").text = str(case.rng.choice([25, 30, 44, 77]))
    return at(head.bar)


@fault("string or fret left out", "place-incomplete")
def _incomplete(case: Case) -> Spoiled:
    head = case.pick(h for h in case.placed if case.tab(h))
    remove(head.element.find(f"notations/technical/{case.rng.choice(['string', 'fret'])}"))
    return at(head.bar)


@fault("span beyond the hand", "hand-span")
def _span(case: Case) -> Spoiled:
    grip, stopped = case.pick((g, s) for g, s in case.chords if max(one.fret for one in s) <= 8)
    stop = case.rng.choice(stopped)
    text_of(stop.head, "notations/technical/fret").text = str(stop.fret + 12)
    for head in (stop.head, case.partner.get(stop.head)):
        if head is not None:
            shift_octave(head, 1)
    return at(grip.bar)


def _finger_head(case: Case, stop: Stop) -> Head:
    other = case.partner.get(stop.head)
    return stop.head if stop.head.finger or other is None else other


def _set_finger(case: Case, stop: Stop, finger: str) -> None:
    text_of(_finger_head(case, stop), "notations/technical/fingering").text = finger


def _fingered_pairs(case: Case) -> list[tuple[Stop, Stop]]:
    return [
        (one, other)
        for _, stopped in case.chords
        for one, other in combinations(stopped, 2)
        if one.finger in FINGERS and other.finger in FINGERS and one.fret != other.fret
    ]


@fault("fingers crossed", "finger-crossing")
def _crossing(case: Case) -> Spoiled:
    one, other = case.pick(_fingered_pairs(case))
    _set_finger(case, one, other.finger)
    _set_finger(case, other, one.finger)
    return at(one.head.bar)


@fault("finger on two frets", "finger-two-frets")
def _two_frets(case: Case) -> Spoiled:
    one, other = case.pick(_fingered_pairs(case))
    _set_finger(case, one, other.finger)
    return at(one.head.bar)


@fault("open string with a finger", "open-fingered")
def _open(case: Case) -> Spoiled:
    stop = case.pick(s for g in case.grips for s in g.stops if s.fret == 0 and s.finger == "0")
    _set_finger(case, stop, case.rng.choice("1234"))
    return at(stop.head.bar)


@fault("fret with finger 0", "stopped-open-finger")
def _stopped(case: Case) -> Spoiled:
    stop = case.pick(s for g in case.grips for s in g.stops if s.fret > 0 and s.finger in FINGERS)
    _set_finger(case, stop, "0")
    return at(stop.head.bar)


@fault("position mark off", "position-text")
def _position(case: Case) -> Spoiled:
    found = [
        one
        for one in labels(case.page)
        if not one.is_barre and next_grip(one, case.grips, fingered=True) is not None
    ]
    label = case.pick(found)
    words = child(label.element, "direction-type/words")
    words.text = _ROMAN[(label.fret + case.rng.choice([2, 3, 4])) % 19]
    return at(label.bar)


@fault("barre mark off", "barre-text")
def _barre(case: Case) -> Spoiled:
    found = [
        one
        for one in labels(case.page)
        if one.is_barre and next_grip(one, case.grips, fingered=True) is not None
    ]
    label = case.pick(found)
    words = child(label.element, "direction-type/words")
    right = _ROMAN[label.fret - 1]
    words.text = (words.text or "").replace(right, _ROMAN[label.fret + case.rng.choice([0, 1, 3])])
    return at(label.bar)


@fault("technique changes the string", "hammer-string")
def _hammer_string(case: Case) -> Spoiled:
    head = case.pick(
        h
        for h in case.notes
        for s in h.spans
        if s.family in {"hammer-on", "pull-off"} and s.role == "stop" and h.is_placed
    )
    other = head.string - 1 if head.string > 1 else 2
    text_of(head, "notations/technical/string").text = str(other)
    return at(head.bar)


@fault("technique in the wrong direction", "hammer-direction")
def _hammer_direction(case: Case) -> Spoiled:
    found = [
        (h, s) for h in case.notes for s in h.spans
        if s.family in {"hammer-on", "pull-off"} and s.role == "start"
    ]  # fmt: skip
    head, span = case.pick(found)
    stop = next(
        (o, t) for o in head.bar.part.heads for t in o.spans
        if t.family == span.family and t.role == "stop" and o.moment >= head.moment
        and o.voice == head.voice and o.staff == head.staff and o is not head
    )  # fmt: skip
    for element in (span.element, stop[1].element):
        element.tag = "pull-off" if element.tag == "hammer-on" else "hammer-on"
    return at(head.bar, stop[0].bar)


@fault("technique without its end", "hammer-open")
def _hammer_open(case: Case) -> Spoiled:
    found = [(h, s) for h in case.notes for s in h.spans if s.family in {"hammer-on", "pull-off"}]
    return _without_end(case, found)


@fault("slide without its end", "slide-open")
def _slide_open(case: Case) -> Spoiled:
    return _without_end(case, [(h, s) for h in case.notes for s in h.spans if s.family == "slide"])


def _without_end(case: Case, found: list[tuple[Head, Span]]) -> Spoiled:
    head, span = case.pick(found)
    remove(span.element)
    bars = [head.bar]
    # The end that is left may stand in a neighbouring measure.
    place = head.bar.index
    if span.role == "stop" and place:
        bars.append(head.bar.part.bars[place - 1])
    if span.role == "start" and place + 1 < len(head.bar.part.bars):
        bars.append(head.bar.part.bars[place + 1])
    return at(*bars)


@fault("change that no hand makes", "unreachable-change")
def _unreachable(case: Case) -> Spoiled:
    pairs = []
    for before, grip in pairwise(case.grips):
        if before.bar.part is not grip.bar.part or len(grip.stops) != 1 or not grip.instrument:
            continue
        was = [stop.fret for stop in before.stops if stop.fret > 0]
        stop = grip.stops[0]
        sound = stop.fret + grip.instrument.open_midi[stop.string - 1]
        for string, low in enumerate(grip.instrument.open_midi, 1):
            fret = sound - low
            if was and 12 <= fret <= 22 and fret - max(was) >= 10 and grip.moment > before.moment:
                pairs.append((before, grip, string, fret))
    before, grip, string, fret = case.pick(pairs)
    head = grip.stops[0].head
    text_of(head, "notations/technical/string").text = str(string)
    text_of(head, "notations/technical/fret").text = str(fret)
    # So fast that the hand would have to go three metres in a second.
    quarters = (grip.moment - before.moment) / case.page.ticks
    highest = max(stop.fret for stop in before.stops)
    seconds = span_mm(highest, fret, scale_length_mm=650.0) / 3000.0
    tempo = max(60.0 * quarters / seconds, tempi(case.page).at(before))
    sound_mark = etree.Element("sound", tempo=f"{tempo:g}")
    before.bar.element.insert(0, sound_mark)
    for other in case.page.root.iter("sound"):
        if other is not sound_mark and other.get("tempo"):
            other.set("tempo", f"{tempo:g}")
    return at(grip.bar)
