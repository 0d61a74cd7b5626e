"""`firstthrow film`: a picture or a film of a recorded flight, with or without a display."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from firstthrow.scenes.commands.output import add_force, problems
from firstthrow.scenes.commands.replay import add_record, load_replay
from firstthrow.scenes.commands.shared import DONE, FAILED, say
from firstthrow.scenes.commands.view_options import add_looks, seconds, settings

VIEWS = {
    "standing": "standing",
    "towed": "towed",
    "riding": "riding",
    "tail": "tail",
    "free": "free",
    # as they were called before
    "chase": "towed",
    "nose": "riding",
}


def add(commands) -> None:
    """Adds the command's words to the command line."""
    film = commands.add_parser(
        "film",
        help="picture or film of a recorded flight",
        description="Draw a recorded flight into a file; needs no display.",
    )
    film.set_defaults(command=run)
    add_record(film)
    add = film.add_argument
    add("--out", metavar="FILE", help="PNG picture, MP4 or GIF film by its suffix (RECORD.mp4)")
    add_force(film)
    add("--all-views", metavar="DIR", help="instead, a PNG picture of every view and every page")
    told = "{" + ",".join(dict.fromkeys(VIEWS.values())) + "}"
    add(
        "--view",
        choices=tuple(VIEWS),
        metavar=told,
        default="standing",
        help="from where (standing)",
    )
    add(
        "--from",
        dest="start",
        metavar="S",
        type=seconds,
        help="first second after the release, or the one of a picture",
    )
    add("--to", dest="end", metavar="S", type=seconds, help="last second (the record's)")
    add("--size", metavar="WxH", type=picture_size, default=(1280, 720), help="pixels (1280x720)")
    add("--plain", action="store_true", help="without instruments")
    add_looks(film)


def picture_size(text: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{2,4})x(\d{2,4})", text)
    size = (int(match[1]), int(match[2])) if match else (0, 0)
    if not (160 <= size[0] <= 4096 and 120 <= size[1] <= 4096):
        raise argparse.ArgumentTypeError(f"'{text}': wanted WIDTHxHEIGHT, 160x120 to 4096x4096")
    return size[0] - size[0] % 2, size[1] - size[1] % 2


def run(chosen: argparse.Namespace) -> int:
    """Writes the file or the folder of pictures."""
    from firstthrow.scenes.window.film import NoPictures, check_encoder, prepare

    if chosen.out or chosen.all_views:  # before anything is read
        _check_room(chosen, Path(chosen.out or ""))
    replay, path = load_replay(chosen)
    out = Path(chosen.out) if chosen.out else Path(chosen.record).with_suffix(".mp4")
    _check_room(chosen, out)
    start, end = _span(chosen, replay, out)
    try:
        if out.suffix.lower() == ".mp4" and not chosen.all_views:
            check_encoder()
        prepare()
        app = _open(chosen, replay, path)
    except NoPictures as error:
        say(str(error))
        return FAILED
    try:
        if chosen.all_views:
            return _write_views(app, Path(chosen.all_views), chosen, replay)
        _write_film(app, out, start, end, chosen.mute)
    finally:
        app.close()
    return DONE


def _check_room(chosen: argparse.Namespace, out: Path) -> None:
    """Raises RecordError where the film or the pictures would write over something."""
    from firstthrow.scenes.window.film import SUFFIXES
    from firstthrow.sim.flight.record import RecordError

    folder = Path(chosen.all_views) if chosen.all_views else None
    wrong = [] if folder else problems("--out", str(out), tuple(SUFFIXES), chosen.force)
    if folder and folder.is_dir() and any(folder.iterdir()) and not chosen.force:
        wrong = [f"--all-views {folder}: is not empty; --force writes over what is there"]
    if wrong:
        raise RecordError("\n".join(wrong))


def _span(chosen: argparse.Namespace, replay, out: Path) -> tuple[float, float]:
    """First and last second of the file. Raises RecordError when there is nothing between."""
    from firstthrow.scenes.window.film import still_time
    from firstthrow.sim.flight.record import RecordError

    still = out.suffix.lower() == ".png" or chosen.all_views
    start = chosen.start
    if start is None:
        start = still_time(replay) if still else replay.start
    end = start if still else replay.end if chosen.end is None else chosen.end
    if start < replay.start - 1e-6 or end > replay.end + 0.05 or end < start:
        raise RecordError(
            f"{chosen.record}: it has {replay.start:.1f} to {replay.end:.1f} s; "
            f"asked for {start:g} to {end:g} s"
        )
    return start, min(end, replay.end)


def _open(chosen: argparse.Namespace, replay, path: Path):
    """The window, which nobody sees. Raises NoPictures."""
    from firstthrow.scenes.window.film import NoPictures
    from firstthrow.scenes.window.missing import missing

    looks = settings(chosen, unseen=True)
    try:
        from firstthrow.scenes.window.replay_window import ReplayApp

        app = ReplayApp(replay, path, chosen.size, looks)
    except Exception as error:  # each system and driver has its own
        lost = missing(error)
        if lost:
            raise NoPictures(f"Nothing can be drawn: {lost}.") from error
        reason = str(error).strip() or type(error).__name__
        raise NoPictures(f"No OpenGL 3.3 to draw with: {reason}") from error
    app.with_timeline = False
    app.instruments = not chosen.plain
    app.eyes.free = chosen.view == "free"
    app.view_name = "standing" if app.eyes.free else VIEWS[chosen.view]
    return app


def _write_film(app, out: Path, start: float, end: float, mute: bool) -> None:
    from tqdm import tqdm

    from firstthrow.scenes.window.film import RATES, pictures, soundtrack, write

    rate = RATES.get(out.suffix.lower(), 30)
    whole = round((end - start) * rate) + 1
    with tqdm(total=whole, unit="picture", disable=True if whole < 2 else None, leave=False) as bar:
        hears = out.suffix.lower() == ".mp4" and end > start and not mute
        sound = soundtrack(app, start, end) if hears else None
        count = write(pictures(app, start, end, rate), out, lambda _: bar.update(), sound)
    say(f"{out}: {count} pictures" if count > 1 else f"{out}")


def _write_views(app, folder: Path, chosen: argparse.Namespace, replay) -> int:
    from firstthrow.scenes.window.film import still_time
    from firstthrow.scenes.window.gallery import flight_pages, views

    folder.mkdir(parents=True, exist_ok=True)
    time = still_time(replay) if chosen.start is None else chosen.start
    for name in views(app, folder, time):
        say(str(folder / name))
    app.close()
    for name in flight_pages(replay.airframe, replay.field, folder, chosen.size):
        say(str(folder / name))
    return DONE
