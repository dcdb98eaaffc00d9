"""The one command: `python -m tests.check` runs every check, `python -m tests.check mypy tests` some of them.

Each check says how long it took; a failing one shows what it said; the exit status is 1 if any failed.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SOURCES = ("config", "jobs", "inspections", "shops", "manage.py")
SET_BY_THE_CONNECTION = ("require-lock-timeout", "require-statement-timeout")
"""config/database.py sets both for `migrate`."""
ON_EMPTY_TABLES = (
    "constraint-missing-not-valid",
    "adding-foreign-key-constraint",
    "adding-serial-primary-key-field",
    "adding-required-field",
    "require-concurrent-index-creation",
    "ban-drop-not-null",
    "ban-drop-constraint",  # the primary key that becomes composite
    "prefer-bigint-over-int",  # levels, positions and revisions are small
    "prefer-text-field",  # Django's slug
)
"""What does not matter while a table has no rows; migrations after the first release are asked all of it."""


def tool(name: str, *arguments: str) -> list[str]:
    return [str(Path(sys.executable).parent / name), *arguments]


def module(name: str, *arguments: str) -> list[str]:
    return [sys.executable, "-m", name, *arguments]


def run(*commands: list[str]) -> subprocess.CompletedProcess[str]:
    """Run until one fails; its output, or the last one's."""
    for command in commands:
        done = subprocess.run(
            command, check=False, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        if done.returncode:
            break
    return done


def migrations() -> subprocess.CompletedProcess[str]:
    """No model without its migration, and no migration that locks what it should not."""
    with tempfile.TemporaryDirectory() as folder:
        settled = (f"--exclude={rule}" for rule in SET_BY_THE_CONNECTION)
        squawk = tool("squawk", "--pg-version", "15", "--assume-in-transaction", *settled)
        done = run(
            [sys.executable, "manage.py", "makemigrations", "--check", "--dry-run"],
            module("tests.migration_sql", folder),
            [*squawk, *(f"--exclude={rule}" for rule in ON_EMPTY_TABLES), f"{folder}/first/*.sql"],
        )
        later = sorted(str(path) for path in Path(folder, "later").glob("*.sql"))
        return run([*squawk, *later]) if later and not done.returncode else done


def tests() -> subprocess.CompletedProcess[str]:
    """All tests, in an order drawn from the tree that is committed: the same tree is tested in the same order."""
    tree = run(["git", "rev-parse", "HEAD^{tree}"])
    seed = int(tree.stdout[:8], 16) if not tree.returncode else 0
    workers = os.environ.get("CHECK_WORKERS", "2")
    return run(module("pytest", "-n", workers, "--dist", "loadfile", "-q", f"--randomly-seed={seed}"))


CHECKS: dict[str, Callable[[], subprocess.CompletedProcess[str]]] = {
    "lint": lambda: run(tool("ruff", "check", "."), tool("ruff", "format", "--check", ".")),
    "types": lambda: run(module("mypy", *SOURCES)),
    "imports": lambda: run(tool("lint-imports")),
    "dependencies": lambda: run(tool("deptry", ".")),
    "spelling": lambda: run(tool("codespell")),
    "migrations": migrations,
    "tests": tests,
}


def main(names: list[str]) -> int:
    failed = []
    for name in names or CHECKS:
        start = time.monotonic()
        done = CHECKS[name]()
        print(f"{'ok    ' if done.returncode == 0 else 'FAILED'} {name} ({time.monotonic() - start:.0f} s)", flush=True)
        if done.returncode:
            failed.append(name)
            print(done.stdout, flush=True)
        elif name == "tests":
            print(done.stdout.rstrip().rpartition("\n")[2], flush=True)
    print(f"failed: {', '.join(failed)}" if failed else "all is well")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
