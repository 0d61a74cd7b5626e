"""The band of the balance: the limits of steady flight, narrowed to where launches survive."""

from __future__ import annotations

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.once import once_for
from firstthrow.sim.study.band.flare import has_pitch
from firstthrow.sim.study.band.limits import Limits, limits
from firstthrow.sim.study.odds.survival import ByHands, by_hands
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict

LAUNCHES = 30  # at an end of the band
HALVINGS = 3  # of the way to where launches survive


@frozen
class End(Answer):
    """An end of the band; without launch by hand, or with nothing to move, no odds."""

    aft_m: float
    why: str
    odds: ByHands | None


@frozen
class Band(Answer):
    """No front end where nothing trims it; `closed_by`: why no balance suits, empty where there
    is a band."""

    front: End | None
    front_why: str
    rear: End
    closed_by: str

    def verdict(self, subject: Subject) -> BalanceVerdict:
        front = self.front.aft_m if self.front else None
        return balance_verdict(subject, front, self.rear.aft_m, bool(self.closed_by))


def balance_verdict(
    subject: Subject, front: float | None, rear: float, closed: bool
) -> BalanceVerdict:
    """Of the balance as it is against the ends of a band [m]."""
    if not has_pitch(subject):
        return BalanceVerdict.NO_PITCH_CONTROL
    if subject.held_stall_speed is None:
        return BalanceVerdict.PITCH_TOO_WEAK
    if subject.cg >= subject.neutral_point:
        return BalanceVerdict.BEHIND_NEUTRAL_POINT
    if closed or front is None:
        return BalanceVerdict.NO_BAND
    if subject.cg > rear:
        return BalanceVerdict.TOO_FAR_AFT
    return BalanceVerdict.TOO_FAR_FORWARD if subject.cg < front else BalanceVerdict.OK


def meant(subject: Subject, front: float | None, rear: float) -> float:
    """Where to balance it [m]: at the margin that the file wants where the band has that, else in
    the band's middle."""
    wanted = subject.at_margin(subject.airframe.margin)
    return wanted if front is None or front < wanted < rear else 0.5 * (front + rear)


def limits_verdict(subject: Subject) -> BalanceVerdict:
    """By the limits of steady flight alone, without a launch."""
    found = limits(subject)
    return balance_verdict(subject, found.front.aft, found.rear.aft, not found.are_open)


def band(subject: Subject, launches: int = LAUNCHES) -> Band:
    """Each end is flown, by so many launches; where too few survive there, it moves towards a
    balance at which enough do. Where launches survive at none, or it is thrown slower than it
    flies and the motor has to carry it, steady flight alone decides, and the odds say so."""
    return _band(subject, launches)


@once_for(16)
def _band(subject: Subject, launches: int) -> Band:
    found = limits(subject)
    front, rear = found.front.aft, found.rear.aft
    if front is None or not front < rear:
        ahead = None if front is None else End(front, found.front.why, None)
        behind = End(rear, found.rear.why, None)
        return Band(ahead, found.front.why, behind, _closed(found))
    ends = [
        End(at, one.why, _at(subject, at, launches))
        for at, one in ((front, found.front), (rear, found.rear))
    ]
    dies = any(end.odds is not None and not end.odds.is_enough for end in ends)
    if dies and subject.launch_speed >= subject.least_throw:
        flies = [end for end in ends if end.odds is not None and end.odds.is_enough]
        good = _own(subject, front, rear, launches) or next(iter(flies), None)
        good = good or _between(subject, front, rear, launches)
        if good is not None:
            ends = [_moved(subject, end, good, launches) for end in ends]
    return Band(ends[0], ends[0].why, ends[1], "")


def _closed(found: Limits) -> str:
    if found.front.aft is None:
        return found.front.why
    return f"{found.front.why}, and {found.rear.why}"


def _at(subject: Subject, aft: float, launches: int) -> ByHands | None:
    """Launches with the balance there [m]: all items moved together; None where none are asked
    for."""
    if launches == 0:
        return None
    try:
        return by_hands(subject.balanced_at(aft), launches)
    except ValueError:  # nothing on it can be moved
        return None


def _own(subject: Subject, front: float, rear: float, launches: int) -> End | None:
    """The balance as it is, where it lies between them and enough of the launches that decide on
    the airframe survive."""
    if not front < subject.cg < rear:
        return None
    own = by_hands(subject) if launches == LAUNCHES else by_hands(subject, launches)
    return End(subject.cg, "", own) if own.is_enough else None


def _between(subject: Subject, front: float, rear: float, launches: int) -> End | None:
    """Another balance between them at which enough launches survive; None where none was found."""
    meant = subject.at_margin(subject.airframe.margin)
    for place in (one for one in (meant, 0.5 * (front + rear)) if front < one < rear):
        odds = _at(subject, place, launches)
        if odds is not None and odds.is_enough:
            return End(place, "", odds)
    return None


def _moved(subject: Subject, end: End, good: End, launches: int) -> End:
    """The end as it is where enough survive; else the furthest towards it, of halvings of the way,
    where they do."""
    if end.odds is None or end.odds.is_enough:
        return end
    bad, lost, found = end.aft_m, end.odds, good
    for _ in range(HALVINGS):
        middle = 0.5 * (bad + found.aft_m)
        odds = _at(subject, middle, launches)
        if odds is None:
            break
        if odds.is_enough:
            found = End(middle, "", odds)
        else:
            bad, lost = middle, odds
    way = "further forward" if bad < good.aft_m else "further aft"
    why = f"{way} {lost.words}: {lost.cause}"
    return End(found.aft_m, why, found.odds)
