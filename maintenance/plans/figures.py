"""Whose figures an item counts by: the library's, the maker's and the owner's own,
side by side."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q

from maintenance.core.triggers import parse_triggers
from maintenance.core.units import in_marks
from maintenance.library.model import Measure, Procedure
from maintenance.vehicles.models import SevereDuty

from .models import MakerFigure, MakerValue, PlanItem, RulesFrom
from .own_procedures import is_own
from .queries import maker_of, procedure_of
from .rule_data import rules_on
from .rules import rules_in_words, severe_in_words, words_of_rules


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One figure of the maker's book beside ours; `ours` is empty without one."""

    name: str
    makers: str
    ours: str


@dataclass(frozen=True, slots=True)
class Figures:
    """`counted` are the rules that rule; `library` those of the library, or of one's
    own procedure (`library_is_own`), where they differ. `severe` says what is shorter
    under severe duty."""

    item: PlanItem
    counted: list[str]
    counted_from: str
    library: list[str]
    library_is_own: bool
    maker: MakerFigure | None
    lines: list[FigureLine]
    severe: list[str]
    severe_since: date | None


def figures_of(item: PlanItem, today: date) -> Figures:
    procedure = procedure_of(item)
    counted = rules_in_words(item)
    library = _library_rules(item, procedure)
    maker = maker_of(item)
    severe = [
        words
        for rule in parse_triggers(item.triggers, item.key)
        if (words := severe_in_words(rule))
    ]
    return Figures(
        item=item,
        counted=counted,
        counted_from=_counted_from(item, maker),
        library=[] if library == counted else library,
        library_is_own=is_own(item.key),
        maker=maker,
        lines=_lines(maker, procedure),
        severe=severe,
        severe_since=_severe_since(item, today) if severe else None,
    )


def _library_rules(item: PlanItem, procedure: Procedure | None) -> list[str]:
    if procedure is None:
        return []
    meters = {meter.kind: meter.unit for meter in item.rig.meters.all()}
    rules = rules_on(procedure, meters, like=item.triggers)
    return words_of_rules(rules, item.key)


def _counted_from(item: PlanItem, maker: MakerFigure | None) -> str:
    if item.rules_from == RulesFrom.MAKER and maker is not None:
        return f"the manufacturer's manual: {place_of(maker)}"
    if item.rules_from == RulesFrom.OWN:
        return "your own rules"
    return "your own job" if is_own(item.key) else "the library"


def place_of(maker: MakerFigure) -> str:
    """Book and page: “Chassis book, page 112”."""
    if not maker.page:
        return maker.document
    return f"{maker.document}, page {maker.page}"


def _lines(maker: MakerFigure | None, procedure: Procedure | None) -> list[FigureLine]:
    ours = {one.name: limits_in_words(one) for one in _measures(procedure)}
    values = list(maker.values.all()) if maker else []
    return [
        FigureLine(one.name, value_in_words(one), ours.get(one.name, ""))
        for one in values
    ]


def _measures(procedure: Procedure | None) -> tuple[Measure, ...]:
    return procedure.measures if procedure else ()


def value_in_words(one: MakerValue) -> str:
    """As entered: “25 ft·lbf”, “90 to 120 ft·lbf”."""
    low, high = number(one.value), None if one.up_to is None else number(one.up_to)
    if high is None:
        return f"{low} {one.unit}"
    return f"{low} to {high} {one.unit}"


def limits_in_words(measure: Measure) -> str:
    """“90 to 120 ft·lbf”, “at least 12.4 V”; empty without a limit."""
    low, high = measure.low, measure.high
    if low is not None and high is not None:
        return f"{number(low)} to {number(high)} {measure.unit}"
    if low is not None:
        return f"at least {number(low)} {measure.unit}"
    if high is not None:
        return f"at most {number(high)} {measure.unit}"
    return ""


def number(value: Decimal) -> str:
    """Without idle zeros, and never as a power of ten."""
    text = f"{value:f}"
    return in_marks(text.rstrip("0").rstrip(".") if "." in text else text)


def _severe_since(item: PlanItem, today: date) -> date | None:
    running = Q(end__isnull=True) | Q(end__gte=today)
    rows = SevereDuty.objects.filter(
        running, rig=item.rig_id, start__lte=today, withdrawn=False
    )
    return rows.order_by("start").values_list("start", flat=True).first()
