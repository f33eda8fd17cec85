"""Puts small faults into the library, one at a time, and looks whether the tests notice.

    python -m benchmarks.mutation map                 once: which test runs which line (slow)
    python -m benchmarks.mutation run --faults 150    seeded faults, spread over the packages
    python -m benchmarks.mutation run --only 17       one of them again, with what the tests said

A fault is one change of one expression or statement: a comparison turned, a number moved by one, a
branch always or never taken, a call left out, a result not returned. The tests that run the line
are run against a copy of the tree that has the fault; the first failure ends them. What passes is
a survivor: either the fault changes nothing that anybody can see, or a law is missing. `run`
writes ``benchmarks/mutation.md``; the judgement beside each survivor is made by hand, in
``mutation_judged.json``. Needs the extra ``mutation`` (coverage by test).

The faults are those of ordinary mutation analysis (DeMillo, Lipton and Sayward, *Hints on test data
selection*, Computer 11:4, 1978). Docstrings, annotations, ``__all__`` and what only types read are
left alone.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
REPORT = Path(__file__).with_name("mutation.md")
SEED = 20261128
# A fault in a line that hundreds of tests run is noticed by the quick ones or by none: after this
# many the rest are left out (a survivor is run again with all of them).
_MOST_TESTS = 250
_SECONDS = 420
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
    """

    path: str
    line: int
    start: int
    end: int
    new: str
    kind: str

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
        self.found.append(Fault(self.path, node.lineno, start, end, new, kind))

    def _between(self, left: ast.expr, right: ast.expr, new: str, kind: str) -> None:
        start, end = self._span(left)[1], self._span(right)[0]
        # Brackets around the operands stay where they are.
        old = self.text[start:end]
        stripped = old.strip(") (\n")
        if stripped:
            at = start + old.index(stripped)
            self.found.append(
                Fault(self.path, left.end_lineno or 0, at, at + len(stripped), new, kind)
            )

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
        for child in node.body:
            self.visit(child)

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
    """Which tests run a line, read from the file that `map` writes."""

    def __init__(self, database: Path, seconds: dict[str, float]) -> None:
        self._open = sqlite3.connect(database)
        self._seconds = seconds

    def tests(self, fault: Fault) -> list[str]:
        """Return the tests that run the line, quick ones first; where none, those of the module."""
        from coverage.numbits import numbits_to_nums

        rows = self._open.execute(
            "select c.context, l.numbits from line_bits l join context c on c.id = l.context_id "
            "join file f on f.id = l.file_id where f.path like ?",
            (f"%/{fault.path}",),
        ).fetchall()
        of_module = {name.split("|")[0] for name, _ in rows if name}
        of_line = {
            name.split("|")[0]
            for name, bits in rows
            if name and fault.line in numbits_to_nums(bits)
        }
        return sorted(of_line or of_module, key=lambda name: (self._seconds.get(name, 1.0), name))


def make_map(folder: Path) -> None:
    """Run the whole suite once, and note which test runs which line and how long it takes."""
    folder.mkdir(parents=True, exist_ok=True)
    subprocess.run(  # noqa: S603 - our own tests
        [sys.executable, "-m", "pytest", "-q", "-n", "2", "--cov=variants", "--cov=cli",
         "--cov-context=test", "--cov-report=", f"--junit-xml={folder / 'seconds.xml'}", "-p",
         "no:cacheprovider", "--durations=0", "--durations-min=0"],
        cwd=ROOT, check=False, env={**os.environ, "COVERAGE_FILE": str(folder / "coverage")},
        stdout=(folder / "map.txt").open("w", encoding="utf-8"),
    )  # fmt: skip
    seconds: dict[str, float] = defaultdict(float)
    for line in (folder / "map.txt").read_text(encoding="utf-8").splitlines():
        words = line.split(maxsplit=2)
        if len(words) == 3 and words[0].endswith("s") and words[1] in {"call", "setup"}:
            seconds[words[2]] += float(words[0][:-1])
    (folder / "seconds.json").write_text(json.dumps(seconds), encoding="utf-8")


def tried(fault: Fault, tests: Sequence[str], tree: Path) -> tuple[bool, str]:
    """Run tests against a copy of the tree that has the fault.

    Returns:
        Whether a test noticed it, and the end of what pytest said.
    """
    target = tree / fault.path
    before = target.read_text(encoding="utf-8")
    target.write_text(with_fault(fault, before), encoding="utf-8")
    listed = tree / "tests-to-run.txt"
    listed.write_text("\n".join(tests), encoding="utf-8")
    try:
        done = subprocess.run(  # noqa: S603 - our own tests
            [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "--no-header",
             "-p", "no:randomly", f"@{listed}"],
            cwd=tree, capture_output=True, text=True, check=False, timeout=_SECONDS,
            env={**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"},
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return True, "ran into the time limit"
    finally:
        target.write_text(before, encoding="utf-8")
    return done.returncode not in {0, 5}, "\n".join(done.stdout.splitlines()[-4:])


def run(
    folder: Path, faults: list[Fault], *, start: int = 0, step: int = 1
) -> Iterator[dict[str, object]]:
    """Try faults one after the other; yield a row for each."""
    seconds = json.loads((folder / "seconds.json").read_text(encoding="utf-8"))
    covered = Covered(folder / "coverage", seconds)
    tree = folder / f"tree-{start}"
    shutil.rmtree(tree, ignore_errors=True)
    shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", ".venv", "out", ".*_cache"))
    for number in range(start, len(faults), step):
        fault, begun = faults[number], time.perf_counter()
        tests = covered.tests(fault)
        caught, said = (
            tried(fault, tests[:_MOST_TESTS], tree) if tests else (False, "no test runs it")
        )
        if not caught and len(tests) > _MOST_TESTS:
            caught, said = tried(fault, tests[_MOST_TESTS:], tree)
        text = (ROOT / fault.path).read_text(encoding="utf-8")
        old = " ".join(text[fault.start : fault.end].split())
        yield {
            "number": number, "package": fault.package, "where": f"{fault.path}:{fault.line}",
            "kind": fault.kind, "old": old[:70], "new": fault.new[:40], "caught": caught,
            "tests": len(tests), "seconds": round(time.perf_counter() - begun, 1), "said": said,
        }  # fmt: skip


def report(rows: Sequence[dict[str, object]], judged: dict[str, str]) -> str:
    """Return the table of a run as Markdown; survivors with what was thought of each."""
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
    parser.add_argument("--folder", type=Path, default=ROOT / "out" / "mutation")
    parser.add_argument("--faults", type=int, default=150)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--package", default="", help="draw from this package only")
    parser.add_argument("--only", type=int, default=None, help="one fault, by its number")
    parser.add_argument("--start", type=int, default=0, help="with --step: a share of the faults")
    parser.add_argument("--step", type=int, default=1)
    options = parser.parse_args(arguments)
    if options.what == "map":
        make_map(options.folder)
        return 0
    journal = options.folder / "rows.jsonl"
    if options.what == "run":
        faults = chosen(options.faults, seed=options.seed, only=options.package)
        start, step = options.start, options.step
        if options.only is not None:
            faults, start, step = faults[: options.only + 1], options.only, len(faults)
        with journal.open("a", encoding="utf-8") as out:
            for row in run(options.folder, faults, start=start, step=step):
                print(row, flush=True)
                out.write(json.dumps(row) + "\n")
                out.flush()
        if options.only is not None or step > 1:
            return 0
    lines = journal.read_text(encoding="utf-8").splitlines()
    last = {row["number"]: row for row in map(json.loads, lines)}
    judgements = Path(__file__).with_name("mutation_judged.json")
    judged = json.loads(judgements.read_text(encoding="utf-8")) if judgements.exists() else {}
    text = report([last[number] for number in sorted(last)], judged)
    print(text)
    REPORT.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
