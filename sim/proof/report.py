"""What was proved, as numbers and as lines for people: the furthest off first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from textwrap import shorten, wrap

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.proof.check import Proved


@frozen
class ProofRow(Answer):
    """One check: values in the unit that `quantity` or `at` names."""

    name: str
    subject: str
    quantity: str
    at: tuple[str, ...]
    outside: tuple[float, ...]
    ours: tuple[float, ...]
    gap: tuple[float, ...]  # ours less outside
    allowed: tuple[float, ...]
    source: str
    how_sure: str
    within: bool
    missed: str | None


@frozen
class Proof(Answer):
    """All checks, the furthest off first, for what is allowed."""

    summary: str
    checks: int
    values: int
    missed: int
    broken: int  # checks that are off by more than they say
    proof: tuple[ProofRow, ...]


def answer(proved: Sequence[Proved]) -> Proof:
    return Proof(
        summary(proved),
        len(proved),
        sum(len(one.ours) for one in proved),
        sum(one.misses for one in proved),
        sum(not one.holds for one in proved),
        tuple(_row(one) for one in proved),
    )


def _row(one: Proved) -> ProofRow:
    check = one.check
    return ProofRow(
        check.name,
        one.subject,
        check.quantity,
        tuple(check.place(n) for n in range(len(one.ours))),
        check.outside,
        one.ours,
        tuple(ours - other for ours, other in zip(one.ours, check.outside, strict=True)),
        tuple(float(value) for value in check.allowed),
        check.source,
        check.sure.value,
        not one.misses,
        check.missed or None,
    )


def summary(proved: Sequence[Proved]) -> str:
    """The whole in one sentence or two."""
    values = sum(len(one.ours) for one in proved)
    missed = sum(one.misses for one in proved)
    broken = sum(not one.holds for one in proved)
    words = (
        f"{len(proved)} checks of {values} values: {len(proved) - missed} within what is wanted, "
        f"{missed} not."
    )
    if broken:
        words += f" {broken} further off than they say: something is broken."
    return words


def sureness(proved: Sequence[Proved]) -> list[tuple[str, int]]:
    """How many checks are how sure."""
    return Counter(one.check.sure.value for one in proved).most_common()


def number(value: float) -> str:
    """To four digits, in plain figures where they are short."""
    if value == 0.0:
        return "0"
    return f"{value:.4g}" if 1e-3 <= abs(value) < 1e5 else f"{value:.3e}"


def gap(one: Proved, n: int) -> str:
    """How far off a value is: in percent where the outside value allows it."""
    outside, ours = one.check.outside[n], one.ours[n]
    if one.check.relative and outside:
        return f"{100.0 * (ours / outside - 1.0):+.2g} %"
    return f"{ours - outside:+.2g}"


def used(one: Proved, n: int) -> str:
    """The gap in percent of what is allowed."""
    return f"{100.0 * abs(float(one.gaps[n])):.0f} %"


def lines(proved: Sequence[Proved]) -> list[str]:
    """For a terminal: the sentence, misses with their reasons, then a line a check."""
    found = [summary(proved), ""]
    if any(one.misses for one in proved):
        found += ["Missed:"]
        for one in proved:
            if one.misses:
                found += _missed(one)
        found.append("")
    words = ("outside", "ours", "gap", "of allowed")
    head = f"{'worst value of each check':<62} " + " ".join(f"{word:>10}" for word in words)
    found += [head + "  how sure", "-" * (len(head) + 10)]
    for one in proved:
        n = one.worst
        place = f"; {place}" if (place := one.check.place(n)) else ""
        what = shorten(one.check.quantity, max(20, 62 - len(place)), placeholder=" ...") + place
        found.append(
            f"{what:<62} {number(one.check.outside[n]):>10} {number(one.ours[n]):>10} "
            f"{gap(one, n):>10} {used(one, n):>10}  {one.check.sure.value}"
        )
    return found


def _what(one: Proved) -> str:
    place = one.check.place(one.worst)
    return f"{one.check.quantity}; {place}" if place else one.check.quantity


def _missed(one: Proved) -> list[str]:
    n = one.worst
    words = (
        f"{_what(one)}: {number(one.check.outside[n])} outside, {number(one.ours[n])} ours "
        f"({gap(one, n)}). {one.check.missed or 'This is not as it should be'}."
    )
    return wrap(words, 96, initial_indent="  ", subsequent_indent="    ")
