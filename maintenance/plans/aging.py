"""Parts that age: made, today, the limit of their life. What a standing tells of it."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from maintenance.components.models import ComponentKind
from maintenance.core.calculators.tires import months_old
from maintenance.library.reading import load_library
from maintenance.ui.bars import Axis
from maintenance.ui.words import month_words

from .component_rules import last_day
from .models import Standing

LIFE = "life"


@dataclass(frozen=True, slots=True)
class AgingPart:
    """Parts of one kind and one age; `page` and `pk` are of the first."""

    title: str
    made: date
    limit: date
    today: date
    page: str
    pk: int

    @property
    def made_words(self) -> str:
        return month_words(self.made, short=True)

    @property
    def is_over(self) -> bool:
        return self.limit < self.today

    @property
    def left(self) -> str:
        """“2 y 4 mo left”, “3 mo over”."""
        ends = sorted((self.today, self.limit))
        years, months = divmod(months_old(*ends), 12)
        span = [f"{years} y" if years else "", f"{months} mo" if months else ""]
        words = " ".join(filter(None, span)) or "under 1 mo"
        return f"{words} {'over' if self.is_over else 'left'}"


@dataclass(frozen=True, slots=True)
class Aging:
    """Parts on one axis, in whole years, from the oldest to the last limit."""

    parts: list[AgingPart]
    start: date
    end: date

    @property
    def years(self) -> list[tuple[int, float]]:
        """Up to six years, each with where it is on the axis, in percent."""
        axis = Axis(self.start, self.end)
        step = -(-(self.end.year - self.start.year) // 6)
        years = range(self.start.year, self.end.year, step)
        return [(year, axis.at(date(year, 1, 1))) for year in years]


def aging_of(plan: Iterable[Standing], today: date) -> Aging | None:
    parts = aging_parts(plan, today)
    if not parts:
        return None
    last = max(max(part.limit, today).year for part in parts)
    first = min(part.made.year for part in parts)
    return Aging(parts, date(first, 1, 1), date(last + 1, 1, 1))


def aging_parts(plan: Iterable[Standing], today: date) -> list[AgingPart]:
    """Those of a rig, what ends first above; papers age in no place of the rig."""
    alike = defaultdict(list)
    systems = load_library().systems
    for standing in plan:
        made, limit = _made(standing), standing.closes_on
        system = systems.get(standing.item.system)
        if made and limit and made < limit and system is not None and system.place:
            alike[_kind(standing), made, limit].append(standing)
    named = Counter(_equipment(some[0]) for some in alike.values())
    found = [
        AgingPart(_title(some, named), made, limit, today, *_page(some[0]))
        for (_kind_of, made, limit), some in alike.items()
    ]
    return sorted(found, key=lambda part: (part.limit, part.title))


def _made(standing: Standing) -> date | None:
    """From when its life counts, where that is what it hangs on."""
    if standing.governing != LIFE:
        return None
    rules = [rule[LIFE] for rule in standing.item.triggers if LIFE in rule]
    start = rules[0].get("from") if rules else None
    return last_day(start) if start else None


def _equipment(standing: Standing) -> str:
    """What of the rig it is about, in words; empty where that is not one thing."""
    library = load_library()
    procedure = library.procedures.get(standing.item.key)
    needs = procedure.equipment if procedure else ()
    return library.equipment[needs[0]].title if len(needs) == 1 else ""


def _kind(standing: Standing) -> tuple[str, str]:
    part = standing.item.component
    return standing.item.key, part.kind if part else ""


def _title(some: list[Standing], named: Counter[str]) -> str:
    """A component by its name; else what the rig has, where one part alone is of it."""
    part = some[0].item.component
    if part is None:
        has = _equipment(some[0])
        return has if named[has] == 1 else some[0].item.title
    if len(some) == 1:
        return str(part)
    return f"{ComponentKind(part.kind).label}, {len(some)} alike"


def _page(standing: Standing) -> tuple[str, int]:
    part = standing.item.component
    return ("part", part.pk) if part else ("item", standing.item_id)
