"""Sentences that every report repeats: what is assumed when nothing else is known, and what lies outside."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.eu_assumptions import eu_assumptions
from taxcalc.exchange import last_published
from taxcalc.local_used import local_assumptions
from taxcalc.sums import SHIFT
from taxcalc.us_assumptions import us_assumptions

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment

NO_INTEREST = "Interest and penalties are not computed."
APART = "Interest and penalties are a scenario of their own; no other figure holds them."

OUTSIDE: tuple[str, ...] = (
    "Taxes on turnover itself (Washington's business and occupation tax, Ohio's commercial activity tax) are not computed.",
    "Hawaii's general excise tax is a tax on the seller; it is treated here like a sales tax.",
    "Customs duty by tariff, product safety and packaging duties are not computed; fixed charges on small parcels stand apart.",
    "Income taxes are not computed.",
    "Use tax that customers themselves may owe where nobody collected is not a figure here.",
    "Where you own the blanks or the stock, the fulfiller sells a service; that is not computed.",
    "Excise goods (alcohol, tobacco) and services other than digital ones have no rules here: leave them out of the files.",
    "They do not count towards the Union-wide limit; an order with excise goods in it is outside the import one-stop shop.",
    NO_INTEREST,
    "Whether a fee on a delivery falls away with a refund is not computed; only the fees of us/delivery_fees are.",
)


def outside(*, with_interest: bool) -> list[str]:
    """Name what lies outside; interest and penalties stand apart where they were asked for."""
    return [APART if with_interest and words == NO_INTEREST else words for words in OUTSIDE]


def general_assumptions(assessment: Assessment) -> list[str]:
    """Give the assumptions that hold for this run besides the profile's defaults."""
    run, counts = assessment.run, assessment.sums.counts
    found = [
        "The fulfiller sells you goods: two sales, one parcel.",
        "Goods are taxed in a state unless a row for the state says otherwise (common practice, no source).",
        "Local sales tax is a range: low is due everywhere in the state, expected the average by population, high the highest.",
        "Refunds do not lower a threshold's total, and a crossed threshold stays crossed.",
        "A refund counts in its own quarter. Where less than nothing is left there, it lowers what its sale's quarter lacks.",
        "Where a dispatch day is given, its rules hold; leave it blank where the day of payment decides.",
        "A registration or presence has to hold on that day too; thresholds go by the day of the order.",
        "A facilitator's tax on marketplace orders is not counted as collected by you.",
        "Sales are shown as charged, less refunds; where a price contains tax, the tax is inside.",
        f"Tax is rounded once per {run.seller.rounding}, half a minor unit away from zero.",
    ]
    if any(registration.scheme == "ioss" for registration in run.seller.registrations):
        found.append(
            "Sales under the import one-stop shop are of the day of payment: that of the order, whatever the dispatch day."
        )
    if run.facts.tables.own:
        folder = run.facts.tables.own_folder
        found.append(
            f"Rows of your own are used, from the folder `{Path(folder).name or folder}`: where one holds, the shipped row "
            "does not."
        )
    if any(p.from_day.year != p.until_day.year for p in run.seller.prior_sales):
        found.append(
            "Sales before the files count whole on their last day; give them a block for each calendar year."
        )
    unnamed = sorted(set(run.facts.fulfillers) - {fulfiller.id for fulfiller in run.seller.fulfillers})
    if unnamed:
        found.append(
            f"No [[fulfiller]] in the profile for: {', '.join(unnamed)}. Where it collects, what it was given and whose "
            "transport it is are taken as unknown."
        )
    twice = [name for name, times in Counter(f.sha256 for f in run.intake.files).items() if times > 1]
    if twice:
        names = sorted({f.name for f in run.intake.files if f.sha256 in twice})
        found.append(
            f"Files with the very same contents: {', '.join(names)}. Rows without a line_id count once for each file."
        )
    if counts["dispatch_assumed"]:
        found.append(
            f"Lines that do not say where the goods started: {counts['dispatch_assumed']}. The fulfiller's site in or nearest to "
            "the destination's country was taken."
        )
    if run.covers[1] > last_published():
        found.append(
            f"No reference rate is published here after {last_published()}; the last one is carried on."
        )
    if (run.terms.billed_by[assessment.sums.by_case["lines"] > 0] == places.EU).any():
        found.append(
            "The fulfiller is taken to be established in the member state in which it makes the goods, so that it charges VAT "
            "itself; whether it could leave the VAT to you (reverse charge) is named as a finding."
        )
    in_us = (places.regimes()[assessment.sums.keys // SHIFT] == places.US).any()
    if in_us and run.facts.tables.local is None:
        found.append(
            "A 5-digit ZIP code can lie in more than one tax district; it is used for the state and county only."
        )
    return found + us_assumptions(assessment) + eu_assumptions(assessment) + local_assumptions(assessment)
