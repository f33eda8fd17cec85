"""The report as JSON; `design.md` 10 names the first eight keys of a finding."""

from __future__ import annotations

import json
from collections.abc import Sequence

from variants.proof.engine import ProofReport
from variants.proof.finding import Finding


def json_text(reports: Sequence[ProofReport]) -> str:
    """Return ``{"findings": [...]}`` for all files, indented, keys in a fixed order."""
    findings = [finding_json(one) for report in reports for one in report.findings]
    return json.dumps({"findings": findings}, ensure_ascii=False, indent=2)


def finding_json(finding: Finding) -> dict[str, str | int]:
    """Return one finding as plain data."""
    return {
        "file": finding.file,
        "part": finding.part,
        "measure": finding.measure,
        "beat": finding.beat,
        "rule": finding.rule,
        "severity": finding.severity.value,
        "message": finding.message,
        "fix": finding.fix,
        "voice": finding.voice,
        "expected": finding.expected,
        "line": finding.line,
    }
