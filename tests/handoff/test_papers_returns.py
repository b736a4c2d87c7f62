"""What belongs into returns of the member states: every sale of the Union stands there or in a one-stop shop, never in both."""

from __future__ import annotations

import csv
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner

from taxcalc.cli import main

SHOP = Path(__file__).parents[2] / "examples" / "union-shop"
Rows = list[dict[str, str]]


def handed_off(out: Path, seller: str) -> dict[str, Rows]:
    """Hand the Belgian shop off under a profile, and read what is needed here."""
    profile = out.with_suffix(".toml")
    profile.write_text(seller, encoding="utf-8")
    words = ["handoff", str(SHOP / "orders.csv"), "--seller", str(profile), "--as-of", "2026-10-20"]
    done = CliRunner().invoke(main, [*words, "--quarter", "2026-Q3", "--out", str(out)])
    assert done.exit_code == 0, done.stderr
    found = {}
    for name in ("lines", "J-eu-period", "J2-one-stop-shop", "J5-local-returns"):
        with (out / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            found[name] = list(csv.DictReader(file))
    return found


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Rows]:
    """The shop as it is: in the Union one-stop shop, registered at home."""
    return handed_off(
        tmp_path_factory.mktemp("union") / "off", (SHOP / "seller.toml").read_text(encoding="utf-8")
    )


def total(rows: Rows, title: str) -> Decimal:
    """Add a column up."""
    return sum((Decimal(row[title]) for row in rows), Decimal(0))


def inside(rows: Rows) -> Rows:
    """Take the lines of the Union in the quarter."""
    return [row for row in rows if row["regime"] == "eu" and row["quarter"] == "2026-Q3"]


def test_every_sale_of_the_union_is_in_one_of_both(files: dict[str, Rows]) -> None:
    """Lines and sales of the sheet and of the one-stop shop are those of the period."""
    of_union = inside(files["lines"])
    reported = [row for row in of_union if row["one_stop_shop"]]
    local = files["J5-local-returns"]
    assert {row["one_stop_shop"] for row in reported} == {"union_oss"}
    assert (
        int(total(local, "Lines")) + len(reported)
        == len(of_union)
        == int(total(files["J-eu-period"], "Lines"))
    )
    gross = total(files["J-eu-period"], "Gross sales, as charged")
    assert total(local, "Sales, as charged") + total(reported, "reporting_sales") == gross
    vat = total(files["J-eu-period"], "Should collect")
    assert total(local, "VAT") + total(reported, "reporting_to_collect") == vat


def test_vat_is_the_rate_of_the_taxable_amount(files: dict[str, Rows]) -> None:
    """To half a cent a line; sales without VAT of the seller have no rate."""
    taxed = [row for row in files["J5-local-returns"] if row["VAT rate"]]
    assert {(row["Place"], row["VAT rate"]) for row in taxed} == {
        ("BE", "21.00"),
        ("ES", "4.00"),
        ("ES", "21.00"),
        ("PL", "23.00"),
    }
    for row in taxed:
        exact = Decimal(row["Taxable amount, without tax"]) * Decimal(row["VAT rate"]) / 100
        assert abs(exact - Decimal(row["VAT"])) <= Decimal("0.01") * int(row["Lines"])
    assert {row["Registered there"] for row in taxed if row["Place"] == "BE"} == {"yes"}
    assert {row["Registered there"] for row in taxed if row["Place"] != "BE"} == {"no"}
    for row in files["J5-local-returns"]:
        assert row["VAT rate"] or Decimal(row["VAT"]) == 0


def test_outside_the_one_stop_shop_its_sales_belong_into_the_states_returns(tmp_path: Path) -> None:
    """Then every line of the Union stands in the sheet, and what a one-stop shop would report says that it is none of its own."""
    words = (SHOP / "seller.toml").read_text(encoding="utf-8")
    scheme, held = words.index('scheme = "union_oss"'), "from = 2026-01-01"
    profile = words[:scheme] + words[scheme:].replace(held, "from = 2024-01-01\nuntil = 2024-12-31", 1)
    found = handed_off(tmp_path / "off", profile)
    assert int(total(found["J5-local-returns"], "Lines")) == len(inside(found["lines"]))
    assert {row["Registered"] for row in found["J2-one-stop-shop"] if row["Scheme"].startswith("Union")} == {
        "no"
    }
