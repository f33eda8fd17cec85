"""The review page without a browser: the comparison, the times, and what stands in the file."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import partial
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from lxml import html

from tests.strategies import line, scores
from tests.unit.sheets.pages import ROOT, SAMPLES, fingered
from variants.errors import UsageError
from variants.finish import finish
from variants.guitar import instrument_for, parse_tuning
from variants.music import Interval
from variants.musicxml import read
from variants.pipeline import parse_pipeline, run
from variants.score import (
    STANDARD_GUITAR,
    Instrument,
    Note,
    Part,
    Score,
    map_notes,
    onsets,
    with_parts,
)
from variants.sheets import ChangeReport, Look, Version
from variants.sheets.review import compare, review_page
from variants.sheets.review.compare import in_words
from variants.sheets.review.timeline import timeline

RIFF = ROOT / "samples" / "harbour-riff.musicxml"
GRACE = ROOT / "samples" / "amazing-grace.musicxml"


def _kinds(first: Score, other: Score) -> list[tuple[str, tuple[str, ...]]]:
    return [(one.number, one.kinds) for one in compare(first, other).measures]


@pytest.mark.parametrize(
    ("text", "other", "kinds"),
    [
        ("C4 D4 E4 F4", "C4 D4 E4 F4", ()),
        ("C4 D4 E4 F4", "C4 D4 E4 G4", ("notes",)),
        ("C4 D4 E4 F4", "C4:h E4:h", ("fewer notes", "rhythm")),
        ("C4+E4:h C4+E4:h", "C4:h C4:h", ("fewer notes",)),
        ("C4+G4:h C4:h", "G3+C4:h C4:h", ("octave",)),
        ("C4 C4 C4:h", "C4:h C4 C4", ("rhythm",)),
        ("C4:w", "r:w", ("fewer notes", "rhythm")),
    ],
)
def test_what_differs(text: str, other: str, kinds: tuple[str, ...]) -> None:
    """Each way in which a measure can differ has its word; a measure that is alike has none."""
    rest = ["E4:w", "F4:w"]
    found = _kinds(line(text, *rest), line(other, *rest))
    assert found == ([("1", kinds)] if kinds else [])


def test_places_and_fingers() -> None:
    """The same notes at other places are told, the same places with other fingers too."""
    score = finish(line("E4 F4 G4 A4")).score
    up = replace(score, parts=tuple(_at_other_places(score)))
    assert _kinds(score, up) == [("1", ("place",))]
    other = with_parts(score, [map_notes(p, lambda n: replace(n, finger="3")) for p in score.parts])
    assert _kinds(score, other) == [("1", ("fingers",))]
    bare = with_parts(score, [map_notes(p, lambda n: replace(n, place=None)) for p in score.parts])
    assert in_words(compare(bare, score)) == ["Strings, frets and fingers are set here"]


def _at_other_places(score: Score) -> Iterator[Part]:
    for part in score.parts:
        yield map_notes(part, partial(_lower, part.instrument or STANDARD_GUITAR))


def _lower(instrument: Instrument, note: Note) -> Note:
    assert note.pitch is not None
    return replace(note, place=instrument.places(note.pitch.midi)[-1])


def test_a_version_in_another_key() -> None:
    """A version that is moved as a whole is told so, and compared after it is moved back."""
    first = line("C4 D4 E4 F4", "G4:w", "C4:w")
    moved = run(first, parse_pipeline(["transpose:interval=M2"]).steps).score
    comparison = compare(first, moved)
    assert comparison.moved == "2 semitones (M2) higher"
    assert [one.kinds for one in comparison.measures] == [("moved",)] * 3
    assert str(Interval.parse("M2")) in comparison.moved
    assert in_words(comparison) == ["All of it sounds 2 semitones (M2) higher"]


def test_measures_that_are_missing_or_new() -> None:
    """Measures stand against each other by number; what only one version has is told."""
    long = line("C4:w", "D4:w", "E4:w", "F4:w")
    short = run(long, parse_pipeline(["measures:range=-2"]).steps).score
    assert in_words(compare(long, short)) == ["Measures 3 and 4: not in this version"]
    assert _kinds(short, long) == [("3", ("new",)), ("4", ("new",))]


@given(score=scores())
@settings(max_examples=20)
def test_a_score_is_like_itself(score: Score) -> None:
    """No measure of any score differs from itself."""
    assert compare(score, score).measures == ()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_times_of_a_sample(path: Any) -> None:  # noqa: ANN401 - a path
    """Played once through, every onset of a sample is there at its time, at its pitch."""
    score = read(path)
    found = timeline(score)
    played = Counter((note[2], note[3].rsplit(".", 1)[0]) for note in found["notes"])
    first = {note[3]: note for note in reversed(found["notes"])}
    assert sum(played.values()) >= sum(len(one.semitones) for one in onsets(score.parts[0]))
    order = found["order"]
    for (_, start, length), (_, after, _) in pairwise(order):
        assert start + length == pytest.approx(after, abs=2e-4)
    for head, (start, *_) in first.items():
        _, measure, voice, event, _ = map(int, head.split("."))
        here = next(step for step in order if step[0] == measure)
        one = score.parts[int(head[0])].measures[measure].voices[voice].events[event]
        if one.grace is None:
            share = Fraction(one.onset, score.parts[0].measures[measure].length)
            assert start == pytest.approx(here[1] + here[2] * float(share), abs=1e-3)


def test_times_of_a_pick_up() -> None:
    """A pick-up of one beat in 3/4 is counted in by a full measure and two beats (common practice).

    Amazing Grace begins with the third beat; the clicks of the piece go on from there.
    """
    found = timeline(read(GRACE))
    beat = found["order"][0][2]
    before = found["before"][0]
    assert [round(at / beat) for at, _ in before] == [-5, -4, -3, -2, -1]
    assert [strong for _, strong in before] == [1, 0, 0, 1, 0]
    assert [strong for _, strong in found["clicks"][:4]] == [0, 1, 0, 0]
    assert found["clicks"][1][0] == pytest.approx(beat, abs=1e-3)


def _tree(text: str) -> Any:  # noqa: ANN401 - its type says what an XPath may return, not what it does
    return html.fromstring(text)


def _page(*versions: Version, **look: Any) -> str:  # noqa: ANN401 - members of a look
    return review_page(versions, Look(**look)).html.decode()


@pytest.fixture(scope="module")
def text() -> str:
    """A page of three versions."""
    score = fingered(RIFF)
    report = ChangeReport(changes=("Measure 1: the fifth became a fourth",), level="level-2")
    other = run(score, parse_pipeline(["simplify-rhythm:grid=quarter,keep=strong"]).steps).score
    return _page(
        Version(score=score, name="As it is"),
        Version(score=score, name="With a report", report=report, practises=("ties",)),
        Version(score=other, name="Quarters"),
        staves="both",
    )


def test_it_fetches_nothing(text: str) -> None:
    """No address stands in the page but those of XML's names; fonts are inside it."""
    assert set(re.findall(r"[a-z]+://[^\s\"'<)]+", text)) <= {"http://www.w3.org/2000/svg"}
    assert not re.search(r"<(link|img|iframe|object|embed)\b|@import|\bfetch\(|\bimport\(", text)
    assert text.count("src:url(data:font/woff;base64,") >= 4


def test_its_policy_fits(text: str) -> None:
    """The policy names the hash of the one script and of the one style sheet, and nothing else."""
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', text)
    assert policy is not None
    for element, rule in (("script", "script-src"), ("style", "style-src")):
        contents = re.findall(rf"<{element}>(.*?)</{element}>", text, re.DOTALL)
        assert len(contents) == 1
        digest = base64.b64encode(hashlib.sha256(contents[0].encode()).digest()).decode()
        assert f"{rule} 'sha256-{digest}'" in policy.group(1)
    assert "default-src 'none'" in policy.group(1)
    assert "unsafe" not in policy.group(1)
    assert not re.search(r"<[^>]+ (style|on\w+)=", text)


def test_every_id_once(text: str) -> None:
    """No id is there twice, and every sign that is used is there."""
    ids = Counter(re.findall(r'\bid="([^"]+)"', text))
    assert [name for name, count in ids.items() if count > 1] == []
    assert set(re.findall(r'href="#([^"]+)"', text)) <= set(ids)


def test_the_heads_of_the_sound_are_in_the_music(text: str) -> None:
    """Every note that sounds has its head, its fret number and its place on the neck."""
    tree = _tree(text)
    (data,) = tree.xpath("//script[@type='application/json']")
    ids = {str(one) for one in tree.xpath("//@id")}
    for number, version in enumerate(json.loads(data.text)["versions"]):
        for _, _, _, head, place in version["notes"]:
            assert f"v{number}-n{head}" in ids
            if place:
                assert f"v{number}-t{head}" in ids
                part, spot = place.split(".", 1)
                found = f"//figure[@id='v{number}-neck{part}']//*[@data-place='{spot}']"
                assert len(tree.xpath(found)) == 1


def test_what_changed_is_marked(text: str) -> None:
    """Each measure that differs stands under a bracket with a word, and in a list in words."""
    tree = _tree(text)
    assert tree.xpath("//article[@id='v0']//*[@class='tag']") == []
    (third,) = tree.xpath("//article[@id='v2']")
    tags = [" ".join(tag.itertext()) for tag in third.xpath(".//*[@class='tag']")]
    assert tags
    assert all("rhythm" in tag for tag in tags)
    assert any("rhythm" in item for item in third.xpath(".//ul/li/text()"))
    label = third.xpath(".//*[@class='line']/@aria-label")[0]
    assert "Changed: measure 1:" in label
    (second,) = tree.xpath("//article[@id='v1']")
    words = " ".join(second.text_content().split())
    for part in ("the fifth became a fourth", "What this version practises", "ties", "level-2"):
        assert part in words
    assert "Note for note the same" in words


def test_lines_begin_alike() -> None:
    """Versions of equally many measures have their lines at the same measures, equally high."""
    score = fingered(ROOT / "samples" / "auld-lang-syne.musicxml")
    counted = finish(score).score
    text = _page(Version(score=read(RIFF)), Version(score=score), Version(score=counted))
    tree = _tree(text)
    shapes = [
        [str(one) for one in tree.xpath(f"//article[@id='v{number}']//*[@class='line']/@viewbox")]
        for number in (1, 2)
    ]
    assert shapes[0] == shapes[1]
    assert len(shapes[0]) > 1


def test_missing_letters_are_told() -> None:
    """Letters that no font here has are named; Hebrew comes with the fallback font."""
    score = replace(fingered(RIFF), work_title="港 שיר", movement_title="")
    made = review_page([Version(score=score)])
    (told,) = (str(one) for one in made.log if "no font" in str(one))
    assert told == (
        "no font here has 港 (U+6E2F): the page shows them only where the reader has such a font; "
        "name a folder that holds one (--fonts)"
    )
    assert b"unicode-range:U+5D9" in made.html


TITLES = {
    "long": "A very long title about the harbour when all the boats come back " * 6,
    "one word": "Donaudampfschifffahrtsgesellschaft" * 8,
    "hebrew and arabic": "שיר הנמל بحر الصباح",
    "chinese": "港の朝の歌" * 12,
    "none": "",
}


@pytest.mark.parametrize("title", TITLES.values(), ids=TITLES)
def test_titles(title: str) -> None:
    """Whatever the title is, the page has it; its direction is its own."""
    score = replace(fingered(RIFF), work_title=title, movement_title="")
    tree = _tree(_page(Version(score=score)))
    (head,) = tree.xpath("//h1")
    assert head.text_content() == (title or "Untitled")
    assert head.get("dir") == "auto"


@pytest.mark.parametrize(
    ("tuning", "text"),
    [("seven-string", "B1 E2 A2+E3 D3"), ("bass-4", "E1 A1 D2 G2"), ("banjo-5", "G4 D3 G3 B3")],
)
def test_other_instruments(tuning: str, text: str) -> None:
    """The neck and the tab have the instrument's strings, and it sounds at its own pitch."""
    instrument = instrument_for(parse_tuning(tuning))
    score = finish(line(text, instrument=instrument)).score
    tree = _tree(_page(Version(score=score), staves="both"))
    (neck,) = tree.xpath("//figure//desc/text()")
    assert f"string {instrument.strings} " in neck
    (data,) = tree.xpath("//script[@type='application/json']/text()")
    heard = [note[2] for note in json.loads(data)["versions"][0]["notes"]]
    wanted = [round(height) for one in onsets(score.parts[0]) for height in one.semitones]
    assert heard == wanted


def test_two_hundred_measures() -> None:
    """A long piece is on the page with all its measures, each where it can be pointed at."""
    score = finish(line(*["E2 G2 A2 B2", "C3:h A2:h"] * 100)).score
    tree = _tree(_page(Version(score=score), Version(score=score), staves="both"))
    for number in (0, 1):
        areas = tree.xpath(f"//article[@id='v{number}']//*[@class='area']/@data-measure")
        assert [int(one) for one in areas] == list(range(200))


def test_other_looks() -> None:
    """Large print is larger, a left-handed neck has its nut at the right, tab may stand alone."""
    version = Version(score=fingered(RIFF))
    large = _page(version, size="large")
    assert 'class="print-large"' in large
    assert "--line-mm:202.4mm" in large
    assert "xMaxYMid" in _page(version, left_handed=True)
    tab = _page(version, staves="tab")
    assert 'id="v0-n0.0.0.0.0"' in tab


def test_nothing_to_show() -> None:
    """A page of no versions is refused, and so is an unknown size."""
    with pytest.raises(UsageError, match="nothing to show; name at least one file"):
        review_page([])
    with pytest.raises(UsageError, match="'huge'; use"):
        review_page([Version(score=fingered(RIFF))], Look(size="huge"))


def test_same_page_twice(text: str) -> None:
    """The same versions give the same bytes."""
    version = Version(score=fingered(RIFF))
    assert review_page([version]).html == review_page([version]).html
    assert "neckwise" in text
