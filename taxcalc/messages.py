"""Every wording of a refusal, by id: why it is wrong and the mend.

The hundred of an id is the exit code. Fields in braces are filled by `refuse` and `complain`.
"""

from __future__ import annotations

from taxcalc.errors import Complaint, Refusal

CATALOGUE: dict[str, tuple[str, str]] = {
    # E2xx: wrong use of the command or of the Python call
    "E201": (
        "'{value}' is no day on which a review can stand.",
        "Give a date, or write it as 2026-09-30; years from 1990 to 2099 are taken.",
    ),
    "E202": (
        "'{value}' is no period.",
        "Write a quarter as 2026-Q3, or give its first and its last day, each as a date or as 2026-09-30.",
    ),
    "E203": (
        "the period ends on {last}, before it begins on {first}.",
        "Give the earlier day first.",
    ),
    "E204": (
        "the period begins on {first}, after {as_of}, the day the review looks from, so nothing of it is known.",
        "Ask for an earlier period, or for a later day with --as-of; without one it is the day of the last order.",
    ),
    "E205": (
        "there is no order {value} among the {count} orders that were read.",
        "Nearest order numbers: {nearest}. Give the number as it stands in the file, and every file that it may be in.",
    ),
    "E206": (
        "no line of the period is taxed in {value}.",
        "Places of the period: {seen}. Choose one of them, or another quarter.",
    ),
    "E207": (
        "an order in {currency} on {day} cannot be computed: no exchange rate is published for that currency and day.",
        "Ask with another --currency, or with a later day with --on.",
    ),
    # E3xx: order files
    "E300": (
        "no order file was given.",
        "Give the path of at least one file, or - to read standard input.",
    ),
    "E301": (
        "there is no such file.",
        "Check the path; names with spaces stand in quotes.",
    ),
    "E302": (
        "this is a folder.",
        "Give the order files inside it, one by one or with a pattern such as orders/*.csv.",
    ),
    "E303": (
        "the file cannot be read: {detail}.",
        "Check that it is an ordinary file that you may read, and that no other program has locked it.",
    ),
    "E304": (
        "the file changed while it was being read.",
        "Wait until the export is complete, then run again.",
    ),
    "E305": (
        "the file is empty.",
        "Export the orders again.",
    ),
    "E306": (
        "the file has a header but no orders.",
        "Export a period that has orders, or leave the file out.",
    ),
    "E307": (
        "this is no CSV file; it looks like {kind}.",
        "{how}",
    ),
    "E308": (
        "the file is written in UTF-16, not in UTF-8.",
        'Save it again as "CSV UTF-8".',
    ),
    "E309": (
        "the byte {byte} is no UTF-8, so the text would be read wrongly.",
        'Export the file again as "CSV UTF-8"; two exports in different encodings cannot be joined in one file.',
    ),
    "E310": (
        "the column {column}, which is needed, is missing. The headers are: {seen}.",
        "{nearest}",
    ),
    "E311": (
        "the column stands in the file more than once: {headers}.",
        "{how}",
    ),
    "E312": (
        "a double quote is opened in this row and not closed properly.",
        "Close it, or double every quote inside the text, or export the file again.",
    ),
    "E313": (
        'the order number "{value}" was damaged by a spreadsheet program, so orders cannot be told apart.',
        "Export the file again and do not open and save it in a spreadsheet in between.",
    ),
    "E314": (
        'not one row of the file can be used. The first one: "{value}", because {reason}.',
        "{how}",
    ),
    "E315": (
        "the column holds {kind} numbers, which are not exact or may have lost their leading zeros.",
        "Give texts{others}.",
    ),
    "E316": (
        "the column holds {count} different names, so it is probably another column.",
        "Check the column map.",
    ),
    "E317": (
        "the Parquet file cannot be read: {detail}.",
        "Write it again, or export the orders as CSV.",
    ),
    "E390": (
        "--strict allows no row to be set aside; rows that would have to be: {rows}.",
        "See which with `taxcalc intake FILES --out DIR`, mend them, or leave --strict out.",
    ),
    # E5xx: seller profile
    "E500": (
        "the seller profile cannot be read: {detail}.",
        "Give the path of your seller.toml, or write a new one with `taxcalc start DIR`.",
    ),
    "E501": (
        "the profile is not written as TOML: {detail}.",
        'Texts and amounts stand in double quotes, days stand bare: name = "My shop", from = 2025-01-31.',
    ),
    "E502": (
        '"{value}" is not known in {table}.',
        "{nearest}",
    ),
    "E503": (
        "{table} has no `{column}`, which is needed.",
        "Add a line such as: {example}",
    ),
    "E504": (
        "{table}: `{column}` has to be {expected}, and {value} is not.",
        "Write it like this: {example}",
    ),
    "E505": (
        '{table}: "{value}" is no choice for `{column}`.',
        "Write one of: {allowed}.",
    ),
    "E506": (
        '{table}: "{value}" is no place this program knows.',
        'Write a US state as "US-TX", a country by its two-letter ISO code as "DE" (Greece is "GR").',
    ),
    "E507": (
        '{table}: "{value}" cannot stand in `{column}`, which takes {expected}.',
        "Write it like this: {example}",
    ),
    "E508": (
        "{table}: {value} is no day of the calendar.",
        "Write the day as year-month-day without quotes: 2025-01-31.",
    ),
    "E509": (
        "{table}: it ends on {value}, before it begins on {begin}.",
        "Correct `from` or `until`; both days are inclusive. Leave `until` out for what still holds.",
    ),
    "E510": (
        "{table}: {value} is registered twice for the same days ({scheme}; the other one is no. {other}).",
        "Give the earlier registration an `until` before the later one's `from`, or take one out.",
    ),
    "E511": (
        '{table}: "{value}" has not the form of a number issued by {issuer}.',
        "Copy it again from the letter that gave it to you, or take the line out until you have it.",
    ),
    "E512": (
        '{table}: there is no [[fulfiller]] with the id "{value}".',
        "Add a [[fulfiller]] table with this id, or write one of: {allowed}.",
    ),
    "E513": (
        "{table}: {value} is no exact amount{detail}.",
        'Write it in quotes with a point and no thousands marks: "1200.50".',
    ),
    "E514": (
        "[status]: `watch` {watch} and `near` {near} do not fit together.",
        "Write whole percents with 0 < watch < near <= 100, such as watch = 50 and near = 80.",
    ),
    "E515": (
        "{table}: {detail}.",
        "{instead}",
    ),
    "E516": (
        "the earlier record cannot be used: {detail}.",
        "Give the record.json of an earlier review or hand-off, or leave --previous out.",
    ),
    # E52x and E53x: rate tables
    "E520": (
        "the file or folder of rate tables is not there.",
        "Name a folder that holds tables such as us/thresholds.csv, or install the program again.",
    ),
    "E521": (
        "'{value}' is no date.",
        "Write it as 2024-02-29.",
    ),
    "E522": (
        "'{value}' is no percentage.",
        "Write the number as the law prints it, without a sign and with a point, at most four decimals: 7.25.",
    ),
    "E523": (
        "'{value}' {because}.",
        "Write digits only, without separators or signs: 100000 or 110.00, with the currency in its own column.",
    ),
    "E524": (
        "'{value}' is not allowed here.",
        "Allowed: {because}.",
    ),
    "E525": (
        "'{value}' is no place of this table.",
        "Use a code of rate_tables/places.csv that belongs here.{because}",
    ),
    "E526": (
        "'{value}' is not in {table}.csv.",
        "Correct it, or add a row for it to {table}.csv.",
    ),
    "E527": (
        "'{key}' has another row for this day, row {other} (this one: '{value}').",
        "Take one of the two rows out, or correct its key or day.",
    ),
    "E528": (
        "the cell is blank.",
        "Fill it in; only a row with ended = yes may leave its values blank.",
    ),
    "E529": (
        "the column is missing.",
        "Add it to the header; the shipped file of the same name has every column.",
    ),
    "E530": (
        "this table has no such column, or has it once only.",
        "Correct the header, or take the column out.{hint}",
    ),
    "E531": (
        "cells in the row: {got}, in the header: {expected}.",
        "Put cells that contain a comma in double quotes, and leave no cell out.",
    ),
    "E532": (
        "a fact from memory cannot be '{value}'.",
        "Write unconfirmed, or name the paper that says so as the source.",
    ),
    "E533": (
        "this file is no rate table that can be changed here.",
        "Give it the name of a table, or take it out of the folder.{hint}",
    ),
    "E534": (
        "'{value}' percent is outside 0 to 40.",
        "Write the percentage as the law prints it: 7.25.",
    ),
    "E535": (
        "the file cannot be read as a table ({because}).",
        "Save it as CSV with commas between the cells and UTF-8 as its encoding.",
    ),
    "E536": (
        "'{name}' is no column of this table.",
        "Name columns of the same row, separated by spaces.",
    ),
    "E537": (
        "the run of ZIP codes that begins with '{value}' overlaps another, runs backwards or lacks digits.",
        "Write both ends with five digits, and let no two runs share a code.",
    ),
    "E538": (
        "'{value}' stands in a row with ended = yes, from whose day nothing holds.",
        "Leave the cell blank, or write the value in a row of an earlier day.",
    ),
    "E539": (
        "'{value}' percent looks like a fraction.",
        "Write the percentage as the law prints it: 7.25, not 0.0725.",
    ),
    "E550": (
        "'{value}' {because}.",
        "Write it as it stands in the paper; import every column as text before you change a table.",
    ),
    "E551": (
        "'{value}' is no county of {place} in us/zip_counties.csv, so the row would never hold.",
        "Write the county as it is named there, or leave the cell blank for the whole state.",
    ),
    "E552": (
        "'{value}' does not describe a whole postal code.",
        "Begin it with ^ and end it with $, such as ^22\\d{{3}}$ for all codes from 22000 to 22999.",
    ),
    "E553": (
        "'{value}' is outside {least} to {most}.",
        "Correct the number or the day.",
    ),
    "E554": (
        "the average '{value}' is not between the lowest and the highest rate of its row.",
        "Correct the three rates; one of them has lost its point or its sign.",
    ),
    "E555": (
        "the folder holds no rate table.",
        "Name a folder that holds tables such as us/thresholds.csv; `taxcalc tables copy` writes one.",
    ),
    "E556": (
        "no row names the source '{value}'.",
        "Name it in the column source of a row, or take it out.",
    ),
    "E557": (
        "the row was last checked on {value}, before {day}.",
        "Hold it against its source again and write that day, or ask for older rows with --older-than.",
    ),
    "E558": (
        "the row cannot have been checked on {value}, after {day}.",
        "Write the day on which you held the row against its source.",
    ),
    "E559": (
        "this table holds for everybody and takes no rows of your own.",
        "Choose another one; `taxcalc tables list` names them.",
    ),
    "E560": (
        "this file has the name of a table but is no CSV file, so none of its rows would be used.",
        "Save it as {name}.csv, with commas between the cells and UTF-8 as its encoding.",
    ),
    "E561": (
        "the folder holds every table, but not the row for '{value}', and the shipped one would go on holding.",
        "Put it back, write it with ended = yes, or keep only rows of your own in the folder.",
    ),
    # E56x to E58x: files of local rates, and their store
    "E584": (
        "neither its name nor its header is one of a layout that is read; it begins with '{value}'.",
        "Keep the name under which the state posted it, or use the header {header}.",
    ),
    "E585": (
        "the file cannot be read: {detail}.",
        "Give the file as it was downloaded: CSV with commas, in UTF-8, as it is or alone in a .zip or .gz.",
    ),
    "E562": (
        "the row has {got} fields, and the layout has {expected}.",
        "Download the file again; do not open and save it in a spreadsheet in between.",
    ),
    "E563": (
        "'{value}' is not {expected}.",
        "{instead}",
    ),
    "E564": (
        "the file holds no rows.",
        "Download it again.",
    ),
    "E565": (
        "the state rate in the file ({value}), as fraction or percent, is not the one held for {place} ({held} percent).",
        "See `taxcalc tables show us/state_rates {code}`: file or tables are out of date, or the file is another state's.",
    ),
    "E566": (
        "{value} is no state of the Streamlined agreement, so it posts no such files.",
        "Give its rates as a CSV with the header {header}.",
    ),
    "E567": (
        "the row overlaps row {other} of {other_file}: '{value}' has two rows on the same day.",
        "Correct one of the two; a change file has to end the earlier row, too.",
    ),
    "E568": (
        "the range or the period ends before it begins.",
        "Correct the row, or download the file again.",
    ),
    "E569": (
        "{because}; the layout of this file could not be verified, so it is not guessed: '{value}'.",
        "Check that this is the boundary file itself, under the name that the state gave it, and whole.",
    ),
    "E570": (
        "the very same file is there already, as {value}.",
        "Leave it out.",
    ),
    "E571": (
        "there is nothing of this layout in the store for {value} that the file could change.",
        "Add the full file first, without --change.",
    ),
    "E572": (
        "no rate is known for {value} on all days of the row; that is so in {count} of {rows} rows.",
        "Give the rate file of the same quarter together with this one.",
    ),
    "E573": (
        "the file of the local-rate store is damaged: {detail}.",
        "Delete the folder local in your own tables, and add the files again with `taxcalc tables add-local`.",
    ),
    "E574": (
        "the index of the local-rate store cannot be read: {detail}.",
        "Delete the folder local in your own tables, and add the files again with `taxcalc tables add-local`.",
    ),
    "E575": (
        "the ZIP codes of the state have {count} different histories of rates, and {most} can be told apart.",
        "Leave out rows of years that your orders do not reach.",
    ),
    "E576": (
        "ranges of ZIP codes and periods cut each other into {count} pieces, more than any state has.",
        "Check the file for ranges that span whole states.",
    ),
    "E577": (
        "{value} percent cannot be the whole rate, state and local together; the state's own is {least} percent.",
        "Write the whole rate as a percentage: 8.25.",
    ),
    "E578": (
        "the rate is not {expected}.",
        "Download the file again; do not open and save it in a spreadsheet in between.",
    ),
    "E579": (
        "the file means nothing without the {value} of the same state.",
        "Give both files together, or add that one first.",
    ),
    "E580": (
        "the rows of the state come from {most} files already.",
        "Add the newest full files with --replace.",
    ),
    "E581": (
        "files of different layouts for {value} cannot be added together.",
        "Choose one: rate and boundary file, code and address file, ZIP+4 file, or a CSV of your own.",
    ),
    "E582": (
        "the newest file of {place} was added on {value}, before {day}.",
        "Look whether the state has posted newer files, and add them; or ask for older ones with --older-than.",
    ),
    "E583": (
        "the change file has no row of the state itself, and {value} does not tell whether its rates are in {unit}.",
        "Add the state's own row (kind 45) of the full file to it, or add the full file with --replace.",
    ),
    # E54x: column map
    "E540": (
        "the column map cannot be read: {detail}.",
        "Give the path of your columns.toml.",
    ),
    "E541": (
        "the column map is not written as TOML: {detail}.",
        'Write lines such as: "their header" = "order_id".',
    ),
    "E542": (
        '"{value}" is not known in {part}.',
        "{nearest}",
    ),
    "E543": (
        "{value} has to be {expected}.",
        'Write it like this: "their header" = "order_id", under [rename].',
    ),
    "E544": (
        '"{first}" and "{second}" are both renamed to {column}.',
        "Keep one of the two lines.",
    ),
    # E6xx stands for output
    "E601": (
        "a file has that name, so no folder can be made.",
        "Give another folder, or move the file away first.",
    ),
    "E602": (
        "the folder is not empty and was not written by this program, so nothing in it is touched.",
        "Give a new or empty folder.",
    ),
    "E603": (
        "the list of the files this program wrote cannot be read, so nothing in the folder is touched.",
        "Give a new folder, or move this one away first.",
    ),
    "E604": (
        "the file was changed since this program wrote it, and your changes are never overwritten.",
        "Move the file away or give another folder.",
    ),
    "E605": (
        "this file was not written by this program, and nothing beside it is replaced.",
        "Move it to another folder, or give another one for the output.",
    ),
    "E606": (
        "the folder holds {value}, which is read as input.",
        "Give a folder that holds none of the files you read.",
    ),
    "E608": (
        "it is already there, and nothing is ever overwritten.",
        "Give another folder, or move this file away first.",
    ),
    "E609": (
        "it cannot be written: {detail}.",
        "Give a folder that you may write to; nothing was left behind.",
    ),
    "E610": (
        "the store holds local rates of {value} already, and nothing is overwritten unasked.",
        "Say --change if the file holds only what changed since, or --replace if it stands in their place.",
    ),
    "E611": (
        "a file of that name is there, and nothing is ever overwritten.",
        "Give another name, or move the file away first.",
    ),
    # E7xx: own totals
    "E701": (
        "the totals do not tie: {detail}.",
        "This is a fault of the program; nothing was published. Please report it with the log file.",
    ),
    "E395": (
        "every row was set aside, so there is nothing to review as of {as_of}.",
        "Look at the rows set aside with `taxcalc intake`, or choose a later day.",
    ),
    "E702": (
        "an amount is too large to be computed exactly.",
        "Check the file for a number in the wrong column; amounts go up to 46 000 000 000 000 000 minor units.",
    ),
    # E8xx: output folder in use
    "E801": (
        "another run is writing into this folder.",
        "Wait until it is done, or give another folder.",
    ),
}


def complain(
    message_id: str,
    *,
    file: str | None = None,
    row: int | None = None,
    column: str | None = None,
    value: str | None = None,
    **fields: object,
) -> Complaint:
    """Build the complaint `message_id`; `value` and `fields` fill the braces of its wording."""
    why, mend = CATALOGUE[message_id]
    shown = {"value": value, "file": file, "row": row, "column": column, **fields}
    return Complaint(message_id, why.format(**shown), mend.format(**shown), file, row, column, value)


def refuse(message_id: str, **fields: object) -> Refusal:
    """Build the refusal `message_id`, ready to be raised."""
    return Refusal(complain(message_id, **fields))  # type: ignore[arg-type]
