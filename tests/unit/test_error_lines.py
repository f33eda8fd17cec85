"""Every error is read here: where it is raised, and as a user meets it.

A line names the file, the measure and the beat where there are any, the cause, and the way out.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.calling import DUET, RIFF, call, is_one_line
from tests.unit.musicxml.test_bad_input import BAD, NOTE, score

ROOT = Path(__file__).parents[2]
FAMILY = {
    "NeckwiseError",
    "InputError",
    "UsageError",
    "OutputError",
    "Refusal",
    "Unplayable",
    "ContractBroken",
}
# A whole sentence of an earlier refusal, with its own way out, stands for the cause here.
SENTENCES = {"variants/levels/workshop.py", "variants/songset/making.py"}


def _raised() -> Iterator[tuple[str, ast.Call]]:
    for folder in ("variants", "cli"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if (
                    isinstance(node, ast.Call)
                    and isinstance(node.func, ast.Name)
                    and node.func.id in FAMILY
                ):
                    yield f"{path.relative_to(ROOT).as_posix()}:{node.lineno}", node


SITES = dict(_raised())


def _text(node: ast.expr) -> str:
    """Return the fixed text of an expression; what is put in at run time as ``{}``."""
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(_text(one) if isinstance(one, ast.Constant) else "{}" for one in node.values)
    return "{}"


def test_there_are_many_errors() -> None:
    """The scan finds the places where errors are made."""
    assert len(SITES) > 250


@pytest.mark.parametrize("where", SITES)
def test_an_error_has_cause_and_way_out(where: str) -> None:
    """Where an error is made, its cause and its way out are told, without a full stop."""
    node = SITES[where]
    options = {one.arg: one.value for one in node.keywords}
    cause = _text(node.args[0])
    assert cause
    assert not cause.endswith(".")
    assert "\n" not in cause
    if where.partition(":")[0] in SENTENCES and cause == "{}":
        return
    assert "way_out" in options, "an error without a way out"
    way_out = _text(options["way_out"])
    assert way_out
    assert not way_out.endswith(".")


# -- as a user meets them --------------------------------------------------------------------


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_named(name: str, tmp_path: Path) -> None:
    """The line begins with the file; a fault in the music has its part, measure and beat."""
    path = tmp_path / "bad.musicxml"
    path.write_bytes(BAD[name][0])
    done = call("describe", path)
    assert done.code == 2
    assert is_one_line(done.err)
    line = done.err.removeprefix("neckwise: ").strip()
    assert line.startswith(str(path))
    assert "; " in line, "no way out"
    if re.search(r"measure \d", line):
        assert re.search(r"part \S+, measure 1(, beat \d|:)", line)


@pytest.mark.parametrize(
    ("inside", "place"),
    [
        (NOTE.replace("<octave>4", "<octave>x"), "measure 1, beat 1"),
        (NOTE.replace("<duration>4", "<duration>2") * 2 + "<backup><duration>9</duration></backup>",
         "measure 1, beat 1"),
        (NOTE.replace("<duration>4", "<duration>1") * 2 + NOTE.replace("<step>E", "<step>H"),
         "measure 1, beat 3"),
        (NOTE.replace("<duration>4", "<duration>0.5") + NOTE.replace("<duration>4", "<duration>-1"),
         "measure 1, beat 1.5"),
    ],
)  # fmt: skip
def test_the_beat_is_named(inside: str, place: str, tmp_path: Path) -> None:
    """A fault in a note names the beat at which the note begins."""
    path = tmp_path / "a.musicxml"
    path.write_bytes(score(inside))
    assert place in call("describe", path).err


CALLS: dict[str, tuple[tuple[str | Path, ...], str]] = {
    "no such file": (("describe", "none.xml"), "none.xml"),
    "a folder": (("describe", ROOT), "is a folder"),
    "no such step": (("vary", RIFF, "-s", "leap", "-o", "OUT"), "no step 'leap'"),
    "no such parameter": (("vary", RIFF, "-s", "transpose:by=2", "-o", "OUT"), "by"),
    "no such value": (("vary", RIFF, "-s", "transpose:interval=x", "-o", "OUT"), "interval"),
    "no such part": (("vary", DUET, "--part", "P9", "-o", "OUT"), "P9"),
    "no such tuning": (("vary", RIFF, "--tuning", "x", "-o", "OUT"), "tuning"),
    "no such mark": (("vary", RIFF, "--mark", "x", "-o", "OUT"), "mark"),
    "no such level": (("fit", RIFF, "--level", "x", "-o", "OUT"), "level"),
    "no such recipe": (("vary", RIFF, "--recipe", "x.toml", "-o", "OUT"), "x.toml"),
    "a wrong ending": (("vary", RIFF, "-o", "a.pdf"), "a.pdf"),
    "no such folder": (("vary", RIFF, "-o", "none/a.xml"), "there is no folder"),
    "a refusal": (("vary", RIFF, "-s", "single-string", "-o", "OUT"), "measure 1, beat"),
    "nowhere to play it": (("finger", RIFF, "--frets", "1", "-o", "OUT"), "measure"),
    "an option that is none": (("vary", RIFF, "--nothing", "-o", "OUT"), "--nothing"),
    "a capo too high": (("vary", RIFF, "--capo", "40", "-o", "OUT"), "capo"),
}


@pytest.mark.parametrize("name", CALLS)
def test_a_wrong_call_is_one_line(name: str, tmp_path: Path) -> None:
    """What cannot be done is said in one line with its cause and a way out; nothing is written."""
    words, said = CALLS[name]
    named = [tmp_path / "out.musicxml" if word == "OUT" else word for word in words]
    done = call(*named)
    assert done.code in (1, 2)
    assert is_one_line(done.err)
    assert said in done.err
    assert re.search(r"; \S", done.err), "no way out"
    assert not list(tmp_path.iterdir())
    if re.search(r"measure \d", done.err):
        assert str(RIFF) in done.err
