"""The reference tables of DEVELOPERS.md, drawn from the code itself.

    python -m tests.reference        write them into DEVELOPERS.md

`tests/test_docs.py` checks that what stands there is what the code says.
"""

import ast
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path

DEVELOPERS = Path(__file__).resolve().parent.parent / "DEVELOPERS.md"
BEGIN = "<!-- reference: written by python -m tests.reference -->"
END = "<!-- end of reference -->"


def first_line(thing: object) -> str:
    """Return the first line of a docstring."""
    return (inspect.getdoc(thing) or "").splitlines()[0]


def modules_of(package: str) -> Iterator[str]:
    """Yield the dotted names of a package's modules."""
    found = importlib.import_module(package)
    yield package
    for each in pkgutil.walk_packages(found.__path__, f"{package}."):
        if ".migrations" not in each.name and ".management" not in each.name:
            yield each.name


def refusals() -> dict[str, tuple[str, str]]:
    """Return every refusal's code with its package and first docstring line."""
    from goldroom.errors import Refusal
    from ledger.core.errors import LedgerRefusal

    found: dict[str, tuple[str, str]] = {}
    for package in ("ledger", "goldroom"):
        for name in modules_of(package):
            for cls in vars(importlib.import_module(name)).values():
                if (
                    inspect.isclass(cls)
                    and issubclass(cls, Refusal | LedgerRefusal)
                    and cls.__module__ == name
                    and "code" in vars(cls)
                ):
                    found[cls.code] = (package, first_line(cls))
    return found


CODE = re.compile(r"[a-z0-9]+(_[a-z0-9]+)+")
NAMERS = re.compile(r"problem|finding|found\b|notice", re.IGNORECASE)


def finer_codes() -> dict[str, tuple[str, str]]:
    """Return the codes that are given where they are used, with their words.

    These are finer codes of refusals and the codes of findings: the argument `code`
    of any call, or the first code-like text given to what names a problem or finding.
    """
    found: dict[str, tuple[str, str]] = {}
    for package in ("ledger", "goldroom"):
        for path in sorted((DEVELOPERS.parent / package).rglob("*.py")):
            module = ".".join(path.relative_to(DEVELOPERS.parent).with_suffix("").parts)
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call):
                    code = _code_of(node)
                    if code:
                        found.setdefault(code, (module, _words_of(node)))
    return found


def _code_of(call: ast.Call) -> str:
    for keyword in call.keywords:
        if keyword.arg == "code" and isinstance(keyword.value, ast.Constant):
            return str(keyword.value.value)
    if NAMERS.search(ast.unparse(call.func)):
        for argument in call.args:
            text = _text_of(argument)
            if CODE.fullmatch(text):
                return text
    return ""


def _words_of(call: ast.Call) -> str:
    given = [*call.args, *(keyword.value for keyword in call.keywords)]
    texts = [text for text in map(_text_of, given) if " " in text]
    return texts[0] if texts else ""


def _text_of(node: ast.expr) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(_text_of(part) or "..." for part in node.values)
    return ""


def commands() -> dict[str, str]:
    """Return every management command with its help."""
    found = {}
    for package in ("ledger", "goldroom"):
        folder = importlib.import_module(f"{package}.management.commands")
        for each in pkgutil.iter_modules(folder.__path__):
            module = importlib.import_module(f"{folder.__name__}.{each.name}")
            found[each.name] = str(module.Command.help)
    return found


def render() -> str:
    """Return the reference tables as Markdown."""
    from goldroom.custody.notices import NOTICES
    from goldroom.statements.limits import LIMITS
    from goldroom.statements.registry import kinds

    lines = ["", "### Kinds", "", "| kind | group | class | what it says |"]
    lines.append("|---|---|---|---|")
    lines += [
        f"| `{name}` | {each.group} | {each.klass} | {first_line(each)} |"
        for name, each in sorted(kinds().items())
    ]
    lines += ["", "### Commands", "", "| command | what it does |", "|---|---|"]
    lines += [f"| `{name}` | {text} |" for name, text in sorted(commands().items())]
    lines += ["", "### Refusals", "", "| code | package | meaning |", "|---|---|---|"]
    lines += [
        f"| `{code}` | {package} | {text} |"
        for code, (package, text) in sorted(refusals().items())
    ]
    known = {*refusals(), *NOTICES}
    lines += ["", "### Finer codes of refusals, and codes of findings", ""]
    lines += ["| code | said in | words |", "|---|---|---|"]
    lines += [
        f"| `{code}` | {module} | {words.replace('|', '/')} |"
        for code, (module, words) in sorted(finer_codes().items())
        if code not in known
    ]
    lines += ["", "### What the fold notices", "", "| code | level |", "|---|---|"]
    lines += [f"| `{code}` | {level} |" for code, level in sorted(NOTICES.items())]
    lines += ["", "### Limits", "", "| limit | unit | default | meaning |"]
    lines.append("|---|---|---|---|")
    lines += [
        f"| `{name}` | {each.unit} | {each.default} | {each.meaning} |"
        for name, each in sorted(LIMITS.items())
    ]
    return "\n".join([*lines, ""])


def replaced(text: str) -> str:
    """Return DEVELOPERS.md's text with the reference drawn anew."""
    head, rest = text.split(BEGIN)
    tail = rest.split(END)[1]
    return f"{head}{BEGIN}\n{render()}\n{END}{tail}"


def main() -> None:
    """Write the reference into DEVELOPERS.md."""
    import os

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "goldroom.settings")
    import django

    django.setup()
    text = DEVELOPERS.read_text(encoding="utf-8")
    DEVELOPERS.write_text(replaced(text), encoding="utf-8")


if __name__ == "__main__":
    main()
