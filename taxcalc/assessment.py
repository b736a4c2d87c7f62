"""The result of an assessment: frames on demand, and the record that every report is made from."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.arrow import positions_of
from taxcalc.caution import CAUTION, Figures
from taxcalc.columns import PRODUCT_CLASSES, Entry
from taxcalc.days import day as to_day
from taxcalc.days import quarter_name
from taxcalc.duties import LIMIT_KINDS
from taxcalc.facts import OPEN
from taxcalc.figures import line_figures
from taxcalc.frames import CASES, DUTIES, LINES, PLACES, THRESHOLDS
from taxcalc.kernel import ShippingTreatment, Treatment
from taxcalc.money import CURRENCIES, write_amount
from taxcalc.regime import DUTIES as DUTY_WORDS
from taxcalc.sums import SHIFT
from taxcalc.tables.schema import BASES
from taxcalc.terms import REGIMES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    import pandas as pd

    from taxcalc.duties import Interval, ThresholdRow
    from taxcalc.passes import Run
    from taxcalc.sums import Sums


def date_or_none(number: int | None) -> str | None:
    """Write a day number as an ISO date; None stays None, and so does a day without an end."""
    return None if number is None or number >= OPEN else to_day(number).isoformat()


class Assessment:
    """What an assessment found. Frames are pandas DataFrames with the columns named in `taxcalc.frames`.

    `with_interest` adds interest and penalties to the record, as a scenario of their own (`taxcalc.late`).
    """

    with_interest = False

    def __init__(self, run: Run, sums: Sums, rows: list[ThresholdRow], intervals: list[Interval]) -> None:
        """Take the sums of both passes; frames are built when they are asked for."""
        self.run, self.sums, self.threshold_rows, self.intervals = run, sums, rows, intervals

    @property
    def currency(self) -> str:
        """The reporting currency."""
        return self.run.seller.reporting_currency

    @property
    def inputs(self) -> list[Path]:
        """The order files that were read."""
        from pathlib import Path  # noqa: PLC0415 - only here

        return [Path(file.path) for file in self.run.intake.files]

    @property
    def set_aside_faults(self) -> int:
        """Rows set aside that count against exit code 0."""
        return self.run.intake.set_aside.faults

    @property
    def set_aside(self) -> pd.DataFrame:
        """Rows set aside: file, row, column, value, reason, mend."""
        return self.run.intake.set_aside.frame()

    @cached_property
    def place_rows(self) -> dict[str, Any]:
        """The columns of `places` as arrays, by place and quarter in that order (place codes alphabetical)."""
        keys, sums = self.sums.by_quarter()
        codes, quarter = np.array(places.codes(), object)[keys // SHIFT], keys % SHIFT
        order = np.lexsort((quarter, codes.astype(str)))
        measures = {name: measure[order] for name, measure in sums.items()}
        return {"place": codes[order], "quarter": quarter[order], "key": keys[order], **measures}

    @cached_property
    def places(self) -> pd.DataFrame:
        """Place × calendar quarter of the whole history (see `taxcalc.frames.PLACES`)."""
        import pandas as pd  # noqa: PLC0415 - heavy

        rows = self.place_rows
        regime = np.array([regime.name for regime in REGIMES], object)
        frame = {
            **rows,
            "quarter": [quarter_name(q) for q in rows["quarter"].tolist()],
            "regime": regime[np.minimum(places.regimes()[rows["key"] // SHIFT], len(REGIMES) - 1)],
            "currency": self.currency,
            "shortfall": np.maximum(rows["shortfall"], 0),
            "over_collected": np.maximum(-rows["shortfall"], 0),
            "fulfiller_tax_avoidable": np.maximum(rows["fulfiller_tax_avoidable"], 0),
        }
        return pd.DataFrame({name: frame[name] for name in PLACES}, index=range(rows["place"].size))

    @cached_property
    def thresholds(self) -> pd.DataFrame:
        """Where thresholds stand on the day of the review (see `taxcalc.frames.THRESHOLDS`)."""
        import pandas as pd  # noqa: PLC0415 - heavy

        frame = pd.DataFrame([_threshold(row) for row in self.sorted_thresholds], columns=list(THRESHOLDS))
        for name in ("value", "limit"):
            frame[name] = frame[name].astype("int64")
        for name in ("projected_p10", "projected_p50", "projected_p90"):
            frame[name] = frame[name].astype("Int64")
        return frame

    @cached_property
    def sorted_thresholds(self) -> list[ThresholdRow]:
        """Threshold rows by place code, kind and measure."""
        return sorted(
            self.threshold_rows,
            key=lambda row: (places.code(row.place), LIMIT_KINDS.index(row.kind), row.measure),
        )

    @cached_property
    def duties(self) -> pd.DataFrame:
        """Every interval of duty (see `taxcalc.frames.DUTIES`)."""
        import pandas as pd  # noqa: PLC0415 - heavy

        rows = [
            (
                places.code(i.place),
                date_or_none(i.start.day),
                i.start.order_id or None,
                date_or_none(i.until),
                i.cause,
            )
            for i in self.sorted_intervals
        ]
        return pd.DataFrame(rows, columns=list(DUTIES))

    @cached_property
    def sorted_intervals(self) -> list[Interval]:
        """Intervals that touch the history or lie ahead, by place code and start."""
        return sorted(
            (i for i in self.intervals if i.start.day < OPEN),
            key=lambda i: (places.code(i.place), i.start, i.cause),
        )

    @cached_property
    def cases(self) -> pd.DataFrame:
        """The terms of every case, index `case_id` (see `taxcalc.frames.CASES`)."""
        import pandas as pd  # noqa: PLC0415 - heavy

        terms, codes = self.run.terms, np.array(places.codes(), object)
        mine, theirs = terms.collect, terms.fulfiller
        rules = mine.rules["expected"]
        words = np.array([t.name.lower() for t in Treatment], object)
        shipping = np.array([t.name.lower() for t in ShippingTreatment], object)
        frame = {
            "place": codes[terms.placed.place],
            "destination": codes[terms.cases.destination],
            "regime": np.array([r.name for r in REGIMES], object)[terms.regime],
            "product_class": np.array(PRODUCT_CLASSES, object)[terms.cases.product_class],
            "duty": np.array(DUTY_WORDS, object)[terms.duty],
            "reason": mine.reason,
            "item_rule": words[rules.state_rule],
            "local_item_rule": words[rules.local_rule],
            "item_limit": rules.state_limit,
            "limit_currency": np.array(CURRENCIES, object)[mine.limit_currency],
            "shipping_rule": shipping[rules.shipping],
            "state_ppm": rules.state_ppm,
            "local_ppm_low": mine.rules["low"].local_ppm,
            "local_ppm": rules.local_ppm,
            "local_ppm_high": mine.rules["high"].local_ppm,
            "basis": np.array(BASES, object)[mine.basis],
            "checked_on": [date_or_none(d) for d in mine.checked_on.tolist()],
            "rows": mine.row_ids(),
            "fulfiller_reason": theirs.reason,
            "fulfiller_shipping_rule": shipping[theirs.rules["expected"].shipping],
            "fulfiller_basis": np.array(BASES, object)[theirs.basis],
            "fulfiller_rows": theirs.row_ids(),
        }
        return pd.DataFrame({name: frame[name] for name in CASES}).rename_axis("case_id")

    @cached_property
    def lines(self) -> pd.DataFrame:
        """Every used line of the whole history with its figures (see `taxcalc.frames.LINES`), built when asked for.

        Rows are in the order of order_id, line_id, day and content, whatever the order of the input.
        """
        return _in_order([self._lines_of(bucket) for bucket in self.run.buckets])

    def lines_of(self, order_ids: list[str]) -> pd.DataFrame:
        """Every used line of some orders, as `lines` has them; without building those of all other orders."""
        return _in_order([self._lines_of(bucket, order_ids) for bucket in self.run.buckets])

    def _lines_of(self, number: int, order_ids: list[str] | None = None) -> pd.DataFrame:
        """Build the lines of one bucket, or those of some orders in it."""
        import pandas as pd  # noqa: PLC0415 - heavy

        bucket = self.run.bucket(number)
        figures = line_figures(bucket, self.run.terms, by_order=self.run.seller.rounding == "order")
        lines, terms, case = bucket.lines, self.run.terms, bucket.case
        at = np.arange(lines.size) if order_ids is None else positions_of(lines.order_id, order_ids)
        lines, case = (lines if order_ids is None else lines.take(at)), case[at]
        codes, money = np.array(places.codes(), object), np.array(CURRENCIES, object)
        columns: dict[str, Any] = {
            "order_id": lines.order_id.to_pylist(),
            "line_id": lines.line_id.to_pylist(),
            "entry": np.array([e.name.lower() for e in Entry], object)[lines["entry"]],
            "ordered_on": lines["day"].astype("datetime64[D]").astype("datetime64[s]"),
            "destination": codes[lines["destination"]],
            "place": codes[terms.placed.place[case]],
            "regime": np.array([r.name for r in REGIMES], object)[terms.regime[case]],
            "currency": money[lines["currency"]],
            "duty": np.array(DUTY_WORDS, object)[figures.duty[at]],
            "reason": terms.collect.reason[case],
            "case_id": case,
            "collected": figures.collected[at],
            "shortfall": figures.shortfall[at],
            "collected_without_duty": figures.collected_without_duty[at],
            "fulfiller_currency": money[lines["fulfiller_currency"]],
            "fulfiller_tax_charged": figures.fulfiller_tax_charged[at],
            "fulfiller_tax_avoidable": np.maximum(figures.fulfiller_tax_avoidable[at], 0),
        }
        for name, ends in (("to_collect", figures.to_collect), ("fulfiller_tax", figures.fulfiller_tax)):
            low, expected, high = (ends[end][at] for end in ("low", "expected", "high"))
            columns |= {f"{name}_low": low, name: expected, f"{name}_high": high}
        return pd.DataFrame({name: columns[name] for name in LINES})

    def record(self) -> dict[str, Any]:
        """Give the JSON-able record: the fixed core and what the reports show (see `taxcalc.record`)."""
        from taxcalc.record import record  # noqa: PLC0415 - built on this class

        return record(self)

    def usual_order(self) -> dict[str, Any] | None:
        """Give an order from the middle of the period, for a picture of what becomes of it (see `taxcalc.usual_order`)."""
        from taxcalc.usual_order import usual_order  # noqa: PLC0415 - built on this class

        return usual_order(self)

    def figures(self, name: str) -> Figures:
        """Give places, thresholds or set_aside with caution and origin, amounts as decimal text, for the writers.

        With own tables a column `own_rows` names the rows of the user's own that the figures of a place rest on.
        """
        makers: dict[str, Callable[[], pd.DataFrame]] = {
            "places": self._places_text,
            "thresholds": self._thresholds_text,
            "set_aside": lambda: self.set_aside,
        }
        frame = makers[name]()
        if self.run.facts.tables.own and name != "set_aside":
            frame["own_rows"] = self._own_rows(name, frame["place"])
        origin = {"tables": self.run.facts.tables.version, "as_of": self.run.as_of.isoformat()}
        return Figures(name, frame, CAUTION, origin)

    def _own_rows(self, name: str, codes: Iterable[str]) -> list[str]:
        """Name the rows of the user's own behind each row of a frame."""
        from taxcalc.own_rows import own_among, own_rows_of_place  # noqa: PLC0415 - built on this class

        if name == "thresholds":
            return [" ".join(own_among(row.row_ids)) for row in self.sorted_thresholds]
        known: dict[str, str] = {}
        for code in codes:
            if code not in known:
                known[code] = " ".join(own_rows_of_place(self, places.index(code)))
        return [known[code] for code in codes]

    def _places_text(self) -> pd.DataFrame:
        """Write the amounts of `places` as decimals."""
        frame = self.places.copy()
        for name in PLACES[6:]:
            frame[name] = [write_amount(int(value), self.currency) for value in frame[name]]
        return frame

    def _thresholds_text(self) -> pd.DataFrame:
        """Write the amounts of `thresholds` as decimals, counts as whole numbers."""
        import pandas as pd  # noqa: PLC0415 - heavy

        frame = self.thresholds.copy()
        for name in ("value", "limit", "projected_p10", "projected_p50", "projected_p90"):
            pairs = zip(frame[name], frame["currency"], strict=True)
            frame[name] = [
                None if pd.isna(v) else write_amount(int(v), c) if c else str(int(v)) for v, c in pairs
            ]
            frame[name] = frame[name].astype(object)
        return frame


def _in_order(parts: list[pd.DataFrame]) -> pd.DataFrame:
    """Put the lines of all buckets together, in an order that does not depend on that of the input."""
    import pandas as pd  # noqa: PLC0415 - heavy

    by = ["order_id", "line_id", "ordered_on", "entry", *LINES[11:], "case_id"]
    return pd.concat(parts, ignore_index=True).sort_values(by, kind="stable", ignore_index=True)


def _threshold(row: ThresholdRow) -> tuple[Any, ...]:
    """Give the frame row of a threshold."""
    return (
        places.code(row.place),
        row.measure,
        row.currency,
        date_or_none(row.window_start),
        date_or_none(row.window_end),
        row.value,
        row.limit,
        row.share_tenths / 10,
        row.status,
        date_or_none(row.crossed.day) if row.crossed else None,
        (row.crossed.order_id or None) if row.crossed else None,
        date_or_none(row.duty_from),
        date_or_none(row.duty_until),
        *(row.projected or (None, None, None)),
        row.kind,
    )
