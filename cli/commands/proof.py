"""`neckwise proof`: proofread notation and tab."""

from __future__ import annotations

import sys
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from variants.files import STANDARD_STREAM

from .. import options
from ..source import load_bytes, load_score, shown, split_tune
from ..text import count, show, show_json, table, wrapped

if TYPE_CHECKING:
    from variants.proof import Finding, ProofReport, ProofSettings
    from variants.proof.against import SourceComparison

ANSWER_NO = 1
WRONG = 2


class FindingFormat(StrEnum):
    """How the findings are written."""

    text = "text"
    json = "json"
    sarif = "sarif"
    junit = "junit"
    github = "github"


Files = Annotated[
    list[str],
    typer.Argument(
        metavar="FILE...",
        help="MusicXML (.musicxml, .xml, .mxl), or - for standard input. ABC, kern, MIDI and MEI "
        "are proofread as the score that they are converted to; tunes.abc#3 is one tune.",
    ),
]
Against = Annotated[
    str,
    typer.Option(
        "--against",
        metavar="SOURCE",
        help="Compare the file with its source too: which promises it keeps, where it differs.",
    ),
]
Fix = Annotated[
    bool,
    typer.Option("--fix", help="Make the corrections that are certain; write the result to --out."),
]
Out = Annotated[
    str | None,
    typer.Option(
        "-o",
        "--out",
        metavar="OUT",
        callback=options.named,
        help="Where --fix writes: .musicxml, .xml or .mxl.",
    ),
]
Select = Annotated[
    list[str] | None,
    typer.Option(
        "--select",
        metavar="RULE",
        help="Only this rule, pattern (tab-*) or severity; again for more. "
        "`neckwise list rules` shows them.",
    ),
]
Ignore = Annotated[
    list[str] | None,
    typer.Option("--ignore", metavar="RULE", help="Not this rule, pattern or severity."),
]
Config = Annotated[
    str,
    typer.Option(
        "--config", metavar="TOML", help="A file with select, ignore, hand and severities."
    ),
]
FormatOption = Annotated[
    FindingFormat, typer.Option("--format", help="How the findings are written.", show_default=True)
]


def proof(
    files: Files,
    against: Against = "",
    fix: Fix = False,
    out: Out = None,
    select: Select = None,
    ignore: Ignore = None,
    config: Config = "",
    format: FormatOption = FindingFormat.text,  # noqa: A002 - the option's name
    json: options.Json = False,
    reading: options.Reading = options.ReadingWish.auto,
    quiet: options.Quiet = False,
    force: options.Force = False,
) -> None:
    """Find what a careful proofreader finds in notation and tab; exit 1 when there are errors."""
    from variants.proof.config import settings_of
    from variants.proof.reports.text import file_lines

    out = out or ""
    _check_call(files, against=against, fix=fix, out=out)
    settings = settings_of(select=select or (), ignore=ignore or (), config=config or None)
    name = FindingFormat.json if json else format
    prints = not quiet and name is FindingFormat.text
    if fix:
        reports = [_fixed(files[0], out, settings, force=force, quiet=quiet)]
        problems: list[str] = []
        if prints:
            show(file_lines(reports[0]))
    else:
        reports, problems = _read(files, settings, prints=prints)
    if not quiet:
        _print(reports, name, _compared(files[0], against, reading) if against else None)
    for problem in problems:
        sys.stderr.write(f"neckwise: {problem}\n")
    if problems:
        raise typer.Exit(WRONG)
    if not all(report.is_clean for report in reports):
        raise typer.Exit(ANSWER_NO)


def _check_call(files: list[str], *, against: str, fix: bool, out: str) -> None:
    from variants.errors import UsageError

    if (against or fix) and len(files) != 1:
        what = "--fix" if fix else "--against"
        raise UsageError(f"{what} takes one file", way_out="call it for each file")
    if against and STANDARD_STREAM in (against, *files):
        raise UsageError("--against takes no standard input", way_out="name two files")
    if fix and not out:
        raise UsageError("--fix writes a new file", way_out="name it with --out")
    if out and not fix:
        raise UsageError("--out is for --fix alone", way_out="add --fix, or redirect the output")


def _read(
    files: list[str], settings: ProofSettings, *, prints: bool
) -> tuple[list[ProofReport], list[str]]:
    """Return the reports, and a line for each file that could not be read.

    Findings are printed file by file, so that the page of none need be kept.
    """
    from variants.errors import NeckwiseError
    from variants.proof import proofread_bytes
    from variants.proof.reports.text import file_lines

    reports: list[ProofReport] = []
    problems: list[str] = []
    for file in files:
        try:
            path, tune = split_tune(file)
            report = proofread_bytes(load_bytes(path), settings, file=path, tune=tune)
            report = replace(report, file=file)
        except NeckwiseError as error:
            # One file that is no score must not hide what is wrong with the others.
            shown = error if error.place.startswith(file) else error.at(_named(file))
            problems.append(str(shown))
            continue
        if prints:
            show(file_lines(report))
        reports.append(report.light())
    return reports, problems


def _named(file: str) -> str:
    return shown(file) if file == STANDARD_STREAM else Path(file).name


def _musicxml_bytes(file: str) -> bytes:
    """Return the MusicXML of a file.

    Raises:
        InputError: It cannot be read, or is of another notation: its page is not what we have.
    """
    from variants.convert import format_of, sniffed
    from variants.errors import InputError

    data = load_bytes(file)
    kind = format_of(file) or sniffed(data)
    if kind is not None:
        stem = "score" if file == STANDARD_STREAM else Path(file).stem
        raise InputError(
            f"is {kind.name}, and --fix mends MusicXML as it is written",
            place=_named(file),
            way_out=f"make MusicXML of it: neckwise vary {file} -o {stem}.musicxml",
        )
    return data


def _fixed(
    file: str, out: str, settings: ProofSettings, *, force: bool, quiet: bool
) -> ProofReport:
    from variants.errors import NeckwiseError
    from variants.musicxml.writer import pack
    from variants.proof.fix import fix_bytes

    from ..output import score_target, write

    target = score_target(out, source=file, force=force)
    data = _musicxml_bytes(file)
    try:
        fixed = fix_bytes(data, settings, file=file)
    except NeckwiseError as error:
        raise error.at(_named(file)) from None
    stream = sys.stderr if target.is_stream else sys.stdout
    if fixed.made:
        write(target, pack(fixed.data) if target.is_compressed else fixed.data)
    if not quiet:
        show(_made_lines(fixed.made, target.name), stream)
    return fixed.report


def _made_lines(made: tuple[Finding, ...], out: str) -> list[str]:
    if not made:
        return ["nothing can be corrected with certainty; nothing was written", ""]
    lines = []
    for one in made:
        lines += wrapped(f"{one.place}: {one.fix}  [{one.rule}]", first="  ", other="      ")
    done = f"{count(len(made), 'correction')} written to {out}; every sounding pitch is as before"
    return [f"{done}:", *lines, ""]


def _compared(file: str, against: str, reading: options.ReadingWish) -> SourceComparison:
    from variants.convert import format_of
    from variants.musicxml import Reading, settle_octaves
    from variants.proof.against import compare, misread

    scores, doubts = [], []
    for which, name in (("source", against), ("variant", file)):
        score = settle_octaves(load_score(name), Reading(reading.value))
        scores.append(score)
        if format_of(split_tune(name)[0]) is None:
            doubts += [f"{which}, {told}" for told in misread(load_bytes(name), score)]
    return replace(compare(scores[0], scores[1]), misread=tuple(doubts))


def _print(
    reports: list[ProofReport], name: FindingFormat, compared: SourceComparison | None
) -> None:
    from variants.proof.reports import render
    from variants.proof.reports.programs import finding_json
    from variants.proof.reports.text import summary

    if name is FindingFormat.json:
        found = [finding_json(one) for report in reports for one in report.findings]
        value: dict[str, object] = {"findings": found}
        if compared is not None:
            value["against"] = _comparison_json(compared)
        show_json(value)
        return
    text = (
        "\n".join(summary(reports)) if name is FindingFormat.text else render(reports, name.value)
    )
    if text:
        show([text])
    if compared is not None and name is FindingFormat.text:
        show(["", *_comparison_lines(compared)])


def _comparison_json(compared: SourceComparison) -> dict[str, object]:
    return {
        "semitones": compared.semitones,
        "kept": [promise.value for promise in compared.kept],
        "not_kept": [
            {"promise": one.promise.value, "place": one.place, "cause": one.cause}
            for one in compared.verdicts
            if not one.kept
        ],
        "differences": [
            {"part": one.part, "place": one.place, "source": one.was, "variant": one.now}
            for one in compared.differences
        ],
        "misread": list(compared.misread),
    }


def _comparison_lines(compared: SourceComparison) -> list[str]:
    rows = [
        (
            ("kept, moved" if one.moved else "kept") if one.kept else "differs",
            one.promise.meaning,
            "" if one.kept else f"{one.place}: {one.cause}",
        )
        for one in compared.verdicts
    ]
    lines = ["Against its source:", "", *table(("", "promise", "first difference"), rows)]
    if compared.semitones:
        way = "up" if compared.semitones > 0 else "down"
        by = f"{count(abs(compared.semitones), 'semitone')} {way}"
        lines += [
            "",
            f"The music was moved {by}; what follows compares it with the source so moved.",
        ]
    shown = [replace(one, was=one.was or "-", now=one.now or "-") for one in compared.differences]
    if shown:
        places = [(one.place, one.was, one.now) for one in shown]
        lines += ["", *table(("moment", "source", "variant"), places)]
    told = "sound other notes, or for longer or shorter, than in the source"
    lines += ["", f"{count(len(shown), 'moment')} {told}"]
    if compared.misread:
        # Then what is said above is about what was read, which is not what is written.
        lines += ["", "Not read as it is written, so that nothing above is proven there:"]
        lines += [
            part for one in compared.misread for part in wrapped(one, first="  ", other="    ")
        ]
    return lines


def rule_list() -> tuple[list[dict[str, object]], list[str]]:
    """Return the rules for ``neckwise list rules``: as data, and as lines."""
    from variants.proof import list_rules

    known = list_rules()
    values: list[dict[str, object]] = [
        {"id": one.id, "severity": one.severity.value, "meaning": one.meaning} for one in known
    ]
    rows = [(one.id, one.severity.value, one.meaning) for one in known]
    hint = (
        "--select and --ignore take ids, patterns such as tab-* and severities; exit code 1 "
        "means that there are errors, whatever warnings and hints say."
    )
    return values, [*table(("rule", "severity", "finds that"), rows), "", *wrapped(hint)]
