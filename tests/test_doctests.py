"""Every example in a docstring does what it says."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import barnloom.model
import barnloom.routing
import barnloom.viewer

PACKAGES = (barnloom.model, barnloom.routing, barnloom.viewer)
MODULES = [package.__name__ for package in PACKAGES] + [
    found.name for package in PACKAGES for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}.")
]


@pytest.mark.parametrize("name", MODULES)
def test_examples_hold(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_examples_are_found() -> None:
    found = [doctest.DocTestFinder().find(importlib.import_module(name)) for name in MODULES]
    assert sum(bool(test.examples) for tests in found for test in tests) > 10
