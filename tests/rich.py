"""A score full of what steps carry: spans, words, chord diagrams, signs for the left hand.

One guitar part of eight measures, in two forms: a line, and the same with chords; and what must
hold of it after any step, looked up in the written XML without the library.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from lxml import etree

_HEAD = (
    '<score-partwise version="4.0"><movement-title>Rich</movement-title><part-list>'
    '<score-part id="P1"><part-name>Guitar</part-name></score-part></part-list><part id="P1">'
)
_ATTRIBUTES = (
    "<attributes><divisions>4</divisions><key><fifths>1</fifths><mode>major</mode></key>"
    "<time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line>"
    "<clef-octave-change>-1</clef-octave-change></clef></attributes>"
)
# Grips of C, G and D as every chord book has them (common practice); string 1 is the highest.
_GRIPS = {
    "C": ((5, 3), (4, 2), (3, 0), (2, 1), (1, 0)),
    "G": ((6, 3), (5, 2), (4, 0), (3, 0), (2, 0), (1, 3)),
    "D": ((4, 0), (3, 2), (2, 3), (1, 2)),
}


def _frame(root: str) -> str:
    dots = "".join(
        f"<frame-note><string>{s}</string><fret>{f}</fret></frame-note>" for s, f in _GRIPS[root]
    )
    return "<frame><frame-strings>6</frame-strings><frame-frets>4</frame-frets>" + dots + "</frame>"


def _harmony(root: str) -> str:
    return (
        f"<harmony><root><root-step>{root}</root-step></root><kind>major</kind>{_frame(root)}"
        "</harmony>"
    )


def _direction(inside: str, sound: str = "") -> str:
    return f"<direction><direction-type>{inside}</direction-type>{sound}</direction>"


_TYPES = {1: "16th", 2: "eighth", 3: "eighth", 4: "quarter", 6: "quarter", 8: "half", 16: "whole"}


def note(
    name: str,
    length: int,
    *,
    chord: str = "",
    notations: str = "",
    tie: str = "",
    word: str = "",
    triplet: str = "",
    grace: bool = False,
) -> str:
    """Return a note of so many 16ths and what hangs on it.

    Args:
        name: Letter, perhaps a sharp, and octave as sounding.
        length: In sixteenths, also printed so; 3 and 6 are dotted.
        chord: Further notes of the chord, apart by spaces.
        notations: Children of ``notations``.
        tie: ``start``, ``stop`` or both.
        word: A syllable of the first verse.
        triplet: ``start``, ``stop`` or ``inside`` of a triplet of eighths over a quarter.
        grace: A grace note.
    """
    kind = "eighth" if triplet or grace else _TYPES[length]
    dots = "<dot/>" if length in (3, 6) and not triplet and not grace else ""
    modification = (
        "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
        "</time-modification>"
        if triplet
        else ""
    )
    if triplet in ("start", "stop"):
        notations += f'<tuplet type="{triplet}"/>'
    tied = "".join(f'<tied type="{one}"/>' for one in tie.split())
    marks = f"<notations>{tied}{notations}</notations>" if tied or notations else ""
    lyric = f"<lyric><syllabic>single</syllabic><text>{word}</text></lyric>" if word else ""
    lines = []
    for index, one in enumerate([name, *chord.split()]):
        sharp = "<alter>1</alter>" if "#" in one else ""
        pitch = f"<pitch><step>{one[0]}</step>{sharp}<octave>{one[-1]}</octave></pitch>"
        ties = "".join(f'<tie type="{end}"/>' for end in tie.split())
        start = "<grace/>" if grace else ""
        time = "" if grace else f"<duration>{length}</duration>"
        first = index == 0
        other_ties = f"<notations>{tied}</notations>" if tied else ""
        lines.append(
            f"<note>{start}{'' if first else '<chord/>'}{pitch}{time}{ties}<voice>1</voice>"
            f"<type>{kind}</type>{dots}{modification}{marks if first else other_ties}"
            f"{lyric if first else ''}</note>"
        )
    return "".join(lines)


def _technical(inside: str) -> str:
    return f"<technical>{inside}</technical>"


def rich(*, chords: bool) -> bytes:
    """Return the score.

    Args:
        chords: With two- and three-note chords, else a single line.
    """
    second = "B3" if chords else ""
    third = "B3 D4" if chords else ""
    sixth = "C4" if chords else ""
    measures = [
        _ATTRIBUTES
        + _direction(
            "<metronome><beat-unit>quarter</beat-unit><per-minute>96</per-minute></metronome>",
            '<sound tempo="96"/>',
        )
        + _harmony("G")
        + note("G3", 4, word="one", notations='<slur type="start" number="1"/>', chord=second)
        + note("A3", 4, word="two", notations='<slur type="stop" number="1"/>')
        + note("B3", 4, word="three", notations="<articulations><staccato/></articulations>")
        + note("D4", 4, word="four", notations="<fermata/>"),
        # A hammer-on and a pull-off, a slide, a bend.
        _harmony("C")
        + note("E4", 2, notations=_technical('<hammer-on type="start" number="1">H</hammer-on>'))
        + note("F#4", 2, notations=_technical(
            '<hammer-on type="stop" number="1"/><pull-off type="start" number="2">P</pull-off>'))
        + note("E4", 4, notations=_technical('<pull-off type="stop" number="2"/>'))
        + note("G3", 4, notations='<slide type="start" number="1" line-type="solid"/>')
        + note("A3", 4, notations='<slide type="stop" number="1" line-type="solid"/>'),
        # Ties over the barline, off-beats, a wedge.
        _direction('<wedge type="crescendo" number="1"/>')
        + note("G3", 2, word="off")
        + note("D4", 4, word="the", chord=second)
        + note("C4", 4, word="beat", notations="<articulations><accent/></articulations>")
        + note("B3", 6, tie="start", word="held")
        + _direction('<wedge type="stop" number="1"/>'),
        note("B3", 4, tie="stop")
        + _direction("<dynamics><f/></dynamics>", '<sound dynamics="98"/>')
        + note("A3", 1, triplet="start").replace("<duration>1<", "<duration>4/3<")
        + note("G3", 1, triplet="inside").replace("<duration>1<", "<duration>4/3<")
        + note("A3", 1, triplet="stop").replace("<duration>1<", "<duration>4/3<")
        + note("B3", 8, notations=_technical("<bend><bend-alter>2</bend-alter></bend>")),
        _harmony("D")
        + _direction('<dashes type="start" number="1"/>')
        + note("C4", 2, grace=True, notations='<slur type="start" number="2"/>')
        + note("D4", 8, notations='<slur type="stop" number="2"/>'
               "<ornaments><trill-mark/></ornaments>", chord=sixth)
        + note("F#4", 4, notations='<glissando type="start" number="1" line-type="wavy"/>')
        + note("A4", 4, notations='<glissando type="stop" number="1" line-type="wavy"/>')
        + _direction('<dashes type="stop" number="1"/>'),
        '<barline location="left"><repeat direction="forward"/></barline>'
        + _harmony("G")
        + _direction("<words>rit.</words>", '<sound tempo="72"/>')
        + note("G3", 8, notations="<arpeggiate/>" if chords else "", chord=third)
        + note("D3", 8, notations=_technical("<harmonic/>")),
        '<barline location="left"><ending number="1" type="start"/></barline>'
        + note("G3", 16, word="last", notations='<slur type="start" number="1"/>')
        + '<barline location="right"><ending number="1" type="stop"/>'
        '<repeat direction="backward"/></barline>',
        '<barline location="left"><ending number="2" type="start"/></barline>'
        + _direction('<octave-shift type="down" size="8" number="1"/>')
        + note("B3", 8, word="of")
        + note("G3", 8, word="all", notations='<slur type="stop" number="1"/>')
        + _direction('<octave-shift type="stop" size="8" number="1"/>')
        + '<barline location="right"><bar-style>light-heavy</bar-style>'
        '<ending number="2" type="stop"/></barline>',
    ]  # fmt: skip
    body = "".join(
        f'<measure number="{number}">{inside}</measure>'
        for number, inside in enumerate(measures, 1)
    )
    # Thirds of a beat want divisions that three goes into.
    text = _HEAD + body + "</part></score-partwise>"
    for length in ("16", "8", "6", "4/3", "4", "3", "2", "1"):
        ticks = Fraction(length) * 3
        text = text.replace(f"<duration>{length}<", f"<duration>={ticks}<")
    return (
        text.replace("<duration>=", "<duration>")
        .replace("<divisions>4<", "<divisions>12<")
        .encode()
    )


# -- what must hold --------------------------------------------------------------------------

_SPANS = ("slur", "tuplet", "glissando", "slide", "hammer-on", "pull-off", "wavy-line", "tied")
_SIGNS = ("wedge", "dashes", "bracket", "pedal", "octave-shift")
_OPENS = {"start", "crescendo", "diminuendo", "up", "down"}


def unbalanced(data: bytes) -> list[str]:
    """Return the spans of a written score that lack an end, one line each; staves apart."""
    faults = []
    for part in etree.fromstring(data).findall("part"):
        open_spans: Counter[tuple[str, str, str]] = Counter()
        for measure in part.findall("measure"):
            for element in measure.iter(*_SPANS, *_SIGNS):
                staff = _staff(element) if element.tag in _SPANS else ""
                key = (str(element.tag), element.get("number", "1"), staff)
                if element.tag == "tied":
                    key = ("tied", _pitch(element), staff)
                kind = element.get("type")
                if kind == "stop":
                    open_spans[key] -= 1
                    if open_spans[key] < 0:
                        faults.append(f"measure {measure.get('number')}: {key} stops, never began")
                        open_spans[key] = 0
                elif kind in _OPENS:
                    open_spans[key] += 1
        faults += [f"{key} never stops" for key, times in open_spans.items() if times > 0]
    return faults


def _staff(element: etree._Element) -> str:
    note_element = next(element.iterancestors("note"))
    return f"{note_element.findtext('staff') or ''}"


def _pitch(element: etree._Element) -> str:
    pitch = next(element.iterancestors("note")).find("pitch")
    return "".join(map(str, pitch.itertext())) if pitch is not None else ""


def words_sung(data: bytes) -> list[str]:
    """Return the syllables of a written score in their order."""
    root = etree.fromstring(data)
    return [str(one.text) for one in root.iterfind(".//lyric/text")]


_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_OPEN_STRINGS = (64, 59, 55, 50, 45, 40)


def stale_frames(data: bytes) -> list[str]:
    """Return the chord diagrams of a written score that do not sound their major chord.

    The strings are those that the score states, else the standard ones (E2 to E4).
    """
    root = etree.fromstring(data)
    strings = _strings(root)
    faults = []
    for harmony in root.iter("harmony"):
        frame = harmony.find("frame")
        if frame is None or harmony.findtext("kind") != "major":
            continue
        name = harmony.findtext("root/root-step") or ""
        tonic = _STEPS[name] + int(harmony.findtext("root/root-alter") or 0)
        chord = {(tonic + third) % 12 for third in (0, 4, 7)}
        sounding = {
            (strings[int(one.findtext("string") or 0) - 1] + int(one.findtext("fret") or 0)) % 12
            for one in frame.findall("frame-note")
        }
        if not sounding <= chord:
            faults.append(f"{name}: its diagram sounds {sorted(sounding)}, not {sorted(chord)}")
    return faults


def _strings(root: etree._Element) -> tuple[int, ...]:
    details = next(
        (d for d in root.iter("staff-details") if d.find("staff-tuning") is not None), None
    )
    if details is None:
        return _OPEN_STRINGS
    capo = int(details.findtext("capo") or 0)
    lines = {
        int(one.get("line", "0")): 12 * (int(one.findtext("tuning-octave") or 0) + 1)
        + _STEPS[one.findtext("tuning-step") or "C"]
        + int(one.findtext("tuning-alter") or 0)
        + capo
        for one in details.findall("staff-tuning")
    }
    return tuple(lines[line] for line in sorted(lines, reverse=True))


def jumping_links(data: bytes) -> list[str]:
    """Return hammer-ons, pull-offs and slides whose ends stand on two strings."""
    faults = []
    for staff in ("", "2"):
        started: dict[tuple[str, str], str] = {}
        for element in etree.fromstring(data).iter("hammer-on", "pull-off", "slide"):
            note_element = next(element.iterancestors("note"))
            if staff and note_element.findtext("staff") != staff:
                continue
            string = note_element.findtext("notations/technical/string") or ""
            key = (str(element.tag), element.get("number", "1"))
            if element.get("type") == "start":
                started[key] = string
            elif started.get(key, string) != string:
                faults.append(f"{key[0]} from string {started[key]} to string {string}")
    return faults
