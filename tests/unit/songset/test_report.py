"""The report of a build, its schema, the index page, and what differs between two builds."""

from __future__ import annotations

import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.conftest import Golden
from tests.unit.songset.sets import RECIPES, SET, make_set, run, song
from variants.errors import InputError
from variants.songset import report_schema, schema
from variants.songset.diff import SetDifference, compare, read_report

DOCS = Path(__file__).parents[3] / "docs"
WHOLE = SET.replace("[build]", '[build]\nlevel = "level-1"\nlevels = ["level-6"]').replace(
    "pictures = false", 'recipes = ["plain", "tab", "higher", "each-string"]\npictures = false'
)


class _Links(HTMLParser):
    """Gathers links, pictures and the texts of a page, and checks that its tags are closed."""

    def __init__(self) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: list[str] = []
        self.texts: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take note of a tag."""
        values = dict(attrs)
        self.links += [values[name] or "" for name in ("href", "src") if name in values]
        self.ids += [values["id"] or ""] if "id" in values else []
        if tag not in ("meta", "img", "col", "br", "line", "circle"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Close a tag, which must be the last one that was opened."""
        if tag not in ("line", "circle"):
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Take note of text."""
        self.texts.append(data)


def _report(folder: Path) -> dict[str, Any]:
    values: dict[str, Any] = json.loads((folder / "out" / "report.json").read_text("utf-8"))
    return values


def _page(folder: Path) -> _Links:
    links = _Links()
    links.feed((folder / "out" / "index.html").read_text("utf-8"))
    return links


def test_schemas_are_fresh(golden: Golden) -> None:
    """What is published is what the models say."""
    golden(DOCS / "songset.schema.json", schema.schema_text())
    golden(DOCS / "report.schema.json", report_schema.schema_text())


def test_reports_follow_their_schema(tmp_path: Path) -> None:
    """A report with families, levels, coverage, refusals and faults is valid."""
    text = WHOLE.replace("[[songs]]", '[[songs]]\nsource = "gone.musicxml"\n\n[[songs]]')
    path = make_set(tmp_path, text=text + RECIPES)
    (tmp_path / "songs" / "broken.musicxml").write_text("<no>", encoding="utf-8")
    run(path)
    report = _report(tmp_path)
    published = json.loads((DOCS / "report.schema.json").read_text("utf-8"))
    jsonschema.validate(report, published)
    gone, broken, first, _ = report["songs"]
    assert "no such file" in gone["fault"]
    assert {one["state"] for one in broken["variants"]} == {"refused"}
    by_name = {one["name"]: one for one in first["variants"]}
    assert list(by_name) == ["plain", "tab", "higher", "each-string", "level-6"]
    assert len(by_name["each-string"]["pieces"]) > 1
    assert by_name["level-6"]["pieces"][0]["level"] == "level-6"
    assert report["coverage"]["level"] == "level-1"
    assert {one["state"] for one in report["coverage"]["items"]} > {"taught"}


def test_every_link_of_the_page_leads_somewhere(tmp_path: Path) -> None:
    """Each file that the page names exists, each jump has its goal, each tag is closed."""
    text = WHOLE.replace("pictures = false", "pictures = true").replace(
        '["musicxml"]', '["musicxml", "mxl", "svg", "midi", "handout", "html"]'
    )
    path = make_set(tmp_path, text=text + RECIPES, songs=1)
    run(path)
    page = _page(tmp_path)
    assert page.open == []
    for link in page.links:
        if link.startswith("#"):
            assert link[1:] in page.ids
        else:
            assert (tmp_path / "out" / link).is_file(), link
    assert "pictures/tune-1.svg" in page.links
    assert "tune-1/tab.svg" in page.links
    assert "tune-1/handout.pdf" in page.links
    assert "tune-1/review.html" in page.links


def test_the_page_says_what_is_not_there_and_escapes_names(tmp_path: Path) -> None:
    """Reasons stand in the page, and no title of a song can break it."""
    path = make_set(tmp_path, text=SET + RECIPES, songs=1)
    (tmp_path / "songs" / "broken.musicxml").write_text("<no>", encoding="utf-8")
    nasty = song("E4 F4 G4 A4", title="&lt;b&gt; &amp; &quot;co&quot;")
    (tmp_path / "songs" / "tune-1.musicxml").write_text(nasty, encoding="utf-8")
    summary = run(path)
    page = _page(tmp_path)
    assert page.open == []
    text = "".join(page.texts)
    assert '<b> & "co"' in text
    assert text.count(summary.refused[0].text) == 3


def test_a_whole_song_leaves_out_what_cannot_be_made(tmp_path: Path) -> None:
    """Beside files of variants a handout goes without one, and says so; alone it is refused."""
    high = '[variants.string]\ntitle = "High"\nsteps = ["single-string:string=1,move=never"]\n'
    both = SET.replace('["musicxml"]', '["musicxml", "handout"]')
    path = make_set(tmp_path, text=both + RECIPES + high, songs=1)
    assert [one.unit for one in run(path).refused] == ["tune-1/string"]
    handout = _report(tmp_path)["songs"][0]["variants"][-1]
    assert handout["state"] == "made"
    assert handout["pieces"][0]["left-out"][0].startswith("High: ")
    path.write_text(SET.replace('["musicxml"]', '["handout"]') + RECIPES + high, encoding="utf-8")
    refused = run(path).refused
    assert [one.unit for one in refused] == ["tune-1/handout"]
    assert refused[0].text.startswith("High")


def _compared(folder: Path, change: str = "") -> SetDifference:
    """Return what differs after the second tune, or the set, has changed."""
    path = make_set(folder)
    run(path)
    old = read_report(folder / "out" / "report.json")
    if change.lstrip().startswith("["):
        path.write_text(SET + change, encoding="utf-8")
    elif change:
        (folder / "songs" / "tune-2.musicxml").write_text(change, encoding="utf-8")
    run(path)
    return compare(old, read_report(folder / "out" / "report.json"))


def test_equal_builds_differ_in_nothing(tmp_path: Path) -> None:
    """A build that had nothing to do differs in nothing."""
    assert _compared(tmp_path).is_empty


def test_a_changed_measure_is_named(tmp_path: Path) -> None:
    """Other notes in one measure are told with its number; the other song is not named."""
    diff = _compared(tmp_path, song("E4 F4 G4 A4", "G4 E4 F4 E4", title="Tune 2"))
    assert [one.name for one in diff.changed] == ["tune-2/plain", "tune-2/tab", "tune-2/higher"]
    assert {one.music for one in diff.changed} == {("2",)}
    assert "other notes in measure 2" in diff.changed[0].sentence()


def test_added_and_removed_measures(tmp_path: Path) -> None:
    """A measure that is put in is told as new, not as a change of all that follow."""
    diff = _compared(tmp_path, song("E4 F4 G4 A4", "D4 D4 D4 D4", "G4 E4 F4 D4", title="Tune 2"))
    assert {(one.added, one.music, one.removed) for one in diff.changed} == {(("2",), (), ())}


def test_a_changed_fingering_is_told_note_by_note(tmp_path: Path) -> None:
    """The same notes at another place: measure, before and after, string by string."""
    moved = RECIPES.replace('staves = "tab"', 'staves = "tab"\nposition = 5').replace(
        '"tab"\nposition', '"tab"\nopen-strings = "avoid"\nposition'
    )
    diff = _compared(tmp_path, moved)
    assert {one.name for one in diff.changed} == {"tune-1/tab", "tune-2/tab"}
    first = diff.changed[0]
    assert first.music == ()
    assert [number for number, _, _ in first.fingerings] == ["1", "2"]
    assert "same notes, other fingering in measures 1, 2" in first.sentence()
    assert "->" in next(first.lines())
    assert any(name == "positions" for name, _, _ in first.facts)


def test_new_and_gone_variants(tmp_path: Path) -> None:
    """Variants that only one build has are named."""
    diff = _compared(tmp_path, RECIPES.replace("[variants.higher]", "[variants.lower]"))
    assert diff.added == ("tune-1/lower", "tune-2/lower")
    assert diff.removed == ("tune-1/higher", "tune-2/higher")
    assert diff.as_json()["changed"] == ()


def test_what_is_no_report(tmp_path: Path) -> None:
    """Another file, a report of another format, and half a report, are one line."""
    other = tmp_path / "x.json"
    for text, said in (
        ("[]", "is no report of a build"),
        ("{", "is no report of a build"),
        ('{"neckwise-report": 9}', "is a report of format 9"),
    ):
        other.write_text(text, encoding="utf-8")
        with pytest.raises(InputError, match=said):
            read_report(other)
    with pytest.raises(InputError, match="not whole"):
        compare({"songs": [{"variants": [{}]}]}, {"songs": []})


def test_a_variant_that_is_refused_is_told(tmp_path: Path) -> None:
    """A variant that cannot be made is new as well, and its reason stands in the report."""
    path = make_set(tmp_path)
    run(path)
    old = read_report(tmp_path / "out" / "report.json")
    high = '[variants.high]\nsteps = ["single-string:string=1,move=never"]\n'
    path.write_text(SET + RECIPES + high, encoding="utf-8")
    refused = [one.unit for one in run(path).refused]
    assert "tune-1/high" in refused
    assert set(refused) <= set(compare(old, read_report(tmp_path / "out" / "report.json")).added)
