"""Which tests reach a line: each file of tests is run once as it is, under coverage."""

from __future__ import annotations

import ast
import hashlib
import json
import os
import sys
from collections import defaultdict
from pathlib import Path

from trial import run_tests

MOST = 6.0  # seconds of one test that is let run; what takes longer is not used
MOST_OF_FILE = 20.0


def map_file(copy: Path, tests: str, kept: Path, *, interpreted: str) -> dict:
    """Tests of a file that pass, with their seconds, and the lines that each reaches. Kept for as
    long as the file stays as it is."""
    seal = hashlib.sha256((copy / tests).read_bytes()).hexdigest()[:16]
    if kept.exists() and (found := json.loads(kept.read_text()))["seal"] == seal:
        return found
    told, lines = copy / "mapped.jsonl", copy / "lines.json"
    for path in (told, lines):
        path.unlink(missing_ok=True)
    child = os.fork()
    if child == 0:
        _run_under_coverage(copy, tests, told, lines, interpreted=interpreted)
    os.waitpid(child, 0)
    rows = [json.loads(row) for row in told.read_text().splitlines()] if told.exists() else []
    found = {
        "seal": seal,
        "seconds": {name: took for name, said, took in rows if said == "passed"},
        "lines": json.loads(lines.read_text()) if lines.exists() else {},
    }
    kept.parent.mkdir(parents=True, exist_ok=True)
    kept.write_text(json.dumps(found), encoding="utf-8")
    return found


def _run_under_coverage(
    copy: Path, tests: str, told: Path, lines: Path, *, interpreted: str
) -> None:
    from coverage import Coverage

    cover = Coverage(source=[str(copy / "hydroloop")], data_file=None, config_file=False)
    os.environ |= {"MUTANTS_MOST": str(MOST), "MUTANTS_MOST_OF_FILE": str(MOST_OF_FILE)}
    leave = os._exit

    def keep(status: int) -> None:
        cover.stop()
        data, shared = cover.get_data(), sys.modules["observed"].SHARED
        reached = {
            str(Path(path).relative_to(copy)): {
                line: sorted(names)
                for line, every in data.contexts_by_lineno(path).items()
                if (names := set().union(*(shared.get(one, {one}) for one in every)) - {""})
            }
            for path in data.measured_files()
        }
        lines.write_text(json.dumps({path: by for path, by in reached.items() if by}))
        leave(status)

    os._exit = keep
    cover.start()
    run_tests(copy, [["--maxfail=1000000", tests]], told, interpreted=interpreted)


class Reach:
    """Lines of the package, and the tests that reach them."""

    def __init__(self, copy: Path, maps: list[dict]) -> None:
        self.copy = copy
        self.seconds: dict[str, float] = {}
        self.lines: dict[str, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
        for one in maps:
            self.seconds |= one["seconds"]
            for module, reached in one["lines"].items():
                for line, names in reached.items():
                    self.lines[module][int(line)].update(names)

    def tests_of(self, module: str, line: int, most: float) -> list[str]:
        """Tests that reach a line, quickest first, of so many seconds in sum; of one that runs when
        its module is loaded also the others, which may read what it makes."""
        names = self._of_line(module, line) & self.seconds.keys()
        order = sorted(names, key=self.seconds.__getitem__)
        if not _around(_parsed(self.copy / module), line)[3]:
            order += sorted(self.seconds.keys() - names, key=self.seconds.__getitem__)
        taken, spent = [], 0.0
        for name in order:
            spent += self.seconds[name]
            if taken and spent > most:
                break
            taken.append(name)
        return taken

    def _of_line(self, module: str, line: int, deep: int = 3) -> set[str]:
        top, first, last, in_body = _around(_parsed(self.copy / module), line)
        names = self._of_lines(module, range(first, last + 1))
        if names or in_body or not deep:
            return names
        if isinstance(top, ast.FunctionDef):
            return self._of_lines(module, range(top.lineno, top.end_lineno + 1))
        for of, at in self._uses_of(_bound_by(top)):
            if (of, at) != (module, line):
                names = names | self._of_line(of, at, deep - 1)
        return names or self._of_lines(module, list(self.lines.get(module, {})))

    def _of_lines(self, module: str, lines: range | list[int]) -> set[str]:
        reached = self.lines.get(module, {})
        return {name for line in lines for name in reached.get(line, ())}

    def _uses_of(self, names: set[str]) -> list[tuple[str, int]]:
        """Module and line wherever some names are read."""
        return [
            (str(path.relative_to(self.copy)), at)
            for path in self.copy.glob("hydroloop/**/*.py")
            for name in names
            for at in _uses(path).get(name, ())
        ]


def _around(tree: ast.Module, line: int) -> tuple[ast.stmt | None, int, int, bool]:
    """The statement of the module that a line stands in, the lines of the innermost one, and
    whether that runs only when a function is called."""
    top, first, last, in_body = None, line, line, False
    for node in ast.walk(tree):  # from the outside to the inside
        if not isinstance(node, ast.stmt) or not node.lineno <= line <= node.end_lineno:
            continue
        top = top or node
        body = getattr(node, "body", None)
        first, last = node.lineno, body[0].lineno - 1 if body else node.end_lineno
        if isinstance(node, ast.FunctionDef) and line > last:
            in_body = True
        if body and line > last:
            first = last = line
    return top, first, max(first, last), in_body


_PARSED: dict[Path, ast.Module] = {}


def _parsed(path: Path) -> ast.Module:
    if path not in _PARSED:
        _PARSED[path] = ast.parse(path.read_text(encoding="utf-8"))
    return _PARSED[path]


def _bound_by(statement: ast.stmt | None) -> set[str]:
    if isinstance(statement, ast.ClassDef):
        return {statement.name}
    if isinstance(statement, ast.Assign):
        return {
            one.id
            for target in statement.targets
            for one in ast.walk(target)
            if isinstance(one, ast.Name)
        }
    if isinstance(statement, ast.AnnAssign) and isinstance(statement.target, ast.Name):
        return {statement.target.id}
    return set()


_USED: dict[Path, dict[str, list[int]]] = {}


def _uses(path: Path) -> dict[str, list[int]]:
    """Lines of a module that read a name."""
    if path not in _USED:
        _USED[path] = found = {}
        for node in ast.walk(_parsed(path)):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                found.setdefault(node.id, []).append(node.lineno)
            elif isinstance(node, ast.Attribute):
                found.setdefault(node.attr, []).append(node.lineno)
    return _USED[path]
