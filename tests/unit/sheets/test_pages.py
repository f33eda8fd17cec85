"""Pages of a handout: nothing leaves them, everything is on them, whatever the piece is like."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from benchmarks import sheets_pages
from tests.strategies import line
from tests.unit.sheets.pages import GUITAR_SAMPLES, SAMPLES, Page, Seen, fingered, pages
from variants.cautions import HEALTH, RIGHTS
from variants.errors import NeckwiseError, OutputError, UsageError
from variants.finish import finish
from variants.guitar import instrument_for, parse_tuning
from variants.score import Score
from variants.sheets import (
    EXERCISES,
    ChangeReport,
    Look,
    Sheet,
    Version,
    engrave,
    exercises,
    handout,
)
from variants.sheets.handout import version_sheets
from variants.sheets.style import PAPERS, PRINTS

# ISO 216 for A4, ANSI for Letter, in millimetres.
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
LEAST_MARGIN_MM = 12.0


def _named(path: Path) -> str:
    return path.stem


def _inside(page: Page) -> None:
    """Check that all that is on a page stands within its margins; letters hang a little lower."""
    for shape in page.shapes:
        assert shape.left >= LEAST_MARGIN_MM
        assert shape.right <= page.width - LEAST_MARGIN_MM + 0.5
        assert shape.top >= LEAST_MARGIN_MM - 0.5
        assert shape.bottom <= page.height - LEAST_MARGIN_MM + 0.5


def _apart(page: Page) -> None:
    """Check that no two pictures overlap."""
    pictures = [shape for shape in page.shapes if shape.kind == "image"]
    for index, one in enumerate(pictures):
        for two in pictures[index + 1 :]:
            across = min(one.right, two.right) - max(one.left, two.left)
            down = min(one.bottom, two.bottom) - max(one.top, two.top)
            assert across <= 0.1 or down <= 0.1


def _sheets(score: Score, look: Look) -> list[Sheet]:
    report = ChangeReport(changes=("Measures 1, 2: the fifth became a fourth",), level="level-2")
    version = Version(score=score, name="open position", report=report, practises=("ties",))
    return version_sheets([version], look)


@pytest.mark.parametrize("size", PRINTS)
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("path", SAMPLES, ids=_named)
def test_nothing_leaves_the_page(path: Path, paper: str, size: str) -> None:
    """Every picture and every letter of a handout stands within the margins of its page."""
    look = Look(paper=paper, size=size, staves="both")
    data, made = pages(_sheets(fingered(path), look), look)
    for page in made:
        assert sorted((page.width, page.height)) == pytest.approx(SIZES[paper], abs=0.1)
        _inside(page)
        _apart(page)
    shown = sum(shape.kind == "image" for page in made for shape in page.shapes)
    assert shown == sheets_pages.drawings_of(data)


@pytest.mark.parametrize("size", PRINTS)
@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=_named)
def test_exercises_stay_on_their_pages(path: Path, size: str) -> None:
    """Exercise and answer pages hold what they should, within their margins."""
    look = Look(size=size)
    version = Version(score=fingered(path))
    # What a piece has nothing to ask for is refused.
    refused = {"draw-tab", "complete", "match"}
    kinds = [kind for kind in EXERCISES if kind not in refused or path.stem == "auld-lang-syne"]
    _, made = pages(exercises(version, kinds, answers=True), look)
    # The answers begin a page of their own.
    assert len(made) > 1
    for page in made:
        _inside(page)
        _apart(page)


def test_answers_share_a_page() -> None:
    """Exercises never show answers; all answers of a short piece fit one page, after them."""
    version = Version(score=fingered(GUITAR_SAMPLES[1]))
    kinds = ("name-notes", "clap")
    asked = exercises(version, kinds)
    _, without = pages(asked, Look())
    _, both = pages(exercises(version, kinds, answers=True), Look())
    assert len(both) == len(without) + 1


TITLES = {
    "long": "A very long title about the harbour in the morning when all the boats come back " * 4,
    "one word": "Donaudampfschifffahrtsgesellschaft" * 8,
    "hebrew and arabic": "שיר הנמל بحر الصباح",
    "chinese": "港の朝の歌" * 12,
    "none": "",
    "markup": '#let x = "1" <b>$ \\ & * _ ` @',
}


@pytest.mark.parametrize("title", TITLES.values(), ids=TITLES)
def test_titles(title: str) -> None:
    """Whatever the title is, the page holds it; letters that no font has are named in the log."""
    score = replace(fingered(GUITAR_SAMPLES[0]), work_title=title, movement_title="")
    look = Look(staves="both")
    _, made = pages(_sheets(score, look), look)
    for page in made:
        _inside(page)
    log = [str(change) for change in handout([Version(score=score)], look).log]
    missing = [text for text in log if "no font here has" in text]
    assert bool(missing) == ("港" in title)
    assert all("U+6E2F" in text and "--fonts" in text for text in missing)


@pytest.mark.parametrize(
    ("tuning", "text"),
    [
        ("seven-string", "B1 E2 A2+E3 D3"),
        ("bass-4", "E1 A1 D2 G2"),
        ("ukulele", "G4 C4 E4 A4"),
        ("banjo-5", "G4 D3 G3 B3"),
    ],
)
def test_other_instruments(tuning: str, text: str) -> None:
    """Tab has as many lines as the instrument has strings, and the map too."""
    instrument = instrument_for(parse_tuning(tuning))
    score = finish(line(text, instrument=instrument)).score
    made = handout([Version(score=score)], Look(staves="both"), reading=False)
    lines = {len(staff.lines) for system in made.engravings[0].systems for staff in system.staves}
    assert lines == {5, instrument.strings}
    look = Look(staves="both")
    data, seen = pages(_sheets(score, look), look)
    assert f"string {instrument.strings}" in data["sheets"][1]["necks"][0]["alt"]
    for page in seen:
        _inside(page)


def test_two_hundred_measures() -> None:
    """A long piece fills its pages in order, and each page ends where a hand is free if it can."""
    # The fourth measure of each line of four ends with a rest, so every page may turn there.
    texts = ["E2 G2 A2 B2", "C3:h A2:h", "E4:e D4:e C4:e B3:e A3 G3", "G3+B3+D4:h r:h"] * 50
    score = finish(line(*texts)).score
    look = Look(staves="both")
    data, made = pages(version_sheets([Version(score=score)], look, reading=False), look)
    assert len(data["sheets"][0]["systems"]) == 50
    assert 10 <= len(made) <= 20
    for page in made:
        _inside(page)
        _apart(page)


def test_a_page_says_what_it_must() -> None:
    """Title, makers, rights, key, time, tempo, tuning, level, changes and cautions are on it."""
    score = fingered(next(path for path in SAMPLES if path.stem == "auld-lang-syne"))
    look = Look(staves="both")
    data, _ = pages(_sheets(score, look), look)
    sheet = data["sheets"][1]
    assert sheet["title"] == "Auld Lang Syne"
    assert sheet["creators"] == ["Music: Traditional (Scotland)"]
    assert "CC0" in sheet["rights"]
    assert [tuple(one) for one in sheet["facts"]] == [
        ("Key", "G major"),
        ("Time", "4/4"),
        ("Tempo", "quarter = 88"),
        ("Tuning", "standard (E A D G B E)"),
        ("Level", "level-2"),
    ]
    assert sheet["changed"] == []
    teacher = replace(look, notes="teacher")
    data, _ = pages(_sheets(score, teacher), teacher)
    assert data["sheets"][1]["changed"] == ["Measures 1, 2: the fifth became a fourth"]
    assert sheet["practises"] == ["ties"]
    assert HEALTH in data["footer"]
    assert RIGHTS in data["footer"]
    assert "\n" not in data["footer"]


def test_same_bytes() -> None:
    """Two runs make the same file."""
    versions = [Version(score=fingered(GUITAR_SAMPLES[0]))]
    first, second = (handout(versions, Look(staves="both")) for _ in range(2))
    assert first.pdf == second.pdf
    assert first.pdf.startswith(b"%PDF")
    assert b"CreationDate" not in first.pdf


def test_nothing_to_print() -> None:
    """A handout of no versions is refused."""
    with pytest.raises(UsageError, match="nothing to print; name at least one file"):
        handout([])


@pytest.mark.parametrize("look", [Look(paper="huge"), Look(size="huge"), Look(staves="huge")])
def test_looks_that_do_not_exist(look: Look) -> None:
    """An unknown paper, size or layout is told with those that exist."""
    with pytest.raises(UsageError, match="'huge'; use"):
        handout([Version(score=fingered(GUITAR_SAMPLES[0]))], look)


def test_own_template(tmp_path: Path) -> None:
    """A template of the user's takes the place of ours, and may use files beside it."""
    (tmp_path / "mine.typ").write_text(
        '#import "more.typ": words\n#let d = json(bytes(sys.inputs.data))\n#words #d.title'
    )
    (tmp_path / "more.typ").write_text("#let words = [Hello]")
    versions = [Version(score=fingered(GUITAR_SAMPLES[0]))]
    made = handout(versions, Look(template=tmp_path / "mine.typ"), reading=False)
    assert made.pages == 1
    assert made.pdf != handout(versions, Look(), reading=False).pdf


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("#nosuch()", "the typesetter says: unknown variable: nosuch; mend the template"),
        (None, "cannot be read: no such file or directory; name a .typ file"),
    ],
)
def test_bad_template(tmp_path: Path, text: str | None, words: str) -> None:
    """What is wrong with a template is told in one line with its name."""
    path = tmp_path / "mine.typ"
    if text is not None:
        path.write_text(text)
    with pytest.raises(OutputError) as caught:
        handout([Version(score=fingered(GUITAR_SAMPLES[0]))], Look(template=path), reading=False)
    assert str(caught.value) == f"{path}: {words}"
    assert isinstance(caught.value, NeckwiseError)


def test_no_such_font_folder(tmp_path: Path) -> None:
    """A folder of fonts that is not there is told."""
    versions = [Version(score=fingered(GUITAR_SAMPLES[0]))]
    with pytest.raises(UsageError, match="is no folder; name a folder with fonts"):
        handout(versions, Look(fonts=tmp_path / "none"), reading=False)


def test_pages_of_recipes() -> None:
    """The check of all pages (benchmarks) finds nothing on two samples with two recipes.

    It sets each on both papers in both sizes; the whole of it runs apart from the tests.
    """
    found = sheets_pages.main(smoke=True)
    assert (found.made, found.refused, found.handouts) == (4, 0, 16)
    assert found.faults == []
    assert not found.log


def test_the_check_of_pages_finds_faults() -> None:
    """What leaves the page, overlaps, is too small or is missing is told by the check."""
    shapes = (
        Seen("image", 20.0, 20.0, 100.0, 60.0),
        Seen("image", 90.0, 50.0, 120.0, 80.0),
        Seen("use", 20.0, 20.0, 205.0, 25.0),
    )
    told = list(sheets_pages.faults_of_pages([Page(210.0, 297.0, shapes)]))
    assert told == ["page 1: use outside the margins", "page 1: two pictures overlap"]
    engraving = engrave(fingered(GUITAR_SAMPLES[0]), staves="both")
    printed = PRINTS["normal"]
    assert list(sheets_pages.faults_of_music(engraving, printed)) == []
    (system, *rest) = engraving.systems
    first = system.letters[0]
    bad = replace(system, letters=(*system.letters, replace(first, points=5.0)))
    told = list(sheets_pages.faults_of_music(replace(engraving, systems=(bad, *rest)), printed))
    assert any("in 5 points" in text for text in told)
    assert any(f"{first.text!r} over" in text for text in told)
    told = list(sheets_pages.faults_of_music(replace(engraving, systems=tuple(rest)), printed))
    assert any("heads are not drawn" in text for text in told)
    assert list(sheets_pages.faults_of_music(engraving, PRINTS["large"])) != []
