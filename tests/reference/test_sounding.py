"""Sounding pitch, onset and duration, by a reader that shares no code with ours.

Source: the text of the W3C MusicXML 4.0 reference, as `tests.oracles.sounding` states it, over our
samples, a stride of the corpus inside the PyPI package ``music21``, and scores of our own.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

from tests.oracles.corpus_files import corpus_files
from tests.oracles.modelled import modelled_parts
from tests.oracles.sounding import Heard, Sound, heard_parts
from tests.rich import rich
from variants.errors import NeckwiseError
from variants.musicxml import Staves, read_bytes, read_raw, to_bytes
from variants.pipeline import run
from variants.prepare import Strings, prepare
from variants.promises import Promise
from variants.score import Score, notes
from variants.score.strung import tunings
from variants.steps import list_steps, parse_step
from variants.variant import Wishes, make_variant

STRIDE = 60
SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.musicxml"))
# Beams of the second level without a first, which cannot be drawn; a backup before the start.
LEFT_OUT = {"23f-Tuplets-DurationButNoBracket.xml", "11b-TimeSignatures-NoTime.xml"}
FIELDS = {"syllabic", "text", "verse", "finger", "pluck", "place", "tie", "tuplet", "beam"}
FIELDS |= {"stem", "type", "dots", "accidental", "grace", "cue", "kind"}
OPEN = "E2 A2 D3 G3 B3 E4"


def _attributes(*, tuning: str = "", capo: int = -1, clef: str = "", divisions: int = 0) -> str:
    strings = "".join(
        f'<staff-tuning line="{line}"><tuning-step>{name[0]}</tuning-step>'
        f"<tuning-octave>{name[1]}</tuning-octave></staff-tuning>"
        for line, name in enumerate(tuning.split(), 1)
    )
    fret = f"<capo>{capo}</capo>" if capo >= 0 else ""
    return (
        "<attributes>"
        + (f"<divisions>{divisions}</divisions>" if divisions else "")
        + clef
        + (f"<staff-details>{strings}{fret}</staff-details>" if strings or fret else "")
        + "</attributes>"
    )


def _note(pitch: str, string: int, fret: int, length: int = 7) -> str:
    return (
        f"<note><pitch><step>{pitch[0]}</step>"
        + ("<alter>1</alter>" if "#" in pitch else "")
        + f"<octave>{pitch[-1]}</octave></pitch><duration>{length}</duration><voice>1</voice>"
        f"<notations><technical><string>{string}</string><fret>{fret}</fret></technical>"
        "</notations></note>"
    )


def _piece(*measures: str) -> bytes:
    rows = "".join(
        f'<measure number="{number}">{inside}</measure>'
        for number, inside in enumerate(measures, 1)
    )
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Guitar</part-name>'
        f'</score-part></part-list><part id="P1">{rows}</part></score-partwise>'
    ).encode()


TAB = "<clef><sign>TAB</sign><line>5</line></clef>"
START = _attributes(tuning=OPEN, clef=TAB, divisions=7)
TWO = _note("E2", 6, 0) + _note("A2", 5, 0)
RETUNED = {
    "one-string": _piece(START + TWO, _attributes(tuning="D2") + _note("D2", 6, 0, 14)),
    "all-strings": _piece(
        START + TWO, _attributes(tuning="D2 A2 D3 G3 A3 D4") + _note("D4", 1, 0, 3)
    ),
    "capo-on": _piece(START + TWO, _attributes(tuning=OPEN, capo=2) + _note("F#2", 6, 0)),
    "capo-alone": _piece(START + TWO, _attributes(capo=3) + _note("G2", 6, 0)),
    "and-back": _piece(
        START + TWO,
        _attributes(tuning="D2") + _note("D2", 6, 0),
        _attributes(tuning="E2") + TWO,
    ),
}


SMALL_NOTES = _piece(
    START
    + TWO.replace("<technical>", "<technical><fingering>3</fingering><pluck>p</pluck>")
    + "<note><cue/><pitch><step>E</step><octave>3</octave></pitch><duration>7</duration></note>"
)


def _sources() -> list[tuple[str, bytes]]:
    files = [*SAMPLES, *corpus_files()[::STRIDE]]
    own = [
        ("rich", rich(chords=True)),
        ("rich-lines", rich(chords=False)),
        ("small", SMALL_NOTES),
        *RETUNED.items(),
    ]
    return [*((path.name, path.read_bytes()) for path in files if path.name not in LEFT_OUT), *own]


def test_the_model_holds_what_the_file_sounds_and_says() -> None:
    """Each modelled field has the value that an independent count finds, not only its raw XML."""
    seen: Counter[str] = Counter()
    for name, data in _sources():
        for ours, theirs in zip(
            modelled_parts(read_raw(data, merge=False)), heard_parts(data), strict=True
        ):
            assert ours.measures == theirs.measures, name
            assert ours.said == theirs.said, name
            seen.update(what for what, _ in theirs.said)
    # The law looks at nothing where no file has the field.
    assert set(seen) >= FIELDS


def _sounds(part: Heard, *, moved: int = 0) -> list[set[Sound]]:
    # A tab staff doubles its notation: one sound.
    return [{(at, long, height + moved, grace) for at, long, height, grace in row}
            for row in part.measures]  # fmt: skip


@pytest.mark.parametrize("staves", ["source", "both"])
def test_a_copy_sounds_like_its_source(staves: str) -> None:
    """The same notes at the same times for the same time; an octave read lower is in the log."""
    copied = 0
    for name, data in _sources():
        score = read_bytes(data)
        if any("tab" in one.message for one in score.changes):
            continue
        copied += 1
        written = heard_parts(to_bytes(score, staves=Staves(staves)))
        source = heard_parts(data)
        if len(written) != len(source):
            continue
        for part, ours, theirs in zip(score.parts, written, source, strict=True):
            lower = any("octave" in c.message for c in score.changes if c.part == part.id)
            assert _sounds(ours) == _sounds(theirs, moved=-12 * lower), name
    assert copied > len(SAMPLES)


@pytest.mark.parametrize("name", RETUNED)
def test_a_retuned_piece_is_refused_and_each_stretch_is_right(name: str) -> None:
    """No version has another sound than its source; what the way out makes is right."""
    data = RETUNED[name]
    assert not any(part.wrong_places for part in heard_parts(data))
    raw = read_raw(data)
    assert raw.changes == ()
    with pytest.raises(NeckwiseError, match=r"measure 2: .*version has one tuning"):
        make_variant(raw, [], Wishes())
    under = [index for index, _, _ in tunings(raw.parts[0])]
    for first, after in zip(under, [*under[1:], len(raw.parts[0].measures)], strict=True):
        step = parse_step(f"measures:range={first + 1}-{after}")
        made = make_variant(raw, [step], Wishes())
        (ours,) = heard_parts(to_bytes(made.score, staves="tab"))
        (theirs,) = heard_parts(data)
        assert _sounds(ours) == _sounds(theirs)[first:after]
        assert not ours.wrong_places


EXAMPLES = [text for info in list_steps() for text in info.examples]


def _classes(rows: list[set[Sound]]) -> list[set[tuple[Fraction, Fraction]]]:
    return [{(at, height % 12) for at, _, height, grace in row if not grace} for row in rows]


def test_steps_keep_what_they_promise_in_the_ears_of_another() -> None:
    """Pitches, onsets and durations that a step promises, told from the files before and after."""
    checked: Counter[Promise] = Counter()
    for path in SAMPLES:
        score = prepare(read_raw(path.read_bytes()), "auto", Strings(keep_places=True))
        before = [_sounds(part) for part in heard_parts(to_bytes(score))]
        for text in EXAMPLES:
            step = parse_step(text)
            if hasattr(step, "order_for"):
                continue
            try:
                result = run(score, [step]).score
            except NeckwiseError:
                continue
            after = [_sounds(part) for part in heard_parts(to_bytes(result))]
            if len(after) != len(before):
                continue
            for one, other in zip(before, after, strict=True):
                _check(step.keeps, one, other, f"{path.stem} {text}")
            checked.update(step.keeps)
    wanted = {Promise.SOUNDING_PITCHES, Promise.PITCH_CLASSES, Promise.ONSETS, Promise.DURATIONS}
    assert all(checked[one] > 20 for one in wanted), checked


def _check(
    keeps: frozenset[Promise], one: list[set[Sound]], other: list[set[Sound]], what: str
) -> None:
    if Promise.SOUNDING_PITCHES in keeps:
        assert [{s[::2] for s in row if not s[3]} for row in one] == [
            {s[::2] for s in row if not s[3]} for row in other
        ], what
    if Promise.DURATIONS in keeps and Promise.SOUNDING_PITCHES in keeps:
        assert one == other, what
    if Promise.PITCH_CLASSES in keeps:
        assert _classes(one) == _classes(other), what
    if Promise.ONSETS in keeps:
        assert [{s[0] for s in row} for row in one] == [{s[0] for s in row} for row in other], what


def test_the_law_sees_a_wrong_sound() -> None:
    """A note moved, put later or made longer in the written file is a difference."""
    data = SAMPLES[0].read_bytes()
    score: Score = read_raw(data)
    assert any(True for _ in notes(score.parts[0]))
    text = to_bytes(score).decode()
    (before, *_) = heard_parts(text.encode())
    for old, new in (("<octave>", "<octave>1"), ("<duration>", "<duration>1")):
        changed = text.replace(old, new, 1)
        assert heard_parts(changed.encode())[0].measures != before.measures
