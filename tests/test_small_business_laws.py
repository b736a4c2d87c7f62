"""Laws of the small-business scheme that hold whatever the orders are. No paper: they follow from its rules."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
from exempt_shop import EXEMPT, SINCE, scheme, sold
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import answers, fulfiller, orders, union_seller

from taxcalc import assess

if TYPE_CHECKING:
    import random

STATES = ("AT", "DE", "FR")
PROFILE = union_seller(
    "AT",
    registration=[*scheme("AT"), *scheme("DE", "FR", identified_in="AT")],
    fulfiller=[fulfiller(ship_from=list(STATES))],
)
ROW = st.tuples(
    st.sampled_from(STATES),
    st.sampled_from(STATES),
    st.integers(1, 3_000_000),
    st.integers(0, 700),
    st.sampled_from(("", "T09:00", "T10:00")),
)


def lines_of(rows: list[tuple[str, str, int, int, str]]) -> list[dict[str, str]]:
    """Write drawn rows as orders."""
    return [
        sold(
            f"o{number:02}",
            to,
            f"{cents // 100}.{cents % 100:02}",
            (SINCE + timedelta(days=days)).isoformat() + hour,
            sent_from=leaves,
        )
        for number, (leaves, to, cents, days, hour) in enumerate(rows)
    ]


@settings(max_examples=25, deadline=None)
@given(st.lists(ROW, min_size=1, max_size=12), st.randoms(use_true_random=False))
def test_order_of_the_rows_and_cut_into_files_change_nothing(
    rows: list[tuple[str, str, int, int, str]], mix: random.Random
) -> None:
    """Lines, limits and duties are those of the same orders in any order, and in two files."""
    given_rows = lines_of(rows)
    shuffled = [dict(row) for row in given_rows]
    mix.shuffle(shuffled)
    one = assess(orders(given_rows), PROFILE, as_of=date(2026, 12, 31))
    cut = mix.randrange(len(rows) + 1)
    with tempfile.TemporaryDirectory() as folder:
        files = []
        for name, part in (("a", shuffled[:cut]), ("b", shuffled[cut:])):
            if part:
                files.append(Path(folder, f"{name}.csv"))
                orders(part).to_csv(files[-1], index=False)
        other = assess(files, PROFILE, as_of=date(2026, 12, 31))
    pd.testing.assert_frame_equal(one.lines, other.lines)
    pd.testing.assert_frame_equal(one.thresholds, other.thresholds)
    pd.testing.assert_frame_equal(one.duties, other.duties)


@settings(max_examples=25, deadline=None)
@given(st.lists(ROW, min_size=1, max_size=12))
def test_below_every_limit_nothing_is_collected_at_home(rows: list[tuple[str, str, int, int, str]]) -> None:
    """However orders fall: while all that went out of the shop is within the home limit, no sale at home is taxed."""
    small = [(leaves, to, cents % 450_000 + 1, days, hour) for leaves, to, cents, days, hour in rows]
    found = answers(assess(orders(lines_of(small)), PROFILE, as_of=date(2026, 12, 31)))
    at_home = found[found.place == "AT"]
    assert (at_home.duty == EXEMPT).all()
    assert (at_home.to_collect_high == 0).all()


@settings(max_examples=25, deadline=None)
@given(st.lists(ROW, min_size=1, max_size=12))
def test_after_the_first_taxed_sale_of_a_year_no_sale_there_is_exempt(
    rows: list[tuple[str, str, int, int, str]],
) -> None:
    """At home, in one calendar year, in the order of the sales."""
    given_rows = lines_of(rows)
    found = answers(assess(orders(given_rows), PROFILE, as_of=date(2026, 12, 31)))
    when = {
        row["order_id"]: (row["ordered_on"][:10], row["ordered_on"][10:], row["order_id"])
        for row in given_rows
    }
    for year in ("2025", "2026"):
        ids = sorted(
            (o for o in found.index[found.place == "AT"] if when[o][0].startswith(year)),
            key=lambda o: when[o],
        )
        taxed = [found.loc[o, "duty"] == "collect" for o in ids]
        assert taxed == sorted(taxed)
