"""The seller profile: what is understood, what is assumed, and every way it is refused.

The keys and their meaning are this program's own; no outside source decides them.
"""

from __future__ import annotations

import copy
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from taxcalc.errors import Refusal
from taxcalc.seller import Collecting, read_seller, resident_presence

if TYPE_CHECKING:
    from pathlib import Path

FULL = """\
[seller]
name = "Paper Fern Studio"
country = "US"
region = "US-OR"
established_on = 2023-01-01
established_in = ["US"]
reporting_currency = "USD"
time_zone = "America/Los_Angeles"
rounding = "order"
prices_include_tax = ["EU", "GB"]
pickup_offered = true

[[registration]]
place = "US-WA"
scheme = "standard"
number = "604123456"
from = 2025-04-01
until = 2026-12-31

[[registration]]
place = "EU"
scheme = "union_oss"
identified_in = "DE"
number = "DE136695976"
from = 2025-01-01

[[presence]]
place = "US-NV"
kind = "stock"
from = 2025-01-01

[[certificate]]
place = "US-TX"
form = "state"
number_of = "US-WA"
number = "604123456"
fulfiller = "main"
from = 2025-01-01

[[fulfiller]]
id = "main"
ship_from = ["US-IN", "SK"]
collects_in = [{ place = "US-IN", from = 2022-01-01 }]
transport_arranged_by = "fulfiller"
transport_supply = "second"
importer = "customer"

[[remitted]]
place = "US-WA"
from = 2026-01-01
until = 2026-03-31
amount = "120.50"

[[prior_sales]]
place = "US-CA"
from = 2025-01-01
until = 2025-12-31
amount = "40000.00"
transactions = 900

[[election]]
name = "eu_tax_at_destination"
from = 2026-01-01

[status]
watch = 40
near = 75
"""


def small(**tables: Any) -> dict[str, Any]:  # noqa: ANN401 - raw tables of a profile, wrong ones too
    """Give the smallest profile, with the given tables laid over it."""
    seller = {"country": "US", "region": "US-OR", **tables.pop("seller", {})}
    return {"seller": seller, **tables}


def refusal_of(profile: dict[str, Any]) -> Refusal:
    """Give the refusal that reading the profile ends in."""
    with pytest.raises(Refusal) as caught:
        read_seller(copy.deepcopy(profile))
    return caught.value


def ids_of(refusal: Refusal) -> list[str]:
    """Give the ids of all its complaints."""
    return [complaint.id for complaint in (refusal.complaint, *refusal.more)]


@pytest.fixture
def full(tmp_path: Path) -> Path:
    """Write a profile with every key."""
    path = tmp_path / "seller.toml"
    path.write_text(FULL, encoding="utf-8")
    return path


def test_every_key_of_a_full_profile_is_read(full: Path) -> None:
    """Each value arrives where it belongs and nothing has to be assumed."""
    seller = read_seller(full)
    assert (seller.name, seller.country, seller.region) == ("Paper Fern Studio", "US", "US-OR")
    assert (seller.reporting_currency, seller.time_zone, seller.rounding) == (
        "USD",
        "America/Los_Angeles",
        "order",
    )
    assert seller.established_on == date(2023, 1, 1)
    assert seller.prices_include_tax == ("EU", "GB")
    assert seller.pickup_offered is True
    washington, oss = seller.registrations
    assert (washington.place, washington.from_day, washington.until_day) == (
        "US-WA",
        date(2025, 4, 1),
        date(2026, 12, 31),
    )
    assert (oss.place, oss.scheme, oss.identified_in, oss.until_day) == ("EU", "union_oss", "DE", None)
    assert [(p.place, p.kind) for p in seller.presences] == [("US-NV", "stock")]
    assert [(c.place, c.form, c.number_of, c.fulfiller) for c in seller.certificates] == [
        ("US-TX", "state", "US-WA", "main"),
    ]
    main = seller.fulfillers[0]
    assert main.ship_from == ("US-IN", "SK")
    assert main.collects_in == (Collecting("US-IN", date(2022, 1, 1), None),)
    assert main.transport_supply == "second"
    assert [(r.amount, r.until_day) for r in seller.remitted] == [("120.50", date(2026, 3, 31))]
    assert [(s.amount, s.transactions) for s in seller.prior_sales] == [("40000.00", 900)]
    assert [(e.name, e.place) for e in seller.elections] == [("eu_tax_at_destination", None)]
    assert (seller.watch, seller.near) == (40, 75)
    assert seller.assumptions == ()


def test_file_and_dict_give_the_same_seller(full: Path) -> None:
    """The two ways in differ only in where the complaints point."""
    import tomllib  # noqa: PLC0415 - used here only

    assert read_seller(tomllib.loads(FULL)) == read_seller(full) == read_seller(str(full))


def test_what_is_left_out_is_said() -> None:
    """Every default that was taken stands in a sentence of its own."""
    seller = read_seller({"seller": {"country": "US"}})
    said = "\n".join(seller.assumptions)
    for words in (
        "No region",
        "No established_on",
        "No [[fulfiller]] table",
        "No [[registration]] table",
        "No [[certificate]] table",
        "No [[remitted]] table",
        "No [[prior_sales]] table",
        "No [status] table",
        "No time_zone",
        "No reporting_currency: figures are shown in USD",
    ):
        assert words in said
    assert [(one.id, one.collects_in, one.ship_from) for one in seller.fulfillers] == [
        ("main", "unknown", ())
    ]
    assert (seller.watch, seller.near, seller.rounding) == (50, 80, "line")


@pytest.mark.parametrize(
    ("country", "currency"), [("DE", "EUR"), ("SE", "EUR"), ("GB", "GBP"), ("CH", "CHF")]
)
def test_reporting_currency_left_out(country: str, currency: str) -> None:
    """Member states report in euro, other countries in their own currency."""
    assert read_seller({"seller": {"country": country}}).reporting_currency == currency


def test_region_of_a_seller_abroad_is_any_iso_region() -> None:
    """The home of a seller outside the United States is its country."""
    seller = read_seller({"seller": {"country": "CA", "region": "CA-ON", "established_on": date(2024, 5, 1)}})
    presence = resident_presence(seller, date(2024, 7, 1))
    assert presence is not None
    assert (seller.region, presence.place, presence.from_day) == ("CA-ON", "CA", date(2024, 5, 1))


def test_resident_presence_of_a_us_seller() -> None:
    """The home state counts from the day of establishment; without a state there is none."""
    seller = read_seller(small(seller={"established_on": date(2023, 1, 1)}))
    presence = resident_presence(seller, date(2024, 7, 1))
    assert presence is not None
    assert (presence.place, presence.from_day, presence.until_day) == ("US-OR", date(2023, 1, 1), None)
    assert resident_presence(read_seller({"seller": {"country": "US"}}), date(2024, 7, 1)) is None


@pytest.mark.practice
@pytest.mark.parametrize(
    ("written", "inside", "outside"),
    [
        (None, ["DE", "GB", "AU", "XI"], ["US", "US-TX", "CA"]),
        (["EU"], ["DE", "GR", "XI", "ES-CN"], ["GB", "US", "NO"]),
        (["GB"], ["GB", "XI"], ["DE", "US"]),
        (["EU", "US"], ["US-TX", "FR"], ["CA", "GB"]),
        ([], [], ["DE", "US", "GB", "XI"]),
    ],
)
def test_prices_include_tax(written: list[str] | None, inside: list[str], outside: list[str]) -> None:
    """Shelf prices without tax are the custom of the US and Canada (common practice, no source)."""
    seller = read_seller(small(seller={} if written is None else {"prices_include_tax": written}))
    assert [code for code in (*inside, *outside) if seller.includes_tax(code)] == inside


def test_texts_as_days_and_whole_amounts_are_accepted() -> None:
    """A dict from elsewhere may hold ISO texts, and a whole number needs no quotes."""
    paid = {"place": "US-WA", "from": "2026-01-01", "until": "2026-03-31", "amount": 120}
    seller = read_seller(small(remitted=[paid]))
    assert (seller.remitted[0].from_day, seller.remitted[0].amount) == (date(2026, 1, 1), "120")


def test_home_country_joins_the_establishments() -> None:
    """The seat of the business is an establishment, whether or not it is listed."""
    seller = read_seller(small(seller={"established_in": ["DE"]}))
    assert seller.established_in == ("US", "DE")
    assert any("established_in does not name US" in sentence for sentence in seller.assumptions)


def test_a_fulfiller_nobody_described_has_every_default() -> None:
    """An order line may name a fulfiller without a table."""
    seller = read_seller(small(fulfiller=[{"id": "second", "collects_in": "all"}]))
    assert [one.id for one in seller.fulfillers] == ["second", "main"]
    assert seller.fulfiller("second").collects_in == "all"
    assert seller.fulfiller("third").collects_in == "unknown"


def test_oss_written_with_its_member_state_is_union_wide() -> None:
    """Naming the member state of identification as the place means the Union scheme registered there."""
    written = {"place": "DE", "scheme": "union_oss", "identified_in": "DE", "from": date(2025, 1, 1)}
    assert read_seller(small(registration=[written])).registrations[0].place == "EU"


REG = {"place": "US-WA", "scheme": "standard", "from": date(2025, 1, 1)}
PAPER = {"place": "US-TX", "form": "state", "from": date(2025, 1, 1)}
PAID = {"place": "US-WA", "from": date(2026, 1, 1), "until": date(2026, 3, 31), "amount": "1"}


@pytest.mark.parametrize(
    ("profile", "message_id", "words"),
    [
        pytest.param(
            small(seller={"rgion": "US-OR"}), "E502", "Did you mean `region`?", id="key nearly right"
        ),
        pytest.param(
            small(registation=[REG]), "E502", "Did you mean `registration`?", id="table nearly right"
        ),
        pytest.param(
            small(registration=[{**REG, "form": "x"}]), "E502", "[[registration]] no. 1", id="foreign key"
        ),
        pytest.param({"seller": {"name": "x"}}, "E503", 'country = "US"', id="no country"),
        pytest.param({}, "E503", "[seller]", id="empty profile"),
        pytest.param(small(registration=[{"place": "US-WA"}]), "E503", "`from`", id="no first day"),
        pytest.param(
            small(registration=[{**REG, "place": "EU", "scheme": "union_oss"}]),
            "E503",
            "identified_in",
            id="union scheme without member state",
        ),
        pytest.param(small(registration=REG), "E504", "[[registration]]", id="single brackets"),
        pytest.param(small(seller={"name": 7}), "E504", "7 is not", id="number for a text"),
        pytest.param(
            small(seller={"pickup_offered": "no"}), "E504", "true or false", id="text for yes or no"
        ),
        pytest.param(small(seller={"time_zone": "Pacific"}), "E504", "time zone", id="no IANA zone"),
        pytest.param(small(seller={"reporting_currency": "USS"}), "E504", "ISO 4217", id="no currency"),
        pytest.param(
            small(seller={"prices_include_tax": "EU"}), "E504", "list of codes", id="text for a list"
        ),
        pytest.param(
            small(fulfiller=[{"collects_in": ["US-IN"]}]), "E504", "first day", id="places without days"
        ),
        pytest.param(small(seller={"rounding": "item"}), "E505", "line, order", id="rounding"),
        pytest.param(small(registration=[{**REG, "scheme": "oss"}]), "E505", "union_oss", id="scheme"),
        pytest.param(
            small(presence=[{**REG, "scheme": None, "kind": "van"}]), "E505", "stock", id="presence kind"
        ),
        pytest.param(small(registration=[{**REG, "place": "US-ZZ"}]), "E506", '"US-ZZ"', id="no such state"),
        pytest.param(
            small(registration=[{**REG, "place": "EL"}]), "E506", 'Greece is "GR"', id="Greek tax prefix"
        ),
        pytest.param(
            small(registration=[{**REG, "place": "US"}]), "E507", "state by state", id="no federal register"
        ),
        pytest.param(small(registration=[{**REG, "place": "US-AE"}]), "E507", "US-AE", id="military address"),
        pytest.param(
            small(presence=[{"place": "EU", "kind": "stock", "from": date(2025, 1, 1)}]),
            "E507",
            '"EU"',
            id="presence all over the Union",
        ),
        pytest.param(
            small(registration=[{**REG, "from": "2025-02-30"}]), "E508", "2025-02-30", id="no such day"
        ),
        pytest.param(
            small(registration=[{**REG, "until": date(2024, 12, 31)}]), "E509", "2024-12-31", id="backwards"
        ),
        pytest.param(
            small(registration=[REG, {**REG, "from": date(2026, 1, 1)}]), "E510", "no. 1", id="overlap"
        ),
        pytest.param(
            small(registration=[{**REG, "place": "DE", "number": "DE136695977"}]),
            "E511",
            "issued by DE",
            id="wrong check digit",
        ),
        pytest.param(
            small(registration=[{**REG, "place": "GB", "number": "12"}]),
            "E511",
            "issued by GB",
            id="short British number",
        ),
        pytest.param(
            small(certificate=[{**PAPER, "fulfiller": "other"}]), "E512", '"other"', id="no such fulfiller"
        ),
        pytest.param(small(remitted=[{**PAID, "amount": 120.5}]), "E513", "in quotes", id="bare decimal"),
        pytest.param(
            small(remitted=[{**PAID, "amount": "1,200.50"}]), "E513", "thousands", id="thousands mark"
        ),
        pytest.param(small(remitted=[{**PAID, "amount": "-5"}]), "E513", '"-5"', id="negative"),
        pytest.param(small(remitted=[{**PAID, "amount": True}]), "E513", "true", id="yes for an amount"),
        pytest.param(
            small(seller={"reporting_currency": "JPY"}, remitted=[{**PAID, "amount": "120.50"}]),
            "E513",
            "JPY",
            id="too many decimals",
        ),
        pytest.param(small(status={"watch": 80}), "E514", "watch < near", id="watch as high as near"),
        pytest.param(small(status={"near": 101}), "E514", "<= 100", id="over all"),
        pytest.param(small(seller={"country": "CA"}), "E515", "not in", id="region of another country"),
        pytest.param(
            small(registration=[{**REG, "place": "EU"}]), "E515", "whole Union", id="standard for the Union"
        ),
        pytest.param(small(fulfiller=[{"id": "a"}, {"id": "a"}]), "E515", 'the id "a"', id="same id twice"),
        pytest.param(
            small(certificate=[{**PAPER, "form": "vat_number"}]), "E515", "US-TX", id="VAT number in a state"
        ),
        pytest.param(
            small(election=[{"name": "eu_tax_at_destination", "place": "DE", "from": date(2025, 1, 1)}]),
            "E515",
            "whole European Union",
            id="election for one member state",
        ),
    ],
)
def test_refused(profile: dict[str, Any], message_id: str, words: str) -> None:
    """Each slip is refused as a fault of the profile, in words that name the mend."""
    if "presence" in profile:
        profile["presence"][0].pop("scheme", None)
    refusal = refusal_of(profile)
    assert ids_of(refusal) == [message_id]
    assert words in str(refusal)
    assert refusal.exit_code == 5


def test_registrations_that_follow_each_other_are_accepted() -> None:
    """The last day of one and the first day of the next do not overlap."""
    first = {**REG, "until": date(2025, 12, 31)}
    seller = read_seller(small(registration=[first, {**REG, "from": date(2026, 1, 1)}]))
    assert len(seller.registrations) == 2


@pytest.mark.parametrize("order", [1, -1])
def test_registrations_that_share_one_day_overlap(order: int) -> None:
    """Days are inclusive, so the last day of one may not be the first of the other, in either order."""
    both = [{**REG, "until": date(2025, 12, 31)}, {**REG, "from": date(2025, 12, 31)}]
    assert ids_of(refusal_of(small(registration=both[::order]))) == ["E510"]


def test_a_single_day_is_a_span() -> None:
    """It may end on the day on which it begins, not on the day before."""
    one_day = {**REG, "until": REG["from"]}
    assert read_seller(small(registration=[one_day])).registrations[0].until_day == date(2025, 1, 1)


def test_all_faults_are_found_in_one_go_in_the_order_of_the_file(tmp_path: Path) -> None:
    """Three slips give three complaints, each with its file and row."""
    path = tmp_path / "seller.toml"
    broken = FULL.replace('rounding = "order"', 'rounding = "item"').replace('"US-NV"', '"US-QQ"')
    path.write_text(broken.replace("near = 75", "near = 7"), encoding="utf-8")
    with pytest.raises(Refusal) as caught:
        read_seller(path)
    complaints = (caught.value.complaint, *caught.value.more)
    lines = path.read_text(encoding="utf-8").splitlines()
    assert [complaint.id for complaint in complaints] == ["E505", "E506", "E514"]
    assert [lines[complaint.row - 1] for complaint in complaints if complaint.row] == [
        'rounding = "item"',
        'place = "US-QQ"',
        "watch = 40",
    ]
    assert {complaint.file for complaint in complaints} == {str(path)}


def test_file_that_is_missing_or_no_toml(tmp_path: Path) -> None:
    """The complaint says where the slip stands and how to begin anew."""
    with pytest.raises(Refusal, match=r"E500 .*taxcalc start DIR"):
        read_seller(tmp_path / "none.toml")
    path = tmp_path / "seller.toml"
    path.write_text('[seller]\nname = "x\n', encoding="utf-8")
    with pytest.raises(Refusal, match=r"E501 .*row 2"):
        read_seller(path)
    path.write_bytes(b'[seller]\nname = "\xff"\n')
    with pytest.raises(Refusal, match=r"E501 .*UTF-8"):
        read_seller(path)


def test_own_tables_beside_the_profile_are_taken(full: Path) -> None:
    """The folder is offered; whether its rows are used is said with the figures."""
    (full.parent / "own_tables").mkdir()
    seller = read_seller(full)
    assert seller.tables == full.parent / "own_tables"
    assert seller.assumptions == ()
