"""One CSV file, start to end: hashed while it is read, parsed on two threads, gathered in its own order."""

from __future__ import annotations

import hashlib
import os
from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING

from taxcalc.intake.block import read_block
from taxcalc.intake.csv_blocks import BrokenQuotes, NotUtf8, Piece, parse, pieces
from taxcalc.intake.gather import in_order
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from typing import BinaryIO

    from taxcalc.intake.block import Outcome
    from taxcalc.intake.csv_blocks import Layout
    from taxcalc.intake.gather import Gathering
    from taxcalc.intake.reading import Setup

_BEHIND = 3


class HashedFile:
    """A binary file whose bytes are hashed once and in order, on a thread, however often they are read."""

    def __init__(self, file: BinaryIO) -> None:
        """Begin at the first byte."""
        self._file, self._at, self._hashed = file, 0, 0
        self.size = os.fstat(file.fileno()).st_size
        self._sha256 = hashlib.sha256()
        self._pool = ThreadPoolExecutor(1)
        self._waiting: deque[Future[None]] = deque()

    def seek(self, at: int) -> None:
        """Go to a byte; what lies between is read, so that the hash has no gap."""
        self._at = self._hashed
        self._file.seek(self._at)
        while self._at < at and self.read(min(at - self._at, 1 << 20)):
            pass
        self._at = at
        self._file.seek(at)

    def read(self, size: int) -> bytes:
        """Read bytes and hash those that are new."""
        data = self._file.read(size)
        new = data[max(0, self._hashed - self._at) :]
        self._at += len(data)
        if new:
            self._hashed = self._at
            self._waiting.append(self._pool.submit(self._sha256.update, new))
        while len(self._waiting) > _BEHIND:
            self._waiting.popleft().result()
        return data

    def finish(self) -> str:
        """Give the SHA-256 of the bytes read."""
        self._pool.shutdown(wait=True)
        return self._sha256.hexdigest()


def read_csv_file(file: BinaryIO, name: str, layout: Layout, setup: Setup, to: Gathering) -> tuple[str, int]:
    """Read a CSV file into the gathering: its SHA-256 and the number of rows. Raises E309, E312, E313."""
    hashed = HashedFile(file)
    try:
        rows = _read(hashed, name, layout, setup, to)
        return hashed.finish(), rows
    finally:
        hashed.finish()


def _read(file: HashedFile, name: str, layout: Layout, setup: Setup, to: Gathering) -> int:
    """Read all pieces; where a cut was doubtful, go on from there with proved cuts."""
    row, at, rows, prove = layout.header_row, layout.data_at, 0, False
    while True:
        cut = pieces(file, layout, at, prove=prove, size=file.size)
        for piece, outcome in in_order(lambda piece: _outcome(piece, layout, setup), cut):
            if isinstance(piece, BrokenQuotes):
                raise refuse("E312", file=name, row=row + 1)
            if isinstance(outcome, BrokenQuotes):
                at, prove = piece.at, True
                break
            if isinstance(outcome, NotUtf8):
                raise refuse("E309", file=name, row=row + outcome.records + 1, byte=f"{outcome.byte:02X}")
            to.take(outcome, row, name)
            row, rows = row + outcome.records, rows + outcome.rows
        else:
            return rows


def _outcome(piece: Piece | BrokenQuotes, layout: Layout, setup: Setup) -> Outcome | BrokenQuotes | NotUtf8:
    """Parse and read one piece; what is wrong with its bytes is a result, told in the order of the file."""
    if isinstance(piece, BrokenQuotes):
        return piece
    try:
        return read_block(parse(piece, layout), setup)
    except (BrokenQuotes, NotUtf8) as found:
        return found
