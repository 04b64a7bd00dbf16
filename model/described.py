"""What the source of a class says of its fields: the words below each. Read only where somebody asks."""

from __future__ import annotations

import ast
import inspect
import textwrap
from collections.abc import Iterator
from functools import cache
from typing import cast


@cache
def field_words(cls: type) -> dict[str, str]:
    """Return the words below each field of a class and of what it inherits from; "" where there are none."""
    words: dict[str, str] = {}
    for base in reversed(cls.__mro__):
        if base.__module__.startswith("barnloom."):
            words |= {cast(ast.Name, field.target).id: said for field, said in fields_in(source_of(base))}
    return words


def source_of(cls: type) -> str:
    """Return the source of a class."""
    return textwrap.dedent(inspect.getsource(cls))


def fields_in(source: str) -> Iterator[tuple[ast.AnnAssign, str]]:
    """Yield the fields of a class as they stand in its source, with the words below, on one line."""
    (cls,) = ast.parse(source).body
    body = cast(ast.ClassDef, cls).body
    for node, after in zip(body, [*body[1:], None], strict=True):
        if isinstance(node, ast.AnnAssign):
            below = after.value.value if isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant) else ""
            yield node, " ".join(str(below).split())
