"""The page that shows what would be written to the airframe file, and writes it."""

from __future__ import annotations

from datetime import date

from firstthrow.scenes.pages.bench_file import keep, proposal, target
from firstthrow.scenes.pages.screens import ENTER, Screen
from firstthrow.sim.describe.edit import difference
from firstthrow.sim.describe.replace import trouble
from firstthrow.sim.paper.page import Line, Page, Words, box

X, TOP = 14.0, 192.0  # [mm]
LINES = 30  # of the difference that fit
STEP = 5.6
BOXES = {"write": (X, 9.0, 52.0, 11.0), "leave": (X + 60.0, 9.0, 52.0, 11.0)}


class WriteScreen(Screen):
    """The difference between the file and what it would be; Enter writes it."""

    def __init__(self, app):
        self.first = 0  # line of the difference at the top
        self.trouble = ""
        self.path = app.bench.file
        self.before = self.after = ""
        try:
            self.before, self.after = proposal(self.path, app.bench.bench, date.today())
        except (OSError, ValueError) as error:
            self.trouble = f"{self.path.name} cannot be changed: {error}"
        name = target(self.path).name
        # without the head of two lines: the title says the file
        self.lines = difference(self.before, self.after, name).splitlines()[2:]
        super().__init__(app)

    @property
    def can_write(self) -> bool:
        return not self.trouble and self.before != self.after

    def key(self, name: str) -> bool:
        if name in ENTER:
            self.write()
        elif name in ("UP", "DOWN"):
            last = max(0, len(self.lines) - LINES)
            self.first = min(last, max(0, self.first + (1 if name == "DOWN" else -1)))
        else:
            return False
        return True

    def act(self, action: str) -> None:
        if action == "bench_write":
            self.write()
        elif action in ("bench", "quit"):
            self.app.leave()
        elif action in ("bench_up", "bench_down"):
            self.key("UP" if action == "bench_up" else "DOWN")

    def click(self, x: float, y: float) -> None:
        for name, (left, low, wide, tall) in BOXES.items():
            (a, b), (c, d) = (
                self.sheet.place((left, low)),
                self.sheet.place((left + wide, low + tall)),
            )
            if a <= x <= c and b <= y <= d:
                self.write() if name == "write" else self.app.leave()

    def write(self) -> None:
        if not self.can_write:
            return
        try:
            self.app.bench.kept(self.path, keep(self.path, self.after))
        except OSError as error:
            self.trouble = f"Not written: {trouble(error, in_short=True)}"
            return
        self.app.leave()

    def page(self) -> Page:
        where = target(self.path)
        parts: list = [
            Words(
                X, TOP, f"Write set-up {self.app.bench.bench.letter} to {where.name}?", 7.0, True
            ),
            Words(
                X,
                TOP - 8.0,
                f"{where.absolute().parent}; what is there now is kept beside it.",
                3.6,
            ),
        ]
        y = TOP - 20.0
        shown = self.lines[self.first : self.first + LINES]
        for k, line in enumerate(shown):
            new, old = line.startswith("+"), line.startswith("-")
            if line.startswith("@@"):
                words = f"line {line.split()[2].strip('+').split(',')[0]}"
                parts.append(Words(X + 268.0, y - STEP * k, words, 3.4, anchor="right"))
                parts.append(
                    Line(((X - 2.0, y - STEP * k + 1.2), (X + 246.0, y - STEP * k + 1.2)), 0.25)
                )
                continue
            if new or old:
                parts.append(
                    box(X - 2.0, y - STEP * k - 1.5, 270.0, STEP, 0.85 if new else 0.95, 0.0)
                )
                parts.append(Words(X, y - STEP * k, line[0], 4.0, True))
            parts.append(
                Words(X + 5.0, y - STEP * k, line[1:] if new or old else line.strip(), 4.0, new)
            )
        if len(self.lines) > LINES:
            parts.append(Words(283.0, TOP - 8.0, "Up, Down: more of it", 3.6, True, "right"))
        told = self.trouble or ("" if self.can_write else "The file says all of this already.")
        parts.append(Words(X, y, told, 4.6, True))
        labels = {"write": "Enter: write", "leave": "Esc: leave"}
        for name, place in BOXES.items():
            if name == "write" and not self.can_write:
                continue
            parts.append(box(*place, 0.9, 0.5))
            parts.append(
                Words(
                    place[0] + 0.5 * place[2],
                    place[1] + 4.0,
                    labels[name],
                    4.2,
                    name == "write",
                    "center",
                )
            )
        parts.append(
            Words(
                283.0,
                13.0,
                "The wind belongs to the field and is not written.",
                3.4,
                anchor="right",
            )
        )
        return Page(tuple(parts))
