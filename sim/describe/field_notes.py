"""What the comments beside a description's fields say, for schemas and for files of one's own.

The meaning of a key is written once, in the comment beside it in the source.
"""

from __future__ import annotations

import ast
import functools
import inspect
import io
import re
import tokenize

from pydantic import BaseModel


@functools.cache
def notes(model: type[BaseModel]) -> dict[str, str]:
    """The comment of each field that has one: behind it, or on the lines right above it.

    Without SI units in brackets, which are the program's own.
    """
    source = inspect.cleandoc("\n" + inspect.getsource(model))
    comments = {
        token.start[0]: (token.string.lstrip("# ").strip(), token.line.strip().startswith("#"))
        for token in tokenize.generate_tokens(io.StringIO(source).readline)
        if token.type == tokenize.COMMENT
    }
    found = {}
    for base in reversed(model.__mro__):
        if base is not model and base is not BaseModel and issubclass(base, BaseModel):
            found |= notes(base)
    for field in ast.parse(source).body[0].body:
        if isinstance(field, ast.AnnAssign):
            text = re.sub(r" *\[[^\]]*\]", "", _beside(comments, field))
            if text:
                found[field.target.id] = text
    return found


def _beside(comments: dict[int, tuple[str, bool]], field: ast.AnnAssign) -> str:
    for line in range(field.lineno, (field.end_lineno or field.lineno) + 1):
        if line in comments and not comments[line][1]:
            return comments[line][0].removeprefix("fmt: skip").strip()
    above, line = [], field.lineno - 1
    while line in comments and comments[line][1]:
        above.insert(0, comments[line][0])
        line -= 1
    return " ".join(above)
