"""The review on a terminal and as text: the caution under every table, inert text, any width."""

from __future__ import annotations

import io
import re
from decimal import Decimal
from typing import Any

import pytest
from invented_record import a_finding, a_place, a_record, a_threshold, spread

from taxcalc.caution import CAUTION
from taxcalc.reports import terminal
from taxcalc.reports.layout import FigureTable, heading
from taxcalc.reports.review_limits import bar
from taxcalc.reports.screen import plain
from taxcalc.reports.terminal import print_review, review_text
from taxcalc.reports.words import money, printable, window

WIDTHS = (80, 100, 140)


def shown(record: dict[str, Any], width: int, *, whole: bool = True) -> str:
    """Give the review as it is printed into a pipe."""
    out = io.StringIO()
    print_review(record, out, width=width, whole=whole)
    return out.getvalue()


def flat(text: str) -> str:
    """Give the text with every run of blanks as one."""
    return " ".join(text.split())


def tables_in(pieces: list[Any]) -> list[FigureTable]:
    """Give the tables of figures."""
    return [piece for piece in pieces if isinstance(piece, FigureTable)]


class Screen(io.StringIO):
    """A terminal."""

    def isatty(self) -> bool:
        """Say that somebody is looking."""
        return True


@pytest.mark.parametrize(("whole", "number"), [(True, 9), (False, 5)])
@pytest.mark.parametrize("width", WIDTHS)
def test_every_table_has_the_caution_under_it(width: int, whole: bool, number: int) -> None:  # noqa: FBT001
    """As many cautions as tables with a header, and one more at the very end."""
    pieces = (terminal.full if whole else terminal.short)(a_record(), width)
    tables = tables_in(pieces)
    assert len(tables) == number
    for table in tables:
        assert flat(plain([table], width)).endswith(CAUTION)
    assert flat(shown(a_record(), width, whole=whole)).count(CAUTION) == len(tables) + 1


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize("empty", [{"places": []}, {"thresholds": []}, {"findings": []}, {"fulfiller": []}])
def test_a_review_with_an_empty_part_still_has_its_cautions(empty: dict[str, Any], whole: bool) -> None:  # noqa: FBT001
    """Each table that is left has one, and the end has one."""
    record = a_record(**empty)
    tables = tables_in((terminal.full if whole else terminal.short)(record, 100))
    assert flat(review_text(record, whole=whole)).count(CAUTION) >= len(tables) + 1


def test_in_short_no_urgent_finding_is_missing_and_what_is_left_out_is_named() -> None:
    """Notes keep their name without their sentence; more places than fit are summed, not dropped."""
    places = [
        a_place(
            f"X{number}",
            f"Place {number}",
            to_collect=spread("1.00", "1.00", "1.00"),
            shortfall=spread("0.25", "0.25", "0.25"),
        )
        for number in range(15)
    ]
    text = flat(review_text(a_record(places=places), whole=False))
    whole = flat(review_text(a_record(places=places)))
    for finding in a_record()["findings"]:
        assert finding["text"] in whole
        assert (finding["text"] in text) == (finding["urgency"] < 3)
    assert "3 more places, not shown here: expected $3.00 to collect together, $0.75 not collected." in text
    assert "not shown here" not in whole
    left_out = text.partition("also have:")[2]
    for title in ("What is outside this estimate", "Assumptions and defaults taken", "How to read this"):
        assert title in left_out
        assert title in whole
    assert "Totals" not in left_out


@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_wider_than_the_screen_and_no_amount_is_cut(width: int) -> None:
    """Amounts of a hundred million still stand whole in every column."""
    large = spread("123456789.01", "223456789.01", "323456789.01")
    big = a_place("US-TX", "Texas", orders=1, sales="923456789.01", to_collect=large, shortfall=large)
    text = shown(a_record(places=[big]), width)
    assert max(map(len, text.splitlines())) <= width
    for amount in ("$123,456,789.01", "$223,456,789.01", "$323,456,789.01", "$923,456,789.01"):
        assert amount in text


def test_the_order_of_the_sections() -> None:
    """What was read, what is urgent, then the figures, then how to read them."""
    text = review_text(a_record())
    order = [
        "Indirect-tax exposure estimate",
        "Quillback Lantern Studio",
        "Was everything counted?",
        "Totals",
        "What needs attention first",
        "Places of this period",
        "Since the duty began",
        "Limits (thresholds)",
        "Tax your fulfiller may charge you",
        "Assumptions and defaults taken",
        "What is outside this estimate",
        "How to read this",
    ]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_findings_stand_by_urgency_and_kind() -> None:
    """The crossed limit before the shortfall, both before what is only near, the contradiction last."""
    text = flat(review_text(a_record()))
    kinds = [
        "1 now Limit crossed: Texas (US-TX)",
        "1 now Not collected: Texas (US-TX) $1,163.80",
        "2 soon Limit near: New Jersey (US-NJ)",
        "3 note Your profile contradicts itself",
    ]
    assert [text.index(kind) for kind in kinds] == sorted(text.index(kind) for kind in kinds)


def test_the_three_shortfalls_keep_their_own_names() -> None:
    """None of them is added to another, even where the words are the same."""
    found = [
        a_finding("collected_without_duty", 1, "same", amount="3.00"),
        a_finding("remittance_not_evidenced", 1, "same", amount="2.00"),
        a_finding("not_collected", 1, "same", amount="1.00"),
    ]
    text = flat(review_text(a_record(findings=found)))
    heads = [
        "Not collected: $1.00",
        "Collected, but no payment on record: $2.00",
        "Collected without a duty: $3.00",
    ]
    assert [text.index(head) for head in heads] == sorted(text.index(head) for head in heads)


def test_the_same_finding_in_many_places_is_said_once() -> None:
    """The largest amounts are named, the others counted; another urgency is another finding."""
    found = [
        a_finding("past_duty", 1, "Since 2025-01-31.", place=f"X{number}", name="", amount=f"{number}.00")
        for number in range(1, 14)
    ]
    found.append(a_finding("past_duty", 2, "Since 2025-01-31.", place="US-WA", name="Washington"))
    text = flat(review_text(a_record(findings=found)))
    assert text.count("Since Jan 31, 2025.") == 2
    assert "A duty in the past: 13 places Since Jan 31, 2025. X13 $13.00; X12 $12.00;" in text
    assert "X4 $4.00; and 3 more" in text
    assert "2 soon A duty in the past: Washington (US-WA)" in text


@pytest.mark.parametrize(
    ("read", "aside", "words"),
    [
        (6, 0, "6 rows read = 6 used; none was set aside."),
        (1, 0, "1 row read = 1 used; none was set aside."),
        (2, 1, "2 rows read = 1 used + 1 set aside, with its reason."),
        (1204, 6, "1,204 rows read = 1,198 used + 6 set aside, each with a reason."),
    ],
)
def test_one_row_and_no_row_are_said_as_one_says_them(read: int, aside: int, words: str) -> None:
    """No "1 rows", and no reason for rows that are none."""
    record = a_record()
    record["tie_out"] |= {"rows_read": read, "rows_used": read - aside, "rows_set_aside": aside}
    assert words in flat(review_text(record))


def test_rows_are_tied_out_in_plain_words() -> None:
    """The sum stands in one line, the reasons are sentences."""
    text = review_text(a_record())
    assert "1,204 rows read = 1,198 used + 6 set aside, each with a reason." in text
    assert "because the value is no day of the calendar in ISO form" in text
    assert "bad_date" not in text
    assert re.search(r"EUR goods +€1,200\.00 +€1,180\.00 +€20\.00", text)


def test_a_place_has_its_name_and_code_and_quiet_ones_are_summed() -> None:
    """Slovakia and Vermont saw nothing, Ohio sold without tax."""
    text = review_text(a_record())
    assert "Washington (US-WA)" in text
    assert "nothing to collect and nothing collected, in 1 place: Ohio (US-OH) $801.00." in flat(text)
    assert "Nothing at all in this period in 2 more places." in text
    assert "Vermont" not in text


@pytest.mark.parametrize("width", WIDTHS)
def test_what_was_collected_without_duty_is_named_at_every_width(width: int) -> None:
    """In a column of its own, or under the place."""
    text = flat(shown(a_record(), width))
    after = text[text.index("Georgia (US-GA)") : text.index("Sales, but nothing")]
    assert after.count("$12.80") == 2


def test_unconfirmed_facts_name_place_and_amount() -> None:
    """Without the codes of the table rows, which the record holds; the places carry a star."""
    words = "These figures rest on rows from memory: us/resale_rules:US-TX:2018-01-01."
    found = [a_finding("unconfirmed", 2, words, place="US-TX", name="Texas", amount="511.20")]
    text = flat(review_text(a_record(findings=found)))
    assert "unconfirmed fact: Texas (US-TX) $511.20 These figures rest on rows from memory." in text
    assert "resale_rules" not in text
    assert "Texas (US-TX) * $14,210.00" in text
    assert "Washington (US-WA) *" not in text


def test_nobody_is_told_that_they_owe() -> None:
    """The program estimates."""
    assert "you owe" not in flat(review_text(a_record())).lower()


@pytest.mark.parametrize(
    ("share", "outlook", "drawn"),
    [
        ("0", None, "....................|"),
        ("4.9", None, "....................|"),
        ("99.9", None, "###################.|"),
        ("100.0", None, "####################|"),
        ("100.1", None, "####################|>"),
        ("900", None, "####################|>>>>"),
        ("50", "70", "##########~~~~......|"),
        ("50", "104", "##########~~~~~~~~~~|~"),
        ("50", "40", "##########..........|"),
    ],
)
def test_a_bar_is_full_only_when_the_limit_is_reached(share: str, outlook: str | None, drawn: str) -> None:
    """It says the same without colour."""
    assert bar(Decimal(share), Decimal(outlook) if outlook else None) == drawn


def test_a_limit_of_sales_counts_and_one_of_amounts_is_money() -> None:
    """171 sales are no dollars."""
    text = flat(review_text(a_record()))
    assert "171 of 200" in text
    assert "$512,340.00 of $500,000.00" in text
    assert "CROSSED 102.4 %" in text
    assert "at least: sales before your files are not known" in text


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("2026-01-01", "2026-12-31", "in 2026"),
        ("2025-12-01", "2026-11-30", "Dec 2025 to Nov 2026"),
        ("2024-01-01", "2025-12-31", "Jan 2024 to Dec 2025"),
        ("2025-10-21", "2026-10-20", "Oct 21, 2025 to Oct 20, 2026"),
        ("2026-01-01", "2026-12-30", "Jan 1, 2026 to Dec 30, 2026"),
    ],
)
def test_a_window_is_said_shortly(first: str, last: str, words: str) -> None:
    """Whole years and months by name, anything else by its days."""
    assert window(first, last) == words


def test_a_limit_in_another_currency_keeps_it() -> None:
    """The limit of the Union is in euros whatever the shop reports in."""
    limit = a_threshold(
        "EU", "European Union", currency="EUR", value="9100.00", limit="10000", share="91.0", status="near"
    )
    assert "€9,100.00 of €10,000.00" in review_text(a_record(thresholds=[limit]))


HOSTILE = "[bold red]x[/] \x1b]0;title\x07\x1b[2J \u202eevil\u202c\u200b\r\n:warning: =cmd()"


@pytest.mark.parametrize("width", WIDTHS)
def test_hostile_text_is_inert(width: int) -> None:
    """Whatever a file or a profile says, no control, bidi or markup character takes effect."""
    record = a_record(
        seller={"name": HOSTILE, "country": "US", "region": HOSTILE},
        files=[{"name": HOSTILE, "rows": 1, "sha256": "0"}],
        assumptions=[HOSTILE],
        outside=[HOSTILE],
        places=[a_place("US-WA", HOSTILE, orders=1, collected="1.00")],
        thresholds=[
            a_threshold("US-TX", HOSTILE, status="crossed", crossed_on="2026-01-01", crossed_by=HOSTILE)
        ],
        findings=[a_finding(HOSTILE, 1, HOSTILE, place="US-TX", name=HOSTILE)],
        fulfiller=[{**a_record()["fulfiller"][0], "words": HOSTILE}],
    )
    for text in (shown(record, width), _on_screen(record)):
        bare = re.sub(r"\x1b\[[0-9;]*m", "", text)
        assert not {sign for sign in bare if not sign.isprintable()} - {"\n"}
        assert bare.count("[bold red]x[/]") >= 8
        assert "\\u202e" in bare
        assert ":warning:" in bare


def _on_screen(record: dict[str, Any]) -> str:
    """Give what a terminal receives."""
    screen = Screen()
    print_review(record, screen, width=140)
    return screen.getvalue()


def test_text_has_no_colour_codes_and_is_the_same_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither the screen nor the environment has a say."""
    plain = review_text(a_record())
    for name, value in {"FORCE_COLOR": "1", "COLUMNS": "40", "TERM": "dumb", "NO_COLOR": ""}.items():
        monkeypatch.setenv(name, value)
        assert review_text(a_record()) == plain
    assert "\x1b" not in plain
    assert max(map(len, plain.splitlines())) <= 100
    assert not [line for line in plain.splitlines() if line != line.rstrip()]


def test_a_screen_shows_the_same_words_as_a_pipe(monkeypatch: pytest.MonkeyPatch) -> None:
    """Colour and weight add nothing that the words do not say."""
    monkeypatch.setenv("TERM", "xterm-256color")
    screen = Screen()
    print_review(a_record(), screen, width=100)
    assert "\x1b[1m" in screen.getvalue()
    assert flat(re.sub(r"\x1b\[[0-9;]*m", "", screen.getvalue())) == flat(
        review_text(a_record(), whole=False)
    )


def test_the_record_is_left_as_it_was() -> None:
    """Reports only show."""
    record = a_record()
    review_text(record)
    assert record == a_record()


@pytest.mark.parametrize(
    ("amount", "currency", "words"),
    [
        ("0.00", "USD", "$0.00"),
        ("-1234.50", "USD", "-$1,234.50"),
        ("90071992547409931234.56", "USD", "$90,071,992,547,409,931,234.56"),
        ("1234", "JPY", "¥1,234"),
        ("1234.567", "BHD", "BHD 1,234.567"),
    ],
)
def test_money_is_exact(amount: str, currency: str, words: str) -> None:
    """More digits than a binary float holds; decimals as in ISO 4217."""
    assert money(amount, currency) == words


def test_printable_keeps_letters_of_every_script() -> None:
    """Names are not damaged."""
    assert printable("Ærøskøbing 東京 Ñ €") == "Ærøskøbing 東京 Ñ €"
    assert printable("a\u2066b\x00\x85") == "a\\u2066b\\x00\\x85"


def test_the_line_under_a_long_heading_stays_one_line() -> None:
    """On a narrow screen the words wrap, the line does not."""
    text = plain(heading("Small businesses, other limits, and rates narrower than a class of goods"), 40)
    assert [line for line in text.splitlines() if line.startswith("=")] == ["=" * 40]
