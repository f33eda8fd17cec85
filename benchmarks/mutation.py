"""Puts small faults into the library, one at a time, and looks whether the tests notice.

    python -m benchmarks.mutation map                    once: which test runs which line (slow)
    python -m benchmarks.mutation map tests/unit/proof   the same for some tests, added to the map
    python -m benchmarks.mutation run --faults 150       seeded faults, spread over the packages
    python -m benchmarks.mutation run --only 17,40       some of them again
    python -m benchmarks.mutation run --survivors        those again that passed last time

A fault is one change of one expression or statement: a comparison turned, a number moved by one, a
branch always or never taken, a call left out, a result not returned. The tests that run the line
are run against a copy of the tree that has the fault, the quick ones first, in a process that has
the libraries loaded already; the first failure ends them. What passes is a survivor: either the
fault changes nothing that anybody can see, or a law is missing. `report` writes
``benchmarks/mutation.md``; the judgement beside each survivor is made by hand, in
``mutation_judged.json``. Needs the extra ``mutation`` (coverage by test).

The faults are those of ordinary mutation analysis (DeMillo, Lipton and Sayward, *Hints on test data
selection*, Computer 11:4, 1978). Docstrings, annotations, ``__all__`` and what only types read are
left alone.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
import traceback
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from pathlib import Path
from typing import Any, NoReturn

ROOT = Path(__file__).parents[1]
REPORT = Path(__file__).with_name("mutation.md")
SEED = 20261128
# A fault that turns an end of a loop off is noticed by the clock.
_SECONDS = 420
# What tests load that has no faults put into it: once for all faults.
_LIBRARIES = ("pytest", "hypothesis", "lxml.etree", "numpy", "pydantic", "typer", "music21",
              "jsonschema")  # fmt: skip
_COMPARISONS: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
    ast.In: "not in", ast.NotIn: "in", ast.Is: "is not", ast.IsNot: "is",
}  # fmt: skip
_ARITHMETIC: dict[type[ast.operator], str] = {
    ast.Add: "-", ast.Sub: "+", ast.Mult: "+", ast.FloorDiv: "*", ast.Div: "*", ast.Mod: "+",
    ast.BitOr: "&", ast.BitAnd: "|",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fault:
    """One change of the source text.

    Args:
        path: The module, from the root of the tree.
        line: Its first line, from 1.
        start: Where the changed text begins, in characters of the file.
        end: Where it ends.
        new: What stands there instead.
        kind: The kind of fault, in words.
        at_import: Whether it stands outside of functions: no test is seen to run it.
    """

    path: str
    line: int
    start: int
    end: int
    new: str
    kind: str
    at_import: bool

    @property
    def package(self) -> str:
        """Return the package that the fault is in; modules beside the packages are one."""
        parts = self.path.split("/")
        if parts[0] == "cli":
            return "cli"
        return parts[1] if len(parts) > 2 else "pipeline and others"


class _Finder(ast.NodeVisitor):
    """Finds the places of a module where a fault can be put."""

    def __init__(self, path: str, text: str) -> None:
        self.path = path
        self.text = text
        self.found: list[Fault] = []
        self.depth = 0
        lines = text.splitlines(keepends=True)
        self.starts = [0]
        for line in lines:
            self.starts.append(self.starts[-1] + len(line))
        self.lines = lines

    def _at(self, line: int, byte: int) -> int:
        return self.starts[line - 1] + len(self.lines[line - 1].encode()[:byte].decode())

    def _span(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        end_line, end_byte = node.end_lineno or node.lineno, node.end_col_offset or 0
        return self._at(node.lineno, node.col_offset), self._at(end_line, end_byte)

    def _put(self, node: ast.expr | ast.stmt, new: str, kind: str) -> None:
        start, end = self._span(node)
        self.found.append(Fault(self.path, node.lineno, start, end, new, kind, not self.depth))

    def _between(self, left: ast.expr, right: ast.expr, new: str, kind: str) -> None:
        start, end = self._span(left)[1], self._span(right)[0]
        # Brackets around the operands stay where they are.
        old = self.text[start:end]
        stripped = old.strip(") (\n")
        if stripped:
            at = start + old.index(stripped)
            line, stop = left.end_lineno or 0, at + len(stripped)
            self.found.append(Fault(self.path, line, at, stop, new, kind, not self.depth))

    def visit_Compare(self, node: ast.Compare) -> None:
        if len(node.ops) == 1 and type(node.ops[0]) in _COMPARISONS:
            new = _COMPARISONS[type(node.ops[0])]
            self._between(node.left, node.comparators[0], new, "comparison turned")
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        if type(node.op) in _ARITHMETIC and not isinstance(node.left, ast.Constant | ast.JoinedStr):
            new = _ARITHMETIC[type(node.op)]
            self._between(node.left, node.right, new, "other arithmetic")
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        new = "and" if isinstance(node.op, ast.Or) else "or"
        self._between(node.values[0], node.values[1], new, "and for or")
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.Not):
            self._put(node, f"bool({ast.unparse(node.operand)})", "not left out")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, bool):
            self._put(node, str(not node.value), "other truth")
        elif isinstance(node.value, int):
            self._put(node, str(node.value + 1), "number moved by one")

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self._put(node.test, "True", "branch always taken")
        self._put(node.test, "False", "branch never taken")
        self.generic_visit(node)

    def visit_If(self, node: ast.If) -> None:
        if not (isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"):
            self._put(node.test, "True", "branch always taken")
            self._put(node.test, "False", "branch never taken")
            self.generic_visit(node)

    def visit_Return(self, node: ast.Return) -> None:
        if node.value is not None and not isinstance(node.value, ast.Constant):
            self._put(node, "return None", "result not returned")
            self.generic_visit(node)

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Call | ast.Yield | ast.YieldFrom):
            self._put(node, "pass", "statement left out")
            self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        self._put(node, "pass", "statement left out")
        self.generic_visit(node)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        # Defaults and the body; decorators and annotations say nothing at run time.
        for default in (*node.args.defaults, *node.args.kw_defaults):
            if default is not None:
                self.visit(default)
        self.depth += 1
        for child in node.body:
            self.visit(child)
        self.depth -= 1

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for child in node.body:
            self.visit(child)


def faults_of(path: Path) -> list[Fault]:
    """Return every fault that can be put into a module, in the order of the text."""
    text = path.read_text(encoding="utf-8")
    finder = _Finder(path.relative_to(ROOT).as_posix(), text)
    finder.visit(ast.parse(text))
    return sorted(finder.found, key=lambda fault: (fault.start, fault.end, fault.new))


def chosen(count: int, *, seed: int = SEED, only: str = "") -> list[Fault]:
    """Return faults drawn by the seed: each package in turn, a module by its size.

    Args:
        count: How many.
        seed: Other seeds, other faults.
        only: A package that all of them are drawn from; empty for all packages.
    """
    packages: dict[str, list[Fault]] = defaultdict(list)
    for folder in ("variants", "cli"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            for fault in faults_of(path):
                packages[fault.package].append(fault)
    if only:
        packages = defaultdict(list, {only: packages[only]})
    draw = random.Random(seed)  # noqa: S311 - a seeded sample
    names = sorted(name for name, found in packages.items() if found)
    return [draw.choice(packages[names[n % len(names)]]) for n in range(count)]


def with_fault(fault: Fault, text: str) -> str:
    """Return the text of a module with the fault in it."""
    return text[: fault.start] + fault.new + text[fault.end :]


class Covered:
    """Which tests run a line, and how long they take, read from what `map` writes."""

    def __init__(self, folder: Path) -> None:
        self._open = [sqlite3.connect(path) for path in sorted(folder.glob("coverage-*"))]
        self._seconds: dict[str, float] = defaultdict(float)
        for path in sorted(folder.glob("map-*.txt")):
            for line in path.read_text(encoding="utf-8").splitlines():
                words = line.split(maxsplit=2)
                if len(words) == 3 and words[0].endswith("s") and words[1] in {"call", "setup"}:
                    self._seconds[words[2]] += float(words[0][:-1])

    def tests(self, fault: Fault, *, budget: float = 0.0) -> list[str]:
        """Return the tests that run the line, quick ones first; where none, those of the module.

        Args:
            fault: The fault.
            budget: Seconds that the tests may take together, by the map; 0 for all of them.
        """
        from coverage.numbits import numbits_to_nums

        rows = [
            row
            for one in self._open
            for row in one.execute(
                "select c.context, l.numbits from line_bits l join context c "
                "on c.id = l.context_id join file f on f.id = l.file_id where f.path like ?",
                (f"%/{fault.path}",),
            )
        ]
        of_module = {name.rpartition("|")[0] for name, _ in rows if name}
        of_line = {
            name.rpartition("|")[0]
            for name, bits in rows
            if name and fault.line in numbits_to_nums(bits)
        }
        found = of_module if fault.at_import else of_line or of_module
        quick = sorted(found, key=lambda name: (self._seconds.get(name, 1.0), name))
        # The quickest one is always tried.
        sums = accumulate((self._seconds.get(name, 1.0) for name in quick[:-1]), initial=0.0)
        return [
            name for name, so_far in zip(quick, sums, strict=True) if not budget or so_far < budget
        ]


def make_map(folder: Path, tests: Sequence[str]) -> None:
    """Run tests once, and note which test runs which line and how long it takes."""
    folder.mkdir(parents=True, exist_ok=True)
    name = "-".join(tests).replace("/", ".") or "all"
    subprocess.run(  # noqa: S603 - our own tests
        [sys.executable, "-m", "pytest", "-q", "-n", "2", "--cov=variants", "--cov=cli",
         "--cov-context=test", "--cov-report=", "-p", "no:cacheprovider", "--durations=0",
         "--durations-min=0", *tests],
        cwd=ROOT, check=False,
        env={**os.environ, "COVERAGE_FILE": str(folder / f"coverage-{name}")},
        stdout=(folder / f"map-{name}.txt").open("w", encoding="utf-8"),
    )  # fmt: skip


def tried(fault: Fault, tests: Sequence[str], tree: Path) -> tuple[bool, str]:
    """Run tests against a copy of the tree that has the fault.

    Returns:
        Whether a test noticed it, and the end of what pytest said.
    """
    target = tree / fault.path
    before = target.read_text(encoding="utf-8")
    target.write_text(with_fault(fault, before), encoding="utf-8")
    (tree / "tests-to-run.txt").write_text("\n".join(tests), encoding="utf-8")
    try:
        status = _in_child(tree)
    finally:
        target.write_text(before, encoding="utf-8")
    said = (tree / "said.txt").read_text(encoding="utf-8", errors="replace").splitlines()
    if status is None:
        return True, "ran into the time limit"
    if status == 4:  # pytest found no such test
        raise RuntimeError("\n".join(said[-4:]))
    return status not in {0, 5}, "\n".join(said[-4:])


def _in_child(tree: Path) -> int | None:
    """Run the listed tests in a fork of this process; return its status, none for too slow."""
    child = os.fork()
    if child == 0:
        os.setsid()
        _run_tests(tree)
    begun = time.monotonic()
    while time.monotonic() - begun < _SECONDS:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


def _run_tests(tree: Path) -> NoReturn:
    import pytest

    os.chdir(tree)
    os.environ |= {"PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    sys.path.insert(0, str(tree))
    sys.dont_write_bytecode = True
    out = os.open(tree / "said.txt", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    for number in (1, 2):
        os.dup2(out, number)
    code = 3
    try:
        code = int(
            pytest.main(
                ["-q", "-x", "-p", "no:cacheprovider", "--no-header",
                 "-W", "ignore::pytest.PytestAssertRewriteWarning", "@tests-to-run.txt"]
            )
        )  # fmt: skip
    except BaseException:  # noqa: BLE001 - a fork that goes on would try the next fault as well
        traceback.print_exc()
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)


def run(
    folder: Path,
    faults: list[Fault],
    numbers: Sequence[int],
    *,
    budget: float = 0.0,
    also: Sequence[str] = (),
) -> Iterator[dict[str, object]]:
    """Try faults one after the other; yield a row for each.

    Args:
        folder: Where the map is, and a copy of the tree is made.
        faults: What `chosen` gives.
        numbers: Which of them.
        budget: Seconds for the tests of one fault, by the map; 0 for all.
        also: Tests that are run as well: what is not in the map yet.
    """
    for name in _LIBRARIES:
        importlib.import_module(name)
    covered = Covered(folder)
    tree = folder / f"tree-{os.getpid()}"
    shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", ".venv", "out", ".*_cache"))
    (tree / "tests-to-run.txt").write_text("tests/unit/music", encoding="utf-8")
    if _in_child(tree) != 0:
        msg = f"tests fail without a fault: see {tree / 'said.txt'}"
        raise RuntimeError(msg)
    for number in numbers:
        fault, begun = faults[number], time.perf_counter()
        tests = [*covered.tests(fault, budget=budget), *also]
        caught, said = tried(fault, tests, tree) if tests else (False, "no test runs it")
        text = (tree / fault.path).read_text(encoding="utf-8")
        old = " ".join(text[fault.start : fault.end].split())
        yield {
            "number": number, "package": fault.package, "where": f"{fault.path}:{fault.line}",
            "kind": fault.kind, "old": old[:70], "new": fault.new[:40], "caught": caught,
            "tests": len(tests), "seconds": round(time.perf_counter() - begun, 1), "said": said,
        }  # fmt: skip
    shutil.rmtree(tree)


def report(rows: Sequence[dict[str, object]], judged: dict[str, str], note: str = "") -> str:
    """Return the table of a run as Markdown; survivors with what was thought of each.

    Args:
        rows: What `run` gave.
        judged: What was thought of survivors.
        note: Which tests were run, where not all of them were.
    """
    all_by, caught_by, same_by = Counter[str](), Counter[str](), Counter[str]()
    for row in rows:
        name = str(row["package"])
        all_by[name] += 1
        caught_by[name] += bool(row["caught"])
        same_by[name] += not row["caught"] and judged.get(_key(row), "").startswith("same")
    count, caught, same = len(rows), sum(caught_by.values()), sum(same_by.values())
    lines = [
        "# Small faults, and whether the tests notice",
        "",
        (
            f"`python -m benchmarks.mutation run`, seed {SEED}: {count} faults, one at a time; "
            f"{caught} noticed, {same} change nothing that can be seen, {count - caught - same} "
            f"pass: {caught / max(1, count - same):.0%} of those that change something are noticed."
        ),
        *([note] if note else []),
        "",
        "| package | faults | noticed | change nothing | share |",
        "|---|---:|---:|---:|---:|",
    ]
    for name in sorted(all_by):
        share = caught_by[name] / max(1, all_by[name] - same_by[name])
        lines.append(
            f"| {name} | {all_by[name]} | {caught_by[name]} | {same_by[name]} | {share:.0%} |"
        )
    lines += ["", "## Survivors", "", "| where | was | became | judgement |", "|---|---|---|---|"]
    for row in rows:
        if not row["caught"]:
            was, became = (str(row[key]).replace("|", "\\|") for key in ("old", "new"))
            thought = judged.get(_key(row), "not judged")
            lines.append(f"| {row['where']} | `{was}` | `{became}` | {thought} |")
    return "\n".join([*lines, ""])


def _key(row: dict[str, object]) -> str:
    """Return what a judgement is found by: it outlives a moved line."""
    return f"{str(row['where']).rsplit(':', 1)[0]} {row['old']} -> {row['new']}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Map, run or report, as the arguments say."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("what", choices=("map", "run", "report"))
    parser.add_argument("tests", nargs="*", help="with map: these tests only")
    parser.add_argument("--folder", type=Path, default=ROOT / "out" / "mutation")
    parser.add_argument("--faults", type=int, default=150)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--package", default="", help="draw from this package only")
    parser.add_argument("--only", default="", help="some faults, by their numbers: 3,17")
    parser.add_argument("--survivors", action="store_true", help="those that passed last time")
    parser.add_argument("--share", default="1/1", help="2/3: the second of three runs side by side")
    parser.add_argument("--note", default="", help="with report: which tests were run")
    parser.add_argument("--also", default="", help="tests that are run too: a.py,b.py")
    parser.add_argument("--budget", type=float, default=0.0, help="seconds of tests for a fault")
    options = parser.parse_args(arguments)
    if options.what == "map":
        make_map(options.folder, options.tests)
        return 0
    journal = options.folder / "rows.jsonl"
    if options.what == "run":
        faults = chosen(options.faults, seed=options.seed, only=options.package)
        numbers = list(range(len(faults)))
        if options.survivors:
            numbers = [row["number"] for row in _last(journal) if not row["caught"]]
        if options.only:
            numbers = [int(one) for one in options.only.split(",")]
        first, of = map(int, options.share.split("/"))
        with journal.open("a", encoding="utf-8") as out:
            chosen_now = numbers[first - 1 :: of]
            also = [one for one in options.also.split(",") if one]
            for row in run(options.folder, faults, chosen_now, budget=options.budget, also=also):
                print(row, flush=True)
                out.write(json.dumps(row) + "\n")
                out.flush()
        return 0
    judgements = Path(__file__).with_name("mutation_judged.json")
    judged = json.loads(judgements.read_text(encoding="utf-8")) if judgements.exists() else {}
    text = report(_last(journal), judged, options.note)
    print(text)
    REPORT.write_text(text, encoding="utf-8")
    return 0


def _last(journal: Path) -> list[dict[str, Any]]:
    """Return the last row of each fault."""
    rows = map(json.loads, journal.read_text(encoding="utf-8").splitlines())
    last = {row["number"]: row for row in rows}
    return [last[number] for number in sorted(last)]


if __name__ == "__main__":
    sys.exit(main())
