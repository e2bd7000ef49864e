"""Imports point one way: catalog <- fitouts <- quoting; pure packages know no web side; nothing imports a view."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = ("catalog", "fitouts", "quoting")
MAY_NOT_KNOW = {"catalog": {"fitouts", "quoting"}, "fitouts": {"quoting"}, "quoting": set()}

PURE = ("catalog.kinds", "catalog.quantities", "quoting.sizing", "quoting.drawings", "quoting.money")
BELOW = {"quoting.drawings": ("quoting.sizing", "quoting.money"), "quoting.sizing": ("quoting.money",)}
WEB_SIDE_THEY_MAY_KNOW = ("catalog.kinds", "catalog.quantities")
STANDARD = set(sys.stdlib_module_names)
THIRD_PARTY_OF_PURE = {"numpy", "scipy", "pvlib", "reportlab", "pydantic"}
IMPURE_STANDARD = {"socket", "subprocess", "sqlite3", "urllib", "http", "logging", "random", "secrets", "threading"}
CLOCK = {"time", "now", "utcnow", "today", "time_ns", "perf_counter", "monotonic"}


def modules(*packages: str) -> list[str]:
    """Dotted names of every module under the packages, without migrations."""
    found = []
    for package in packages:
        path = ROOT / package.replace(".", "/")
        files = [path.with_suffix(".py")] if path.with_suffix(".py").exists() else sorted(path.rglob("*.py"))
        for file in files:
            parts = file.relative_to(ROOT).with_suffix("").parts
            if "migrations" not in parts:
                found.append(".".join(part for part in parts if part != "__init__"))
    return found


def tree(module: str) -> ast.Module:
    path = ROOT / module.replace(".", "/")
    file = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    return ast.parse(file.read_text(encoding="utf-8"), filename=str(file))


def imported(module: str) -> Iterator[str]:
    """Dotted names a module imports anywhere in it; ``from a import b`` counts as ``a.b``."""
    for node in ast.walk(tree(module)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                package = module.split(".")
                is_package = (ROOT / module.replace(".", "/")).is_dir()
                package = package[: len(package) - node.level + is_package]
                base = ".".join([*package, base]).rstrip(".")
            yield from (f"{base}.{alias.name}" for alias in node.names)


def under(name: str, package: str) -> bool:
    return name == package or name.startswith(f"{package}.")


def test_there_is_something_to_look_at():
    assert set(APPS) <= {module.split(".")[0] for module in modules(*APPS)}
    assert len(modules(*PURE)) > 10
    assert "quoting.sizing.brief.Brief" in set(imported("quoting.sizing.needs")) | set(
        imported("quoting.sizing.circuits")
    )


@pytest.mark.parametrize("module", modules(*APPS))
def test_no_app_knows_one_above_it(module):
    above = MAY_NOT_KNOW[module.split(".")[0]]

    assert [name for name in imported(module) if name.split(".")[0] in above] == []


@pytest.mark.parametrize("module", modules(*PURE))
def test_pure_packages_know_no_web_side(module):
    def allowed(name: str) -> bool:
        top = name.split(".")[0]
        if top in APPS:
            own = next(pure for pure in PURE if under(module, pure))
            return any(under(name, package) for package in (own, *BELOW.get(own, ()), *WEB_SIDE_THEY_MAY_KNOW))
        return top in THIRD_PARTY_OF_PURE or (top in STANDARD and top not in IMPURE_STANDARD)

    assert [name for name in imported(module) if not allowed(name)] == []


@pytest.mark.parametrize("module", modules(*PURE))
def test_pure_packages_read_no_clock_and_no_file(module):
    calls = [
        ast.unparse(node.func)
        for node in ast.walk(tree(module))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute | ast.Name)
    ]

    assert [call for call in calls if call in {"open", "print", "input"} or _reads_clock(call)] == []


@pytest.mark.parametrize("module", modules(*APPS))
def test_nothing_imports_a_view_but_urls(module):
    if module.endswith(".urls") or ".views" in module:
        return
    views = [name for name in imported(module) if "views" in name.split(".")[1:] and name.split(".")[0] in APPS]

    assert views == []


@pytest.mark.parametrize("app", APPS)
def test_models_know_no_services_and_rules_no_forms(app):
    """``models, rules`` <- ``queries, services`` <- ``forms, views``."""
    layers = [{"models"}, {"services", "queries", "documents"}, {"forms", "views", "urls"}]
    wrong = []
    for module in modules(app):
        own = _layer(module, layers)
        for name in imported(module):
            theirs = _layer(name, layers) if name.split(".")[0] == app else None
            if own is not None and theirs is not None and theirs > own:
                wrong.append(f"{module} imports {name}")

    assert wrong == []


def _layer(name: str, layers: list[set[str]]) -> int | None:
    parts = name.split(".")[1:2]
    return next((index for index, layer in enumerate(layers) if layer & set(parts)), None)


def _reads_clock(call: str) -> bool:
    owner, _dot, method = call.rpartition(".")
    return method in CLOCK and owner.split(".")[-1] in {"time", "datetime", "date", "timezone"}
