"""Puts on a good file what the samples lack, so that there is more to spoil. All of it is right."""

from __future__ import annotations

from itertools import pairwise

from lxml import etree

from variants.music import Key, spelled
from variants.proof.page import Head, PagePart, ScannedPage
from variants.proof.scan import scan
from variants.proof.views.doubling import partners
from variants.proof.views.grips import PageGrip, grips

# Chord kinds by the intervals above their root (common practice).
_KINDS = {
    frozenset({0, 7}): "power",
    frozenset({0, 4, 7}): "major",
    frozenset({0, 3, 7}): "minor",
    frozenset({0, 4, 7, 10}): "dominant",
    frozenset({0, 3, 7, 10}): "minor-seventh",
}


def dress(data: bytes, *, marked_capo: bool = False) -> bytes:
    """Return a good file with techniques, diagrams, endings, jumps, wedges and octave lines.

    Args:
        data: The file.
        marked_capo: Say the capo in words too.
    """
    root = etree.fromstring(data, etree.XMLParser(remove_blank_text=True, no_network=True))
    page = scan(root)
    for part in page.parts:
        _techniques(page, part)
        _slurs(part)
        _wedges(part)
        _instrument_ids(part)
    for grip in grips(page):
        _diagram(grip)
    for part in page.parts:
        _jumps(part)
    if marked_capo:
        words = "".join(
            "<direction placement='above'><direction-type><words>Capo 2</words></direction-type>"
            "</direction>"
        )
        page.parts[0].bars[0].element.insert(1, etree.fromstring(words))
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")


def _notations(head: Head) -> etree._Element:
    found = head.element.find("notations")
    if found is None:
        found = etree.Element("notations")
        lyric = head.element.find("lyric")
        if lyric is None:
            lyric = head.element.find("play")
        place = len(head.element) if lyric is None else head.element.index(lyric)
        head.element.insert(place, found)
    return found


def _technical(head: Head) -> etree._Element:
    notations = _notations(head)
    found = notations.find("technical")
    return etree.SubElement(notations, "technical") if found is None else found


def _line(part: PagePart) -> list[list[Head]]:
    """Return the single notes of each voice and staff in order of time."""
    lanes: dict[tuple[str, int], list[Head]] = {}
    chords = {id(head) for bar in part.bars for head in _chord_heads(bar.heads)}
    for head in part.heads:
        if head.pitch is not None and id(head) not in chords and not head.is_grace:
            lanes.setdefault((head.voice, head.staff), []).append(head)
    return list(lanes.values())


def _chord_heads(heads: list[Head]) -> list[Head]:
    found = []
    for before, head in pairwise(heads):
        if head.is_chord:
            found += [before, head]
    return found


def _techniques(page: ScannedPage, part: PagePart) -> None:
    other = partners(page)
    number = 0
    for lane in _line(part):
        last = None
        for first, second in pairwise(lane):
            string = first.string or (other[first].string if first in other else 0)
            after = second.string or (other[second].string if second in other else 0)
            apart = first.end == second.moment and string == after and string > 0
            if last is first or not apart or first.pitch is None or second.pitch is None:
                continue
            if first.tie_start or first.tie_stop or second.tie_stop or second.tie_start:
                continue
            rise = second.pitch.midi - first.pitch.midi
            if not rise or second.sounding is None:
                continue
            number += 1
            if number % 3 == 0:
                for head, kind in ((first, "start"), (second, "stop")):
                    mark = etree.Element("slide", type=kind, number="1")
                    _notations(head).insert(0, mark)
            else:
                name = "hammer-on" if rise > 0 else "pull-off"
                for head, kind in ((first, "start"), (second, "stop")):
                    mark = etree.SubElement(_technical(head), name, type=kind, number="1")
                    mark.text = name[0].upper() if kind == "start" else None
            last = second


def _slurs(part: PagePart) -> None:
    for lane in _line(part):
        for first, second in list(pairwise(lane))[2::5]:
            if first.spans or second.spans or first.bar is not second.bar:
                continue
            _notations(first).insert(0, etree.Element("slur", type="start", number="2"))
            _notations(second).insert(0, etree.Element("slur", type="stop", number="2"))


def _wedges(part: PagePart) -> None:
    for bar in part.bars[1::3]:
        lane = bar.heads[0].voice if bar.heads else ""
        notes = [h.element for h in bar.heads if h.voice == lane and not h.is_chord]
        if len(notes) < 2 or bar.heads[0].onset:
            continue
        for place, kind in ((notes[-1], "stop"), (notes[0], "crescendo")):
            wedge = etree.fromstring(
                f"<direction><direction-type><wedge type='{kind}' number='1'/></direction-type>"
                "</direction>"
            )
            place.addprevious(wedge)


def _instrument_ids(part: PagePart) -> None:
    if part.declared is None:
        return
    first = part.declared.find("score-instrument")
    if first is None:
        return
    for head in part.heads[::7]:
        # <instrument> stands after duration and ties, before level and voice.
        after = next(
            (one for one in head.element if one.tag in {"footnote", "level", "voice"}), None
        )
        if after is not None and head.element.find("instrument") is None:
            after.addprevious(etree.Element("instrument", id=first.get("id", "")))


def _diagram(grip: PageGrip) -> None:
    stops = grip.stops
    notes = [stop.head for stop in stops if stop.head.sounding is not None]
    if len(stops) < 2 or len(notes) < len(stops) or grip.instrument is None:
        return
    if any(onset == grip.onset for onset, _ in grip.bar.harmonies):
        return
    classes = {int(head.sounding or 0) % 12 for head in notes}
    for root in sorted(classes):
        kind = _KINDS.get(frozenset((one - root) % 12 for one in classes))
        if kind:
            first = _first_head(grip)
            harmony = _harmony(root, kind, grip)
            first.element.addprevious(harmony)
            grip.bar.harmonies.append((grip.onset, harmony))
            return


def _first_head(grip: PageGrip) -> Head:
    heads = [head for head in grip.bar.heads if head.onset == grip.onset and not head.is_chord]
    return next(head for head in heads if head.element.getparent() is not None)


def _harmony(root: int, kind: str, grip: PageGrip) -> etree._Element:
    name = spelled(60 + root, Key(0))
    alter = f"<root-alter>{name.alter}</root-alter>" if name.alter else ""
    frets = [stop.fret + (grip.instrument.capo if grip.instrument else 0) for stop in grip.stops]
    capo = grip.instrument.capo if grip.instrument else 0
    stopped = [fret for fret in frets if fret > 0]
    first = min(stopped) if stopped and max(stopped) > 4 else 1
    strings = grip.instrument.strings if grip.instrument else 6
    dots = "".join(
        f"<frame-note><string>{stop.string}</string><fret>{stop.fret}</fret></frame-note>"
        for stop in sorted(grip.stops, key=lambda stop: -stop.string)
    )
    bare = [stop.fret for stop in grip.stops]
    shown = max([4, *(fret - first + 1 for fret in bare)])
    frame = (
        f"<frame><frame-strings>{strings}</frame-strings><frame-frets>{shown}</frame-frets>"
        f"<first-fret>{first}</first-fret>{dots}</frame>"
    )
    fits = capo == 0 and all(fret == 0 or fret >= first for fret in bare)
    return etree.fromstring(
        f"<harmony><root><root-step>{name.letter}</root-step>{alter}</root><kind>{kind}</kind>"
        f"{frame if fits else ''}</harmony>"
    )


def _barline(location: str, inside: str) -> etree._Element:
    return etree.fromstring(f"<barline location='{location}'>{inside}</barline>")


def _words(text: str) -> etree._Element:
    return etree.fromstring(
        f"<direction><direction-type><words>{text}</words></direction-type></direction>"
    )


def _jumps(part: PagePart) -> None:
    bars = [bar for bar in part.bars if not bar.is_implicit]
    marked = any(
        one.find(name) is not None
        for bar in part.bars
        for _, one in bar.barlines
        for name in ("repeat", "ending")
    )
    if len(bars) < 6 or marked:
        return
    start, second, last = bars[1].element, bars[-2].element, bars[-1].element
    start.insert(0, _barline("left", "<repeat direction='forward'/>"))
    second.insert(0, _barline("left", "<ending number='1' type='start'/>"))
    second.append(
        _barline("right", "<ending number='1' type='stop'/><repeat direction='backward'/>")
    )
    last.insert(0, _barline("left", "<ending number='2' type='start'/>"))
    last.append(_barline("right", "<ending number='2' type='discontinue'/>"))
    mark = etree.fromstring("<direction><direction-type><segno/></direction-type></direction>")
    start.insert(1, mark)
    bars[2].element.append(_words("To Coda"))
    coda = etree.fromstring("<direction><direction-type><coda/></direction-type></direction>")
    bars[3].element.insert(0, coda)
    last.insert(len(last) - 1, _words("D.S. al Coda"))
