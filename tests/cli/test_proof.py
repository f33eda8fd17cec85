"""`neckwise proof` and `neckwise list rules`: exit codes, output, and files that are written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.calling import RIFF, call, call_apart, is_one_line
from tests.unit.proof.pages import note, tab

BAD = tab(note("E3", 2, place="4:3") + note("E3", 6, place="4:2"))


@pytest.fixture
def bad(tmp_path: Path) -> Path:
    """A file with one wrong fret."""
    path = tmp_path / "bad.musicxml"
    path.write_bytes(BAD)
    return path


def test_clean_file_is_exit_0() -> None:
    """Nothing found is said in one line on standard output."""
    result = call("proof", RIFF)
    assert (result.code, result.out, result.err) == (0, "1 file: nothing found\n", "")


def test_error_is_exit_1(bad: Path) -> None:
    """An error makes the answer no; the finding stands on standard output."""
    result = call("proof", bad, RIFF)
    assert result.code == 1
    told = " ".join(result.out.split())
    assert "string 4 fret 3 sounds F3, the note is E3 [tab-pitch]" in told
    assert result.out.endswith("2 files: 1 error\n")
    assert result.err == ""


def test_warnings_and_hints_are_exit_0(bad: Path) -> None:
    """What is no error does not fail a build."""
    assert call("proof", bad, "--ignore", "tab-pitch").code == 0
    assert call("proof", bad, "--select", "hint").code == 0


def test_unreadable_file_is_exit_2_and_hides_nothing(bad: Path, tmp_path: Path) -> None:
    """The other files are proofread all the same; the bad one is one line on standard error."""
    (tmp_path / "none.musicxml").write_text("no score", encoding="utf-8")
    result = call("proof", tmp_path / "none.musicxml", bad)
    assert result.code == 2
    assert "[tab-pitch]" in result.out
    assert is_one_line(result.err)
    assert "none.musicxml" in result.err
    missing = call("proof", tmp_path / "nowhere.musicxml")
    assert missing.code == 2
    assert is_one_line(missing.err)


def test_json(bad: Path) -> None:
    """--json prints the documented shape and --format json the same."""
    result = call("proof", bad, "--json")
    (one,) = json.loads(result.out)["findings"]
    assert (one["rule"], one["measure"], one["severity"]) == ("tab-pitch", "1", "error")
    assert call("proof", bad, "--format", "json").out == result.out


@pytest.mark.parametrize("name", ["sarif", "junit", "github"])
def test_formats_for_build_services(bad: Path, name: str) -> None:
    """Each names the rule and the file."""
    result = call("proof", bad, "--format", name)
    assert result.code == 1
    assert "tab-pitch" in result.out
    assert "bad.musicxml" in result.out


def test_standard_input() -> None:
    """A dash reads standard input."""
    result = call_apart("proof", "-", "--quiet", stdin=BAD)
    assert (result.code, result.out, result.err) == (1, "", "")


def test_fix_writes_a_new_file(bad: Path, tmp_path: Path) -> None:
    """The correction is listed, the new file is clean, the old one untouched."""
    out = tmp_path / "fixed.musicxml"
    result = call("proof", bad, "--fix", "-o", out)
    assert result.code == 0
    assert "1 correction written" in result.out
    assert "write fret 2  [tab-pitch]" in result.out
    assert bad.read_bytes() == BAD
    assert call("proof", out).code == 0
    packed = tmp_path / "fixed.mxl"
    assert call("proof", bad, "--fix", "-o", packed).code == 0
    assert packed.read_bytes()[:2] == b"PK"
    assert call("proof", packed).code == 0


def test_fix_of_a_clean_file_writes_nothing(tmp_path: Path) -> None:
    """Where there is nothing to correct there is nothing to write."""
    out = tmp_path / "fixed.musicxml"
    result = call("proof", RIFF, "--fix", "-o", out)
    assert (result.code, out.exists()) == (0, False)
    assert "nothing can be corrected with certainty" in result.out


def test_fix_never_overwrites_what_is_not_ours(bad: Path, tmp_path: Path) -> None:
    """Neither its source nor another file, without --force."""
    other = tmp_path / "other.musicxml"
    other.write_bytes(BAD)
    for target in (bad, other):
        result = call("proof", bad, "--fix", "-o", target)
        assert result.code == 2
        assert is_one_line(result.err)
    assert other.read_bytes() == BAD
    assert call("proof", bad, "--fix", "-o", other, "--force").code == 0
    assert other.read_bytes() != BAD


def test_against(tmp_path: Path) -> None:
    """A transposed variant is told from its source: moved, and nothing else differs."""
    out = tmp_path / "up.musicxml"
    assert call("vary", RIFF, "-s", "transpose:interval=m3", "-o", out, "--quiet").code == 0
    result = call("proof", out, "--against", RIFF)
    assert result.code == 0
    assert "moved 3 semitones up" in result.out
    assert "0 moments sound other notes" in result.out
    told = json.loads(call("proof", out, "--against", RIFF, "--json").out)["against"]
    assert told["semitones"] == 3
    assert told["differences"] == []
    assert "onsets" in told["kept"]


def test_other_notations(tmp_path: Path) -> None:
    """ABC is proofread as the score that it is converted to, and the report says so."""
    abc = tmp_path / "walk.abc"
    abc.write_text("X:1\nT:Small walk\nM:4/4\nL:1/4\nK:G\nGABc|d2c|B4|\n", encoding="utf-8")
    result = call("proof", abc)
    assert result.code == 0
    assert "This is ABC: what is proofread is the score that it is converted to." in result.out
    assert "the score has no rights line" in result.out
    found = json.loads(call("proof", abc, "--json").out)["findings"]
    assert {one["line"] for one in found} == {0}
    fixed = call("proof", abc, "--fix", "-o", tmp_path / "x.musicxml")
    assert fixed.code == 2
    assert "is ABC, and --fix mends MusicXML as it is written" in fixed.err


@pytest.mark.parametrize(
    ("words", "cause"),
    [
        (("--fix",), "name it with --out"),
        (("-o", "x.musicxml"), "--out is for --fix alone"),
        (("--select", "tab-pich"), "did you mean tab-pitch"),
        (("--config", "nowhere.toml"), "cannot be read"),
        (("--format", "xml"), "xml"),
    ],
)
def test_wrong_calls(bad: Path, words: tuple[str, ...], cause: str) -> None:
    """Each wrong call is one line and exit code 2."""
    result = call("proof", bad, *words)
    assert result.code == 2
    assert is_one_line(result.err)
    assert cause in result.err


def test_fix_and_against_take_one_file(bad: Path) -> None:
    """Several files at once would leave open which is meant."""
    for words in (("--fix", "-o", "x.musicxml"), ("--against", str(RIFF))):
        result = call("proof", bad, bad, *words)
        assert result.code == 2
        assert "takes one file" in result.err


def test_configuration_file(bad: Path, tmp_path: Path) -> None:
    """A rule that the configuration makes a hint no longer fails."""
    config = tmp_path / "proof.toml"
    config.write_text('[severity]\ntab-pitch = "hint"\n', encoding="utf-8")
    assert call("proof", bad, "--config", config).code == 0


def test_list_rules() -> None:
    """Every rule with its severity and meaning, as a table and as JSON."""
    result = call("list", "rules")
    assert result.code == 0
    assert "tab-pitch" in result.out
    rules = json.loads(call("list", "rules", "--json").out)["rules"]
    assert {"id": "tab-pitch", "severity": "error"}.items() <= next(
        one for one in rules if one["id"] == "tab-pitch"
    ).items()
