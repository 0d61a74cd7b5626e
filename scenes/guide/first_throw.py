"""The guide's first part: from foam board to first throw, command by command."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from firstthrow.scenes.guide.shown import Main, NotShown, command, drawing, picture, ran
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.paper.benchsheet.pages import pages
from firstthrow.sim.paper.benchsheet.sheet import contents
from firstthrow.sim.paper.html import heading, paragraph, preformatted
from firstthrow.sim.paper.printing import write
from firstthrow.sim.study.advice.search import advised
from firstthrow.sim.study.check import whole
from firstthrow.sim.study.subject import subject_of

SLAB = "pantry"
FILE_LINES = 34  # of the airframe's file that are shown
LAUNCH = (
    (0.1, "standing", "leaves the hand"),
    (0.8, "standing", "finds its line"),
    (3.0, "towed", "flies"),
)  # seconds after the release, view, words


def first_throw(main: Main, folder: Path, size: str) -> Iterator[str]:
    """HTML of the part, piece by piece; commands write into `folder`, which is the working one."""
    yield from _describe(main)
    yield from _balance(main, folder)
    yield from _bench(main, folder)
    yield from _throw(main, folder, size)
    yield from _afterwards(main, folder)


def _describe(main: Main) -> Iterator[str]:
    yield heading("1. Write down what you built", 3)
    yield paragraph(
        "Cut the board, tape on the elevons, lay motor, pack and servos where they will go. Then "
        "measure: each sheet with a ruler, each part on a kitchen scale, each place from one point "
        "your hand can touch. That is the whole file. `firstthrow new` asks for it and writes it; "
        "this one, of the slab that comes with the program, begins so:"
    )
    text = find("airframes", SLAB).read_text(encoding="utf-8").splitlines()[:FILE_LINES]
    yield preformatted("\n".join([*text, "..."]))
    yield paragraph("Every key is told in words:")
    yield command(main, "firstthrow explain items.pack.aft")


def _balance(main: Main, folder: Path) -> Iterator[str]:
    yield heading("2. Where does it balance, and where may it?", 3)
    yield command(main, f"firstthrow weigh {SLAB} --plot plan.svg", most=34)
    yield drawing(
        folder / "plan.svg",
        "The slab from above with its parts, its balance, its neutral point and the band in which "
        "the balance may lie.",
        "The plan view: lift the airframe at the mark with two fingertips; it should hang level. "
        "If it does not, move the pack before anything else.",
    )
    yield paragraph(
        "The pre-flight adds the rest (strength, power, surfaces, the launch), says go or no-go, "
        "and what to measure next:"
    )
    yield command(main, f"firstthrow check {SLAB}")


def _bench(main: Main, folder: Path) -> Iterator[str]:
    yield heading("3. Throws and directions", 3)
    yield command(main, f"firstthrow surfaces {SLAB} --plot throws.svg", most=13)
    yield drawing(
        folder / "throws.svg",
        "Curves of surface angle over stick, and of surface angle over servo angle.",
        "What the sticks do to the trailing edges. Measure yours with a ruler.",
    )
    yield paragraph(
        "The mistake that ends most first flights is a surface that moves the wrong way. Before "
        "every flight, behind the airframe, stick by stick:"
    )
    yield command(main, f"firstthrow directions {SLAB} --plot directions.svg")
    yield drawing(
        folder / "directions.svg",
        "The slab from behind, once for each stick, with the elevons as they must stand.",
        "Right stick: the right trailing edge up. Stick back: both up.",
    )
    yield heading("4. A sheet for the bench", 3)
    yield paragraph("Two pages to take along, printed by `firstthrow benchsheet`:")
    yield from _sheet(folder)


def _sheet(folder: Path) -> Iterator[str]:
    """Both pages side by side, of the very file that was weighed."""
    airframe = load_airframe(find("airframes", SLAB))
    subject = subject_of(airframe)
    sheet = contents(airframe, whole(subject), advised(subject))
    names = ("Bench: balance, masses, throws.", "Field: directions, launch, trouble, cautions.")
    for number, (page, words) in enumerate(zip(pages(airframe, sheet), names, strict=True)):
        path = folder / f"bench-{number}.svg"
        write(page, path)
        yield drawing(path, f"Page {number + 1} of the bench sheet. {words}", words, side=True)


def _throw(main: Main, folder: Path, size: str) -> Iterator[str]:
    yield heading("5. Throw it, here first", 3)
    yield paragraph(
        "`firstthrow fly pantry` opens the window: space throws, R puts it back into your hand, F1 "
        "shows every key. Throw it level into the wind at about half again its stall speed, and "
        "do nothing for a second. Throw it twenty times. Here a scripted pilot does:"
    )
    yield command(main, f"firstthrow fly {SLAB} --no-window --seconds 4 --record first.csv")
    for number, (time, view, words) in enumerate(LAUNCH):
        line = (
            f"firstthrow film first.csv --from {time:g} --view {view} --size {size} "
            f"--out throw-{number}.png"
        )
        try:
            ran(main, line)
        except NotShown as reason:
            yield paragraph(f"No picture of the scene could be drawn on this machine. {reason}")
            return
        told = f"{time:g} s: it {words}."
        yield picture(folder / f"throw-{number}.png", f"The meadow. {told}", told, side=True)


def _afterwards(main: Main, folder: Path) -> Iterator[str]:
    yield heading("6. Read what happened", 3)
    yield paragraph(
        "Every flight leaves a record, and a debrief says what happened and what came near a "
        "limit. This is the same slab with its pack taped on far too far aft, and nobody at the "
        "sticks:"
    )
    yield command(
        main,
        f'firstthrow fly {SLAB} --no-window --pilot hands-off --set items.pack.aft="110 mm" '
        "--seconds 6 --record tail-heavy.csv",
    )
    yield picture(
        folder / "tail-heavy.png",
        "The debrief's plots of the tail-heavy flight: height, speed, sticks, attitude, track.",
        "The plot page of that flight. Fix the balance, not the trim.",
    )
