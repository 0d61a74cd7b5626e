"""The guide: everything that it shows is run, and the page is whole."""

from __future__ import annotations

import html
import re
import shlex
import subprocess
import sys

import pytest
from html_page import Page

from firstthrow.scenes.commands.cli import _parser
from firstthrow.scenes.guide import first_throw, lesson
from firstthrow.scenes.guide.shown import NotShown, command, ran


@pytest.fixture(scope="module")
def written(tmp_path_factory) -> str:
    """The page, as a machine without a display writes it: run in a process of its own, where
    nothing has opened a window before."""
    out = tmp_path_factory.mktemp("guide") / "guide.html"
    words = ("guide", "--out", str(out), "--size", "160x120")
    code = "import sys; from firstthrow.scenes.commands.cli import main; sys.exit(main())"
    done = subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout == f"{out}\n"
    assert [path.name for path in out.parent.iterdir()] == ["guide.html"]  # nothing is left about
    return out.read_text(encoding="utf-8")


def test_the_page_is_whole(written):
    page = Page(written)
    assert page.open == []
    assert page.heads[0] == "h1"
    assert page.heads.count("h2") == 4
    # Plan, throws, directions, two bench pages, the lesson's plot; three of a launch, a debrief.
    assert written.count('<svg role="img"') == 6
    assert written.count('<img src="data:image/jpeg') == 4
    assert all(len(words) > 30 or words.startswith("The meadow") for words in page.images)
    assert "http" not in re.sub(r'xmlns(:xlink)?="[^"]+"', "", written)  # nothing is fetched
    assert len(re.sub(r"<[^>]+>", " ", re.sub(r"<(svg|style).*?</\1>", "", written)).split()) < 6000


def test_every_command_in_it_is_one(written):
    """Those with their answers were run; those named in a sentence are understood."""
    text = html.unescape(written)
    shown = re.findall(r"^(?:<pre><code>)?\$ (firstthrow .+)$", text, flags=re.MULTILINE)
    named = [line for line in re.findall(r"<code>(firstthrow [^<\n]+)</code>", text)]
    assert len(shown) == 7
    for line in {*shown, *named} - {"firstthrow benchsheet"}:
        assert callable(_parser().parse_args(shlex.split(line)[1:]).command)
    assert "pantry: GO" in text
    assert "The turning propeller hit the ground" in text


def test_cautions_come_first(written):
    first = written.index("From board to throw")
    for words in ("propeller cuts", "Lithium packs burn", "club instructor", "rules"):
        assert written.index(words) < first


def test_the_lesson_is_what_is_printed(written):
    """Its numbers are worked out; the further aft the pack, the less margin, to none."""
    text = html.unescape(written)
    assert "import firstthrow.sim as ft" in text
    row = r"^(?:<pre><code>)? *(-?\d+ mm) +([\d.]+) % +(-?[\d.]+) % +(yes|no) +(\d+) deg"
    rows = re.findall(row, text, re.MULTILINE)
    assert [row[0] for row in rows] == list(lesson.PLACES)
    margins = [float(row[2]) for row in rows]
    assert margins == sorted(margins, reverse=True)
    assert margins[0] > 5.0 > 0.0 > margins[-1]
    assert [row[3] for row in rows] == ["yes" if margin > 0.0 else "no" for margin in margins]


def test_a_machine_without_a_window_says_so_and_goes_on(tmp_path):
    def windowless(words):
        if words[0] == "film":
            print("There is no display", file=sys.stderr)
        return 1 if words[0] == "film" else 0

    pieces = list(first_throw._throw(windowless, tmp_path, "160x120"))
    assert "No picture of the scene could be drawn on this machine" in pieces[-1]
    assert "There is no display" in pieces[-1]


def test_a_command_that_fails_is_not_shown():
    with pytest.raises(NotShown, match="firstthrow weigh gone: "):
        ran(lambda words: 2, "firstthrow weigh gone")
    assert ran(lambda words: 3, "firstthrow check mine") == ""  # no-go is an answer
    long = command(lambda words: print("a line\n" * 9) or 0, "firstthrow x", most=3)
    assert long.count("a line") == 3
    assert "..." in long
