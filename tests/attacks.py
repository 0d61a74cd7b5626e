"""What a careless or a hostile hand may give to the program, and what must hold all the same.

Hypothesis strategies for config files, airframes, command lines, records with their sidecars, and
logs; each with the check that it is survived. The tests take a short seeded share of them,
`benchmarks/attack.py` as many as wanted.
"""

from __future__ import annotations

import contextlib
import copy
import io
import json
import math
import re
import tomllib
from functools import lru_cache
from pathlib import Path

import numpy as np
from hypothesis import strategies as some

from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.flight.replay import Replay, described
from firstthrow.sim.build.model import Model, build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.strips import CannotFly
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError, find, load_airframe, load_field
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.describe.keys import annotation_at, quantity_of
from firstthrow.sim.describe.notes import Log, Notes, Steady
from firstthrow.sim.describe.write import quantity_text
from firstthrow.sim.flight.flight import Flight, fly
from firstthrow.sim.flight.flown import flown as flown_part
from firstthrow.sim.flight.outcome import ENDINGS
from firstthrow.sim.flight.record import Record, Recorder, RecordError, flight_meta, load
from firstthrow.sim.flight.refly import NoSource, source
from firstthrow.sim.kernels import batch, integrate
from firstthrow.sim.kernels.gusts import NOISE_SIZE
from firstthrow.sim.kernels.human import HANDS
from firstthrow.sim.kernels.layout import TOUCHING
from firstthrow.sim.learn.compare import names_of, table
from firstthrow.sim.learn.cure import cured
from firstthrow.sim.learn.debriefing import Debrief
from firstthrow.sim.learn.log_winds import stretches
from firstthrow.sim.learn.logged import explained
from firstthrow.sim.learn.logs import read as read_log
from firstthrow.sim.learn.sentence import verdict
from firstthrow.sim.learn.why import lines as reasons
from firstthrow.sim.learn.why import why
from firstthrow.sim.paper.debrief import write as draw
from firstthrow.sim.units import read

NAMES = ("pantry", "glasshouse", "pantry-swept", "allotment")
FIELDS = ("water-meadow", "water-meadow-breeze")
JUNK = some.sampled_from(
    [
        "",
        "''",
        "true",
        "-1",
        "0",
        "1e400",
        "nan",
        "[]",
        "{}",
        "[[[[[[[[]]]]]]]]",
        '"0 mm"',
        '"-5 mm"',
        '"1e9 mm"',
        '"1,5 kg"',
        '"\\u001b[31mred"',
        '"$\\\\frac{1}{$"',
        '"../../etc"',
        '"' + "x" * 100_000 + '"',
        "{ a = 1 }",
        '["0 mm", "0 mm"]',
        "1979-05-27",
        '"elevon"',
        "\x00",
        "\ufeff",
    ]
)
LINE = re.compile(r"^(\s*[\w.\"-]+\s*=\s*)(.*)$")


@lru_cache
def shipped_text(name: str) -> str:
    return find("airframes", name).read_text(encoding="utf-8")


@lru_cache
def load_shipped(name: str) -> Airframe:
    return load_airframe(find("airframes", name))


@lru_cache
def a_field(name: str = FIELDS[0]) -> Field:
    return load_field(find("fields", name))


@some.composite
def broken_configs(draw) -> str:
    """An airframe's file with a few things wrong with its text."""
    lines = shipped_text(draw(some.sampled_from(NAMES))).split("\n")
    for _ in range(draw(some.integers(1, 4))):
        at = draw(some.integers(0, len(lines) - 1))
        how = draw(some.sampled_from(["value", "number", "delete", "twice", "junk", "cut", "move"]))
        pair = LINE.match(lines[at])
        if how == "value" and pair:
            lines[at] = pair[1] + draw(JUNK)
        elif how == "number":
            power = draw(some.integers(-3, 3))
            lines[at] = re.sub(r"(\d[\d.]*)", rf"\g<1>e{power}", lines[at], count=1)
        elif how == "delete":
            del lines[at]
        elif how == "twice":
            lines.insert(at, lines[at])
        elif how == "junk":
            lines.insert(at, draw(some.text(max_size=40)))
        elif how == "cut":
            lines[at] = lines[at][: draw(some.integers(0, len(lines[at])))]
        else:
            lines.insert(draw(some.integers(0, len(lines) - 1)), lines.pop(at))
        lines = lines or [""]
    return "\n".join(lines)


def told_plainly(problems: list[str]) -> None:
    assert problems
    for problem in problems:
        assert problem.isprintable(), repr(problem)
        assert len(problem) < 1000, problem[:200]


def config_is_survived(text: str, path: Path) -> str:
    """Refused in words, or an airframe that can be built, or one that is said not to fly."""
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        airframe = load_airframe(path)
    except ConfigError as error:
        told_plainly(error.problems)
        return "refused"
    return "built" if can_fly(Alike(airframe, a_field())) else "cannot fly"


class Alike:
    """An airframe in a field, equal to any other two that say the same."""

    def __init__(self, airframe: Airframe, field: Field) -> None:
        self.airframe, self.field = airframe, field
        self.said = airframe.model_dump_json() + field.model_dump_json()

    def __hash__(self) -> int:
        return hash(self.said)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Alike) and self.said == other.said


@lru_cache(maxsize=512)
def can_fly(alike: Alike) -> bool:
    """Whether it can be built, asked once of all that say the same; None is said in words."""
    return built(alike.airframe, alike.field) is not None


def built(airframe: Airframe, field: Field | None = None) -> Model | None:
    """The model, all of it finite; None when it is said, in words, that it cannot fly."""
    try:
        model = build(airframe, field or a_field())
    except (CannotFly, ValueError) as error:
        told_plainly([str(error)])
        return None
    record = model.record
    for name in record.dtype.names:
        if name != "root_strength":  # a sheet that cannot break
            assert np.isfinite(record[name]).all(), name
    return model


@lru_cache
def quantities(name: str) -> list:
    """(path, SI value, quantity) of every quantity in a shipped airframe's file."""

    def look(tree, path):
        for key, value in tree.items():
            here = (*path, key)
            if isinstance(value, dict):
                yield from look(value, here)
            elif isinstance(value, str):
                quantity = quantity_of(annotation_at(Airframe, here))
                if quantity:
                    yield here, read(value, quantity.kind), quantity

    return list(look(tomllib.loads(shipped_text(name)), ()))


@some.composite
def possible_airframes(draw, factor: float = 100.0) -> tuple[str, tuple[str, ...]]:
    """A shipped airframe and overrides: up to a dozen quantities a factor off, within the door."""
    name = draw(some.sampled_from(NAMES))
    chosen = draw(some.lists(some.sampled_from(quantities(name)), min_size=1, max_size=12))
    overrides = []
    for path, value, quantity in chosen:
        low, high = quantity.bounds.low, quantity.bounds.high
        if value > 0.0:
            value *= factor ** draw(some.floats(-1.0, 1.0))
        else:
            value = draw(some.floats(-0.5, 0.5))
        value = min(max(value, low), high)
        overrides.append(f'{".".join(path)}="{quantity_text(value, quantity.kind)}"')
    return name, tuple(overrides)


def launched(model: Model, airframe: Airframe, seed: int, count: int, seconds: float = 4.0):
    """(count,) RESULT of launches, half of them by hands that were made for no airframe: wild
    throws, gusts, any throttle, crooked surfaces; a third let go where they stand. Each ends after
    `seconds`, or a half, a quarter or an eighth of that: most of what goes wrong goes wrong at
    once."""
    random = np.random.default_rng(seed)
    lag = round(max((s.delay for s in airframe.servos.values()), default=0.0) / integrate.STEP)
    frames = [round(60.0 * seconds / part) for part in (8, 4, 2, 1)]
    space = batch.space(lag, max(frames))
    settings = [batch.Setting(most, 0.0, 5.0, lag) for most in frames]
    rows, longest = batch.noise_rows(max(frames)), max(frames)
    noise = random.standard_normal((2 * rows, NOISE_SIZE))
    deviates = random.standard_normal((2 * longest, 2))
    cases, hands = wild_cases(random, airframe, count), wild_hands(random, count)
    found = np.zeros(count, batch.RESULT)
    for k in range(count):
        air, hand = random.integers(rows), random.integers(longest)
        batch.fly_case(
            model.body,
            settings[random.integers(len(settings))],
            cases[k],
            hands[k],
            noise[air : air + rows],
            deviates[hand : hand + longest],
            space,
            found[k],
        )
    return found


def wild_cases(random: np.random.Generator, airframe: Airframe, count: int) -> np.recarray:
    """(count,) CASE"""
    cases, hand = np.zeros(count, batch.CASE).view(np.recarray), airframe.launch.by_hand
    cases.speed, cases.height = hand.speed * random.uniform(0.0, 1.5, count), hand.height
    cases.pitch_up, cases.bank = random.uniform(-0.5, 0.8, count), random.uniform(-1.0, 1.0, count)
    cases.slip = random.uniform(-0.5, 0.5, count)
    cases.roll_rate = random.uniform(-3.0, 3.0, count)
    cases.throttle = random.choice([0.0, hand.throttle, 1.0], count)
    cases.built = random.uniform(-0.3, 0.3, cases.built.shape)
    cases.human = np.arange(count) % 2 == 1
    cases.wheels = random.random(count) < 1.0 / 3.0
    return cases


def wild_hands(random: np.random.Generator, count: int) -> np.recarray:
    """(count,) HANDS that were tuned to nothing: too early, too late, too strong, the wrong way
    round."""
    hands = np.zeros(count, HANDS).view(np.recarray)
    for name in HANDS.names:
        hands[name] = random.uniform(-1.5, 1.5, hands[name].shape)
    hands.delay, hands.lag = random.uniform(0.0, 0.5, (2, count))
    hands.stick_speed = random.uniform(0.0, 20.0, count)
    hands.dead_zone = random.uniform(0.0, 0.3, count)
    for name in ("remnant_time", "reach", "flare_height", "stall_speed"):  # what is divided by
        hands[name] = random.uniform(0.05, 5.0, count)
    return hands


def flown_live(model: Model, airframe: Airframe, field: Field, seed: int, seconds: float) -> str:
    """One throw flown as the window flies it, sticks jerked about: how it ends."""
    random = np.random.default_rng(seed)
    flight = Flight(airframe, field, "hand", model=model, seed=seed)
    flight.release()
    for _ in range(round(60.0 * seconds)):
        if flight.outcome:
            break
        stick = random.uniform(-1.0, 1.0, 4)
        flight.advance(1.0 / 60.0, Sticks(stick[0], stick[1], stick[2], abs(stick[3])))
        assert all(math.isfinite(value) for value in flight.reading())
    assert flight.outcome is None or flight.outcome.text.isprintable()
    return flight.outcome.word.value if flight.outcome else "flying"


def launches_are_sound(found: np.ndarray) -> list[str]:
    """Every launch ends in a known word with finite figures; the words."""
    words = []
    for row in found:
        word = int(row["word"])
        assert word == integrate.FLYING or word in ENDINGS
        for name in found.dtype.names:
            assert math.isfinite(row[name]), name
        words.append("flying" if word == integrate.FLYING else ENDINGS[word].value)
    return words


def glide_is_sound(model: Model, airframe: Airframe, seconds: float = 4.0) -> str:
    """Without power and in still air no sixtieth of a second gains energy, until it touches
    something: height, motion and rotation, the air carried along included; `model` of still
    air. The word that it ends with."""
    flight = Flight(airframe, STANDARD, "hand", model=model)
    flight.state[2] -= 50.0  # [m] further up than its hand
    flight.release()
    record, before = model.record, math.inf
    weight, mass = record.mass * record.gravity, np.linalg.inv(record.mass_inverse)
    for _ in range(round(60.0 * seconds)):
        if flight.outcome or flight.report[TOUCHING] > 0.5:
            break
        motion = flight.state[7:13]
        height = 0.5 * motion @ mass @ motion / weight - flight.state[2]
        assert math.isfinite(height)
        assert height < before + 1e-4, f"{height - before} m gained after {flight.time} s"
        before = height
        flight.advance(1.0 / 60.0, Sticks())
    assert all(math.isfinite(value) for value in flight.reading())
    assert flight.outcome is None or flight.outcome.text
    return flight.outcome.word.value if flight.outcome else "flying"


COMMANDS = {
    "fly": ("--field", "--hands", "--launch", "--pilot", "--fault", "--seconds", "--seed"),
    "weigh": ("--margin", "--at", "--strip", "--plot"),
    "sweep": ("--vary", "--result", "--csv", "--plot"),
    "trim": ("--set",),
    "polar": ("--up", "--plot"),
    "power": ("--measured", "--want-thrust", "--want-speed"),
    "odds": ("--flights", "--seconds", "--vary", "--scatter", "--pilot", "--seed", "--want"),
    "directions": ("--fault", "--plot"),
    "benchsheet": ("--out", "--paper"),
    "debrief": ("--against", "--out"),
    "replay": ("--from", "--airframe"),
    "film": ("--out", "--view", "--from", "--to", "--size"),
    "new": ("--from", "--scale", "--sheet", "--kv", "--cells"),
    "reconcile": ("--notes", "--log"),
    "sticks": ("--device",),
}
VALUES = some.one_of(
    some.sampled_from(
        ["", "nan", "inf", "-1", "0", "1e400", "$x$", "\x1b[31m", "..", "/", "a=b", "x" * 5000]
    ),
    some.text(some.characters(exclude_characters="\x00", exclude_categories=("Cs",)), max_size=20),
)


@some.composite
def broken_lines(draw) -> list[str]:
    """A command with options that make no sense, on a file that is not there: nothing is flown."""
    command = draw(some.sampled_from(sorted(COMMANDS)))
    words = [command]
    if command != "sticks":
        words.append(draw(some.sampled_from(["gone.toml", "gone.csv", "no such", "\x1b[2J"])))
    for option in draw(some.lists(some.sampled_from(COMMANDS[command]), max_size=3)):
        words += [option, draw(VALUES)]
    return words


def line_is_survived(words: list[str]) -> str:
    """Ends by itself with one of the exit codes, in words that a terminal takes for words."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code = main(words)
        except SystemExit as leaving:
            code = leaving.code
    assert code in (0, 1, 2, 3), code
    assert code == 0 or err.getvalue()
    assert "Traceback" not in err.getvalue()
    for said in (out.getvalue(), err.getvalue()):
        assert said.replace("\n", "").replace("\t", "").isprintable(), repr(said)
    return str(code)


@lru_cache
def flown(folder: str) -> tuple[str, dict]:
    """The text of a short record and its sidecar."""
    airframe, field = (
        load_airframe(find("airframes", "pantry")),
        load_field(find("fields", FIELDS[0])),
    )
    recorder = Recorder(
        Path(folder) / "base.csv", airframe, flight_meta(field, launch="hand", pilot="hands-off")
    )
    flight = fly(airframe, field, lambda reading: Sticks(throttle=0.6), 0.7, record=recorder)
    recorder.close(flight.end)
    text = recorder.path.read_text(encoding="ascii")
    return text, json.loads(recorder.sidecar.read_text(encoding="utf-8"))


CELLS = ("nan", "inf", "-inf", "1e308", "-1e9", "", "x", "0x1", "1_0", "９", "\x00", "1,2", "'")
LEAVES = (None, True, -1, 0, 1e308, "", "x", "\x1b[31m", [], {}, [[]], {"a": 1}, "y" * 10_000)


@some.composite
def broken_records(draw, folder: str) -> tuple[bytes, bytes]:
    """A record and its sidecar with a few things wrong in either."""
    text, meta = flown(folder)
    lines, meta = text.split("\n"), copy.deepcopy(meta)
    for _ in range(draw(some.integers(0, 2))):
        at = draw(some.integers(0, len(lines) - 1))
        cells = lines[at].split(",")
        how = draw(some.sampled_from(["cell", "column", "cut", "delete", "twice", "swap"]))
        if how == "cell":
            cells[draw(some.integers(0, len(cells) - 1))] = draw(some.sampled_from(CELLS))
            lines[at] = ",".join(cells)
        elif how == "column":
            k, cell = draw(some.integers(0, 40)), draw(some.sampled_from(CELLS))
            lines = [
                ",".join(cell if j == k else c for j, c in enumerate(line.split(",")))
                for line in lines
            ]
        elif how == "cut":
            lines = lines[: at + 1]
            lines[at] = lines[at][: draw(some.integers(0, len(lines[at])))]
        elif how == "delete":
            del lines[at]
            lines = lines or [""]
        elif how == "twice":
            lines.insert(at, lines[at])
        else:
            lines[0] = lines[0][::-1]
    for _ in range(draw(some.integers(0, 2))):
        here = meta
        while True:
            key = draw(some.sampled_from(sorted(here)))
            if isinstance(here[key], dict) and here[key] and draw(some.integers(0, 4)):
                here = here[key]
                continue
            break
        how = draw(some.sampled_from(["value", "delete", "rename"]))
        if how == "value":
            here[key] = copy.deepcopy(draw(some.sampled_from(LEAVES)))  # it may be changed next
        elif how == "rename":
            here[draw(some.sampled_from(["x", "", "\x1b[31m", key + " "]))] = here.pop(key)
        else:
            del here[key]
        if not meta:
            break
    side = json.dumps(meta).encode()
    if not draw(some.integers(0, 9)):
        side = draw(
            some.sampled_from([b"", b"[]", b"null", b"[" * 100_000, b"\xff\xfe", b'{"a": NaN}'])
        )
    return "\n".join(lines).encode("utf-8"), side


def record_is_survived(found: tuple[bytes, bytes], folder: Path) -> str:
    """Refused in a sentence, or debriefed in strict JSON and plain words, by itself and against
    the record as it was, and shown again."""
    path = folder / "edited.csv"
    log_is_survived((path.suffix, found[0]), folder)  # somebody takes it for a logger's
    try:
        record = edited(found, path)
    except RecordError as error:
        told_plainly(str(error).split("\n"))
        return "refused"
    base = load(folder / "base.csv")
    for records in ([record], [record, base], [base, record], [record, base, record]):
        paths = [path] * len(records)
        debrief = Debrief(records[0], records, names_of(paths), [], [])
        json.dumps(debrief.answer(paths).as_json(), allow_nan=False)
        rows = table(records, debrief.names)
        told_plainly([verdict(record), *debrief.side_by_side, *map(" ".join, rows)])
    try:
        shown(record, path)
    except (NoSource, RecordError, ConfigError) as error:
        told_plainly(str(error).split("\n"))
        return "only told"
    return "shown"


def edited(found: tuple[bytes, bytes], path: Path) -> Record:
    """Read from its file. Raises RecordError."""
    path.write_bytes(found[0])
    path.with_suffix(".json").write_bytes(found[1])
    return load(path)


def shown(record: Record, path: Path) -> Replay:
    """Raises NoSource, RecordError, ConfigError with sentences."""
    origin = source(record)
    assert can_fly(Alike(origin.airframe, origin.field))
    airframe, field, _ = described(record, path, None, None)
    return Replay(record, airframe, field)


def cause_is_survived(found: tuple[bytes, bytes], folder: Path) -> str:
    """As far as it can be read, why it went so is said, what is put right, and drawn."""
    path = folder / "edited.csv"
    try:
        record = edited(found, path)
    except RecordError:
        return "refused"
    cause = why(record)
    said = reasons(cause) if cause else []
    cure = cured(record, cause)
    told_plainly([*said, *(cure.words if cure else []), "told"])
    debrief = Debrief(record, [record], names_of([path]), [], [], [cause], cure)
    json.dumps(debrief.answer([path]).as_json(), allow_nan=False)
    if len(flown_part(record).time) > 1:
        draw(debrief, path.with_suffix(".png"))
    return "told" if cause else "nothing to tell"


def film_is_survived(found: tuple[bytes, bytes], folder: Path) -> str:
    """As far as it can be shown, a picture of it is taken, without a display."""
    path = folder / "edited.csv"
    try:
        replay = shown(edited(found, path), path)
    except (NoSource, RecordError, ConfigError):
        return "not shown"
    from firstthrow.scenes.window import film

    film.prepare()
    from firstthrow.scenes.flight.settings import Settings
    from firstthrow.scenes.window.replay_window import ReplayApp

    app = ReplayApp(replay, path, (160, 120), Settings(mute=True, unseen=True))
    try:
        pictures = list(film.pictures(app, replay.start, replay.start, 1.0))
        pictures += film.pictures(app, replay.end, replay.end, 1.0)
    finally:
        app.close()
    assert all(np.ptp(picture) > 0 for picture in pictures)
    return "filmed"


def gpx() -> str:
    points = "".join(
        f'<trkpt lat="{52.0 + 1e-5 * k:.6f}" lon="-1.5"><ele>80</ele>'
        f"<time>2026-05-03T12:00:{k:02d}Z</time></trkpt>"
        for k in range(40)
    )
    return f'<?xml version="1.0"?><gpx version="1.1"><trk><trkseg>{points}</trkseg></trk></gpx>'


def nmea() -> str:
    lines = []
    for k in range(40):
        body = f"GPGGA,1200{k:02d}.00,520{k / 1000:.3f},N,00130.000,W,1,08,1.0,80.0,M,47.0,M,,"
        total = 0
        for sign in body:
            total ^= ord(sign)
        lines.append(f"${body}*{total:02X}")
    return "\n".join(lines)


def igc() -> str:
    fixes = [f"B1200{k:02d}520{k:04d}N00130000WA0008000080" for k in range(40)]
    return "\r\n".join(["AXXX001", "HFDTE030526", *fixes])


def telemetry() -> str:
    rows = [f"{k},{52.0 + 1e-5 * k:.6f},-1.5,80" for k in range(40)]
    return "\n".join(["time,latitude,longitude,height", *rows])


LOGS = {".gpx": gpx, ".nmea": nmea, ".igc": igc, ".csv": telemetry}
NOTES = Notes(steady={"there": Steady(start="2 s", end="30 s")})
LOG = Log(columns={name: {"name": name} for name in telemetry().split("\n")[0].split(",")})


@some.composite
def broken_logs(draw) -> tuple[str, bytes]:
    """A log with bytes changed, cut or put in, under one of the suffixes."""
    suffix = draw(some.sampled_from(sorted(LOGS)))
    content = bytearray(LOGS[suffix]().encode())
    for _ in range(draw(some.integers(0, 6))):
        at = draw(some.integers(0, max(0, len(content) - 1)))
        how = draw(some.sampled_from(["put", "cut", "change"]))
        if how == "put":
            junk = [b"\x00", b"<", b"&a;", b"," * 200_000, b"9" * 5000, b"\n", b"nan", b'"']
            content[at:at] = draw(some.sampled_from(junk))
        elif how == "cut":
            del content[at : at + draw(some.integers(1, 400))]
        elif content:
            content[at] = draw(some.integers(0, 255))
    return suffix, bytes(content)


def log_is_survived(found: tuple[str, bytes], folder: Path) -> str:
    path = folder / f"log{found[0]}"
    path.write_bytes(found[1])
    try:
        track = read_log(path, LOG)
    except ConfigError as error:
        told_plainly(error.problems)
        return "refused"
    assert np.isfinite(track.time).all()
    assert (np.diff(track.time) > 0.0).all()
    told = "read"
    try:
        told_plainly([*map(str, stretches(track, NOTES).stretches.values())])
        told = "fitted"
    except ConfigError as error:
        told_plainly(error.problems)
    try:
        said = explained(track, load_shipped("pantry"), a_field())
        json.dumps(said.as_json(), allow_nan=False)
        told_plainly([*said.remarks, *said.cannot_tell])
    except ConfigError as error:
        told_plainly(error.problems)
    return told
