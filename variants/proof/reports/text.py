"""The report for people: each finding with its measure drawn and a pointer to the moment."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from variants.proof.engine import Report
from variants.proof.finding import Finding, Flaw, Severity
from variants.proof.reports.excerpt import excerpt

WIDTH = 96


def text(reports: Sequence[Report]) -> str:
    """Return the findings file by file, and what they come to."""
    lines: list[str] = []
    for report in reports:
        if not report.findings:
            continue
        lines += [report.file, ""]
        shown: tuple[object, int, int] | None = None
        for finding, flaw in zip(report.findings, report.flaws, strict=True):
            lines += _told(finding)
            place = (flaw.part, finding.measure_index, flaw.onset)
            if place != shown:
                lines += _drawn(report, flaw)
            shown = place
            lines.append("")
    return "\n".join([*lines, *_summary(reports)])


def _told(finding: Finding) -> list[str]:
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


def _drawn(report: Report, flaw: Flaw) -> list[str]:
    if flaw.bar is None:
        return []
    return ["      " + line for line in excerpt(report.page, flaw)]


def _summary(reports: Sequence[Report]) -> list[str]:
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
