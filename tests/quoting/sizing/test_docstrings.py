"""Docstrings of the sizing agree with the signatures, and say the unit of what has one."""

import inspect
import pkgutil
import re
from importlib import import_module

import pytest

from quoting import sizing

MODULES = [import_module(m.name) for m in pkgutil.walk_packages(sizing.__path__, "quoting.sizing.")]
UNIT_ENDINGS = re.compile(r"_(a|v|w|wh|ah|ohm|mm2|m|kg|c|k|h|s|deg|m_s|w_m2|per_k)$")


def _functions():
    for module in MODULES:
        for name, found in inspect.getmembers(module, inspect.isfunction):
            if found.__module__ == module.__name__ and "Parameters\n" in (found.__doc__ or ""):
                yield pytest.param(found, id=f"{module.__name__.rsplit('.', 1)[1]}.{name}")


def _listed(doc):
    """Names of the Parameters section, each with the text below it."""
    section = re.split(r"\n\s*-{3,}\n", doc.split("Parameters\n", 1)[1], maxsplit=1)
    lines = inspect.cleandoc("x\n" + section[0].split("-\n", 1)[-1]).split("\n")[1:]
    indent = min((len(x) - len(x.lstrip()) for x in lines if " : " in x), default=0)
    found, names = {}, []
    for line in lines:
        if not line.strip():
            break
        if len(line) - len(line.lstrip()) == indent and " : " in line:
            names = [n.strip(" *") for n in line.split(" : ")[0].split(",")]
            found.update(dict.fromkeys(names, ""))
        else:
            for n in names:
                found[n] += line.strip() + " "
    return found


@pytest.mark.parametrize("function", list(_functions()))
def test_documented_parameters_are_the_signatures(function):
    listed = _listed(function.__doc__)

    assert sorted(listed) == sorted(inspect.signature(function).parameters)
    for name, text in listed.items():
        if UNIT_ENDINGS.search(name):
            assert re.search(r"\[[^\]]+\]", text), f"{name} of {function.__name__} names no [unit]"


def test_many_functions_are_documented():
    assert len(list(_functions())) > 30
