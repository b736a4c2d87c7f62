"""An invented record in the shape of the real one, to show and to write; no figure in it is anybody's."""

from __future__ import annotations

from typing import Any

from taxcalc.caution import CAUTION, TITLE


def spread(low: str, expected: str, high: str) -> dict[str, str]:
    """Give the three leaves of a range."""
    return {"low": low, "expected": expected, "high": high}


NONE = spread("0.00", "0.00", "0.00")


def a_place(code: str, name: str, **values: Any) -> dict[str, Any]:  # noqa: ANN401 - any part of a place
    """Give a place without anything in it, but for what is said."""
    empty = {
        "place": code,
        "name": name,
        "regime": "us",
        "orders": 0,
        "lines": 0,
        "sales": "0.00",
        "marketplace_sales": "0.00",
        "duty_from": None,
        "cause": None,
        "to_collect": NONE,
        "collected": "0.00",
        "shortfall": NONE,
        "over_collected": "0.00",
        "collected_without_duty": "0.00",
        "fulfiller_tax": NONE,
        "fulfiller_tax_charged": "0.00",
        "fulfiller_tax_avoidable": "0.00",
        "since_duty": None,
        "why": [],
        "basis": "official",
        "checked_on": "2026-11-01",
        "caution": CAUTION,
    }
    return {**empty, **values}


def a_threshold(code: str, name: str, **values: Any) -> dict[str, Any]:  # noqa: ANN401 - any part of a threshold
    """Give a limit of sales of which little is used, but for what is said."""
    plain = {
        "place": code,
        "name": name,
        "measure": "amount",
        "currency": "USD",
        "window_start": "2026-01-01",
        "window_end": "2026-12-31",
        "value": "1200.00",
        "limit": "100000.00",
        "share": "1.2",
        "status": "clear",
        "crossed_on": None,
        "crossed_by": None,
        "duty_from": None,
        "duty_until": None,
        "projected_p10": None,
        "projected_p50": None,
        "projected_p90": None,
        "incomplete": False,
        "basis": "official",
        "row_ids": "",
        "caution": CAUTION,
    }
    return {**plain, **values}


def since(day: str, to_collect: dict[str, str], collected: str, shortfall: dict[str, str]) -> dict[str, Any]:
    """Give what has added up since a duty began."""
    return {
        "from": day,
        "to_collect": to_collect,
        "collected": collected,
        "shortfall": shortfall,
        "remitted": "394.17",
        "caution": CAUTION,
    }


def a_finding(kind: str, urgency: int, text: str, **values: Any) -> dict[str, Any]:  # noqa: ANN401 - any part
    """Give a finding without place and amount, but for what is said."""
    return {
        "id": kind,
        "kind": kind,
        "urgency": urgency,
        "place": None,
        "name": None,
        "text": text,
        "amount": None,
        "caution": CAUTION,
        **values,
    }


def a_record(**values: Any) -> dict[str, Any]:  # noqa: ANN401 - any part of a record
    """Give the whole record, with parts replaced."""
    washington = a_place(
        "US-WA",
        "Washington",
        orders=41,
        lines=55,
        sales="3120.40",
        marketplace_sales="310.00",
        duty_from="2025-04-01",
        cause="registration",
        to_collect=spread("202.83", "287.10", "330.76"),
        collected="251.15",
        shortfall=spread("0.00", "35.95", "79.61"),
        since_duty=since(
            "2025-04-01",
            spread("1300.00", "1520.11", "1733.90"),
            "1401.00",
            spread("0.00", "119.11", "332.90"),
        ),
        fulfiller_tax=spread("0.00", "0.00", "104.20"),
        fulfiller_tax_charged="12.40",
    )
    texas = a_place(
        "US-TX",
        "Texas",
        orders=212,
        lines=260,
        sales="14210.00",
        duty_from="2026-08-01",
        cause="threshold",
        to_collect=spread("888.13", "1163.80", "1172.33"),
        shortfall=spread("888.13", "1163.80", "1172.33"),
        since_duty=since(
            "2026-08-01",
            spread("888.13", "1163.80", "1172.33"),
            "0.00",
            spread("888.13", "1163.80", "1172.33"),
        ),
        fulfiller_tax=spread("511.20", "511.20", "511.20"),
        fulfiller_tax_charged="498.00",
        fulfiller_tax_avoidable="511.20",
        basis="unconfirmed",
    )
    places = [
        washington,
        texas,
        a_place(
            "US-GA",
            "Georgia",
            orders=4,
            lines=4,
            sales="320.00",
            collected="12.80",
            collected_without_duty="12.80",
        ),
        a_place("US-OH", "Ohio", orders=9, lines=10, sales="801.00"),
        a_place("SK", "Slovakia", regime="eu"),
        a_place("US-VT", "Vermont"),
    ]
    totals = {
        "orders": 266,
        "lines": 329,
        "sales": "18451.40",
        "marketplace_sales": "310.00",
        "to_collect": spread("1090.96", "1450.90", "1503.09"),
        "collected": "263.95",
        "shortfall": spread("888.13", "1199.75", "1251.94"),
        "over_collected": "0.00",
        "collected_without_duty": "12.80",
        "fulfiller_tax": spread("511.20", "511.20", "615.40"),
        "fulfiller_tax_charged": "510.40",
        "fulfiller_tax_avoidable": "511.20",
        "since_duty": since(
            "2025-04-01",
            spread("2188.13", "2683.91", "2906.23"),
            "1401.00",
            spread("888.13", "1282.91", "1505.23"),
        ),
        "caution": CAUTION,
    }
    return {
        "title": TITLE,
        "caution": CAUTION,
        "program": {"name": "taxcalc", "version": "0.1.0"},
        "currency": "USD",
        "as_of": "2026-10-20",
        "period": {"from": "2026-07-01", "to": "2026-09-30", "name": "2026-Q3"},
        "covers": {"from": "2024-01-02", "to": "2026-10-19"},
        "seller": {"name": "Quillback Lantern Studio", "country": "US", "region": "US-OR"},
        "files": [{"name": "orders-2026.csv", "rows": 1204, "sha256": "0" * 64}],
        "tables": {"version": "2026.11", "oldest_checked_on": "2026-10-01", "own": 0},
        "exchange_rates": {
            "source": "European Central Bank reference rates",
            "rule": "order day, or the last published day before it",
            "last_published": "2026-10-16",
            "lines_after": 3,
        },
        "tie_out": {
            "rows_read": 1204,
            "rows_used": 1198,
            "rows_set_aside": 6,
            "by_reason": {"bad_date": 4, "exact_duplicate": 2},
            "amounts": {
                "EUR": {"item_amount": {"read": "1200.00", "used": "1180.00", "set_aside": "20.00"}},
                "USD": {"item_amount": {"read": "61000.10", "used": "60900.10", "set_aside": "100.00"}},
            },
            "caution": CAUTION,
        },
        "places": places,
        "thresholds": [
            a_threshold(
                "US-TX",
                "Texas",
                value="512340.00",
                limit="500000.00",
                share="102.4",
                status="crossed",
                crossed_on="2026-06-14",
                crossed_by="Q-1043",
                duty_from="2026-08-01",
                projected_p10="600000.00",
                projected_p50="640000.00",
                projected_p90="700000.00",
            ),
            a_threshold(
                "US-NJ",
                "New Jersey",
                measure="transactions",
                value=171,
                limit=200,
                share="85.5",
                status="near",
                projected_p10=180,
                projected_p50=196,
                projected_p90=221,
                incomplete=True,
            ),
            a_threshold("US-OH", "Ohio"),
        ],
        "duties": [
            {
                "place": "US-TX",
                "name": "Texas",
                "from": "2026-08-01",
                "from_order": "1044",
                "until": None,
                "cause": "threshold",
            }
        ],
        "fulfiller": [
            {
                "reason": "no_document",
                "words": "It collects there and holds no document of yours",
                "lines": 260,
                "tax": spread("511.20", "511.20", "511.20"),
                "charged": "498.00",
                "avoidable": "511.20",
                "caution": CAUTION,
            },
            {
                "reason": "unclear",
                "words": "It is not known whether the state accepts your document",
                "lines": 55,
                "tax": spread("0.00", "0.00", "104.20"),
                "charged": "12.40",
                "avoidable": "0.00",
                "caution": CAUTION,
            },
        ],
        "findings": [
            a_finding("contradiction", 3, "You are registered in Slovakia but sold nothing there."),
            a_finding(
                "near",
                2,
                "171 of 200 sales are used; at the usual pace the limit is met in December.",
                place="US-NJ",
                name="New Jersey",
            ),
            a_finding(
                "not_collected",
                1,
                "You should collect since August 1, 2026 and collected nothing. Talk to a professional "
                "about voluntary disclosure before you register.",
                place="US-TX",
                name="Texas",
                amount="1163.80",
            ),
            a_finding(
                "crossed",
                1,
                "The limit of $500,000.00 was crossed on June 14, 2026.",
                place="US-TX",
                name="Texas",
            ),
        ],
        "totals": totals,
        "assumptions": [
            "Goods without a class are other goods.",
            "Georgia: sales before April 2024 are as in your profile.",
        ],
        "outside": ["Washington business and occupation tax.", "Interest and penalties."],
        "sources": [
            {
                "id": "wa-1",
                "publisher": "Washington Department of Revenue",
                "title": "Rates",
                "link": "https://dor.wa.gov/",
            }
        ],
        **values,
    }
