"""The line of every key in a TOML text that is known to be well formed."""

from __future__ import annotations

import re

from firstthrow.sim.describe.problems import KeyPath

_TOKEN = re.compile(
    r"""(?P<skip>[ \t]+|\#[^\n]*)
    |(?P<newline>\r?\n)
    |(?P<string>\"{3}(?:\\.|[^\\])*?\"{3,5}|'{3}.*?'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*')
    |(?P<mark>[\[\]{},=.])
    |(?P<word>[^\s\[\]{},=."'\#]+)""",
    re.VERBOSE | re.DOTALL,
)
_END = ("end", "", 0)


def key_lines(text: str) -> dict[KeyPath, int]:
    """Line (from 1) of each table, key and list entry, by its path: ("sheets", "wing") -> 7."""
    return _Scan(text).lines


class _Scan:
    def __init__(self, text: str) -> None:
        self.tokens = _tokens(text)
        self.next = 0
        self.lines: dict[KeyPath, int] = {}
        self.counts: dict[KeyPath, int] = {}
        self._document()

    def _peek(self) -> tuple[str, str, int]:
        return self.tokens[self.next] if self.next < len(self.tokens) else _END

    def _take(self) -> tuple[str, str, int]:
        token = self._peek()
        self.next += 1
        return token

    def _document(self) -> None:
        table: KeyPath = ()
        while self._peek() is not _END:
            kind, text, _ = self._peek()
            if kind == "newline":
                self._take()
            elif text == "[" and kind == "mark":
                table = self._header()
            else:
                self._pair(table)

    def _header(self) -> KeyPath:
        self._take()
        of_list = self._peek()[1] == "["
        if of_list:
            self._take()
        path = self._key(())
        line = self._take()[2]
        if of_list:
            self._take()
            self.counts[path] = self.counts.get(path, -1) + 1
            path = (*path, self.counts[path])
        self.lines[path] = line
        return path

    def _key(self, table: KeyPath) -> KeyPath:
        """Names joined by points; every table on the way gets a line if it has none yet."""
        path = table
        while True:
            kind, text, line = self._take()
            path = (*path, text[1:-1] if kind == "string" else text)
            self.lines.setdefault(path, line)
            if self._peek()[1] != ".":
                return path
            if path in self.counts:
                path = (*path, self.counts[path])
            self._take()

    def _pair(self, table: KeyPath) -> None:
        path = self._key(table)
        self._take()
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        kind, text, _ = self._peek()
        if kind == "mark" and text == "[":
            self._list(path)
        elif kind == "mark" and text == "{":
            self._inline_table(path)
        else:
            while self._peek()[0] in ("string", "word") or self._peek()[1] == ".":
                self._take()

    def _list(self, path: KeyPath) -> None:
        self._take()
        index = 0
        while self._peek()[1] != "]":
            if self._peek()[0] == "newline" or self._peek()[1] == ",":
                self._take()
                continue
            self.lines[(*path, index)] = self._peek()[2]
            self._value((*path, index))
            index += 1
        self._take()

    def _inline_table(self, path: KeyPath) -> None:
        self._take()
        while self._peek()[1] != "}":
            if self._peek()[0] == "newline" or self._peek()[1] == ",":
                self._take()
            else:
                self._pair(path)
        self._take()


def _tokens(text: str) -> list[tuple[str, str, int]]:
    found = []
    line = 1
    for match in _TOKEN.finditer(text):
        kind = match.lastgroup
        if kind is not None and kind != "skip":
            found.append((kind, match.group(), line))
        line += match.group().count("\n")
    return found
