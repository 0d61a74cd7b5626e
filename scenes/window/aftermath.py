"""After a flight, in the window: the card with its cause, and the keys that show it again slowly,
throw it again put right, and take that to the bench. `app` is the window's."""

from __future__ import annotations

from pathlib import Path

from firstthrow.scenes.flight.rehearsal import Rehearsal, Repeat
from firstthrow.scenes.flight.throw import planned
from firstthrow.scenes.hands.bindings import key_words
from firstthrow.scenes.pages.bench_rows import Setup
from firstthrow.scenes.pages.bench_write import WriteScreen
from firstthrow.scenes.pages.looking_back import LookingBack
from firstthrow.scenes.window.explaining import NONE, WORKING, Explaining
from firstthrow.scenes.words.instruments import Card, outcome_card
from firstthrow.sim.build.moved import altered
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.learn.aftermath.explained import Flown
from firstthrow.sim.learn.aftermath.remedy import Remedy
from firstthrow.sim.learn.aftermath.said import at_once
from firstthrow.sim.learn.diagnose import Diagnosis
from firstthrow.sim.study.subject import Subject

LEAST = 0.1  # [s] a flight must have lasted for anything to be said of it
CHANGED = "It was changed on the bench as it flew: no cause is looked for."


class Aftermath:
    """`act` takes its keys, `frame` asks for the cause when a flight ends, `card` speaks of it."""

    def __init__(self, app, unseen: bool) -> None:
        self.app = app
        self.explaining = Explaining(unseen)
        self.gets_ready = True  # for the cause with the first throw; else when it is asked for
        self.flight: object = None  # the last that was looked at
        self.asked = False  # of this flight
        self.at_once: tuple[str, ...] = ()
        self.wanted = ""  # an action that waits for the cause
        self.note = ""
        self.causes: dict[Path, Diagnosis | None] = {}  # of the flights that have a record

    @property
    def is_there(self) -> bool:
        """Whether a flight of this window has ended, and is still before one's eyes."""
        flying = self.app.rehearsal
        aids = self.app.aids
        if aids.launching.five is not None or aids.schooling.lesson is not None:
            return False  # a drill has its own card
        return isinstance(flying, Rehearsal) and flying.over and bool(flying.rows)

    def act(self, action: str) -> bool:
        """Whether the action was about the last flight and is done."""
        if action not in ("look_back", "put_right", "to_bench"):
            return False
        self.note = ""
        if not self.is_there:
            return True
        if action == "look_back":
            self.app.show(LookingBack)
        elif self.explaining.busy:
            self.wanted = action
        elif action == "put_right":
            self._throw_again()
        else:
            self._to_bench()
        return True

    def frame(self) -> None:
        """Called on every frame."""
        flying = self.app.rehearsal
        if not isinstance(flying, Rehearsal):
            return
        if flying.flight is not self.flight:
            self.flight, self.asked, self.wanted, self.note = flying.flight, False, "", ""
            self.at_once = ()
            self.explaining.forget()
        if self.gets_ready and flying.flown and not flying.over:
            self.explaining.get_ready(self._described(flying))
        if self.is_there and not self.asked:
            self.asked = True
            self._ask(flying)
        if self.explaining.look() and not self.explaining.busy:
            self._answered(flying)

    def flown(self) -> Flown:
        """The flight that has ended, as it is explained."""
        flying = self.app.rehearsal
        return Flown(flying.record(), flying.airframe, flying.field, self._described(flying))

    def card(self) -> Card | None:
        """What there is to say once it is over."""
        flying = self.app.rehearsal
        outcome = flying.flight.outcome
        if not self.is_there or outcome is None:
            return None
        facts = self.app.facts
        usual = outcome_card(outcome, flying.flight.time, flying.top, facts.kind, facts.units)
        reason = self.reason
        known = [one for one in self.at_once if one.rstrip(".").lower() not in reason.lower()]
        told = (*known, *((reason,) if reason else ()))
        text, figures, back = usual.lines
        keys = (
            f"{key_words('look_back')}: see it slowly.  "
            f"{key_words('put_right')}: {self.put_right_words}.",
            f"{key_words('to_bench')}: to the airframe's file.  "
            f"{key_words('evening')}: all flights of today.",
            back,
        )
        note = (self.note,) if self.note else ()
        return usual._replace(lines=(text, *told, *note, *keys), small=(figures,))

    @property
    def reason(self) -> str:
        """The cause in one sentence, or that it is looked for."""
        flying, work = self.app.rehearsal, self.explaining
        if flying.refitted:
            return CHANGED
        if work.found is not None:
            return work.found.sentence or NONE
        if work.failed:
            return NONE
        return WORKING if work.flown is not None else ""

    @property
    def put_right_words(self) -> str:
        if self.wanted:
            return "thrown again as soon as the cause is there"
        found = self.explaining.found
        if found is None or not found.remedy.words:
            return "throw it again"
        return f"throw it again, {found.remedy.words}"

    def _described(self, flying: Rehearsal) -> tuple[Airframe, Field]:
        return self.app.sound if self.app.fault else (flying.airframe, flying.field)

    def _ask(self, flying: Rehearsal) -> None:
        if flying.flight.time < LEAST:
            return
        record = flying.record()
        described = self._described(flying)
        model = self.app.models.get("")
        if model is None:
            model = altered(flying.model, (flying.airframe, flying.field), described)
        self.at_once = at_once(record, Subject(described[0], described[1], model))
        if not self.explaining.unseen and not flying.refitted:
            self.explaining.ask(self.flown())

    def _answered(self, flying: Rehearsal) -> None:
        found = self.explaining.found
        if found is not None and flying.recorder is not None:
            self.causes[flying.recorder.path] = found.found
        if self.wanted:
            wanted, self.wanted = self.wanted, ""
            self.act(wanted)

    def _throw_again(self) -> None:
        """The same throw, what was wrong put right; the one before it as a pale outline."""
        app, flying = self.app, self.app.rehearsal
        found = self.explaining.found
        cure = found.remedy if found else Remedy("", self._described(flying)[0])
        flying.repeat = self._repeat(flying, cure)
        app.aids.keep_outline()
        if app.screen is not None:
            app.leave()
        if app.fault and app.fault in cure.faults:
            app.set_fault("")
        else:
            app.act("again")
        if cure.changes(app.sound[0]) and not cure.faults and cure.words:
            app.bench.use(Setup(cure.airframe, app.sound[1]))
        throttle = flying.repeats.throttle if flying.repeats else 0.0
        app.thumbs.keyboard.throttle = app.thumbs.gamepad.throttle = throttle

    def _repeat(self, flying: Rehearsal, cure: Remedy) -> Repeat | None:
        """None for what rolls on its wheels: it is back on them, and waits for the throttle."""
        hand = flying.airframe.launch.hand
        if flying.flight.launch == "ground" or hand is None:
            return None
        plan = planned(self.app.sound[0])
        thrown = flying.throw or planned(flying.airframe)
        back = {name: getattr(plan, name) for name in cure.as_planned if hasattr(plan, name)}
        record = flying.record()
        early = record.column("throttle")[record.column("time_s") >= 0.0]
        throttle = float(early[0]) if len(early) else 0.0
        if "throttle" in cure.as_planned:
            throttle = self.app.facts.launch_throttle
        return Repeat(thrown._replace(**back), throttle)

    def _to_bench(self) -> None:
        """What is put right becomes the bench's set-up, and its page asks whether to write it."""
        app, found = self.app, self.explaining.found
        if found is None or not found.remedy.changes(app.sound[0]) or found.remedy.faults:
            self.note = "Nothing of the airframe's file is to be changed for it."
            return
        if app.bench.file is None:
            self.note = "There is no airframe file to write to."
            return
        app.bench.use(Setup(found.remedy.airframe, app.sound[1]))
        app.show(WriteScreen)

    def close(self) -> None:
        self.explaining.close()
