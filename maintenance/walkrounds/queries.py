"""Reading walk-arounds, each page in a fixed number of queries."""

from collections import defaultdict
from dataclasses import dataclass, field

from django.db.models import Count, Max, Prefetch, Q, QuerySet

from maintenance.findings.models import Finding, FindingState
from maintenance.findings.zones import Zone, zones_of
from maintenance.households.models import Household

from .models import WalkRound, ZoneLook


def walkrounds_of(household: Household) -> QuerySet[WalkRound]:
    """Newest first, with how many zones were looked at, changed, and found wanting."""
    return (
        WalkRound.objects.for_household(household)
        .select_related("rig", "started_by", "finished_by")
        .annotate(
            zones=Count("looks__zone", distinct=True),
            changes=Count("looks__zone", filter=Q(looks__same=False), distinct=True),
            found=Count("looks__opened", distinct=True),
        )
        .order_by("-started_on", "-pk")
    )


@dataclass(frozen=True, slots=True)
class LastLook:
    """The last look before this walk-around, and the last that said or showed
    something: both the same, where something had changed."""

    latest: ZoneLook
    told: ZoneLook | None


@dataclass(slots=True)
class ZoneState:
    """One zone on the page of a walk-around."""

    zone: Zone
    last: LastLook | None = None
    looks: list[ZoneLook] = field(default_factory=list)
    known: list[Finding] = field(default_factory=list)

    @property
    def findings(self) -> list[Finding]:
        """Known ones that a form may say of that they are still there."""
        return [one for one in self.known if one.is_open]


@dataclass(frozen=True, slots=True)
class RoundPage:
    walkround: WalkRound
    zones: list[ZoneState]

    @property
    def looked(self) -> int:
        return sum(1 for one in self.zones if one.looks)

    @property
    def missing(self) -> list[Zone]:
        return [one.zone for one in self.zones if not one.looks]

    def of(self, key: str) -> ZoneState | None:
        return next((one for one in self.zones if one.zone.key == key), None)


def round_page(walkround: WalkRound) -> RoundPage:
    """Every zone of the rig, its last look beside, and what is known to be wrong."""
    states = {zone.key: ZoneState(zone) for zone in zones_of(walkround.rig)}
    for look in _shown(ZoneLook.objects.filter(walkround=walkround)):
        if look.zone in states:
            states[look.zone].looks.append(look)
    for key, last in _last_looks(walkround).items():
        if key in states:
            states[key].last = last
    known = Finding.objects.for_household(walkround.rig.household)
    known = known.filter(rig=walkround.rig).exclude(state=FindingState.FIXED)
    # What this walk-around found stands with its look.
    for one in known.exclude(look_link__look__walkround=walkround):
        if one.zone in states:
            states[one.zone].known.append(one)
    return RoundPage(walkround, list(states.values()))


def _shown(looks: QuerySet[ZoneLook]) -> QuerySet[ZoneLook]:
    opened = Prefetch("opened", Finding.objects.filter(withdrawn=False))
    return looks.select_related("by").prefetch_related("photos", opened)


def _last_looks(walkround: WalkRound) -> dict[str, LastLook]:
    before = ZoneLook.objects.filter(
        walkround__rig=walkround.rig_id, walkround__lt=walkround.pk
    )
    ids: dict[str, dict[str, int]] = defaultdict(dict)
    for name, rows in (("latest", before), ("told", before.filter(same=False))):
        for zone, pk in rows.order_by().values_list("zone").annotate(Max("pk")):
            ids[zone][name] = pk
    wanted = {pk for pair in ids.values() for pk in pair.values()}
    looks = {look.pk: look for look in _shown(ZoneLook.objects.filter(pk__in=wanted))}
    return {
        zone: LastLook(looks[pair["latest"]], looks.get(pair.get("told", 0)))
        for zone, pair in ids.items()
    }
