"""Torque on a record: the figures, the wrench as judged that day, what was reached."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from maintenance.core.units import convert, show
from maintenance.households.refusals import Refused
from maintenance.supplies.models import Tool
from maintenance.supplies.wrenches import judge_for_lugs, range_words
from maintenance.vehicles.models import Rig
from maintenance.vehicles.services import check_places

from .models import ServiceRecord, TorqueCheck, TorquePlace


@dataclass(frozen=True)
class Fastener:
    """A fastener by name, such as a drain plug. `figure` None: that of the check."""

    name: str
    figure: Decimal | None = None
    reached: Decimal | None = None
    moved: bool = False


@dataclass(frozen=True)
class Wheels:
    """What was done at wheels and fasteners: which wheels were off, the figure, what
    each reached. All torques are in `unit`, but the maker's in `makers_unit`. `held`
    and `moved` are wheels whose nuts were checked, whether or not a figure was read.

    `short_is_right`: that a place reached less than the figure was asked and confirmed.
    """

    off: frozenset[str] = frozenset()
    figure: Decimal | None = None
    unit: str = "ft·lbf"
    origin: str = ""
    oiled: bool = False
    wrench: str = ""
    tool: Tool | None = None
    makers_figure: Decimal | None = None
    makers_unit: str = ""
    makers_source: str = ""
    reached: Mapping[str, Decimal] = field(default_factory=dict)
    held: frozenset[str] = frozenset()
    moved: frozenset[str] = frozenset()
    fasteners: Sequence[Fastener] = ()
    short_is_right: bool = False

    @property
    def checked(self) -> frozenset[str]:
        return frozenset(self.reached) | self.held | self.moved

    @property
    def makers(self) -> Decimal | None:
        """The maker's figure in `unit`, to the tenth."""
        if self.makers_figure is None:
            return None
        unit = self.makers_unit or self.unit
        return convert(self.makers_figure, unit, self.unit).quantize(Decimal("0.1"))

    @property
    def short(self) -> Iterator[str]:
        """“LF 95”: what reached less than its figure."""
        for place, value in self.reached.items():
            if self.figure is not None and value < self.figure:
                yield f"{place} {show(value, self.unit)}"
        for one in self.fasteners:
            figure = one.figure or self.figure
            if one.reached is not None and figure and one.reached < figure:
                yield f"{one.name} {show(one.reached, self.unit)}"


def check_torque(rig: Rig, wheels: Wheels, *, held: bool) -> None:
    """Refused for figures that are missing, or that do not go with what is claimed;
    `held`: some line says that the fasteners hold."""
    check_places(rig, wheels.off | wheels.checked)
    if (wheels.checked or wheels.fasteners) and wheels.figure is None:
        raise Refused(
            "Enter the torque from the invoice or manufacturer's manual, like 110.",
            field="figure",
        )
    if wheels.figure is not None and not wheels.origin:
        raise Refused("Choose where the torque figure comes from.", field="origin")
    short = ", ".join(wheels.short)
    if held and short and not wheels.short_is_right:
        raise Refused(
            (
                f"These stayed below the specified torque: {short}. Correct it if "
                "it's a typo, choose “Fault found” if it wouldn't hold, or confirm "
                "it's correct and enter why in the note."
            ),
            field="short",
        )


def store_torque(record: ServiceRecord, wheels: Wheels) -> None:
    if wheels.figure is None:
        return
    check = TorqueCheck.objects.create(
        record=record,
        figure=wheels.figure,
        unit=wheels.unit,
        origin=wheels.origin,
        oiled=wheels.oiled,
        makers_figure=wheels.makers,
        makers_source=wheels.makers_source[:145],
        **_wrench(wheels, record.until or record.on),
    )
    TorquePlace.objects.bulk_create([
        *(
            TorquePlace(
                check_of=check,
                place=place,
                reached=wheels.reached.get(place),
                held=place in wheels.held,
                moved=place in wheels.moved,
            )
            for place in check_places(record.rig, wheels.checked) or []
        ),
        *(
            TorquePlace(
                check_of=check,
                place=one.name[:60],
                figure=one.figure,
                reached=one.reached,
                moved=one.moved,
            )
            for one in wheels.fasteners
        ),
    ])  # fmt: skip


def _wrench(wheels: Wheels, on: date) -> dict[str, object]:
    """What is to be said of the wrench on the day of the work."""
    tool = wheels.tool
    if tool is None:
        return {"wrench": wheels.wrench}
    verdict = judge_for_lugs(tool, on, wheels.figure, wheels.unit)
    return {
        "wrench": tool.name,
        "wrench_range": range_words(tool)[:40],
        "wrench_fits": verdict.fits,
        "wrench_calibrated": verdict.trusted,
        "wrench_words": " ".join(verdict.sentences)[:400],
    }


def differing_figures(check: TorqueCheck | None) -> str:
    """What is to be said where the figure used and the maker's book differ."""
    if check is None or check.makers_figure in (None, check.figure):
        return ""
    return (
        f"The {check.get_origin_display().lower()} says "
        f"{show(check.figure, check.unit)}, the manufacturer's manual "
        f"{show(check.makers_figure, check.unit)}: ask the shop before you drive on "
        "it."
    )
