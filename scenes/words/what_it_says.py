"""What the window of a flight says now: instruments, warnings, the line in the corner, the card.

`app` is the window's; nothing here draws.
"""

from __future__ import annotations

from firstthrow.scenes.flight.flying import Flying
from firstthrow.scenes.hands.device_words import arming_words
from firstthrow.scenes.words import instruments
from firstthrow.scenes.words.cautions import cautions

TIME_RUNS_SLOW = "TIME RUNS SLOW: this machine cannot keep up"


def words(app) -> tuple[dict[str, instruments.Tag], tuple[str, ...], str]:
    """Tags, warnings and corner, as `panels.Panels.say` takes them."""
    thumbs = app.thumbs
    rehearsal: Flying = app.rehearsal
    reading, flying = rehearsal.reading, not is_still(app)
    source, trims = thumbs.source, (thumbs.keyboard.roll_trim, thumbs.keyboard.pitch_trim)
    if rehearsal.pilot is not None:
        source, trims = "record" if rehearsal.recorded else "script", (0.0, 0.0)
    told = instruments.tags(reading, app.facts, flying, source, trims)
    alarms: tuple[str, ...] = ()
    if not rehearsal.over:
        burdens = rehearsal.flight.burdens
        alarms = instruments.warnings(reading, app.facts, flying, app.aids.asleep, burdens)
    if rehearsal.clock.runs_slow and not rehearsal.over:
        alarms = (TIME_RUNS_SLOW, *alarms)
    if app.bench.covers and rehearsal.clock.paused and app.waiting.because:
        because = app.waiting.because.replace(". ", ".\n").split("\n")
        alarms = (*reversed(because), *alarms)  # read downwards; the bench has the card's place
    if thumbs.waiting and rehearsal.pilot is None:
        alarms = (arming_words(thumbs.waiting), *alarms)
    view = "free" if app.eyes.free else app.view_name
    fault = "" if app.aids.schooling.keeps_secret else app.fault
    corner = instruments.state_line(view, rehearsal.clock.rate, app.eyes.standing.zooms, fault)
    return told, alarms, f"{corner}   {app.bench.corner}{app.aids.corner}".rstrip()


def card(app) -> instruments.Card | None:
    """The notice in the middle; None while there is nothing to say."""
    rehearsal: Flying = app.rehearsal
    if app.asking:
        return instruments.leave_card()
    if app.helping:
        return instruments.help_card()
    if app.bench.covers:
        return None
    own = app.aids.card()
    if own is not None:
        return own
    if rehearsal.over and (outcome := rehearsal.flight.outcome) is not None:
        return instruments.outcome_card(
            outcome, rehearsal.flight.time, rehearsal.top, app.facts.kind, app.facts.units
        )
    if rehearsal.clock.paused:
        return instruments.pause_card(app.waiting.because)
    if rehearsal.held or rehearsal.standing:
        warned = cautions(app.facts, rehearsal.reading, app.thumbs.straight is not None)
        judging = app.judging
        judged = (judging.words, *judging.asked) if judging.is_wanted else ()
        scripted = rehearsal.pilot is not None
        return instruments.start_card(app.facts, scripted, app.fault, warned, judged)
    return None


def is_still(app) -> bool:
    """In the hand, over, or standing on the ground: nothing to warn of."""
    rehearsal: Flying = app.rehearsal
    reading = rehearsal.reading
    rolling = app.facts.kind == "ground" and reading.height_m < app.mesh.span
    slow = reading.airspeed_m_s < reading.stall_speed_m_s
    return rehearsal.held or rehearsal.standing or rehearsal.over or (rolling and slow)
