"""Flies in a window until the person leaves."""

from __future__ import annotations

from firstthrow.scenes.flight.rehearsal import Rehearsal
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.window.early import Early
from firstthrow.scenes.window.window import App
from firstthrow.sim.flight.compiling import CACHE, PLAIN, hands_missing, missing


def run(
    airframe,
    field,
    hands,
    pilot=None,
    launch=None,
    seed=0,
    record_factory=None,
    seconds=None,
    fault="",
    settings=None,
    relief=None,
    causes=None,
    early: Early | None = None,
) -> list:
    """Flies in the window until the person leaves; how each flight has ended, in order.

    `pilot` None takes the person's thumbs, else any callable from reading to sticks; `relief`
    is who takes over from the thumbs when a key hands the sticks over. Each
    flight that leaves the hand gets a recorder from `record_factory()`, called with `airframe`
    and `fault` where a fault card changed it. What was found of their causes goes into
    `causes`, by record. `early` is the window where it is open already: nothing flies in one that
    was closed meanwhile. Raises ValueError for a launch that the airframe does not have, pyglet's
    errors without a usable display.
    """
    asked, chosen = (airframe, field, pilot, launch, seed), settings or Settings()
    app: App

    def rehearse() -> Rehearsal:
        rehearsal = Rehearsal(*asked, record_factory, seconds)
        if relief is not None:
            relief.model = rehearsal.model
        return rehearsal

    if early and early.left:
        return []
    sight = early.sight if early else None
    lacking = missing() or (relief is not None and hands_missing())
    if CACHE is not None and lacking:  # else no other process could hand anything over
        from firstthrow.scenes.flight.unready import Unready
        from firstthrow.scenes.window.preparing import FirstApp

        app = FirstApp(Unready(*asked), hands, rehearse, relief, fault, chosen, sight=sight)
    else:
        rehearsal = early.during(rehearse) if early else rehearse()
        if early and early.left:
            return []
        rehearsal.relief = relief
        if CACHE is not None and not PLAIN:  # which would hold up the picture for too long
            rehearsal.stands_by = relief
        app = App(rehearsal, hands, fault=fault, settings=chosen, sight=sight)
    if early:
        early.hand_over()
    try:
        app.loop()
    finally:
        if causes is not None:
            causes.update(app.aids.after.causes)
    return app.rehearsal.finished
