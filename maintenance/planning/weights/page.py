"""What a rig weighs against what it may, from its newest scale tickets."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from maintenance.components.axles import axles_of
from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.cargo import (
    LABEL_SOURCES,
    cargo_capacity,
    seats_covered,
)
from maintenance.core.calculators.weights import (
    SCALE_CAUTIONS,
    SHARE_RULES,
    Margin,
    Ticket,
    TrailerWeights,
    axle_rating,
    hitch_class_limit,
    margin,
    share_verdict,
    tire_margin,
    trailer_weights,
)
from maintenance.core.units import convert, show, show_number
from maintenance.vehicles.models import (
    LabelKind,
    Rig,
    RigKind,
    ScaleTicket,
    WeightLabel,
)

RULES = {
    RigKind.TRAVEL_TRAILER: ("conventional", "narrow", "uk_caravan"),
    RigKind.FIFTH_WHEEL: ("fifth_wheel", "fifth_wheel_narrow"),
}
FIFTH_WHEEL_HITCH = "fifth_wheel_hitch"  # of the library's equipment
VERDICTS = {
    "low": "low",
    "ok": "within",
    "high": "high",
}


@dataclass(frozen=True, slots=True)
class MarginLine:
    """`left` is what it is over by where it is not `within`."""

    name: str
    actual: str
    limit: str
    left: str
    within: bool
    source: str


@dataclass(frozen=True, slots=True)
class ShareLine:
    rule: str
    span: str
    verdict: str


@dataclass(frozen=True, slots=True)
class WeightsPage:
    """`tongue` holds name, figure and formula of trailer, tongue and share."""

    label: WeightLabel | None
    label_words: list[str]
    tickets: list[ScaleTicket]
    newest: ScaleTicket | None
    tongue: list[tuple[str, str, str]]
    shares: list[ShareLine]
    margins: list[MarginLine]
    problem: str
    missing: list[str]
    cautions: tuple[str, ...]

    @property
    def over(self) -> list[MarginLine]:
        return [line for line in self.margins if not line.within]


def weights_page(rig: Rig) -> WeightsPage:
    """In a fixed number of queries."""
    label = WeightLabel.objects.filter(rig=rig).first()
    rows = rig.coupled_tickets if rig.is_trailer else rig.scale_tickets
    tickets = list(rows.select_related("rig__household", "trailer"))
    reckoned = _Reckoned(rig, label, tickets)
    problem = ""
    try:
        reckoned.reckon()
    except CalculatorError as error:
        problem = str(error)
    return WeightsPage(
        label=label,
        label_words=list(_label_words(label)) if label else [],
        tickets=[*tickets, reckoned.alone] if reckoned.alone else tickets,
        newest=tickets[0] if tickets else None,
        tongue=reckoned.tongue,
        shares=reckoned.shares,
        margins=reckoned.margins,
        problem=problem,
        missing=reckoned.missing,
        cautions=SCALE_CAUTIONS,
    )


def _pulled_as(rig: Rig) -> RigKind:
    """The kind by whose rules it bears on its hitch: a toy hauler has either hitch."""
    if rig.kind == RigKind.TOY_HAULER and FIFTH_WHEEL_HITCH in rig.equipment:
        return RigKind.FIFTH_WHEEL
    if rig.kind in (RigKind.TOY_HAULER, RigKind.FOLDING_TRAILER):
        return RigKind.TRAVEL_TRAILER
    return RigKind(rig.kind)


class _Reckoned:
    """The figures of one page, in lb inside, shown in the ticket's own unit."""

    def __init__(
        self, rig: Rig, label: WeightLabel | None, tickets: list[ScaleTicket]
    ) -> None:
        self.rig, self.label = rig, label
        self.ticket = tickets[0] if tickets else None
        self.unit = self.ticket.unit if self.ticket else "lb"
        self.tongue: list[tuple[str, str, str]] = []
        self.shares: list[ShareLine] = []
        self.margins: list[MarginLine] = []
        self.missing: list[str] = []
        self.alone: ScaleTicket | None = None  # of the vehicle that tows
        self.ratings = {
            row.axle: convert(row.rating, row.unit, "lb")
            for row in rig.axle_ratings.all()
        }

    def reckon(self) -> None:
        if self.ticket is None:
            return
        if self.rig.is_trailer:
            self._trailer(self.ticket)
        else:
            self._driver(self.ticket)
        if self.label is None or self.label.gvwr is None:
            self.missing.append("its GVWR")
        if len(self.ratings) < len(axles_of(self.rig)):
            self.missing.append("the rating of each axle (GAWR)")

    def _driver(self, ticket: ScaleTicket) -> None:
        weights = [ticket.steer, ticket.drive, ticket.tag]
        loads = [_lb(one, ticket) for one in weights if one is not None]
        names = ["Steer axle", "Drive axle", "Tag axle"]
        for number, load in enumerate(loads, 1):
            self._axle(names[number - 1], [number], load)
        self._whole(sum(loads, Decimal(0)))
        gcwr = self._of_label("gcwr")
        if ticket.behind is not None and gcwr is not None:
            together = sum(loads, Decimal(0)) + _lb(ticket.behind, ticket)
            self._add(margin("With the trailer", together, gcwr), "GCWR, manufacturer")

    def _trailer(self, ticket: ScaleTicket) -> None:
        axles = _lb(ticket.behind or Decimal(0), ticket)
        numbers = [axle.number for axle in axles_of(self.rig)]
        self._axle("Its axles together", numbers, axles)
        self.alone = alone = (
            ScaleTicket.objects.filter(rig=ticket.rig, trailer=None)
            .select_related("rig")
            .order_by("-on", "-pk")
            .first()
        )
        if alone is None:
            self.missing.append(
                f"a ticket of {ticket.rig} alone, for the weight on the hitch"
            )
            return
        found = trailer_weights(_pass(alone), _pass(ticket))
        self._hitch(found)
        self._whole(found.trailer.value)

    def _hitch(self, found: TrailerWeights) -> None:
        kind = _pulled_as(self.rig)
        fifth = kind == RigKind.FIFTH_WHEEL
        name = "Pin weight" if fifth else "Tongue weight"
        percent = f"{show_number(found.share.value)} %"
        self.tongue = [
            ("Trailer", self._show(found.trailer.value), found.trailer.formula),
            (name, self._show(found.tongue.value), found.tongue.formula),
            ("Share of the trailer", percent, found.share.formula),
        ]
        for key in RULES.get(kind, ()):
            rule = SHARE_RULES[key]
            verdict = share_verdict(found.trailer.value, found.tongue.value, rule)
            span = f"{rule.low} to {rule.high} %"
            self.shares.append(ShareLine(rule.source, span, VERDICTS[verdict]))
        if not fifth and found.trailer.value <= 10000:
            most = hitch_class_limit(found.trailer.value, distributing=False)
            line = margin(
                "On the hitch, weight-carrying", found.tongue.value, most.value
            )
            self._add(line, most.source)

    def _axle(self, name: str, numbers: list[int], load: Decimal) -> None:
        """One axle, or all of a trailer that stood on one platform."""
        places = {axle.number: len(axle.places) for axle in axles_of(self.rig)}
        tires = [self._tire(n) for n in numbers]
        if all(n in self.ratings for n in numbers):
            rated = sum((self.ratings[n] for n in numbers), Decimal(0))
            source = "GAWR on the label"
            if len(numbers) == 1 and tires[0] is not None:
                n = numbers[0]
                found = axle_rating(rated, tires=places[n], tire_rating=tires[0])
                if found.value < rated:
                    source = f"its tires carry less than its GAWR: {found.formula}"
                rated = found.value
            self._add(margin(name, load, rated), source)
        if all(tire is not None for tire in tires) and numbers:
            least = min(tire for tire in tires if tire is not None)
            count = sum(places[n] for n in numbers)
            found_tires = tire_margin(
                load,
                tires=min(count, 8),
                tire_rating=least,
                passenger_on_trailer=bool(self.label and self.label.passenger_tires),
            )
            self._add(
                Margin(f"{name}: tires", *_pair(found_tires)),
                (f"{count} tires of {self._show(least)}{self._pressure(numbers[0])}"),
            )

    def _tire(self, number: int) -> Decimal | None:
        kept = (self.label.tires if self.label else {}).get(str(number), {})
        if not kept.get("load") or self.label is None:
            return None
        return convert(Decimal(kept["load"]), self.label.unit, "lb")

    def _pressure(self, number: int) -> str:
        kept = (self.label.tires if self.label else {}).get(str(number), {})
        words = kept.get("pressure")
        return f" at {words}" if words else ""

    def _whole(self, weight: Decimal) -> None:
        gvwr = self._of_label("gvwr")
        if gvwr is not None:
            self._add(margin("Whole rig", weight, gvwr), "GVWR on the label")

    def _of_label(self, name: str) -> Decimal | None:
        value = getattr(self.label, name, None)
        if value is None or self.label is None:
            return None
        return convert(value, self.label.unit, "lb")

    def _add(self, line: Margin, source: str) -> None:
        self.margins.append(
            MarginLine(
                line.name,
                self._show(line.actual),
                self._show(line.limit),
                self._show(abs(line.left)),
                line.within,
                source,
            )
        )

    def _show(self, pounds: Decimal) -> str:
        return show(convert(pounds, "lb", self.unit), self.unit, places=0)


def _pair(line: Margin) -> tuple[Decimal, Decimal]:
    return line.actual, line.limit


def _lb(value: Decimal, ticket: ScaleTicket) -> Decimal:
    return convert(value, ticket.unit, "lb")


def _pass(ticket: ScaleTicket) -> Ticket:
    """A tag axle counts with the drive axle."""
    drive = ticket.drive + (ticket.tag or Decimal(0))
    return Ticket(
        _lb(ticket.steer, ticket),
        _lb(drive, ticket),
        _lb(ticket.behind or Decimal(0), ticket),
    )


def _label_words(label: WeightLabel) -> Iterator[str]:
    """What its figure means by its kind, and whether it fits the other figures."""
    if label.kind in LABEL_SOURCES:
        yield LABEL_SOURCES[label.kind]  # type: ignore[index]
    new = (LabelKind.OCCC, LabelKind.CCC)
    if label.gvwr and label.uvw and label.kind in (*new, LabelKind.NCC):
        gvwr, uvw = (convert(one, label.unit, "lb") for one in (label.gvwr, label.uvw))
        found = cargo_capacity(label.kind, gvwr=gvwr, uvw=uvw)  # type: ignore[arg-type]
        yield f"By GVWR and UVW it is {found.formula}."
    if label.kind == LabelKind.OCCC and label.capacity is not None and label.seats:
        left = seats_covered(convert(label.capacity, label.unit, "lb"), label.seats)
        yield f"With 150 lb on each belted seat: {left.formula}."
