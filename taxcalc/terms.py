"""The answers of all regimes for all cases of a run, joined into one set of arrays with one entry a case."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import elsewhere, eu, places, us
from taxcalc.eu.law import leaving
from taxcalc.kernel import Quick, Rules
from taxcalc.money import CURRENCY_CODE
from taxcalc.regime import NO_LIMIT, Cases, CollectTerms, FulfillerTerms, Placed, no_rules

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.money import Ints
    from taxcalc.regime import Evidence, Regime

    Index = npt.NDArray[np.intp]

REGIMES: tuple[Regime, ...] = (us.REGIME, eu.REGIME, elsewhere.REGIME)
"""In the order of their codes in `taxcalc.places`."""

OTHER = len(REGIMES) - 1


def regime_of(cases: Cases) -> npt.NDArray[np.int8]:
    """Give the regime that answers for each destination; unknown countries go to `elsewhere`."""
    return np.minimum(places.regimes()[cases.destination], OTHER).astype(np.int8)


def fulfiller_regime_of(cases: Cases, where: Placed, facts: Facts) -> npt.NDArray[np.int8]:
    """Give the regime that answers for the fulfiller's sale: the destination's, or the Union's for goods that leave it.

    Goods that leave the Union may meet a tax on both sides. Where that of arrival can be charged, at the high end at
    least, it is the one shown, because the VAT of an export is due only where the export cannot be proved.
    """
    regime = regime_of(cases)
    leaves = (places.regimes()[cases.ship_from] == places.EU) & (regime != places.EU)
    regime[leaves & (regime == OTHER)] = places.EU
    for index, rules in _parts(np.where(leaves, regime, np.int8(places.EU))):
        if rules is not REGIMES[places.EU]:
            answer = rules.fulfiller(cases.take(index), taken(where, index), facts)
            regime[index[~answer.high.charged]] = places.EU
    return regime


def regime_name(place: int) -> str:
    """Name the regime of a place code."""
    return REGIMES[min(int(places.regimes()[place]), OTHER)].name


def placed(cases: Cases, facts: Facts) -> Placed:
    """Ask every regime where its cases are taxed."""
    answer = Placed(
        np.zeros(cases.size, np.int16),
        np.zeros(cases.size, np.int8),
        np.full(cases.size, NO_LIMIT, np.int16),
        np.ones(cases.size, bool),
    )
    for index, regime in _parts(regime_of(cases)):
        part = regime.place(cases.take(index), facts)
        for field in fields(Placed):
            getattr(answer, field.name)[index] = getattr(part, field.name)
    return answer


def _parts(regime: npt.NDArray[np.int8]) -> list[tuple[Index, Regime]]:
    """Split cases by regime."""
    return [
        (index, REGIMES[code])
        for code in range(len(REGIMES))
        if (index := np.flatnonzero(regime == code)).size
    ]


SCENARIOS = ("low", "expected", "high")


@dataclass(frozen=True)
class Terms:
    """One side of the chain for all cases: rules per scenario, reasons, and the proof behind each case."""

    rules: dict[str, Rules]
    reason: npt.NDArray[np.object_]
    limit_currency: npt.NDArray[np.int16]
    ranged: npt.NDArray[np.bool_]
    proofs: list[tuple[Index, Evidence]]
    basis: npt.NDArray[np.int8]
    checked_on: npt.NDArray[np.int32]

    @cached_property
    def quick(self) -> dict[str, Quick]:
        """The rules of each scenario as far as parcels of plain goods need them."""
        return {name: Quick.of(rules) for name, rules in self.rules.items()}

    def row_ids(self) -> list[str]:
        """Write the table rows behind each case."""
        found = [""] * self.reason.size
        for index, evidence in self.proofs:
            for case, text in zip(index.tolist(), evidence.row_ids(index.size), strict=True):
                found[case] = " ".join(filter(None, (found[case], text)))
        return found


@dataclass(frozen=True)
class AllTerms:
    """Everything the regimes say of the cases of a run.

    `billed_by` is the regime (a position in REGIMES) that answers for the fulfiller's sale, `billed_in` the place whose tax
    that is; both can differ from those of the seller's own sale.
    """

    cases: Cases
    regime: npt.NDArray[np.int8]
    placed: Placed
    duty: npt.NDArray[np.int8]
    collect: Terms
    fulfiller: Terms
    base: dict[str, npt.NDArray[np.int8]]
    markup_ppm: Ints
    avoidable: npt.NDArray[np.bool_]
    billed_by: npt.NDArray[np.int8]
    billed_in: npt.NDArray[np.int16]


def all_terms(cases: Cases, facts: Facts) -> AllTerms:
    """Ask every regime for both sides of the chain."""
    where = placed(cases, facts)
    regime = regime_of(cases)
    duty = np.zeros(cases.size, np.int8)
    collected: list[tuple[Index, CollectTerms]] = []
    for index, rules in _parts(regime):
        answer = rules.collect(cases.take(index), taken(where, index), facts)
        duty[index] = answer.duty
        collected.append((index, answer))
    billed_by = fulfiller_regime_of(cases, where, facts)
    billed = [
        (index, rules.fulfiller(cases.take(index), taken(where, index), facts))
        for index, rules in _parts(billed_by)
    ]
    base, markup, avoidable = _fulfiller_parts(cases.size, billed)
    billed_in = where.place.copy()
    for index, bill in billed:
        billed_in[index] = bill.place
    return AllTerms(
        cases,
        regime,
        where,
        duty,
        _joined(cases.size, collected, _leaving_the_union(cases, regime, facts)),
        _joined(cases.size, billed, []),
        base,
        markup,
        avoidable,
        billed_by,
        billed_in,
    )


def taken(where: Placed, index: Index) -> Placed:
    """Give the answers for some cases."""
    return Placed(**{field.name: getattr(where, field.name)[index] for field in fields(Placed)})


def _leaving_the_union(
    cases: Cases, regime: npt.NDArray[np.int8], facts: Facts
) -> list[tuple[Index, Evidence]]:
    """Prove that goods sent from the Union to a place with other rules are an export of it, whatever is asked there."""
    leaves = (places.regimes()[cases.ship_from] == places.EU) & (regime != places.EU) & ~cases.sample
    index = np.flatnonzero(leaves)
    return [(index, leaving(cases.take(index), facts))] if index.size else []


def _joined(
    size: int,
    parts: list[tuple[Index, CollectTerms]] | list[tuple[Index, FulfillerTerms]],
    proofs: list[tuple[Index, Evidence]],
) -> Terms:
    """Put the answers of the regimes into one set of arrays; `proofs` stand behind them as well."""
    rules = {name: _writable(no_rules(size)) for name in SCENARIOS}
    reason = np.full(size, "", object)
    currency = np.zeros(size, np.int16)
    basis, checked = np.zeros(size, np.int8), np.full(size, 2**31 - 1, np.int32)
    for index, answer in parts:
        for name in SCENARIOS:
            for field in fields(Rules):
                getattr(rules[name], field.name)[index] = getattr(getattr(answer, name), field.name)
        reason[index] = answer.reason
        currency[index] = CURRENCY_CODE[answer.limit_currency]
    every = [*((index, answer.evidence) for index, answer in parts), *proofs]
    for index, evidence in every:
        basis[index] = np.maximum(basis[index], evidence.basis(index.size))
        checked[index] = np.minimum(checked[index], evidence.checked_on(index.size))
    return Terms(rules, reason, currency, _ranged(rules), every, basis, checked)


def _writable(rules: Rules) -> Rules:
    """Give rules with an array of its own in every field."""
    return Rules(**{field.name: getattr(rules, field.name).copy() for field in fields(Rules)})


def _ranged(rules: dict[str, Rules]) -> npt.NDArray[np.bool_]:
    """Tell for which cases low, expected and high can differ."""
    differ = np.zeros(rules["low"].charged.size, bool)
    for name in ("low", "high"):
        for field in fields(Rules):
            differ |= getattr(rules[name], field.name) != getattr(rules["expected"], field.name)
    return differ


def _fulfiller_parts(
    size: int,
    parts: list[tuple[Index, FulfillerTerms]],
) -> tuple[dict[str, npt.NDArray[np.int8]], Ints, npt.NDArray[np.bool_]]:
    """Join what only the fulfiller's side has: the price that is the base, the mark-up, and what is avoidable."""
    base = {name: np.zeros(size, np.int8) for name in SCENARIOS}
    markup, avoidable = np.zeros(size, np.int64), np.zeros(size, bool)
    for index, answer in parts:
        for name in SCENARIOS:
            base[name][index] = getattr(answer, f"base_{name}")
        markup[index] = answer.markup_ppm
        avoidable[index] = answer.avoidable
    return base, markup, avoidable
