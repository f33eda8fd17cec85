"""The report as JUnit XML: a suite for each file, a case for each rule that said something.

There is no standard of the format; this is the form that build servers read (common practice):
``testsuites``, ``testsuite``, ``testcase``, ``failure``. Errors are failures; warnings and hints
are told in ``system-out`` of a case that passes.
"""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from variants.proof.engine import ProofReport
from variants.proof.finding import Finding, Severity


def junit(reports: Sequence[ProofReport]) -> str:
    """Return the suites of all files."""
    root = etree.Element("testsuites", name="neckwise proof")
    for report in reports:
        rules = sorted({one.rule for one in report.findings})
        failed = {one.rule for one in report.findings if one.severity is Severity.ERROR}
        suite = etree.SubElement(
            root,
            "testsuite",
            name=_plain(report.file),
            tests=str(max(len(rules), 1)),
            failures=str(len(failed)),
        )
        for rule in rules:
            _case(
                suite,
                _plain(report.file),
                rule,
                [one for one in report.findings if one.rule == rule],
            )
        if not rules:
            # A file without findings is a case that passed.
            etree.SubElement(suite, "testcase", classname=_plain(report.file), name="proof")
    return etree.tostring(root, encoding="unicode", pretty_print=True).rstrip()


def _case(suite: etree._Element, file: str, rule: str, findings: list[Finding]) -> None:
    case = etree.SubElement(suite, "testcase", classname=file, name=rule)
    errors = [one for one in findings if one.severity is Severity.ERROR]
    others = [one for one in findings if one.severity is not Severity.ERROR]
    if errors:
        failure = etree.SubElement(case, "failure", message=_plain(errors[0].message), type="error")
        failure.text = _plain("\n".join(map(str, errors)))
    if others:
        told = etree.SubElement(case, "system-out")
        told.text = _plain("\n".join(f"{one.severity.value}: {one}" for one in others))


def _plain(text: str) -> str:
    """Return text without what XML cannot hold: control characters, and bytes that are no UTF-8.

    Such bytes of a file name stand in Python's text as halves of characters.
    """
    text = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(letter for letter in text if letter >= " " or letter in "\t\n")
