"""Files really saved by a spreadsheet: our tables opened and saved again by LibreOffice without a window."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

OFFICE = shutil.which("soffice")
_LOCALE = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<oor:items xmlns:oor="http://openoffice.org/2001/registry">'
    '<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">'
    "<value>{locale}</value></prop></item></oor:items>"
)
UTF_8, WESTERN = 76, 1


@dataclass(frozen=True)
class Way:
    """How a person opens and saves a table: their language, and what they choose when they save."""

    locale: str
    language: int
    separator: str = ","
    as_shown: bool = True
    quote_all: bool = False
    detect: bool = True
    encoding: int = UTF_8
    as_text: tuple[int, ...] = ()

    @property
    def opening(self) -> str:
        """The filter with which the table is opened; `as_text` are the columns, from 1, imported as text."""
        columns = "/".join(f"{column}/2" for column in self.as_text)
        return f"CSV:44,34,{UTF_8},1,{columns},{self.language},false,{str(self.detect).lower()}"

    @property
    def saving(self) -> str:
        """The filter with which it is saved."""
        shown, quoted = str(self.as_shown).lower(), str(self.quote_all).lower()
        mark = ord(self.separator)
        return f"csv:Text - txt - csv (StarCalc):{mark},34,{self.encoding},1,,{self.language},{quoted},true,{shown}"


def saved(files: Iterable[Path], way: Way, where: Path) -> dict[str, bytes]:
    """Open every file, keep it as a sheet, open that, save it as CSV; give the bytes by file name."""
    user, sheets, out = (where / name for name in ("user", "sheets", "out"))
    settings = user / "user" / "registrymodifications.xcu"
    settings.parent.mkdir(parents=True)
    settings.write_text(_LOCALE.format(locale=way.locale), encoding="utf-8")
    _convert(user, "ods", files, sheets, f"--infilter={way.opening}")
    _convert(user, way.saving, sorted(sheets.iterdir()), out)
    return {path.name: path.read_bytes() for path in out.iterdir()}


def _convert(user: Path, kind: str, files: Iterable[Path], out: Path, *more: str) -> None:
    """Run LibreOffice once for all files."""
    profile = f"-env:UserInstallation={user.as_uri()}"
    start = [str(OFFICE), profile, "--headless", "--norestore", *more, "--convert-to", kind]
    done = subprocess.run(
        [*start, "--outdir", str(out), *map(str, files)],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert out.is_dir(), done.stderr
