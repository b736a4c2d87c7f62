"""The record: everything a report shows, as plain data with decimal strings. All reports are made from it.

The fixed core is described in DEVELOPERS.md. Every object that holds amounts holds the caution too.
"""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.assessment import date_or_none
from taxcalc.at_the_door_record import at_the_door, rows_used
from taxcalc.caution import CAUTION, TITLE
from taxcalc.days import quarter_of
from taxcalc.delivery_fees import delivery_fees
from taxcalc.exchange import RULE, last_published
from taxcalc.findings import findings
from taxcalc.late.parts import late_parts, sources_of
from taxcalc.local_used import local_rates_used
from taxcalc.look_back import by_quarter
from taxcalc.money import write_amount
from taxcalc.one_stop_shop_record import one_stop_shop_returns
from taxcalc.own_rows import own_among, own_rows_of_cases, own_rows_of_place
from taxcalc.place_sums import PlaceSums, whole
from taxcalc.purchases.differences import charged_against_expected
from taxcalc.purchases.samples import use_tax_on_samples
from taxcalc.purchases.shown import documents
from taxcalc.reasons import REASONS
from taxcalc.remitted import paid_since_duty, shown_as_paid
from taxcalc.rests_on import rests_on
from taxcalc.retail_base import retail_base
from taxcalc.rows_named import sources_named
from taxcalc.running_totals import running_totals
from taxcalc.statements import statements
from taxcalc.tables.schema import BASES
from taxcalc.terms import regime_name
from taxcalc.union_prices_record import priced_without_vat, same_price
from taxcalc.weak_rows import weak_rows
from taxcalc.wordings import general_assumptions, outside

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.duties import Interval, ThresholdRow

ADDED_UP = ("to_collect_low", "to_collect_high", "shortfall_high", "collected_on_duty")
"""Measures of which one at least is not nothing where something has added up under a duty."""

ENDS = (("low", "_low"), ("expected", ""), ("high", "_high"))


def program_version() -> str:
    """Give the version of the installed program, or say that it runs from a checkout."""
    try:
        return version("taxcalc-exposure")
    except PackageNotFoundError:
        return "unknown (runs from a checkout)"


def record(assessment: Assessment) -> dict[str, Any]:
    """Build the record of an assessment."""
    run = assessment.run
    first, last = run.period
    tables = run.facts.tables
    sums = PlaceSums(assessment)
    own = {places.code(code): own_rows_of_place(assessment, code) for code in sums.codes}
    late = late_parts(assessment, sums, own)
    papers, raised = documents(assessment), findings(assessment, sums)
    rests = rests_on(assessment)
    return {
        "title": TITLE,
        "caution": CAUTION,
        "program": {"name": "taxcalc", "version": program_version()},
        "currency": assessment.currency,
        "as_of": run.as_of.isoformat(),
        "period": {"from": first.isoformat(), "to": last.isoformat(), "name": _period_name(assessment)},
        "covers": {"from": run.covers[0].isoformat(), "to": run.covers[1].isoformat()},
        "seller": {"name": run.seller.name, "country": run.seller.country, "region": run.seller.region},
        "statements": statements(run.seller),
        "files": [{"name": f.name, "rows": f.rows, "sha256": f.sha256} for f in run.intake.files],
        "tables": {
            "version": tables.version,
            "oldest_checked_on": str(tables.oldest_checked_on),
            "own": tables.own,
        },
        "exchange_rates": _rates(assessment),
        "tie_out": run.intake.tie_out.as_dict(),
        "places": [
            {**_place(assessment, sums, code), "own_rows": own[places.code(code)]} for code in sums.codes
        ],
        "thresholds": [_threshold(row) for row in assessment.sorted_thresholds],
        "running_totals": running_totals(assessment),
        "duties": [_duty(interval) for interval in assessment.sorted_intervals],
        **late,
        "shortfall_by_quarter": by_quarter(late["look_back"]),
        "fulfiller": _fulfiller(assessment),
        "retail_base": retail_base(assessment, sums),
        **papers,
        **charged_against_expected(assessment),
        **use_tax_on_samples(assessment),
        "findings": [
            {**each, "own_rows": sorted({*own.get(each["place"], []), *own_among(each["row_ids"])})}
            for each in raised
        ],
        "totals": {
            **_totals(assessment, sums),
            "own_rows": sorted({name for some in own.values() for name in some}),
        },
        "assumptions": [*run.seller.assumptions, *general_assumptions(assessment), *run.intake.notes],
        "outside": outside(with_interest=assessment.with_interest),
        "one_stop_shop": one_stop_shop_returns(assessment),
        "at_the_door": at_the_door(assessment),
        "same_price": same_price(assessment),
        "priced_without_vat": priced_without_vat(assessment),
        "delivery_fees": delivery_fees(assessment),
        "local_rates": local_rates_used(assessment),
        "weak_rows": weak_rows(assessment),
        "rests_on": rests,
        "sources": _sources(
            assessment,
            sources_of(late).union(sources_named([papers, raised], tables), *rests["rows"].values()),
        ),
    }


def _period_name(assessment: Assessment) -> str:
    """Name the period: its quarter, or its two days."""
    from taxcalc.days import quarter_days, quarter_name  # noqa: PLC0415 - only here

    first, last = assessment.run.period
    name = quarter_name(quarter_of(first))
    return name if quarter_days(name) == (first, last) else f"{first} to {last}"


def _rates(assessment: Assessment) -> dict[str, Any]:
    """Say which exchange rates were used, and whether the last ones had to be carried on."""
    return {
        "source": "European Central Bank euro reference rates",
        "rule": RULE,
        "last_published": last_published().isoformat(),
        "carried_on": assessment.run.covers[1] > last_published(),
    }


def amounts(values: dict[str, int], currency: str) -> dict[str, Any]:
    """Write the measures of a place (or of all) as the record shows them."""

    def write(name: str) -> str:
        return write_amount(values[name], currency)

    def ends(name: str) -> dict[str, str]:
        return {end: write(name + suffix) for end, suffix in ENDS}

    return {
        "orders": values["orders"],
        "lines": values["lines"],
        "sales": write("sales"),
        "marketplace_sales": write("marketplace_sales"),
        "to_collect": ends("to_collect"),
        "collected": write("collected"),
        "shortfall": ends("shortfall"),
        "over_collected": write("over_collected"),
        "collected_without_duty": write("collected_without_duty"),
        "fulfiller_tax": ends("fulfiller_tax"),
        "fulfiller_tax_charged": write("fulfiller_tax_charged"),
        "fulfiller_tax_avoidable": write("fulfiller_tax_avoidable"),
    }


def _since(
    values: dict[str, int] | None, start: int | None, remitted: int, currency: str
) -> dict[str, Any] | None:
    """Write what has added up since the duty began, None where there was none."""
    if values is None or start is None:
        return None
    shown = amounts(values, currency)
    return {
        "from": date_or_none(start),
        "to_collect": shown["to_collect"],
        "collected": write_amount(values["collected_on_duty"], currency),
        "shortfall": shown["shortfall"],
        "remitted": write_amount(remitted, currency),
        "caution": CAUTION,
    }


def _place(assessment: Assessment, sums: PlaceSums, code: int) -> dict[str, Any]:
    """Build the part of one place."""
    terms = sums.weakest(code)
    duty = sums.duty(code)
    return {
        "place": places.code(code),
        "name": places.name(places.code(code)),
        "regime": regime_name(code),
        **amounts(sums.period(code), assessment.currency),
        "duty_from": date_or_none(duty.first.start.day) if duty else None,
        "duty_until": date_or_none(duty.until) if duty else None,
        "cause": duty.first.cause if duty else None,
        "since_duty": _since(
            sums.since_duty(code),
            duty.first.start.day if duty else None,
            paid_since_duty(assessment, sums, code),
            assessment.currency,
        ),
        "why": [REASONS[word] for word in terms.reasons],
        "basis": BASES[terms.basis],
        "checked_on": date_or_none(terms.checked_on),
        "caution": CAUTION,
    }


def _threshold(row: ThresholdRow) -> dict[str, Any]:
    """Build the part of one threshold; amounts as decimal strings, counts as whole numbers."""

    def write(value: int | None) -> str | int | None:
        return value if value is None or not row.currency else write_amount(value, row.currency)

    low, middle, high = row.projected or (None, None, None)
    return {
        "place": places.code(row.place),
        "name": places.name(places.code(row.place)),
        "measure": row.measure,
        "kind": row.kind,
        "currency": row.currency,
        "window_start": date_or_none(row.window_start),
        "window_end": date_or_none(row.window_end),
        "value": write(row.value),
        "limit": write(row.limit),
        "share": row.share_tenths / 10,
        "status": row.status,
        "crossed_on": date_or_none(row.crossed.day) if row.crossed else None,
        "crossed_by": (row.crossed.order_id or None) if row.crossed else None,
        "duty_from": date_or_none(row.duty_from),
        "duty_until": date_or_none(row.duty_until),
        "projected_p10": write(low),
        "projected_p50": write(middle),
        "projected_p90": write(high),
        "effect": row.effect or None,
        "incomplete": row.incomplete,
        "basis": BASES[row.basis],
        "row_ids": row.row_ids,
        "own_rows": own_among(row.row_ids),
        "caution": CAUTION,
    }


def _duty(interval: Interval) -> dict[str, Any]:
    """Build the part of one interval of duty."""
    code = places.code(interval.place)
    return {
        "place": code,
        "name": places.name(code),
        "from": date_or_none(interval.start.day),
        "from_order": interval.start.order_id or None,
        "until": date_or_none(interval.until),
        "cause": interval.cause,
    }


def _fulfiller(assessment: Assessment) -> list[dict[str, Any]]:
    """Add up the fulfiller's side of the period by reason, largest expected tax first."""
    terms, by_case, currency = assessment.run.terms, assessment.sums.by_case, assessment.currency
    found = []
    for reason in sorted(set(terms.fulfiller.reason.tolist())):
        here = terms.fulfiller.reason == reason
        total = {name: int(values[here].sum()) for name, values in by_case.items()}
        if total["lines"]:
            found.append(
                (
                    total["fulfiller_tax"],
                    {
                        "reason": reason,
                        "words": REASONS[reason],
                        "lines": total["lines"],
                        "tax": {
                            end: write_amount(total["fulfiller_tax" + suffix], currency)
                            for end, suffix in ENDS
                        },
                        "charged": write_amount(total["fulfiller_tax_charged"], currency),
                        "avoidable": write_amount(max(total["fulfiller_tax_avoidable"], 0), currency),
                        "own_rows": own_rows_of_cases(assessment, np.flatnonzero(here)),
                        "caution": CAUTION,
                    },
                )
            )
    return [part for _, part in sorted(found, key=lambda item: (-item[0], item[1]["reason"]))]


def _totals(assessment: Assessment, sums: PlaceSums) -> dict[str, Any]:
    """Add up all places. The three shortfalls are sums of places: one place's excess never pays another's lack."""
    every = {code: part for code in sums.codes if (part := sums.since_duty(code)) is not None}
    parts = {code: part for code, part in every.items() if any(part[name] for name in ADDED_UP)}
    first = [duty.first.start.day for code in parts if (duty := sums.duty(code)) is not None]
    history = whole(list(parts.values())) if parts else None
    remitted = sum(paid_since_duty(assessment, sums, code) for code in sums.codes)
    remitted += shown_as_paid(assessment, places.index("EU"))
    return {
        **amounts(whole([sums.period(code) for code in sums.codes]), assessment.currency),
        "since_duty": _since(history, min(first, default=None), remitted, assessment.currency),
        "caution": CAUTION,
    }


def _sources(assessment: Assessment, found: set[str]) -> list[dict[str, str]]:
    """List the published sources of all rows used, those found already among them, by id."""
    tables = assessment.run.facts.tables
    for name, rows in rows_used(assessment).items():
        found.update(tables[name].sources(rows))
    for seller in assessment.run.fees.sellers:
        found.update(seller.table.sources(np.array([seller.stands().row], np.int32)))
    return [{"id": source, **tables.source(source)} for source in sorted(found)]
