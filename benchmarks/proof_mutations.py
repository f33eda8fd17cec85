"""Mutation test of the proofreader: single faults in good files, how many are found and where.

Run as ``python -m benchmarks.proof_mutations --cases 4200 --seed 8 --out benchmarks/proof.md``.
A fault counts as found when a rule that is meant for it says something at a measure that the
fault touches, that it does not say of the good file.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from lxml import etree

from benchmarks import (
    proof_faults_page,
    proof_faults_strings,
    proof_faults_tab,
    proof_faults_text,
)
from benchmarks.proof_fault import FAULTS, Case, Fault, NothingToSpoil, Spoiled
from benchmarks.proof_pieces import good_files, tree
from variants.proof import Finding, Severity, proofread_bytes
from variants.proof.engine import proofread_tree

# Importing them registers their faults.
FAMILIES = (proof_faults_tab, proof_faults_strings, proof_faults_page, proof_faults_text)
Said = frozenset[tuple[str, int, str, str]]


@dataclass(slots=True)
class Result:
    """What came of a run.

    Args:
        files: Number of good files.
        false_errors: Errors on good files, as text.
        found: Faults found, by kind.
        missed: Faults missed, by kind.
        lost: Each missed fault: its kind, file and measures.
        by_rule: Faults found, by the rule that found them.
    """

    files: int = 0
    false_errors: list[str] = field(default_factory=list)
    found: Counter[str] = field(default_factory=Counter)
    missed: Counter[str] = field(default_factory=Counter)
    lost: list[tuple[str, str, frozenset[int]]] = field(default_factory=list)
    by_rule: Counter[str] = field(default_factory=Counter)

    @property
    def share(self) -> float:
        """Share of the faults that were found."""
        found, missed = sum(self.found.values()), sum(self.missed.values())
        return found / (found + missed) if found + missed else 0.0


def _said(findings: Iterable[Finding]) -> Said:
    return frozenset((one.rule, one.measure_index, one.beat, one.message) for one in findings)


def mutate(files: dict[str, bytes], *, cases: int, seed: int) -> Result:
    """Spoil files one fault at a time and proofread them.

    Args:
        files: Good files.
        cases: How many faults; the kinds take turns, the files are drawn.
        seed: The same seed gives the same faults.
    """
    result = Result(files=len(files))
    said: dict[str, Said] = {}
    for name, data in files.items():
        report = proofread_bytes(data, file=name)
        said[name] = _said(report.findings)
        result.false_errors += [str(f) for f in report.findings if f.severity is Severity.ERROR]
    rng = random.Random(seed)  # noqa: S311 - repeatable, not secret
    kinds = list(FAULTS.values())
    names = sorted(files)
    empty: Counter[str] = Counter()
    done = turn = 0
    while done < cases and turn < 60 * cases:
        kind = kinds[turn % len(kinds)]
        turn += 1
        name = rng.choice(names)
        case = Case(tree(files[name]), rng)
        try:
            spoiled = kind.make(case)
        except NothingToSpoil:
            empty[kind.name] += 1
            continue
        done += 1
        _judge(result, kind, spoiled, (name, case.root, said[name]))
    return result


def _judge(
    result: Result, kind: Fault, spoiled: Spoiled, what: tuple[str, etree._Element, Said]
) -> None:
    name, root, before = what
    report = proofread_tree(root, file=name)
    new = [f for f in report.findings if _said([f]).isdisjoint(before)]
    hits = [
        one
        for one in new
        if one.rule in kind.rules and (not spoiled.bars or one.measure_index in spoiled.bars)
    ]
    if hits:
        result.found[kind.name] += 1
        result.by_rule[hits[0].rule] += 1
    else:
        result.missed[kind.name] += 1
        result.lost.append((kind.name, name, spoiled.bars))


def table(result: Result) -> list[str]:
    """Return the result as a Markdown table by kind of fault."""
    lines = ["| fault | rules | made | found |", "|---|---|---:|---:|"]
    for name, kind in FAULTS.items():
        made = result.found[name] + result.missed[name]
        rules = ", ".join(sorted(kind.rules))
        lines.append(f"| {name} | {rules} | {made} | {result.found[name]} |")
    total = sum(result.found.values()) + sum(result.missed.values())
    lines.append(f"| **all** | | **{total}** | **{sum(result.found.values())}** |")
    return lines


def main(arguments: list[str] | None = None) -> int:
    """Run the mutation test and print its table.

    Returns:
        0 when at least 99 % were found and the good files have no errors, else 1.
    """
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=4200)
    parser.add_argument("--seed", type=int, default=8)
    parser.add_argument("--more", type=Path, nargs="*", default=[], help="further good files")
    parser.add_argument("--table", type=Path, help="write the table there")
    chosen = parser.parse_args(arguments)
    files = dict(good_files())
    for path in chosen.more:
        data = path.read_bytes()
        if proofread_bytes(data).is_clean:
            files[path.name] = data
    result = mutate(files, cases=chosen.cases, seed=chosen.seed)
    lines = table(result)
    print("\n".join(lines))
    print(f"{result.files} good files, {len(result.false_errors)} false errors")
    print(f"{100 * result.share:.2f} % found in the right measure")
    for one in result.lost[:40]:
        print("missed:", one[0], "|", one[1], "| measures", sorted(one[2]))
    if chosen.table:
        chosen.table.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return 0 if result.share >= 0.99 and not result.false_errors else 1


if __name__ == "__main__":
    sys.exit(main())
