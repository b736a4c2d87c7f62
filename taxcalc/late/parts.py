"""The record's parts on late tax: the look-back always, interest and penalties where they were asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.look_back import look_back

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums


def late_parts(assessment: Assessment, sums: PlaceSums, own: dict[str, list[str]]) -> dict[str, Any]:
    """Give the parts by key of the record; `own` names rows of the user's own by place."""
    parts: dict[str, Any] = {
        "look_back": [{**each, "own_rows": own[each["place"]]} for each in look_back(assessment, sums)]
    }
    if assessment.with_interest:
        from taxcalc.late.scenario import scenario  # noqa: PLC0415 - only where it was asked for

        parts["interest_and_penalties"] = scenario(assessment, sums)
    return parts


def sources_of(parts: dict[str, Any]) -> set[str]:
    """Name the sources of the rows that these parts rest on."""
    resting = [part["disclosure"] or {} for part in parts["look_back"]]
    resting += parts.get("interest_and_penalties", {}).get("places", [])
    return {source for part in resting for source in part.get("sources", ())}
