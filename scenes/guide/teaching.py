"""The guide's third part: a script for teachers, run as the guide is written, and its plot."""

from __future__ import annotations

import contextlib
import inspect
import io

from firstthrow.scenes.guide import lesson
from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.paper.html import drawing, heading, listed, paragraph, preformatted
from firstthrow.sim.paper.plots.debrief import STYLE

QUESTIONS = (
    "Before running it: at which place of the pack will the slab first fail to come back?",
    "The neutral point does not move as the pack does. Why? What would move it?",
    "The margin falls by the same step for the same step of the pack. Work out that step from "
    "the masses that `firstthrow weigh pantry` prints.",
    "At which balance is the first swing largest, and why is the most stable slab not simply "
    "the best one to throw?",
    'Change `pilot="hands-off"` to `pilot="human:beginner"`. Which balance can a beginner '
    "still hold?",
)


def teaching() -> list[str]:
    """HTML of the part."""
    heard = io.StringIO()
    with contextlib.redirect_stdout(heard):
        flights = lesson.lesson()
    return [
        heading("For teachers: what the CG does to a flat plate"),
        paragraph(
            "A flat plate has its neutral point near the front fifth of its chord. What is "
            "balanced ahead of it turns its nose back by itself when it is disturbed; what is "
            "balanced behind it does not. This script moves the battery of the slab aft, step by "
            "step, throws it without anybody at the sticks, and prints what came of it. It needs "
            "the program and nothing else; the numbers below were worked out just now."
        ),
        *_script(),
        preformatted(heard.getvalue()),
        drawing(
            _figure(flights),
            "Pitch angle over the first four seconds, a line for each place of the balance.",
            "The same throw with the pack further and further aft, hands off the sticks.",
        ),
        paragraph("Questions for a class:"),
        listed(QUESTIONS),
    ]


def _script() -> list[str]:
    """The script's own text, where this installation has it."""
    try:
        return [preformatted(inspect.getsource(lesson))]
    except OSError:
        return [paragraph("This installation has no sources; the script is `lesson.py` of them.")]


def _figure(flights: dict):
    with plt.rc_context(STYLE):
        figure, ax = plt.subplots(figsize=(7.5, 3.6), layout="constrained")
        for shade, (name, flight) in enumerate(flights.items()):
            colour = plt.get_cmap("viridis")(0.9 * shade / max(1, len(flights) - 1))
            ax.plot(flight.time_s, flight.pitch_deg, color=colour, label=name)
        ax.set_xlabel("seconds after the release")
        ax.set_ylabel("pitch [deg]")
        ax.set_title("Hands off")
        ax.legend()
    return figure
