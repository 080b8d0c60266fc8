"""What the rules that hang on stays share."""

from datetime import timedelta

from maintenance.core.facts import Fact, Stay
from maintenance.core.timeline import RigTimeline
from maintenance.core.why import plan_passed

# Work up to two weeks ahead of a stay's start or end counts for it.
EARLY = timedelta(days=14)


def stay_facts(day: RigTimeline, stay: Stay) -> tuple[Fact, ...]:
    fact = Fact("stay", {"start": stay.start, "end": day.end_of(stay)})
    return (fact, *plan_passed(day)) if stay is day.open_stay else (fact,)
