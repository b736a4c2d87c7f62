"""README.txt of the folder: what each file is, by what it was made, from what, and what was not done."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from taxcalc.handoff.book import PICTURES_TAB

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.handoff.controls import Control
    from taxcalc.handoff.sheet import Sheet

FILES = {
    "exposure.xlsx": "the workpapers, one table a sheet; totals are live formulas beside the program's own figures",
    "A-lead.csv": "and the like: the same tables as CSV, one file a sheet, named as its tab",
    "lines.csv": "every order line with its figures, amounts as decimals, in its own and in the reporting currency",
    "lines.parquet": "the same for programs; amounts in minor units (cents)",
    "record.json": "everything the review shows, as data; give it to the next hand-off with --previous",
    "page.html": "the review as a page; opens in any browser, needs no network",
    "set_aside.csv": "every row that was not used, with its reason and mend",
    "README.txt": "this file",
    "taxcalc-folder.json": "the mark of our own folder: only files that it lists and that nobody changed are ever replaced",
}


def readme(
    record: dict[str, Any],
    sheets: Iterable[Sheet],
    checks: list[Control],
    files: Iterable[str],
    *,
    whole: bool,
) -> str:
    """Write it."""
    present, period = list(files), record["period"]
    parts = [
        record["title"],
        "=" * len(record["title"]),
        "",
        _wrapped(record["caution"]),
        "",
        f"Entity   {record['seller']['name']}, {record['seller']['region'] or record['seller']['country']}",
        f"Period   {period['name']}: {period['from']} to {period['to']}, seen from {record['as_of']}",
        f"Made by  taxcalc {record['program']['version']}, tables {record['tables']['version']}"
        + (" with rows of the user's own" if record["tables"]["own"] else ""),
        "",
        "Made from",
        *(f"  {file['name']}  {file['rows']} rows  SHA-256 {file['sha256']}" for file in record["files"]),
        "",
        "Files",
        *(
            _item(name, words)
            for name, words in FILES.items()
            if name in present or name == "taxcalc-folder.json"
        ),
        "",
        "Sheets",
        *(f"  {sheet.tab:<20}{sheet.title}" for sheet in sheets),
        f"  {PICTURES_TAB:<20}The pictures of the page (in the workbook only)",
        "",
        _ticked(checks),
        ""
        if whole
        else "Lines are in order inside blocks only, because there are more than fit into memory at once.",
        "What was not done",
        *(_item("-", words) for words in record["outside"]),
        _item(
            "-",
            "Nothing was registered, filed or paid; nobody was asked anything. The questions sheet lists what to ask the seller.",
        ),
        "",
        _wrapped(record["caution"]),
    ]
    return "\n".join(part for part in parts if part is not None).replace("\n\n\n", "\n\n") + "\n"


def _wrapped(text: str) -> str:
    """Wrap running text."""
    return textwrap.fill(text, 100)


def _item(name: str, words: str) -> str:
    """Write an entry of a list."""
    if name == "-":
        return textwrap.fill(words, 100, initial_indent="  - ", subsequent_indent="    ")
    return textwrap.fill(words, 100, initial_indent=f"  {name:<20}", subsequent_indent=" " * 22)


def _ticked(checks: list[Control]) -> str:
    """Say how many sums were held against another, and which do not agree."""
    apart = [one for one in checks if one.difference]
    words = (
        f"Control totals: {len(checks)} sums were held against another one, {len(checks) - len(apart)} agree."
    )
    named = "".join(
        f"\n  {one.name}: {one.about}; computed {one.computed}, against {one.held_against}" for one in apart
    )
    return words + named
