"""The output folder: built beside its place and moved in whole, or not at all; no other file is touched."""

from __future__ import annotations

import os
import stat
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Protocol

from taxcalc.messages import refuse
from taxcalc.reports import marker
from taxcalc.reports.csv_files import write_csv
from taxcalc.reports.json_file import json_text
from taxcalc.reports.lock import only_run

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from taxcalc.caution import Figures

TABLES: Final = ("places", "thresholds", "set_aside")
FILES: Final = ("record.json", *(f"{name}.csv" for name in TABLES), "review.txt", "page.html")
INTAKE_FILES: Final = ("intake.txt", "set_aside.csv")
STANDARD_INPUT: Final = "-"


class Assessed(Protocol):
    """What the folder is written from."""

    @property
    def inputs(self) -> list[Path]:
        """Give the input files, which must not lie in the folder."""

    def record(self) -> dict[str, Any]:
        """Give the record."""

    def usual_order(self) -> dict[str, Any] | None:
        """Give an order from the middle of the period."""

    def figures(self, name: str) -> Figures:
        """Give one of `TABLES`."""


def write_folder(assessment: Assessed, out: Path) -> list[Path]:
    """Write record, tables, review, page and marker into the folder; give their paths. Raises as `publish` does."""

    def fill(new: Path) -> None:
        from taxcalc.reports.page import review_page  # noqa: PLC0415 - heavy
        from taxcalc.reports.terminal import review_text  # noqa: PLC0415 - heavy

        record, tables = assessment.record(), {name: assessment.figures(name) for name in TABLES}
        write_text(new / "record.json", json_text(record))
        for name, figures in tables.items():
            write_csv(figures, new / f"{name}.csv")
        write_text(new / "review.txt", review_text(record))
        write_text(new / "page.html", review_page(record, tables["set_aside"], assessment.usual_order()))

    return publish(out, FILES, fill, assessment.inputs)


def publish(
    out: Path, names: Iterable[str], fill: Callable[[Path], None], inputs: Iterable[Path]
) -> list[Path]:
    """Let `fill` write the named files into a new folder, add the marker, and move it to its place; give the paths.

    A folder that is there is replaced only if it is empty or holds nothing but unchanged files of an earlier
    run. Raises `Refusal`: E601 (a file has that name), E602 to E605 (see `marker.require_ours`), E606 (an
    input file lies in the folder), E609 (cannot be written, disk full), E801 (another run holds it). What was
    there before is then as it was.
    """
    place, written = Path(os.path.realpath(out)), (*names, marker.NAME)
    _keep_off_inputs(place, out, inputs)
    with _writable(out):
        place.parent.mkdir(parents=True, exist_ok=True)
        with only_run(place):
            _finish_earlier_run(place, out, written)
            _require_free(place, out)
            new = _beside(place, "new")
            try:
                new.mkdir()
                fill(new)
                marker.write_marker(new, written[:-1])
                for name in written:
                    _to_disk(new / name)
                _move_in(new, place, out)
            finally:
                _clear(new, written)
    return [out / name for name in written]


@contextmanager
def _writable(out: Path) -> Iterator[None]:
    """Turn what the system refuses into E609 with the path."""
    try:
        yield
    except OSError as error:
        detail = (error.strerror or str(error)).lower()
        raise refuse("E609", file=str(out), detail=detail) from error


def _keep_off_inputs(place: Path, out: Path, inputs: Iterable[Path]) -> None:
    """Refuse a folder that is, or holds, a file that was read."""
    for path in inputs:
        if str(path) != STANDARD_INPUT and Path(os.path.realpath(path)).is_relative_to(place):
            raise refuse("E606", file=str(out), value=str(path))


def _require_free(place: Path, out: Path) -> None:
    """Refuse a place that holds anything but our own unchanged files."""
    if not place.exists():
        return
    if not place.is_dir():
        raise refuse("E601", file=str(out))
    marker.require_ours(place, out)


def _beside(place: Path, what: str) -> Path:
    """Name our own folder beside the place: `new` while it is built, `old` while the two change places."""
    return place.parent / f".{place.name}.taxcalc-{what}"


def write_text(path: Path, text: str) -> None:
    """Write text as UTF-8 with plain line ends."""
    path.write_text(text, encoding="utf-8", newline="\n")


def _to_disk(path: Path) -> None:
    """Wait until the file is on the disk, so that a full disk shows before the folders change places."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _move_in(new: Path, place: Path, out: Path) -> None:
    """Put the new folder in its place; the earlier one is removed last, and put back if anything fails."""
    if not place.exists():
        new.rename(place)
        return
    new.chmod(stat.S_IMODE(place.stat().st_mode))
    old = _beside(place, "old")
    place.rename(old)
    try:
        marker.require_ours(old, out)
        new.rename(place)
    except BaseException:
        old.rename(place)
        raise
    _clear(old, marker.names(old))


def _finish_earlier_run(place: Path, out: Path, written: Iterable[str]) -> None:
    """Clear up after a run that was killed: put back what it had moved aside, drop what it had begun."""
    old = _beside(place, "old")
    if old.exists() and not place.exists():
        old.rename(place)
    if old.exists():
        marker.require_ours(old, out)
        _clear(old, marker.names(old))
    _clear(_beside(place, "new"), (*written, *FILES, *INTAKE_FILES))


def _clear(folder: Path, names: Iterable[str]) -> None:
    """Remove a folder of ours with the files we wrote; one that holds anything else stays."""
    with suppress(OSError):
        for name in (*names, marker.NAME):
            (folder / name).unlink(missing_ok=True)
        folder.rmdir()
