"""The engine, the registry, the configuration, and the comparison with a source."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.unit.proof.pages import note, page, tab
from variants.errors import InputError, UsageError
from variants.music import Key, spelled
from variants.musicxml import read_bytes, to_bytes
from variants.musicxml.source import parse
from variants.pipeline import parse_pipeline, run
from variants.proof import Severity, chosen, list_rules, proofread, proofread_bytes
from variants.proof.against import compare, misread
from variants.proof.config import settings_of
from variants.proof.reports import render
from variants.proof.rules.marks import roman_value
from variants.proof.scan import scan
from variants.proof.views.grips import grips
from variants.proof.views.ties import tie_report
from variants.score import map_notes, with_parts

SAMPLES = sorted((Path(__file__).parents[3] / "samples").glob("*.musicxml"))
RULES_FOLDER = Path(__file__).parents[3] / "variants" / "proof" / "rules"
REST = "<note><rest/><duration>2</duration><voice>1</voice><type>quarter</type></note>"
BAD = tab(note("E3", 8, place="4:3"))


def test_every_rule_is_declared_once() -> None:
    """The id of a rule stands at one place of the folder, so that a search for it ends there."""
    text = "".join(path.read_text(encoding="utf-8") for path in RULES_FOLDER.glob("*.py"))
    assert len(list_rules()) == 67
    assert {rule.id: text.count(f'"{rule.id}"') for rule in list_rules()} == {
        rule.id: 1 for rule in list_rules()
    }


def test_a_view_is_made_once() -> None:
    """What several rules look at is made when first asked for, and shared."""
    asked = scan(parse(BAD))
    assert grips(asked) is grips(asked)
    assert grips(asked)[0].stops[0].head is asked.parts[0].placed[0]
    assert tie_report(asked.parts[0]) is tie_report(asked.parts[0])
    assert grips(scan(parse(BAD))) is not grips(asked)


def test_every_rule_says_what_it_finds() -> None:
    """A meaning is a clause of one line without a full stop."""
    for rule in list_rules():
        assert 10 < len(rule.meaning) < 100
        assert not rule.meaning.endswith(".")
        assert "\n" not in rule.meaning


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples_are_clean(path: Path) -> None:
    """Nothing at all is found in our own samples."""
    assert proofread(path).findings == ()


def test_findings_stand_in_the_order_of_the_page() -> None:
    """Measure by measure; what is about the whole file comes last."""
    data = page(note("F3", 8, sign="sharp"), note("E3", 2), note("G3", 8, sign="flat")).replace(
        b"<rights>CC0</rights>", b""
    )
    places = [one.measure for one in proofread_bytes(data).findings]
    assert places == ["1", "2", "3", ""]


def test_choice_of_rules() -> None:
    """Ids, patterns and severities select and ignore."""
    assert [rule.id for rule in chosen(["tab-pitch"])] == ["tab-pitch"]
    assert {rule.id for rule in chosen(["finger-*"])} == {"finger-crossing", "finger-two-frets"}
    assert {rule.severity for rule in chosen(["error"])} == {Severity.ERROR}
    assert "tab-pitch" not in {rule.id for rule in chosen((), ["tab-*"])}
    with pytest.raises(UsageError, match="did you mean tab-pitch"):
        chosen(["tab-pich"])


def test_configuration(tmp_path: Path) -> None:
    """The file's choice, severities and hand hold; the call's selection goes before it."""
    path = tmp_path / "proof.toml"
    path.write_text(
        'select = ["tab-pitch", "hand-span"]\nhand = "small"\n[severity]\ntab-pitch = "hint"\n',
        encoding="utf-8",
    )
    settings = settings_of(config=path)
    assert {rule.id for rule in settings.rules} == {"tab-pitch", "hand-span"}
    (one,) = proofread_bytes(BAD, settings).findings
    assert one.severity is Severity.HINT
    assert settings_of(select=["metre"], config=path).rules == chosen(["metre"])
    wide = tab(note("F3", 8, place="4:3") + note("F4", 8, place="1:7", chord=True))
    assert settings.hand == "small"
    rules = [one.rule for one in proofread_bytes(wide, settings).findings]
    assert "hand-span" in rules


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("selct = []", "there is no setting 'selct'"),
        ("select = 3", "select is no list of texts"),
        ('[severity]\nnothing = "hint"', "no rule is called 'nothing'"),
        ('[severity]\ntab-pitch = "bad"', "the severity of tab-pitch is 'bad'"),
        ('hand = "huge"', "there is no hand size 'huge'"),
        ("hand = true", "hand is True"),
        ("severity = 3", "severity is no table"),
        ("select = [", "is no TOML"),
    ],
)
def test_wrong_configuration(tmp_path: Path, text: str, cause: str) -> None:
    """Each mistake is one line that names it."""
    path = tmp_path / "proof.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises((UsageError, InputError), match=cause) as caught:
        settings_of(config=path)
    assert "proof.toml" in str(caught.value)
    with pytest.raises(InputError, match="cannot be read"):
        settings_of(config=tmp_path / "none.toml")


def test_what_is_no_score_is_refused() -> None:
    """Damaged XML is no finding: there is no page to read."""
    with pytest.raises(InputError):
        proofread_bytes(b"<score-partwise><part>")


def test_timewise_files() -> None:
    """A timewise file is turned around and proofread."""
    data = BAD.replace(b"score-partwise", b"score-timewise")
    start, end = data.index(b'<part id="P1">'), data.index(b"</part></score")
    measure = data[start + 14 : end].replace(b"</measure>", b"</part></measure>")
    measure = measure.replace(b'<measure number="1">', b'<measure number="1"><part id="P1">')
    timewise = data[:start] + measure + data[end + 7 :]
    assert [one.rule for one in proofread_bytes(timewise).findings] == ["tab-pitch"]


def test_against_itself_everything_is_kept() -> None:
    """A score keeps every promise against itself."""
    for path in SAMPLES:
        source = read_bytes(path.read_bytes())
        compared = compare(source, source)
        assert all(one.kept for one in compared.verdicts)
        assert compared.differences == ()


def test_against_a_transposed_variant() -> None:
    """The interval is found, and what differs from the moved source is nothing."""
    source = read_bytes(SAMPLES[0].read_bytes())
    steps = parse_pipeline(["transpose:interval=m3"]).steps
    variant = read_bytes(to_bytes(run(source, steps).score))
    compared = compare(source, variant)
    assert compared.semitones == 3
    assert compared.differences == ()
    kept = {one.promise.value: (one.kept, one.moved) for one in compared.verdicts}
    assert kept["onsets"] == (True, False)
    assert kept["sounding-pitches"] == (True, True)


def test_against_names_the_moment_that_differs() -> None:
    """One changed note is one difference, with both names and its place."""
    source = read_bytes(page(note("E3", 4) + note("G3", 4), note("A3", 8)))
    variant = read_bytes(page(note("E3", 4) + note("F3", 4), note("A3", 8)))
    compared = compare(source, variant)
    (one,) = compared.differences
    assert (one.place, one.was, one.now) == ("measure 1, beat 3", "G3", "F3")
    broken = next(v for v in compared.verdicts if v.promise.value == "sounding-pitches")
    assert not broken.kept
    assert broken.place == "measure 1, beat 3"


def test_against_tells_how_long_notes_sound() -> None:
    """A note that only lasts longer is one difference, with both lengths, and no promise kept."""
    source = read_bytes(page(note("E3", 4) + note("G3", 4), note("A3", 8)))
    variant = read_bytes(page(note("E3", 4) + note("G3", 2) + REST, note("A3", 8)))
    compared = compare(source, variant)
    (one,) = compared.differences
    assert (one.place, one.was, one.now) == (
        "measure 1, beat 3", "G3 for 2 quarters", "G3 for 1 quarter",
    )  # fmt: skip
    kept = {one.promise.value for one in compared.verdicts if one.kept}
    assert kept >= {"sounding-pitches", "onsets", "measure-lengths"}
    assert "durations" not in kept


def test_what_a_reader_misreads_is_told() -> None:
    """A pitch, a length or a note that a reader takes otherwise than it is written is told."""
    data = page(note("E3", 4) + note("G3", 4), note("A3", 8))
    score = read_bytes(data)
    assert misread(data, score) == ()
    up = map_notes(score.parts[0], lambda one: replace(one, pitch=spelled(58, Key(-2))))
    told = misread(data, with_parts(score, [up]))
    assert len(told) == 3
    assert told[1] == ("measure 1, beat 3: G for 2 quarters is written, Bb for 2 quarters was read")
    silent = replace(score.parts[0], measures=score.parts[0].measures[:1])
    other = page(note("E3", 4) + note("G3", 2) + REST)
    assert misread(other, with_parts(score, [silent])) == (
        "measure 1, beat 3: G for 1 quarter is written, G for 2 quarters was read",
    )


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples_are_read_as_written(path: Path) -> None:
    """The reader and the proofreader, which share no code but the XML, agree on every note."""
    assert misread(path.read_bytes(), read_bytes(path.read_bytes())) == ()


def test_roman_numerals() -> None:
    """I to XXIV as musicians write positions."""
    texts = {"I": 1, "IV": 4, "V": 5, "IX": 9, "XIV": 14, "XIX": 19, "XXIV": 24, "": 0}
    assert {text: roman_value(text) for text in texts} == texts


@pytest.mark.parametrize(
    "value", ["9" * 400, "1e400", "-999999999999", "nan", "1/0", "", "²", "4.0"]
)
@pytest.mark.parametrize(
    "element",
    ["fret", "string", "duration", "octave", "divisions", "beats", "staff-lines", "fifths"],
)
def test_numbers_that_are_none(element: str, value: str) -> None:
    """A number past all measure, or none at all, is a finding or nothing, and never a crash."""
    start = BAD.index(f"<{element}>".encode()) + len(element) + 2
    end = BAD.index(b"<", start)
    data = BAD[:start] + value.encode() + BAD[end:]
    report = proofread_bytes(data)
    assert render([report])
