"""The rules of the United States are what the pictures in tests/pictures/ show, line by line."""

from __future__ import annotations

import pytest
import us_documents
import us_matrix
from picture_moved import difference

from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.days import number
from taxcalc.tables.load import load_tables
from taxcalc.tables.schema import NO_VALUE


@pytest.fixture(scope="module")
def matrix() -> list[str]:
    """Draw the matrix from the rules of today."""
    return us_matrix.picture()


def test_the_matrix_of_goods_is_the_one_in_its_picture(matrix: list[str]) -> None:
    """No paper: it shows movement. A change of a rule shows line by line."""
    old = us_matrix.PICTURE.read_text(encoding="utf-8").splitlines()
    assert old == matrix, difference(old, matrix, us_matrix.COMMAND)


def test_the_documents_that_states_take_are_those_in_their_picture() -> None:
    """No paper: it shows movement, in a word and a reason a state and document."""
    old, new = us_documents.PICTURE.read_text(encoding="utf-8").splitlines(), us_documents.picture()
    assert old == new, difference(old, new, us_documents.COMMAND)


def test_a_moved_line_is_named_with_both_figures() -> None:
    """No paper: who changes a rule sees the old line, the new one, and the command."""
    words = difference(
        ["a", "US-NY clothing | 1.00", "b"], ["a", "US-NY clothing | 2.00", "b"], "python x.py"
    ).splitlines()
    assert words[1:3] == ["-US-NY clothing | 1.00", "+US-NY clothing | 2.00"]
    assert words[3].endswith("python x.py")


def test_the_prices_lie_on_both_sides_of_every_limit_per_item() -> None:
    """No paper: a new limit in us/product_rules asks for a price below it and one above."""
    limits = load_tables()["us/product_rules"]["item_price"]
    prices = [int(price.replace(".", "")) for price in us_matrix.PRICES]
    for limit in sorted({int(limit) for limit in limits if limit != NO_VALUE}):
        assert min(prices) < limit < max(prices), limit
        assert limit not in prices


def test_the_matrix_has_every_state_kind_of_goods_and_price(matrix: list[str]) -> None:
    """Package pycountry (ISO 3166-2): fifty states and the District of Columbia, eleven kinds of goods."""
    cells = [line for line in matrix if line.startswith("US-") and line[6].islower()]
    assert len(us_matrix.STATES) == 51
    assert len(cells) == 51 * len(PRODUCT_CLASSES) == 51 * 11
    assert all(len(line.split("|")[1:4]) == len(us_matrix.PRICES) for line in cells)


def test_no_sales_tax_holiday_holds_on_the_day_of_the_matrix() -> None:
    """No paper: rows of us/holidays, so that the picture shows the rule and not the exception."""
    holidays = load_tables()["us/holidays"]
    begun = holidays["valid_from"][:-1] <= number(us_matrix.SOLD)
    over = holidays["last_day"][:-1] < number(us_matrix.SOLD)
    assert begun.any()
    assert over[begun].all()
