"""Faults of repeats, texts, chord symbols, and XML that is valid but impossible."""

from __future__ import annotations

from itertools import pairwise

from lxml import etree

from tests.oracles.faults.fault import (
    EVERYWHERE,
    Case,
    NothingToSpoil,
    Spoiled,
    at,
    chains,
    child,
    fault,
    number_in,
    remove,
    remove_direction,
    text_of,
)
from variants.music.pitch import LETTERS
from variants.proof.rules.chords import chord_classes
from variants.proof.views.jumps import repeats


@fault("repeat without its end", "repeat-open")
def _repeat(case: Case) -> Spoiled:
    found = []
    for part in case.page.parts:
        signs = list(repeats(part))
        for (first, begun), (second, ended) in pairwise(signs):
            if (first, second) == ("forward", "backward"):
                found.append((begun, ended))
    begun, ended = case.pick(found)
    for _, barline in ended.barlines:
        repeat = barline.find("repeat[@direction='backward']")
        if repeat is not None:
            remove(repeat)
    return at(begun, ended)


@fault("ending without its end", "ending-open")
def _ending(case: Case) -> Spoiled:
    bars = [
        (bar, ending, other)
        for part in case.page.parts
        for bar in part.bars
        for _, barline in bar.barlines
        for ending in barline.findall("ending")
        for other in part.bars
        if any(b.find("ending") is not None for _, b in other.barlines)
    ]
    bar, ending, _ = case.pick(bars)
    remove(ending)
    touched = [b for b in bar.part.bars if any(x.find("ending") is not None for _, x in b.barlines)]
    return at(bar, *touched)


@fault("ending with another number", "ending-open")
def _ending_number(case: Case) -> Spoiled:
    bars = [
        (bar, ending)
        for bar in case.page.bars()
        for _, barline in bar.barlines
        for ending in barline.findall("ending")
    ]
    bar, ending = case.pick(bars)
    ending.set("number", case.rng.choice(["3", "4"]))
    return at(bar)


@fault("segno or coda left out", "segno-coda")
def _segno(case: Case) -> Spoiled:
    signs = [one for name in ("segno", "coda") for one in case.page.root.iter(name)]
    sign = case.pick(signs)
    # Every part has its own copy.
    for one in list(case.page.root.iter(str(sign.tag))):
        remove_direction(one)
    return EVERYWHERE


@fault("jump left out", "segno-coda")
def _jump(case: Case) -> Spoiled:
    jumps = [one for one in case.page.root.iter("words") if "Coda" in (one.text or "")]
    if not jumps:
        raise NothingToSpoil
    for one in jumps:
        remove_direction(one)
    return EVERYWHERE


@fault("measure number off", "measure-numbers")
def _number(case: Case) -> Spoiled:
    bar = case.pick(
        b for b in case.page.bars() if b.index and not b.is_implicit and b.number != "1"
    )
    bar.element.set("number", str(int(bar.number) + case.rng.choice([1, 2, 10])))
    after = bar.part.bars[bar.index + 1 : bar.index + 2]
    return at(bar, *after)


@fault("measure left out of one part", "measure-count")
def _measure(case: Case) -> Spoiled:
    if len(case.page.parts) < 2:
        raise NothingToSpoil
    part = case.pick(part for part in case.page.parts if len(part.bars) > 1)
    remove(part.bars[-1].element)
    return at(part.bars[-2])


@fault("metre left out or changed", "metre", "measure-sum")
def _metre(case: Case) -> Spoiled:
    bars = [b for b in case.page.bars() if b.element.find("attributes/time/beats") is not None]
    bar = case.pick(bars)
    beats = bar.element.find("attributes/time/beats")
    assert beats is not None
    beats.text = case.rng.choice(["x", "0", "7", "11"])
    return at(bar, *bar.part.bars[bar.index : bar.index + 3])


@fault("tempo left out", "tempo-missing")
def _tempo(case: Case) -> Spoiled:
    metronomes = list(case.page.root.iter("metronome"))
    sounds = [sound for sound in case.page.root.iter("sound") if sound.get("tempo")]
    if not metronomes and not sounds:
        raise NothingToSpoil
    for metronome in metronomes:
        remove_direction(metronome)
    for sound in sounds:
        del sound.attrib["tempo"]
    return EVERYWHERE


@fault("rights line left out", "rights-missing")
def _rights(case: Case) -> Spoiled:
    found = case.page.root.findall("identification/rights")
    if not found:
        raise NothingToSpoil
    for one in found:
        remove(one)
    return EVERYWHERE


@fault("title left out", "title-missing")
def _title(case: Case) -> Spoiled:
    titles = [case.page.root.find(path) for path in ("work", "movement-title")]
    if not any("".join(map(str, one.itertext())).strip() for one in titles if one is not None):
        raise NothingToSpoil
    for one in titles:
        if one is not None:
            remove(one)
    return EVERYWHERE


@fault("chord symbol off", "chord-symbol")
def _symbol(case: Case) -> Spoiled:
    found = []
    for bar in case.page.bars():
        for onset, harmony in bar.harmonies:
            played = {
                int(h.sounding) % 12
                for h in bar.heads
                if h.onset == onset and h.sounding is not None
            }
            step = harmony.find("root/root-step")
            if len(played) > 1 and step is not None and played <= chord_classes(harmony):
                found += [
                    (bar, harmony, letter) for letter in LETTERS
                    if _shares(harmony, letter, played)
                ]  # fmt: skip
    bar, harmony, letter = case.pick(found)
    child(harmony, "root/root-step").text = letter
    return at(bar)


def _shares(harmony: etree._Element, letter: str, played: set[int]) -> bool:
    """Whether a chord on another root shares less than half of what is played."""
    other = etree.fromstring(etree.tostring(harmony))
    step = other.find("root/root-step")
    assert step is not None
    step.text = letter
    return 2 * len(played & chord_classes(other)) < len(played)


@fault("diagram off", "frame-chord", "frame-shape")
def _frame(case: Case) -> Spoiled:
    bar, note = case.pick(
        (bar, one)
        for bar in case.page.bars()
        for _, harmony in bar.harmonies
        for one in harmony.iter("frame-note")
    )
    fret = child(note, "fret")
    fret.text = str(number_in(fret) + 1)
    return at(bar)


@fault("diagram outside its grid", "frame-shape")
def _grid(case: Case) -> Spoiled:
    bar, note = case.pick(
        (bar, one)
        for bar in case.page.bars()
        for _, harmony in bar.harmonies
        for one in harmony.iter("frame-note")
    )
    name, value = case.rng.choice([("string", "9"), ("fret", "29")])
    child(note, name).text = value
    return at(bar)


@fault("syllable under a rest", "lyric-rest")
def _lyric(case: Case) -> Spoiled:
    pairs = [
        (a, b) for a, b in chains(case)
        if b.is_rest and not b.lyrics and a.bar is b.bar
    ]  # fmt: skip
    first, second = case.pick(pairs)
    lyric = etree.fromstring(
        "<lyric number='1'><syllabic>single</syllabic><text>grace</text></lyric>"
    )
    second.element.append(lyric)
    return at(first.bar)


@fault("word broken off", "lyric-hyphen")
def _hyphen(case: Case) -> Spoiled:
    heads = [
        h for h in case.heads for one in h.lyrics
        if (one.findtext("syllabic") or "") in {"begin", "end"} and not one.get("name")
    ]  # fmt: skip
    head = case.pick(heads)
    syllabic = head.element.find("lyric/syllabic")
    assert syllabic is not None
    before = syllabic.text
    syllabic.text = "single"
    bars = head.bar.part.bars
    # The half that is left hangs from its neighbour.
    place = head.bar.index + (1 if before == "begin" else -1)
    return at(head.bar, *bars[max(place, 0) : place + 1])


@fault("counting off", "counting")
def _counting(case: Case) -> Spoiled:
    found = [
        (h, one) for h in case.heads for one in h.lyrics
        if one.get("name") == "counting" and (one.findtext("text") or "")[:1] not in {"", "(", "["}
    ]  # fmt: skip
    if len(found) < 3:
        raise NothingToSpoil
    head, lyric = case.pick(found)
    text = child(lyric, "text")
    first, *rest = (text.text or "").split()
    others = [one for one in ("1", "2", "3", "&", "e") if one != first]
    text.text = " ".join([case.rng.choice(others), *rest])
    return at(head.bar)


@fault("staff that does not exist", "staff-number")
def _staff(case: Case) -> Spoiled:
    head = case.pick(case.heads)
    staff = head.element.find("staff")
    if staff is None:
        staff = etree.Element("staff")
        after = [one for one in head.element if one.tag in {"type", "dot", "accidental",
                 "time-modification", "stem", "notehead", "voice", "duration"}]  # fmt: skip
        after[-1].addnext(staff)
    staff.text = case.rng.choice(["5", "3", "9"])
    return at(head.bar)


@fault("unknown part id", "part-id")
def _part_id(case: Case) -> Spoiled:
    part = case.rng.choice(case.page.parts)
    part.element.set("id", "X9")
    return EVERYWHERE


@fault("chord member without a note", "chord-first")
def _chord(case: Case) -> Spoiled:
    bar = case.pick(b for b in case.page.bars() if b.heads and b.heads[0].onset == 0)
    note = bar.heads[0].element
    if note.find("grace") is not None or note.find("cue") is not None:
        raise NothingToSpoil
    note.insert(0, etree.Element("chord"))
    return at(bar)


@fault("backup too far", "backup")
def _backup(case: Case) -> Spoiled:
    found = [(bar, one) for bar in case.page.bars() for one in bar.element.findall("backup")]
    bar, backup = case.pick(found)
    duration = child(backup, "duration")
    duration.text = str(2 * number_in(duration) + 1)
    return at(bar)


@fault("divisions left out", "divisions")
def _divisions(case: Case) -> Spoiled:
    part = case.rng.choice(case.page.parts)
    divisions = part.element.find("measure/attributes/divisions")
    if divisions is None:
        raise NothingToSpoil
    if case.rng.random() < 0.5:
        divisions.text = case.rng.choice(["0", "-4", "x"])
    else:
        remove(divisions)
    return EVERYWHERE


@fault("unknown instrument", "instrument-id")
def _instrument(case: Case) -> Spoiled:
    head = case.pick(h for h in case.heads if h.instrument_id)
    text_of(head, "instrument").set("id", "nobody")
    return at(head.bar)


@fault("value that is none", "xml-value")
def _xml_value(case: Case) -> Spoiled:
    head = case.pick(case.notes)
    text_of(head, case.rng.choice(["pitch/octave", "pitch/step", "duration"])).text = "x"
    return at(head.bar)
