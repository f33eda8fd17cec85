"""Certain corrections: each is made, listed, and leaves every sounding pitch alone."""

from __future__ import annotations

import zipfile
from io import BytesIO

import pytest

from tests.unit.proof.pages import attributes, note, page, tab
from tests.unit.proof.test_page_rules import SIX, _triplet
from variants.errors import InputError, OutputError
from variants.musicxml.writer import pack
from variants.proof import fix as fixing
from variants.proof.engine import ProofReport
from variants.proof.finding import Finding, Fix, Flaw
from variants.proof.fix import fix_bytes, sounds


def test_fret_from_pitch() -> None:
    """The fret is written anew and nothing else is touched."""
    bad = tab(note("E3", 2, place="4:3") + note("E3", 6, place="4:2"))
    fixed = fix_bytes(bad)
    assert [(f.rule, f.fix) for f in fixed.made] == [("tab-pitch", "write fret 2")]
    assert fixed.report.findings == ()
    body = fixed.data.split(b"?>\n", maxsplit=1)[1]
    assert body == bad.replace(b"<fret>3<", b"<fret>2<", 1)


def test_missing_sign_goes_to_its_place() -> None:
    """The accidental is written where the schema wants it: behind type and dot."""
    good = note("F#3", 4, sign="sharp") + note("F#3", 4)
    data = page(good, good, good, note("F#3", 6) + note("E3"))
    fixed = fix_bytes(data)
    assert fixed.report.findings == ()
    assert b"<type>half</type><dot/><accidental>sharp</accidental>" in fixed.data


def test_tuplet_and_count() -> None:
    """An open tuplet is closed at its third note; a wrong count is counted anew."""
    fixed = fix_bytes(page(_triplet("start", "", ""), head=SIX))
    assert [f.fix for f in fixed.made] == ["write the stop of the tuplet"]
    assert fixed.report.findings == ()
    lyric = '<lyric name="counting" number="1"><text>{}</text></lyric>'
    notes = "".join(note("E3", 2, lyric=lyric.format(text)) for text in ("1", "2", "2 [4]", "4"))
    assert b"<text>3 [4]</text>" in fix_bytes(page(notes)).data


def test_comments_and_line_breaks_stay() -> None:
    """What is not corrected stays byte for byte, comments too."""
    bad = tab(note("E3", 8, place="4:3") + "<!-- a remark -->\n\n")
    # One note alone on its string is certain, for the tuning is stated.
    assert b"<!-- a remark -->\n\n" in fix_bytes(bad).data


def test_nothing_to_fix_gives_the_same_bytes() -> None:
    """A clean file, and one whose faults leave a choice, come back as they are."""
    for data in (tab(note("E3", 8, place="4:2")), tab(note("E3", 8, place="9:2"))):
        fixed = fix_bytes(data)
        assert fixed.data == data
        assert fixed.made == ()


def test_compressed_files() -> None:
    """A compressed file is corrected too."""
    fixed = fix_bytes(pack(tab(note("E3", 8, place="4:3"))))
    assert b"<fret>2</fret>" in fixed.data
    with zipfile.ZipFile(BytesIO(pack(fixed.data))) as archive:
        assert archive.read("score.musicxml") == fixed.data


def test_octave_that_no_fret_gives_is_not_fixed() -> None:
    """A pitch below the open string leaves the choice of another string."""
    fixed = fix_bytes(tab(note("E3", 4, place="1:3") + note("E4", 4, place="1:0")))
    assert fixed.made == ()
    assert [f.rule for f in fixed.report.findings] == ["tab-pitch"]


def test_corrections_that_move_a_sound_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """The proof is real: a correction that touches a pitch is caught and nothing comes out."""
    data = tab(note("E3", 8, place="4:3"))

    def wrong(report: ProofReport) -> list[Finding]:
        done = []
        for finding, flaw in zip(report.findings, report.flaws, strict=True):
            done += _raise_octave(finding, flaw)
        return done

    monkeypatch.setattr(fixing, "_apply_fixes", wrong)
    with pytest.raises(OutputError, match="would move a sound"):
        fix_bytes(data)


def _raise_octave(finding: Finding, flaw: Flaw) -> list[Finding]:
    if not isinstance(flaw.fix, Fix) or flaw.element is None:
        return []
    octave = flaw.element.find("pitch/octave")
    assert octave is not None
    octave.text = "4"
    return [finding]


def test_unreadable_sounds_cannot_be_proven() -> None:
    """Where the reader gives up no correction is made, and the message says so."""
    broken = "<backup><duration>99</duration></backup>"
    with pytest.raises(InputError, match="no correction could be proven"):
        fix_bytes(tab(note("E3", 8, place="4:3") + broken))


def test_sounds_keep_tab_and_notation_apart() -> None:
    """Both staves are compared, so neither can move unseen."""
    head = attributes("", more="<staves>2</staves>")
    two = note("E3", 8, staff=1) + "<backup><duration>8</duration></backup>"
    data = page(two + note("E3", 8, staff=2, voice=5), head=head)
    assert [sound[3] for sound in sounds(data)] == [52, 52]
