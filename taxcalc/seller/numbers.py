"""Whether a registration number has the form its issuer gives out; form is not validity.

Checked with python-stdnum where it knows the issuer. Numbers of US states have no published common form.
"""

from __future__ import annotations

from typing import Final, Protocol


class Form(Protocol):
    """The part of a python-stdnum module that is used here."""

    def is_valid(self, number: str, /) -> bool:
        """Tell whether the number has the form."""


_EU_WIDE: Final = ("non_union_oss", "ioss")
"""Schemes with numbers of their own form (EU..., IM...); Union OSS runs under the national VAT number."""


def number_fits(number: str, issuer: str, scheme: str = "standard") -> bool:
    """Tell whether the number can be one of the issuer (a place code); True where no check is known."""
    form = _form(issuer, scheme)
    return form is None or form.is_valid(number)


def _form(issuer: str, scheme: str) -> Form | None:
    from stdnum import get_cc_module  # noqa: PLC0415 - needed only for profiles with numbers
    from stdnum.eu import oss, vat  # noqa: PLC0415 - as above
    from stdnum.us import ein  # noqa: PLC0415 - as above

    if scheme == "small_business":
        return None
    if scheme in _EU_WIDE:
        return oss
    named = {"EU": vat, "US": ein, "XI": get_cc_module("gb", "vat")}
    return named.get(issuer) or (None if "-" in issuer else get_cc_module(issuer.lower(), "vat"))
