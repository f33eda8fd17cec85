"""The report as SARIF 2.1.0 (the OASIS standard for results of static analysis).

Source: OASIS, "Static Analysis Results Interchange Format Version 2.1.0", 2020; property names
from memory.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from variants.proof.engine import ProofReport
from variants.proof.finding import Finding, Severity
from variants.proof.registry import list_rules

_LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.HINT: "note"}


def sarif(reports: Sequence[ProofReport]) -> str:
    """Return one run with every rule and every finding."""
    used = {one.rule for report in reports for one in report.findings}
    rules = [rule for rule in list_rules() if rule.id in used]
    places = {rule.id: index for index, rule in enumerate(rules)}
    driver = {
        "name": "neckwise",
        "rules": [
            {
                "id": rule.id,
                "shortDescription": {"text": rule.meaning},
                "defaultConfiguration": {"level": _LEVELS[rule.severity]},
            }
            for rule in rules
        ],
    }
    results = [_result(one, places) for report in reports for one in report.findings]
    whole = {
        "version": "2.1.0",
        "runs": [{"tool": {"driver": driver}, "results": results}],
    }
    return json.dumps(whole, ensure_ascii=False, indent=2)


def _result(finding: Finding, places: dict[str, int]) -> dict[str, Any]:
    where: dict[str, Any] = {"artifactLocation": {"uri": finding.file.replace("\\", "/")}}
    if finding.line:
        where["region"] = {"startLine": finding.line}
    location: dict[str, Any] = {"physicalLocation": where}
    if finding.place:
        location["logicalLocations"] = [{"fullyQualifiedName": finding.place}]
    expected = f"; expected: {finding.expected}" if finding.expected else ""
    return {
        "ruleId": finding.rule,
        "ruleIndex": places[finding.rule],
        "level": _LEVELS[finding.severity],
        "message": {"text": f"{finding.message}{expected}"},
        "locations": [location],
    }
