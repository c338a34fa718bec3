"""The house rules that a machine can keep: arrows one way, no circles, sizes."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("ledger", "goldroom")
STDLIB = frozenset(__import__("sys").stdlib_module_names)

# What each part may import beside the standard library and itself. The longest
# matching name decides.
ARROWS: dict[str, set[str]] = {
    "ledger.core": {"cryptography"},
    "ledger": {"ledger.core", "django", "cryptography"},
    "ledger.management": {"ledger", "ledger.core", "django", "tqdm"},
    "goldroom.errors": set(),
    "goldroom.settings": {"django"},
    "goldroom.apps": {"django"},
    "goldroom.metal": {"numpy", "goldroom.errors"},
    "goldroom.custody": {"goldroom.metal", "goldroom.errors"},
    "goldroom.statements": {
        "goldroom.custody",
        "goldroom.metal",
        "goldroom.errors",
        "goldroom.guess",
    },
    "goldroom.reconcile": {
        "goldroom.metal",
        "goldroom.custody",
        "goldroom.statements",
        "goldroom.errors",
        "numpy",
        "scipy",
    },
    "goldroom.findings": {
        "goldroom.custody",
        "goldroom.reconcile",
        "goldroom.metal",
        "goldroom.errors",
    },
    "goldroom.models": {"django"},
    "goldroom.migrations": {"django"},
    "goldroom.roles": {"goldroom.statements", "goldroom.errors"},
    "goldroom.tables": {
        "goldroom.models",
        "goldroom.custody",
        "goldroom.statements",
        "goldroom.errors",
        "django",
    },
    "goldroom.projection": {
        "goldroom.tables",
        "goldroom.custody",
        "goldroom.statements",
        "goldroom.errors",
        "ledger",
        "ledger.core",
        "django",
    },
    "goldroom.guess": set(),
    "goldroom.sayings": {"goldroom.errors", "goldroom.guess"},
    "goldroom.keys": {"goldroom.errors", "ledger", "ledger.core"},
    "goldroom.writing": {
        "goldroom.roles",
        "goldroom.keys",
        "goldroom.sayings",
        "goldroom.statements",
        "goldroom.errors",
        "ledger",
        "ledger.core",
    },
    "goldroom.rehearsal": {
        "goldroom.writing",
        "goldroom.keys",
        "goldroom.sayings",
        "goldroom.tables",
        "goldroom.projection",
        "goldroom.statements",
        "goldroom.custody",
        "goldroom.errors",
        "ledger",
        "ledger.core",
    },
    "goldroom.commands": {
        "goldroom.rehearsal",
        "goldroom.writing",
        "goldroom.keys",
        "goldroom.sayings",
        "goldroom.projection",
        "goldroom.roles",
        "goldroom.statements",
        "goldroom.custody",
        "goldroom.errors",
        "ledger",
        "ledger.core",
        "django.db",
    },
    "goldroom.reports": {
        "goldroom.models",
        "goldroom.roles",
        "goldroom.custody",
        "goldroom.reconcile",
        "goldroom.findings",
        "goldroom.metal",
        "goldroom.statements",
        "goldroom.errors",
        "ledger.read",
        "ledger.core",
        "django.db",
    },
    "goldroom.demo": {
        "goldroom.commands",
        "goldroom.sayings",
        "goldroom.keys",
        "goldroom.reports",
        "goldroom.metal",
        "goldroom.errors",
        "ledger.sealed_keys",
        "ledger.core",
    },
    "goldroom.management": {
        "goldroom.faces",
        "goldroom.commands",
        "goldroom.sayings",
        "goldroom.keys",
        "goldroom.reports",
        "goldroom.demo",
        "goldroom.projection",
        "goldroom.roles",
        "goldroom.errors",
        "goldroom.plant",
        "ledger",
        "ledger.core",
        "ledger.management",
        "django",
        "tqdm",
    },
    "goldroom.plant": {
        "goldroom.commands",
        "goldroom.sayings",
        "goldroom.keys",
        "goldroom.reports",
        "goldroom.statements",
        "goldroom.metal",
        "goldroom.errors",
    },
    "goldroom.plots": {
        "goldroom.reports",
        "goldroom.reconcile",
        "goldroom.custody",
        "goldroom.metal",
        "goldroom.errors",
        "reportlab",
    },
    "goldroom.papers": {
        "goldroom.reports",
        "goldroom.plots",
        "goldroom.reconcile",
        "goldroom.custody",
        "goldroom.statements",
        "goldroom.metal",
        "goldroom.errors",
        "reportlab",
        "xlsxwriter",
    },
    "goldroom.faces": {
        "goldroom.commands",
        "goldroom.sayings",
        "goldroom.keys",
        "goldroom.reports",
        "goldroom.roles",
        "goldroom.statements",
        "goldroom.errors",
        "goldroom.guess",
        "ledger",
        "ledger.core",
        "django",
        "axes",
    },
    "goldroom.web": {
        "goldroom.faces",
        "goldroom.commands",
        "goldroom.sayings",
        "goldroom.reports",
        "goldroom.papers",
        "goldroom.plots",
        "goldroom.roles",
        "goldroom.statements",
        "goldroom.errors",
        "django",
        "ledger.errors",
        "ledger.core.errors",
        "ledger.proposal",
        "goldroom.reconcile",
    },
    "goldroom.api": {
        "goldroom.faces",
        "goldroom.commands",
        "goldroom.sayings",
        "goldroom.reports",
        "goldroom.papers",
        "goldroom.plots",
        "goldroom.roles",
        "goldroom.statements",
        "goldroom.errors",
        "django",
        "rest_framework",
        "ledger.errors",
        "ledger.core.errors",
        "goldroom.reconcile",
    },
    "goldroom.urls": {"goldroom.web", "goldroom.api", "goldroom.faces", "django"},
    "goldroom.wsgi": {"django"},
}


def modules() -> dict[str, Path]:
    """Return every module of the two packages by its dotted name."""
    found = {}
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
            found[name] = path
    return found


MODULES = modules()


def imported(name: str) -> Iterator[str]:
    """Yield the dotted names that a module imports, wherever in it they stand."""
    tree = ast.parse(MODULES[name].read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name}: relative import"
            assert node.module is not None
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if inner in MODULES else node.module


def longest_match(name: str, among: set[str] | dict[str, set[str]]) -> str | None:
    """Return the longest dotted prefix of `name` that is in `among`."""
    parts = name.split(".")
    for length in range(len(parts), 0, -1):
        prefix = ".".join(parts[:length])
        if prefix in among:
            return prefix
    return None


@pytest.mark.parametrize("name", sorted(MODULES))
def test_module_imports_only_along_the_arrows(name):
    if name == "goldroom":
        return
    part = longest_match(name, ARROWS)
    assert part is not None, f"{name} stands in no part of the house: add it to ARROWS"
    for target in imported(name):
        top = target.split(".")[0]
        if top in STDLIB or target == part or target.startswith(f"{part}."):
            continue
        if top not in PACKAGES:
            assert longest_match(target, ARROWS[part]), f"{name} imports {target}"
            continue
        home = longest_match(target, ARROWS)
        allowed = home in ARROWS[part] or target in ARROWS[part]
        assert allowed, f"{name} ({part}) may not import {target}"


@pytest.mark.parametrize("name", sorted(MODULES))
def test_package_init_imports_nothing(name):
    if MODULES[name].name == "__init__.py":
        assert list(imported(name)) == []


def test_no_circle_among_modules():
    edges = {
        name: {target for target in imported(name) if target in MODULES}
        for name in MODULES
    }
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join([*trail[trail.index(name) :], name])
        if name not in done:
            for target in sorted(edges[name]):
                visit(target, (*trail, name))
            done.add(name)

    for name in edges:
        visit(name, ())


@pytest.mark.parametrize("name", sorted(MODULES))
def test_module_stays_within_its_ceilings(name):
    text = MODULES[name].read_text(encoding="utf-8")
    lines = text.splitlines()
    assert len(lines) <= 400 or name in WIDE_TABLES, f"{name}: {len(lines)} lines"
    assert max((len(line) for line in lines), default=0) <= 88
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            length = (node.end_lineno or 0) - node.lineno + 1
            assert length <= 60, f"{name}.{node.name}: {length} lines"
            if not is_django_hook(node):
                check_arguments(name, node)


WIDE_TABLES = {
    "goldroom.custody.records",
    "goldroom.errors",
    "goldroom.statements.fields",
}
"""Modules that list many small nouns of one sort; each is a few lines."""


def is_django_hook(node: ast.FunctionDef) -> bool:
    """Tell whether a function's arguments are fixed by the framework."""
    return node.name in {"handle", "add_arguments"}


def check_arguments(name: str, node: ast.FunctionDef) -> None:
    """Hold a function to six arguments beside the fold's own `state` and `act`."""
    positional = [
        arg.arg
        for arg in node.args.args
        if arg.arg not in ("self", "cls", "state", "act")
    ]
    total = len(positional) + len(node.args.kwonlyargs)
    assert total <= 6, f"{name}.{node.name} takes {total} arguments"


def test_only_commands_read_a_clock():
    allowed = {
        "goldroom.commands",
        "goldroom.rehearsal",
        "goldroom.demo",
        "goldroom.faces.clock",
    }
    for name, path in MODULES.items():
        if longest_match(name, set(allowed)) or ".management." in name:
            continue
        found = re.findall(
            r"datetime\.(?:now|utcnow|today)\(|time\.time\(|timezone\.now\(",
            path.read_text(encoding="utf-8"),
        )
        assert not found, f"{name} reads a clock"


def test_top_level_holds_only_what_belongs_there():
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "manage.py",
        "pyproject.toml",
        "goldroom",
        "ledger",
        "tests",
        "fixtures",
        "LICENSE",
        "CHANGELOG.md",
    }
    ignored = {"var", "build"}
    for path in ROOT.iterdir():
        name = path.name
        if name.startswith(".") or name in ignored or name.endswith(".egg-info"):
            continue
        assert name in allowed, name
