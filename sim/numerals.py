"""Numbers as people write them before a unit: decimals, fractions, two at a time."""

from __future__ import annotations

import re
from typing import NamedTuple

DIGITS = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
# A number, or a fraction as rulers have it: 1/4, 1 1/2, 1-1/2.
NUMBER = rf"(?:[+-]?(?:[0-9]+[ -])?[0-9]+/[1-9][0-9]*|{DIGITS})"
PLAIN = re.compile(DIGITS)
MOST = 1e30  # in a file
LONGEST = 80  # characters of a value that a sentence quotes

_QUANTITY = re.compile(rf"({NUMBER})[ \t\u00a0]*(.*)")
_FRACTION = re.compile(r"([+-]?)(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)")
_PAIR = re.compile(rf"({NUMBER}) ?([^x×X*0-9]*?) ?[x×X*] ?({NUMBER}) ?(.*)")
_CURLY = re.compile("[“”„‘’]")


class Pair(NamedTuple):
    """Two numbers, each with what stands behind it; a unit said once is that of both."""

    numbers: tuple[float, float]
    units: tuple[str, str]


def split(text: str, wanted: str) -> tuple[float, str]:
    """A number and what stands behind it. Raises ValueError with what is wanted instead."""
    if text.strip()[:1] and _CURLY.match(text.strip()):
        raise ValueError(f"{shown(text)}: {text.strip()[0]} is a curly quote: write straight ones")
    refuse_comma(text, wanted)
    parts = _QUANTITY.fullmatch(text.strip())
    if parts is None:
        raise ValueError(f"{shown(text)}: write a number and a unit, such as '{wanted}'")
    return _bounded(text, parts[1]), re.sub(r"[ \t\u00a0·]+", " ", parts[2])


def pair(text: str, what: str, wanted: str) -> Pair:
    """Of '9x5 in', '9 in x 5 in' or '9x5'. Raises ValueError with what is wanted instead."""
    refuse_comma(text, wanted)
    parts = _PAIR.fullmatch(text.strip())
    if parts is None:
        raise ValueError(f"{shown(text)}: write {what} with a unit, such as '{wanted}'")
    numbers = _bounded(text, parts[1]), _bounded(text, parts[3])
    return Pair(numbers, (parts[2] or parts[4], parts[4] or parts[2]))


def refuse_comma(text: str, wanted: str) -> None:
    if re.search(r"[0-9],|,[0-9]", text):
        raise ValueError(
            f"{shown(text)}: write the number with a decimal point and no comma, such as '{wanted}'"
        )


def number_in(text: str) -> float:
    """Of a number or a fraction, which may follow a whole number: 1 1/2."""
    parts = _FRACTION.fullmatch(text)
    if parts is None:
        return float(text)
    size = float(parts[2] or 0) + float(parts[3]) / float(parts[4])
    return -size if parts[1] == "-" else size


def _bounded(text: str, digits: str) -> float:
    number = number_in(digits)
    if abs(number) > MOST:
        raise ValueError(f"{shown(text)}: too large a number")
    return number


def shown(value: object) -> str:
    """A value as it may be quoted in a sentence: in one short line, whatever it is."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    told = repr(value) if isinstance(value, str) else str(value)
    return told if len(told) <= LONGEST else f"{told[: LONGEST - 4]}...{told[-1:]}"
