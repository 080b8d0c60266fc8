"""Before each trip."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from maintenance.core.triggers.kinds.before_trip import BeforeTrip
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind


class BeforeTripRule(RuleKind[BeforeTrip]):
    trigger = BeforeTrip
    group = Group.OCCASIONS
    place = 5
    reasons: ClassVar = {
        "trip": "Trip from %(start)s to %(end)s.",
        "no_trip": "No planned trip needs it now.",
    }
    details: ClassVar = {"trip_lead": "before_trip"}

    def in_words(self, rule: BeforeTrip) -> str:
        return "Before each trip"

    def fields(self, form: FormOf[BeforeTrip]) -> dict[str, forms.Field]:
        return {
            "before_trip": forms.BooleanField(label="Before each trip", required=False),
            "trip_lead": forms.IntegerField(
                label="Earliest, in days before the trip",
                required=False,
            ),
        }

    def lines(self, form: FormOf[BeforeTrip]) -> list[list[str]]:
        return [["before_trip", "trip_lead"]]

    def initial(self, rule: BeforeTrip, number: int) -> dict[str, Any]:
        return {"before_trip": True, "trip_lead": rule.lead}

    def read(
        self, data: Mapping[str, Any], form: FormOf[BeforeTrip]
    ) -> Iterator[Given]:
        if data.get("before_trip"):
            lead = data.get("trip_lead")
            yield "trip_lead", {"before_trip": {} if lead is None else {"lead": lead}}


KIND = BeforeTripRule()
