"""A short share of what careless and hostile hands may give: nothing breaks, all is said in words.

Seeded, so that every run is the same; `benchmarks/attack.py` goes on as long as wanted.
"""

from __future__ import annotations

import contextlib
import json
import marshal
import pickle
import re
import sys
from pathlib import Path

import pytest
from attacks import (
    broken_configs,
    broken_lines,
    broken_logs,
    broken_records,
    built,
    config_is_survived,
    glide_is_sound,
    launched,
    launches_are_sound,
    line_is_survived,
    log_is_survived,
    possible_airframes,
    record_is_survived,
)
from hypothesis import HealthCheck, Phase, given, seed, settings
from odd import PANTRY

from firstthrow.scenes.flight import first_ten, lesson_log
from firstthrow.scenes.hands import own_hands, preferences
from firstthrow.scenes.hands.hands import load_hands
from firstthrow.sim.describe.config import ConfigError, find, load_airframe, load_field
from firstthrow.sim.describe.drawing import dxf, svg
from firstthrow.sim.describe.drawing.strokes import DrawingError
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.record import PLAIN_COLUMNS, RecordError, load
from firstthrow.sim.flight.stick_timeline import TimelineError, timeline
from firstthrow.sim.learn import logs
from firstthrow.sim.study.odds import kept as odds_kept
from firstthrow.sim.study.odds.tally import Tally


def share(cases: int):
    """So many cases, always the same, however slow the machine."""
    return settings(
        max_examples=cases,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("attacked")


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")


def test_broken_configs(folder):
    @seed(1)
    @share(25)
    @given(broken_configs())
    def run(text):
        config_is_survived(text, folder / "broken.toml")

    run()


def test_possible_airframes():
    @seed(2)
    @share(4)
    @given(possible_airframes())
    def run(found):
        name, overrides = found
        try:
            airframe = load_airframe(find("airframes", name), overrides)
        except ConfigError:
            return
        model = built(airframe)
        if model is not None:
            launches_are_sound(launched(model, airframe, 3, 2, 2.0))
            glide_is_sound(built(airframe, STANDARD), airframe, 2.0)

    run()


def test_broken_lines():
    @seed(3)
    @share(60)
    @given(broken_lines())
    def run(words):
        line_is_survived(words)

    run()


def test_broken_records(folder):
    @seed(4)
    @share(30)
    @given(broken_records(str(folder)))
    def run(found):
        record_is_survived(found, folder)

    run()


def test_broken_logs(folder):
    @seed(5)
    @share(40)
    @given(broken_logs())
    def run(found):
        log_is_survived(found, folder)

    run()


class Crafted:
    """What runs code of its own when it is unpickled."""

    def __reduce__(self):
        return (Path.touch, (Path("proof"),))


CODE = "__import__('pathlib').Path('proof').touch()"
COLUMNS = ",".join(PLAIN_COLUMNS)
HOSTILE = (
    pickle.dumps(Crafted()),
    marshal.dumps(compile(CODE, "crafted", "exec")),
    CODE.encode(),
    b"!!python/object/apply:pathlib.Path.touch [!!python/object/new:pathlib.Path ['proof']]",
    json.dumps({"py/reduce": [CODE], "created": CODE, "airframe_si": {"name": CODE}}).encode(),
    json.dumps([{"when": CODE, "lesson": CODE, "airframe": CODE, "mark": CODE}]).encode(),
    f"{COLUMNS}\n{','.join([CODE] * len(PLAIN_COLUMNS))}\n".encode(),
    PANTRY.replace('"pantry"', f'"{CODE}"', 1).encode(),
    re.sub(r'"[\d.]+ mm"', f'"{CODE} mm"', PANTRY, count=1).encode(),
    f"<svg onload={CODE!r}><script>{CODE}</script></svg>".encode(),
)
READ = {  # by suffix
    ".csv": (load, logs.read, timeline, lambda path: odds_kept.read([path], Tally())),
    ".toml": (load_airframe, load_field, load_hands),
    ".gpx": (logs.read,),
    ".igc": (logs.read,),
    ".nmea": (logs.read,),
    ".dxf": (lambda path: dxf.read(path, 1e-3),),
    ".svg": (lambda path: svg.read(path, 1e-3),),
}
OWN = {  # in the user's own folders
    lesson_log.path: lesson_log.kept,
    first_ten.path: lambda: first_ten.earlier("pantry"),
    own_hands.path: own_hands.kept,
    preferences.path: preferences.kept,
}
RUNS = {"exec", "compile", "marshal.loads", "pickle.find_class", "os.system", "subprocess.Popen"}


@pytest.fixture(scope="module")
def runs():
    """`runs(what)`: what Python itself runs, loads or unpickles while `what` is called, of RUNS."""
    found: list[str] = []
    watched = [False]

    def note(event: str, _arguments) -> None:
        if watched[0] and event in RUNS:
            found.append(event)

    def during(what) -> set[str]:
        found.clear()
        watched[0] = True
        try:
            what()
        finally:
            watched[0] = False
        return set(found)

    sys.addaudithook(note)  # for good: there is no taking it away
    return during


def _tried(reader, *place) -> None:
    with contextlib.suppress(ConfigError, RecordError, TimelineError, DrawingError, ValueError):
        reader(*place)


def _read_all(content: bytes) -> None:
    """As each kind of file that the program reads."""
    for suffix, readers in READ.items():
        path = Path(f"crafted{suffix}")
        path.write_bytes(content)
        for reader in readers:
            _tried(reader, path)
    beside = Path("beside.csv")
    beside.write_text(f"{COLUMNS}\n")
    beside.with_suffix(".json").write_bytes(content)
    _tried(load, beside)
    for where, reader in OWN.items():
        where().parent.mkdir(parents=True, exist_ok=True)
        where().write_bytes(content)
        _tried(reader)


def test_nothing_that_is_read_is_run(tmp_path, monkeypatch, runs):
    """No pickle, code, script or markup in any kind of file."""
    for name in ("config", "data"):
        place = tmp_path / name
        monkeypatch.setattr(f"platformdirs.user_{name}_path", lambda *a, at=place, **k: at)
    told = runs(lambda: (eval("1 + 1"), pickle.loads(pickle.dumps(Path("a")))))
    assert {"exec", "compile", "pickle.find_class"} <= told
    for content in HOSTILE:
        _read_all(content)  # brings in what is imported only now
        assert runs(lambda each=content: _read_all(each)) == set(), content[:80]
    assert not Path("proof").exists()
