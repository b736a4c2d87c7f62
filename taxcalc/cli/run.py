"""Runs one command and turns whatever happens into an exit code and a message: the only place that does.

0 done · 1 our own fault · 2 wrong command or option (by click) · 2 to 8 a refusal · 130 stopped, by Ctrl-C or SIGTERM.
"""

from __future__ import annotations

import atexit
import gc
import os
import signal
import sys
import tempfile
import threading
import traceback
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from taxcalc.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from types import FrameType

DONE, OUR_FAULT, STOPPED, SET_ASIDE = 0, 1, 130, 4
SHOWN: Final = 10
"""Complaints shown before the rest is only counted."""


def run_command(command: Callable[[], object]) -> int:
    """Run a command that gives its exit code (None is 0); wrong use of an option is left to click."""
    with _no_search_for_cycles(), _stopped_by_sigterm():
        return _run(command)


@contextmanager
def _stopped_by_sigterm() -> Iterator[None]:
    """Let SIGTERM end a command as Ctrl-C does, so that temporary folders go; a second one ends it at once.

    Python hands signals to its main thread only; in another one nothing is changed.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, _frame: FrameType | None) -> None:
        signal.signal(number, signal.SIG_DFL)
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, signal.SIG_DFL if before is None else before)


@contextmanager
def _no_search_for_cycles() -> Iterator[None]:
    """Put Python's search for cyclic garbage off while a command runs.

    A run makes few cycles and holds its lines in arrays, which go as soon as nobody needs them; the search through all
    modules and tables, again and again and once more at the end of the process, took 6 % of the time of a long review.
    """
    was_on = gc.isenabled()
    gc.disable()
    atexit.unregister(gc.freeze)
    atexit.register(gc.freeze)
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _run(command: Callable[[], object]) -> int:
    """Run a command and turn whatever ends it into an exit code."""
    try:
        code = command()
        sys.stdout.flush()
    except (click.ClickException, click.exceptions.Exit):
        raise
    except Refusal as refusal:
        tell(refusal)
        return refusal.exit_code
    except (KeyboardInterrupt, click.Abort):
        click.echo("Stopped.", err=True)
        return STOPPED
    except BrokenPipeError:
        _close_quietly()
        return DONE
    except Exception as error:  # noqa: BLE001 - the last line of defence: the user gets a sentence, we get the log
        tell_own_fault(error)
        return OUR_FAULT
    return code if isinstance(code, int) else DONE


def tell(refusal: Refusal) -> None:
    """Write the complaints of a refusal to stderr, the first ten of them."""
    complaints = (refusal.complaint, *refusal.more)
    for complaint in complaints[:SHOWN]:
        click.echo(printable(str(complaint)), err=True)
    if len(complaints) > SHOWN:
        click.echo(f"+ {len(complaints) - SHOWN} more", err=True)


def tell_written(path: object) -> None:
    """Name a file that was written, on stderr."""
    click.echo(printable(f"wrote {path}"), err=True)


def printable(text: str) -> str:
    """Escape what could steer a terminal; values come from files we do not trust."""
    return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in text)


def tell_own_fault(error: Exception) -> None:
    """Say that the program failed, and where the details are."""
    details = "".join(traceback.format_exception(error))
    where = _log(details)
    place = f"Details: {where}" if where else details
    click.echo(f"This is a fault of the program, not of your files. {place}", err=True)


def _log(details: str) -> Path | None:
    """Write the details to a new file in the user's state folder, else in the temporary folder."""
    state = os.environ.get("XDG_STATE_HOME") or os.environ.get("LOCALAPPDATA")
    for folder in (
        Path(state) if state else Path("~/.local/state").expanduser(),
        Path(tempfile.gettempdir()),
    ):
        with suppress(OSError):
            home = folder / "taxcalc"
            home.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(prefix="fault-", suffix=".log", dir=home, text=True)
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(details)
            return Path(name)
    return None


def _close_quietly() -> None:
    """Point stdout at nothing, so that Python does not complain about the closed pipe while it ends."""
    with suppress(OSError, ValueError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, sys.stdout.fileno())
