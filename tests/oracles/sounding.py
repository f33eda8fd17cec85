"""What a MusicXML file sounds and says, from the text of the W3C standard and the file alone.

Source: the MusicXML 4.0 reference of the W3C Music Notation Community Group: ``note``, ``chord``,
``backup``, ``forward``, ``duration``, ``divisions``, ``transpose``, ``staff-tuning``, ``capo``.
None of our reader's code is used, nor the XML library that it uses.
"""

from __future__ import annotations

import io
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree import ElementTree as ET

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NONE = Fraction(0)

# Onset in the measure and duration in quarters, sounding height on the MIDI scale, grace note.
Sound = tuple[Fraction, Fraction, Fraction, bool]


@dataclass(slots=True)
class Heard:
    """One part of a file.

    Args:
        measures: What sounds in each measure; a chord's note lasts as long as its first one.
        said: How often each thing is said that the model holds, by its name and value.
        wrong_places: Indices of measures with a place that does not sound its note.
    """

    measures: list[Counter[Sound]] = field(default_factory=list)
    said: Counter[tuple[str, str]] = field(default_factory=Counter)
    wrong_places: set[int] = field(default_factory=set)


def heard_parts(data: bytes) -> list[Heard]:
    """Return the parts of a partwise or timewise file, compressed or not."""
    if data[:2] == b"PK":
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            names = [one for one in packed.namelist() if not one.startswith("META-INF")]
            scores = [one for one in names if one.endswith((".xml", ".musicxml"))]
            data = packed.read(scores[0])
    root = ET.fromstring(data)
    if root.tag == "score-timewise":
        columns: dict[str, list[ET.Element]] = {}
        for measure in root.findall("measure"):
            for part in measure.findall("part"):
                columns.setdefault(part.get("id", ""), []).append(part)
        return [_Clock().part(rows) for rows in columns.values()]
    return [_Clock().part(part.findall("measure")) for part in root.findall("part")]


@dataclass(slots=True)
class _Clock:
    """What runs on from measure to measure."""

    divisions: Fraction = Fraction(1)
    moved: dict[str, Fraction] = field(default_factory=dict)
    strings: dict[int, Fraction] = field(default_factory=dict)
    capo: Fraction = _NONE
    out: Heard = field(default_factory=Heard)

    def part(self, rows: list[ET.Element]) -> Heard:
        for index, row in enumerate(rows):
            self.out.measures.append(Counter())
            now, begun, lasts = _NONE, _NONE, _NONE
            for child in row:
                if child.tag == "attributes":
                    self._attributes(child)
                elif child.tag in ("backup", "forward"):
                    length = Fraction(child.findtext("duration", "0").strip()) / self.divisions
                    now += length if child.tag == "forward" else -length
                elif child.tag == "note":
                    if child.find("chord") is None:
                        begun, lasts = now, self._length(child)
                        now += lasts
                    self._note(child, index, begun, lasts)
        return self.out

    def _length(self, note: ET.Element) -> Fraction:
        if note.find("grace") is not None:
            return _NONE
        return Fraction(note.findtext("duration", "0").strip()) / self.divisions

    def _attributes(self, child: ET.Element) -> None:
        self.divisions = Fraction((child.findtext("divisions") or str(self.divisions)).strip())
        for one in child.findall("transpose"):
            semitones = Fraction(one.findtext("chromatic", "0").strip())
            octaves = int(one.findtext("octave-change", "0").strip())
            self.moved[one.get("number", "")] = semitones + 12 * octaves
        for details in child.findall("staff-details"):
            tuned = details.findall("staff-tuning")
            for one in tuned:
                self.strings[int(one.get("line", "0"))] = _height(one, "tuning-")
            if tuned or details.find("capo") is not None:
                self.capo = Fraction(details.findtext("capo", "0").strip())

    def _note(self, note: ET.Element, index: int, onset: Fraction, lasts: Fraction) -> None:
        self.out.said.update(_said(note))
        pitch = note.find("pitch")
        if pitch is None:
            return
        staff = note.findtext("staff", "1").strip()
        height = _height(pitch) + self.moved.get(staff, self.moved.get("", _NONE))
        grace = note.find("grace") is not None
        self.out.measures[index][onset, lasts, height, grace] += 1
        string, fret = note.findtext(".//string"), note.findtext(".//fret")
        if string and fret and self.strings and note.find(".//harmonic") is None:
            opened = self.strings.get(len(self.strings) + 1 - int(string))
            if opened is None or opened + self.capo + int(fret) != height:
                self.out.wrong_places.add(index)


def _height(element: ET.Element, prefix: str = "") -> Fraction:
    step = element.findtext(f"{prefix}step", "").strip()
    alter = Fraction((element.findtext(f"{prefix}alter") or "0").strip())
    return 12 * (int(element.findtext(f"{prefix}octave", "").strip()) + 1) + _STEPS[step] + alter


# Children of a note whose text the model holds as it stands, for each note.
_TEXTS = (
    ("finger", "notations/technical/fingering"),
    ("pluck", "notations/technical/pluck"),
)


def _said(note: ET.Element) -> Iterator[tuple[str, str]]:
    """Yield what a note says of what the model holds in fields of their own."""
    if note.find("grace") is not None:
        yield "grace", ""
    if note.find("cue") is not None:
        yield "cue", ""
    yield "kind", "rest" if note.find("rest") is not None else "note"
    for name, path in _TEXTS:
        for one in note.findall(path):
            yield name, (one.text or "").strip()
    for lyric in note.findall("lyric"):
        yield "verse", lyric.get("number", "")
        sung = [one for one in lyric if one.tag in ("text", "elision")]
        yield "text", "".join(one.text or "" for one in sung)
        # Syllables that are sung on one note share the place of the first one.
        for one in lyric.findall("syllabic")[:1]:
            yield "syllabic", (one.text or "").strip()
    if note.find("chord") is None:
        yield "type", note.findtext("type", "").strip()
        yield "dots", str(len(note.findall("dot")))
        times = note.find("time-modification")
        if times is not None:
            actual, normal = times.findtext("actual-notes", ""), times.findtext("normal-notes", "")
            yield "tuplet", f"{actual.strip()}:{normal.strip()}"
        for beam in note.findall("beam"):
            yield "beam", (beam.text or "").strip()
        if note.find("rest") is None:
            yield "stem", note.findtext("stem", "").strip()
    for string in note.findall("notations/technical/string"):
        fret = note.findtext("notations/technical/fret")
        if fret is not None:
            yield "place", f"{(string.text or '').strip()}:{fret.strip()}"
    # The sound of a tie is <tie>; a picture of one without it is read as a tie as well.
    ties = note.findall("tie") or note.findall("notations/tied")
    for name in {one.get("type", "") for one in ties} & {"start", "stop"}:
        yield "tie", name
    if note.find("accidental") is not None:
        yield "accidental", ""
