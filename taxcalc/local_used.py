"""Which local rates of the user's store an assessment used: by ZIP+4, by ZIP code, or the state's average after all."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.zone_numbers import local_of

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment

WAYS: Final = {4: "by_zip4", 5: "by_zip", 0: "by_average"}
"""How the rate of a line was found, by the level of its row in the store."""


def local_rates_used(assessment: Assessment) -> list[dict[str, Any]]:
    """List the states with sales that the store holds: lines of the period by the way their rate was found, and the files.

    A line counts under the way to its rate whether or not tax was to be collected on it.
    """
    facts, cases = assessment.run.facts, assessment.run.terms.cases
    local = facts.tables.local
    if local is None:
        return []
    rows = local.rows(cases.destination, local_of(facts.tables, cases.destination, cases.zone), cases.day)
    level = local.column("level", rows)
    several = local.column("low", rows) != local.column("high", rows)
    lines = assessment.sums.by_case["lines"]
    found = []
    for code, state in sorted(local.states.items(), key=lambda item: item[1].added.place):
        here = cases.destination == code
        if not here.any():
            continue
        counts = {way: int(lines[here & (level == number)].sum()) for number, way in WAYS.items()}
        found.append(
            {
                "place": state.added.place,
                "name": places.name(state.added.place),
                "lines": counts,
                "lines_in_a_range": int(lines[here & several].sum()),
                "lowest_expected": _lowest_expected(assessment, np.flatnonzero(here & several)),
                "files": [
                    {
                        "name": file.name,
                        "layout": file.layout,
                        "sha256": file.sha256,
                        "added_on": file.added_on,
                        "valid_from": file.first_day or None,
                        "sources": file.sources,
                    }
                    for file in state.added.files
                ],
                "caution": CAUTION,
            }
        )
    return found


def _lowest_expected(assessment: Assessment, cases: Any) -> bool:  # noqa: ANN401 - an index array
    """Tell whether the law makes the lowest rate of a ZIP code apply in some of the cases."""
    facts, every = assessment.run.facts, assessment.run.terms.cases
    table = facts.tables["us/streamlined_states"]
    rows = table.lookup(every.day[cases], place=every.destination[cases])
    return bool((table["lowest_rate_in_zip"][rows] & (rows >= 0)).any())


def local_assumptions(assessment: Assessment) -> list[str]:
    """Say in sentences which local rates were used, and which rule was applied to ZIP codes with several."""
    used = local_rates_used(assessment)
    if not used:
        return []
    ways = [
        f"{each['place']}: {each['lines']['by_zip4']} by ZIP+4, {each['lines']['by_zip']} by ZIP code, "
        f"{each['lines']['by_average']} by the state's average"
        for each in used
    ]
    found = [f"Local rates of your own files were used (lines of the period): {'; '.join(ways)}."]
    lowest = [each["place"] for each in used if each["lowest_expected"]]
    if lowest:
        found.append(
            f"Where a ZIP code has several rates, the lowest combined one is expected in {', '.join(lowest)}: the law of "
            "the Streamlined states (section 305) makes it apply where the ZIP+4 is not known, which protects the seller; "
            "the highest is the high end."
        )
    return found
