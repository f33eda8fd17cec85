"""Reports: text with a pointer, JSON of the documented shape, SARIF, JUnit, workflow commands."""

from __future__ import annotations

import json

import pytest
from lxml import etree

from tests.unit.proof.pages import note, page, tab
from variants.errors import UsageError
from variants.proof import ProofReport, proofread_bytes
from variants.proof.reports import FORMATS, render

BAD = tab(note("E3", 2, place="4:2") + note("E3", 2, place="4:3") + note("E3", 4, place="4:2"))


def _report(data: bytes = BAD, file: str = "riff, one.musicxml") -> ProofReport:
    return proofread_bytes(data, file=file)


def test_text_draws_the_measure_with_a_pointer() -> None:
    """The pointer stands under the column of the wrong note."""
    lines = render([_report()]).splitlines()
    assert lines[0] == "riff, one.musicxml"
    pointer = next(line for line in lines if "▲" in line)
    beats = next(line for line in lines if line.strip().startswith("beat"))
    places = next(line for line in lines if line.strip().startswith("tab"))
    column = pointer.index("▲")
    assert beats[column] == "2"
    assert places[column:].startswith("4:3")
    assert lines[-1] == "1 file: 1 error"


def test_report_without_its_page() -> None:
    """A report that has let its page go tells the same findings, without the drawing."""
    report = _report()
    light = report.light()
    assert (light.flaws, light.findings) == ((), report.findings)
    lines = render([light]).splitlines()
    assert not any("▲" in line for line in lines)
    assert [line for line in lines if "[tab-pitch]" in line]
    assert render([light], "json") == render([report], "json")


def test_text_of_a_clean_file() -> None:
    """Nothing found is said in one line."""
    assert render([_report(page(note("E3", 8)))]) == "1 file: nothing found"


def test_text_cuts_long_measures_around_the_pointer() -> None:
    """A measure of sixteen columns is cut, and the pointer stays in it."""
    notes = [note("E3", 1, place="4:2", kind="32nd") for _ in range(16)]
    notes[13] = note("E3", 1, place="4:9", kind="32nd")
    lines = render([_report(tab("".join(notes)))]).splitlines()
    place = next(i for i, line in enumerate(lines) if "[tab-pitch]" in line)
    pointer = next(i for i in range(place, len(lines)) if "▲" in lines[i])
    assert lines[pointer - 1][lines[pointer].index("▲") :].startswith("4:9")
    assert "…" in lines[pointer - 1]


def test_pointer_past_the_last_note() -> None:
    """Where something is missing at the end the pointer stands behind the last note."""
    data = page(note("E3", 8), note("E3", 4), note("E3", 8))
    lines = render([_report(data)]).splitlines()
    pointer = next(line for line in lines if "▲" in line)
    pitches = next(line for line in lines if line.strip().startswith("note"))
    assert pointer.index("▲") > pitches.rindex("E3")


def test_json_shape() -> None:
    """The keys of the documented shape are there, and nothing is null."""
    (one,) = json.loads(render([_report()], "json"))["findings"]
    wanted = {"file", "part", "measure", "beat", "rule", "severity", "message", "fix"}
    assert wanted <= set(one)
    assert (one["part"], one["measure"], one["beat"], one["fix"]) == (
        "P1",
        "1",
        "2",
        "write fret 2",
    )
    assert all(value is not None for value in one.values())


def test_sarif_names_rule_level_and_line() -> None:
    """Each result points into the list of rules and to a line of the file."""
    run = json.loads(render([_report()], "sarif"))["runs"][0]
    (result,) = run["results"]
    assert run["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == "tab-pitch"
    assert result["level"] == "error"
    region = result["locations"][0]["physicalLocation"]["region"]
    assert region["startLine"] == 1


def test_junit_fails_for_errors_alone() -> None:
    """An error is a failure; a clean file is a case that passed."""
    root = etree.fromstring(
        render([_report(), _report(page(note("E3", 8)), "b")], "junit").encode()
    )
    first, second = root
    assert (first.get("failures"), second.get("failures")) == ("1", "0")
    assert first.find("testcase/failure") is not None
    assert len(second) == 1


def test_workflow_commands_escape_names() -> None:
    """Commas and colons in a file name do not end a property."""
    line = render([_report()], "github")
    assert line.startswith("::error file=riff%2C one.musicxml,line=1,title=tab-pitch::part P1")


def test_unknown_format() -> None:
    """A format that there is not is refused with the next best."""
    with pytest.raises(UsageError, match="did you mean sarif"):
        render([], "sarrif")


@pytest.mark.parametrize("name", sorted(FORMATS))
def test_formats_are_deterministic(name: str) -> None:
    """Two proofreadings of the same bytes give the same text."""
    assert render([_report()], name) == render([_report()], name)
