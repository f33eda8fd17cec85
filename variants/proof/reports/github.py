"""The report as workflow commands, which the build service of the same name shows at the line.

Source: its documentation of workflow commands, from memory: ``::error file=F,line=N,title=T::M``,
with ``%``, line breaks, and in properties also ``:`` and ``,`` escaped.
"""

from __future__ import annotations

from collections.abc import Sequence

from variants.proof.engine import ProofReport
from variants.proof.finding import Finding, Severity

_COMMANDS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.HINT: "notice"}


def github(reports: Sequence[ProofReport]) -> str:
    """Return one command for each finding."""
    return "\n".join(_command(one) for report in reports for one in report.findings)


def _command(finding: Finding) -> str:
    line = f",line={finding.line}" if finding.line else ""
    place = f"{finding.place}: " if finding.place else ""
    expected = f"; expected: {finding.expected}" if finding.expected else ""
    return (
        f"::{_COMMANDS[finding.severity]} file={_property(finding.file)}{line},"
        f"title={_property(finding.rule)}::{_data(f'{place}{finding.message}{expected}')}"
    )


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
