"""The report for programs: JSON, SARIF, JUnit XML, and workflow commands."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from lxml import etree

from variants.proof.engine import ProofReport
from variants.proof.finding import Finding, Severity
from variants.proof.registry import list_rules

_COMMAND_NAMES = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.HINT: "notice"}
_SARIF_LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.HINT: "note"}


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


def sarif(reports: Sequence[ProofReport]) -> str:
    """Return one run with every rule and every finding, as SARIF 2.1.0.

    Source: OASIS, "Static Analysis Results Interchange Format Version 2.1.0", 2020; property names
    from memory.
    """
    used = {one.rule for report in reports for one in report.findings}
    rules = [rule for rule in list_rules() if rule.id in used]
    places = {rule.id: index for index, rule in enumerate(rules)}
    driver = {
        "name": "neckwise",
        "rules": [
            {
                "id": rule.id,
                "shortDescription": {"text": rule.meaning},
                "defaultConfiguration": {"level": _SARIF_LEVELS[rule.severity]},
            }
            for rule in rules
        ],
    }
    results = [_sarif_result(one, places) for report in reports for one in report.findings]
    whole = {
        "version": "2.1.0",
        "runs": [{"tool": {"driver": driver}, "results": results}],
    }
    return json.dumps(whole, ensure_ascii=False, indent=2)


def _sarif_result(finding: Finding, places: dict[str, int]) -> dict[str, Any]:
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
        "level": _SARIF_LEVELS[finding.severity],
        "message": {"text": f"{finding.message}{expected}"},
        "locations": [location],
    }


def junit(reports: Sequence[ProofReport]) -> str:
    """Return JUnit XML: a suite for each file, a case for each rule that said something.

    There is no standard of the format; this is the form that build servers read (common
    practice). Errors are failures; warnings and hints are told in ``system-out`` of a case that
    passes.
    """
    root = etree.Element("testsuites", name="neckwise proof")
    for report in reports:
        rules = sorted({one.rule for one in report.findings})
        failed = {one.rule for one in report.findings if one.severity is Severity.ERROR}
        suite = etree.SubElement(
            root,
            "testsuite",
            name=_xml_safe(report.file),
            tests=str(max(len(rules), 1)),
            failures=str(len(failed)),
        )
        for rule in rules:
            _junit_case(
                suite,
                _xml_safe(report.file),
                rule,
                [one for one in report.findings if one.rule == rule],
            )
        if not rules:
            # A file without findings is a case that passed.
            etree.SubElement(suite, "testcase", classname=_xml_safe(report.file), name="proof")
    return etree.tostring(root, encoding="unicode", pretty_print=True).rstrip()


def _junit_case(suite: etree._Element, file: str, rule: str, findings: list[Finding]) -> None:
    case = etree.SubElement(suite, "testcase", classname=file, name=rule)
    errors = [one for one in findings if one.severity is Severity.ERROR]
    others = [one for one in findings if one.severity is not Severity.ERROR]
    if errors:
        failure = etree.SubElement(
            case, "failure", message=_xml_safe(errors[0].message), type="error"
        )
        failure.text = _xml_safe("\n".join(map(str, errors)))
    if others:
        told = etree.SubElement(case, "system-out")
        told.text = _xml_safe("\n".join(f"{one.severity.value}: {one}" for one in others))


def _xml_safe(text: str) -> str:
    """Return text without what XML cannot hold: control characters, and bytes that are no UTF-8.

    Such bytes of a file name stand in Python's text as halves of characters.
    """
    text = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(letter for letter in text if letter >= " " or letter in "\t\n")


def github(reports: Sequence[ProofReport]) -> str:
    """Return one workflow command for each finding, which the build service shows at its line.

    Source: its documentation of workflow commands, from memory: ``::error
    file=F,line=N,title=T::M``, with ``%``, line breaks, and in properties also ``:`` and ``,``
    escaped.
    """
    return "\n".join(_github_command(one) for report in reports for one in report.findings)


def _github_command(finding: Finding) -> str:
    line = f",line={finding.line}" if finding.line else ""
    place = f"{finding.place}: " if finding.place else ""
    expected = f"; expected: {finding.expected}" if finding.expected else ""
    return (
        f"::{_COMMAND_NAMES[finding.severity]} file={_github_property(finding.file)}{line},"
        f"title={_github_property(finding.rule)}::{_github_text(f'{place}{finding.message}{expected}')}"
    )


def _github_text(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _github_property(text: str) -> str:
    return _github_text(text).replace(":", "%3A").replace(",", "%2C")
