"""The report for people: each finding with its measure drawn and a pointer to the moment."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from itertools import zip_longest

from variants.proof.engine import ProofReport
from variants.proof.finding import Finding, Severity
from variants.proof.reports.excerpt import excerpt

WIDTH = 96


def text(reports: Sequence[ProofReport]) -> str:
    """Return the findings file by file, and what they come to."""
    return "\n".join([line for report in reports for line in file_lines(report)] + summary(reports))


def file_lines(report: ProofReport) -> list[str]:
    """Return the findings of one file; no lines where there is nothing to tell."""
    lines = [report.file, ""]
    if report.notation:
        told = "what is proofread is the score that it is converted to"
        lines += [f"  This is {report.notation}: {told}.", ""]
    elif not report.findings:
        return []
    shown: tuple[object, int, int] | None = None
    for finding, flaw in zip_longest(report.findings, report.flaws):
        lines += _finding_lines(finding)
        if flaw is not None:
            place = (flaw.part, finding.measure_index, flaw.onset)
            if place != shown:
                lines += ["      " + line for line in excerpt(flaw)]
            shown = place
        lines.append("")
    return lines


def _finding_lines(finding: Finding) -> list[str]:
    place = f"{finding.place}: " if finding.place else ""
    head = f"  {finding.severity.value.upper()}  "
    message = f"{place}{finding.message}  [{finding.rule}]"
    lines = textwrap.wrap(
        message, WIDTH, initial_indent=head, subsequent_indent=" " * len(head),
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
    if finding.expected:
        lines.append(f"{' ' * len(head)}expected: {finding.expected}")
    if finding.fix:
        lines.append(f"{' ' * len(head)}--fix would {finding.fix}")
    return lines


def summary(reports: Sequence[ProofReport]) -> list[str]:
    """Return in one line what was found in how many files."""
    files = len(reports)
    counts = [
        (severity, sum(report.count(severity) for report in reports)) for severity in Severity
    ]
    told = ", ".join(
        f"{count} {severity.value}{'' if count == 1 else 's'}"
        for severity, count in counts
        if count
    )
    return [f"{files} file{'' if files == 1 else 's'}: {told or 'nothing found'}"]
