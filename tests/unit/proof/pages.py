"""Small files to proofread, written as text; each has nothing wrong but what a test puts in."""

from __future__ import annotations

from variants.proof import Finding, ProofSettings, chosen, proofread_bytes

TUNING = "".join(
    f'<staff-tuning line="{line}"><tuning-step>{step}</tuning-step>'
    f"<tuning-octave>{octave}</tuning-octave></staff-tuning>"
    for line, (step, octave) in enumerate(zip("EADGBE", "223334", strict=True), 1)
)
DETAILS = f"<staff-details><staff-lines>6</staff-lines>{TUNING}</staff-details>"
DETAILS_2 = DETAILS.replace("<staff-details>", '<staff-details number="2">')
GUITAR_CLEF = "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>"
TAB_CLEF = "<clef><sign>TAB</sign><line>5</line></clef>"
TEMPO = '<sound tempo="100"/>'
_TYPES = {1: "eighth", 2: "quarter", 3: "quarter", 4: "half", 6: "half", 8: "whole"}


def note(
    pitch: str,
    length: int = 2,
    *,
    inside: str = "",
    place: str = "",
    finger: str = "",
    notations: str = "",
    technical: str = "",
    tie: str = "",
    chord: bool = False,
    voice: int = 1,
    staff: int = 0,
    sign: str = "",
    kind: str = "",
    lyric: str = "",
) -> str:
    """Return a note as XML.

    Args:
        pitch: ``F#4``, or ``rest``.
        length: In eighths.
        inside: XML before the voice.
        place: ``string:fret``.
        finger: Left-hand finger.
        notations: XML inside ``notations``.
        technical: XML inside ``technical``.
        tie: ``start``, ``stop``, or both with a blank.
        chord: Whether it sounds with the note before.
        voice: Voice.
        staff: Staff, 0 for none.
        sign: Accidental.
        kind: Note type, where it is not that of the length.
        lyric: XML behind the notations.
    """
    what = "<rest/>"
    if pitch != "rest":
        alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(pitch[1:-1], "")
        what = f"<pitch><step>{pitch[0]}</step>{alter}<octave>{pitch[-1]}</octave></pitch>"
    ties = "".join(f'<tie type="{one}"/>' for one in tie.split())
    tied = "".join(f'<tied type="{one}"/>' for one in tie.split())
    if finger:
        technical = f"<fingering>{finger}</fingering>" + technical
    if place:
        string, fret = place.split(":")
        technical += f"<string>{string}</string><fret>{fret}</fret>"
    technical = f"<technical>{technical}</technical>" if technical else ""
    marks = tied + notations + technical
    dot = "<dot/>" if length in {3, 6} and not kind else ""
    accidental = f"<accidental>{sign}</accidental>" if sign else ""
    return (
        f"<note>{'<chord/>' if chord else ''}{what}<duration>{length}</duration>{ties}{inside}"
        f"<voice>{voice}</voice><type>{kind or _TYPES[length]}</type>{dot}{accidental}"
        f"{f'<staff>{staff}</staff>' if staff else ''}"
        f"{f'<notations>{marks}</notations>' if marks else ''}{lyric}</note>"
    )


def attributes(
    clefs: str = GUITAR_CLEF,
    *,
    time: str = "4/4",
    fifths: int = 0,
    details: str = "",
    more: str = "",
) -> str:
    """Return ``attributes`` with two divisions in a quarter."""
    beats, kind = time.split("/")
    return (
        f"<attributes><divisions>2</divisions><key><fifths>{fifths}</fifths></key>"
        f"<time><beats>{beats}</beats><beat-type>{kind}</beat-type></time>{more}{clefs}{details}"
        "</attributes>"
    )


def page(*measures: str, head: str | None = None, name: str = "Guitar") -> bytes:
    """Return a file with one part; the first measure begins with ``head``."""
    opening = attributes() if head is None else head
    bars = "".join(
        f'<measure number="{number}">{opening + TEMPO if number == 1 else ""}{inside}</measure>'
        for number, inside in enumerate(measures, 1)
    )
    return score(part(bars), names=(name,))


def part(bars: str, label: str = "P1") -> str:
    """Return a part with measures."""
    return f'<part id="{label}">{bars}</part>'


def score(*parts: str, names: tuple[str, ...] = ("Guitar",)) -> bytes:
    """Return a file with a title and a rights line."""
    declared = "".join(
        f'<score-part id="P{number}"><part-name>{name}</part-name></score-part>'
        for number, name in enumerate(names, 1)
    )
    return (
        '<score-partwise version="4.0"><work><work-title>Test</work-title></work>'
        "<identification><rights>CC0</rights></identification>"
        f"<part-list>{declared}</part-list>{''.join(parts)}</score-partwise>"
    ).encode()


def tab(*measures: str) -> bytes:
    """Return a file with one tab staff in standard tuning."""
    return page(*measures, head=attributes(TAB_CLEF, details=DETAILS))


def both(*pairs: tuple[str, str]) -> bytes:
    """Return a file with notation and tab; each measure as (notation, tab), a whole note long."""
    clefs = GUITAR_CLEF.replace("<clef>", '<clef number="1">') + TAB_CLEF.replace(
        "<clef>", '<clef number="2">'
    )
    head = attributes(clefs, details=DETAILS_2, more="<staves>2</staves>")
    return page(
        *(f"{up}<backup><duration>8</duration></backup>{down}" for up, down in pairs), head=head
    )


def found(data: bytes, rule: str = "") -> list[Finding]:
    """Return what is found, of one rule or of all."""
    settings = ProofSettings(rules=chosen([rule])) if rule else None
    return list(proofread_bytes(data, settings, file="test.musicxml").findings)


def told(data: bytes, rule: str) -> list[tuple[str, str, str]]:
    """Return (measure, beat, severity) of what a rule finds."""
    return [(one.measure, one.beat, one.severity.value) for one in found(data, rule)]
