"""Mutation test of the proofreader: single faults in good files, how many are found and where.

Run as ``python -m benchmarks.proof_mutations --cases 4200 --seed 8 --out benchmarks/proof.md``.
A fault counts as found when a rule that is meant for it says something at a measure that the
fault touches, that it does not say of the good file.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tests.oracles.faults.fault import FAULTS
from tests.oracles.faults.mutations import Result, mutate
from tests.oracles.faults.pieces import good_files
from variants.proof import proofread_bytes


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
