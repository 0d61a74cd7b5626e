"""The flights of today on one page, in the window: what improved, what keeps happening, what is
next."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from firstthrow.scenes.flight import lesson_log
from firstthrow.scenes.flight.evening import hands_lines
from firstthrow.scenes.hands.bindings import key_words
from firstthrow.scenes.pages.screens import Screen
from firstthrow.sim.learn.aftermath.evening import evening, kept_in
from firstthrow.sim.paper import evening as paper
from firstthrow.sim.paper.page import Page


class EveningScreen(Screen):
    """Read once, as it opens. Causes are those that this window has found."""

    def __init__(self, app):
        after = app.aids.after
        recorder = getattr(app.rehearsal, "recorder", None)
        paths = [*after.causes, *([recorder.path] if recorder is not None else [])]
        folder = paths[-1].parent if paths else Path("flights")
        today = date.today()
        kept, _, remarks = kept_in(folder, today) if folder.is_dir() else ([], None, [])
        flies = recorder.path if recorder is not None and not app.rehearsal.over else None
        kept = [one for one in kept if one.path != flies]
        passed = lesson_log.passed() if app.keeps else []
        hands = hands_lines(today) if app.keeps else []
        self.found = evening(kept, today, after.causes, hands, passed, remarks)
        foot = (
            f"{key_words('evening')} or {key_words('quit')}: back. To print it: firstthrow evening"
        )
        self.whole = paper.page(self.found, f"{foot} {folder} --plot evening.pdf")
        super().__init__(app)

    def act(self, action: str) -> None:
        if action in ("evening", "quit", "again"):
            self.app.leave()

    def page(self) -> Page:
        return self.whole
