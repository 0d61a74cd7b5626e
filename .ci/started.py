"""What the folder for people without Python starts: a double click flies the first airframe, and
so does a file of an airframe that is dropped on it; with words it is `firstthrow`."""

import multiprocessing
import os
import sys
from pathlib import Path

from firstthrow.scenes.commands.cli import main


def asked(words: list[str]) -> list[str]:
    """The words of the command line; of a double click or a dropped file, those that fly it."""
    dropped = [str(Path(word).resolve()) for word in words if word.lower().endswith(".toml")]
    if words and (len(words) > 1 or not dropped):
        return words
    beside = Path(sys.executable).parent
    os.chdir(beside if os.access(beside, os.W_OK) else Path.home())
    print(f"Flights are kept in {Path('flights').resolve()}", file=sys.stderr)
    return ["fly", *dropped]


def console_goes_with_us() -> bool:
    """Whether Windows opened the console for this program alone."""
    if sys.platform != "win32":
        return False
    import ctypes

    return ctypes.windll.kernel32.GetConsoleProcessList((ctypes.c_uint * 2)(), 2) == 1


if __name__ == "__main__":
    multiprocessing.freeze_support()  # the processes of `sweep` are this program, started anew
    try:
        sys.exit(main(asked(sys.argv[1:])))
    finally:
        if console_goes_with_us():
            input("Press Enter to close.")
