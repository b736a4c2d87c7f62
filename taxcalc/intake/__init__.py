"""Order files to canonical lines: read strictly, in blocks, with nothing lost.

```
orders ─► layout, header ─► pieces of whole records ─► blocks of text ─► lines by bucket ─► spool
            │ column map        (two threads)           │ set aside
            └ refusals E3xx                             └ tie-out
```
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from taxcalc.intake.addresses import Addresses
from taxcalc.intake.column_map import ColumnMap, read_column_map
from taxcalc.intake.gather import Gathering
from taxcalc.intake.reading import Setup
from taxcalc.intake.sources import Source, opened, sources_of
from taxcalc.messages import refuse
from taxcalc.places_find import PlaceFinder
from taxcalc.set_aside import SetAside
from taxcalc.spool import Spool
from taxcalc.tie_out import TieOut

if TYPE_CHECKING:
    from collections.abc import Callable

    from taxcalc.tables.load import Tables

SPOOL_LIMIT: Final = 1_500_000
"""Lines (estimated from the size of the files) up to which the buckets stay in memory."""

_BYTES_A_LINE = 120
_LINES_A_BUCKET = 180_000
_MOST_BUCKETS = 1024
_HELD = 800_000


@dataclass(frozen=True)
class InputFile:
    """One input file: path as given, name shown, SHA-256 of the bytes read, rows read."""

    path: str
    name: str
    sha256: str
    rows: int


@dataclass
class Intake:
    """Everything read: lines in the spool, rows set aside, the tie-out, and where it came from.

    Lines point into `files`, `marketplaces` (0 is none) and `fulfillers` by position.
    """

    spool: Spool
    set_aside: SetAside
    tie_out: TieOut
    files: list[InputFile] = field(default_factory=list)
    fulfillers: list[str] = field(default_factory=list)
    marketplaces: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_orders(
    orders: Any,  # noqa: ANN401 - a path, a list of paths, "-" or a DataFrame
    *,
    tables: Callable[[], Tables],
    columns: Path | None = None,
    time_zone: str = "UTC",
    spool_limit: int = SPOOL_LIMIT,
) -> Intake:
    """Read orders into canonical lines.

    `orders` is a path, "-" for standard input, a DataFrame with canonical columns, or a list of them. `tables` gives
    the rate tables; it is asked, from several threads, when the first addresses are looked up, and may take its time.
    Raises refusals E3xx for a file that cannot be used as a whole and E54x for the column map.
    """
    column_map = read_column_map(Path(columns) if columns is not None else None)
    with sources_of(orders) as sources:
        size = sum(source.size for source in sources)
        intake, gathering = _begin(size // _BYTES_A_LINE, spool_limit, sources)
        try:
            addresses = Addresses(lambda: PlaceFinder(tables()))
            for number, source in enumerate(sources):
                mapped = source.columns or column_map
                setup = Setup(
                    number, time_zone, intake.spool.buckets, addresses, mapped.constant, mapped.values
                )
                _read_source(source, mapped, setup, gathering, intake)
        except BaseException:
            intake.spool.close()
            raise
    intake.spool.finish()
    intake.fulfillers, intake.marketplaces = (
        list(gathering.names["fulfiller"]),
        list(gathering.names["marketplace"]),
    )
    return intake


def _begin(lines: int, spool_limit: int, sources: list[Source]) -> tuple[Intake, Gathering]:
    """Choose the number of buckets and where they are kept."""
    buckets = min(_MOST_BUCKETS, 1 << max(0, (lines // _LINES_A_BUCKET)).bit_length())
    spool = Spool(buckets, None if lines < spool_limit else max(1, min(_HELD, spool_limit)))
    tie_out = TieOut()
    set_aside = SetAside([source.name for source in sources], tie_out, spool)
    return Intake(spool, set_aside, tie_out), Gathering(spool, set_aside, tie_out)


def _read_source(source: Source, columns: ColumnMap, setup: Setup, to: Gathering, intake: Intake) -> None:
    """Read one source, and refuse it where not one of its rows could be used (E306, E314)."""
    used = intake.spool.rows
    sha256, rows, notes = opened(source, columns, setup, to)
    if not rows:
        raise refuse("E306", file=source.name)
    intake.files.append(InputFile(source.path, source.name, sha256, rows))
    intake.notes.extend(notes)
    if intake.spool.rows == used:
        first = intake.set_aside.first(setup.file)
        raise refuse("E314", file=source.name, **first)
