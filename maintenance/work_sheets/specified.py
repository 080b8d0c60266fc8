"""The specified torque of the wheel nuts: the figure, and each source of it."""

from dataclasses import dataclass, replace
from decimal import Decimal

from maintenance.core.units import convert, show
from maintenance.plans.figures import number
from maintenance.plans.models import MakerFigure, PlanItem
from maintenance.ui.words import day_words
from maintenance.work_sheets.forms.work_sheet import WorkSheetForm

from .lugs import FigureOrigin, makers_torque
from .sheet_view import figure_in

ALIKE = Decimal("0.5")  # of a unit: what rounding makes of one figure in two units


@dataclass(frozen=True, slots=True)
class FigureSource:
    words: str
    figure: str
    value: Decimal
    unit: str
    origin: str = ""


@dataclass(frozen=True, slots=True)
class Specified:
    """`differ`: two sources give two figures, so that none is shown as the one."""

    figure: str
    unit: str
    sources: tuple[FigureSource, ...]
    differ: bool

    @property
    def agree(self) -> bool:
        return len(self.sources) > 1 and not self.differ


def invoice_source(item: PlanItem) -> FigureSource | None:
    """The figure of the last record that took wheels off and told where it is from."""
    rows = item.rig.records.filter(
        voided_at__isnull=True, torque__isnull=False
    ).exclude(wheels_off=[])
    found = rows.select_related("torque").order_by("-on", "-pk").first()
    if found is None:
        return None
    torque = found.torque
    words = f"{torque.get_origin_display()}, {day_words(found.on)}"
    return replace(_source(words, torque.figure, torque.unit), origin=torque.origin)


def figure_known(
    maker: MakerFigure | None, invoice: FigureSource | None
) -> dict[str, str]:
    """What a sheet begins with: the maker's figure, else that of the last invoice."""
    if found := makers_torque(maker):
        value, unit = found
        return {"figure": number(value), "unit": unit, "origin": "manual"}
    if invoice is not None:
        value, unit = invoice.value, invoice.unit
        return {"figure": number(value), "unit": unit, "origin": invoice.origin}
    return {}


def specified_of(
    form: WorkSheetForm, maker: MakerFigure | None, invoice: FigureSource | None
) -> Specified:
    typed, unit = figure_in(form)
    sources = [invoice]
    if found := makers_torque(maker):
        sources.append(_source(str(maker), *found))
    known = [one for one in sources if one is not None]
    if typed is not None and not any(_alike(one, typed, unit) for one in known):
        origin = form.data.get("origin") or form.initial.get("origin") or ""
        words = dict(FigureOrigin.choices).get(origin, "Entered below")
        known.insert(0, _source(str(words), typed, unit))
    differ = any(not _alike(one, known[0].value, known[0].unit) for one in known[1:])
    if typed is None and known:
        typed, unit = known[0].value, known[0].unit
    figure = number(typed) if typed is not None and not differ else ""
    return Specified(figure, unit, tuple(known), differ)


def _source(words: str, value: Decimal, unit: str) -> FigureSource:
    return FigureSource(words, show(value, unit), value, unit)


def _alike(one: FigureSource, value: Decimal, unit: str) -> bool:
    return abs(convert(one.value, one.unit, unit) - value) <= ALIKE
