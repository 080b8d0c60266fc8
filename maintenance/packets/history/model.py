"""What a service history says, ready to be set: every value is text as it is read."""

from dataclasses import dataclass

ON_COVER = 7  # rows
PARTS_IN_A_LINE = 3
MARGIN_WIDTH = 14  # characters that fit left of the margin line in a wide font

Pairs = tuple[tuple[str, str], ...]  # label, value


@dataclass(frozen=True, slots=True)
class Open:
    """A piece of work or a fault, and where it stands. `standing` names its mark."""

    standing: str
    word: str
    what: str
    when: str = ""
    last: str = ""
    rule: str = ""  # or, where no window can be reckoned, why not
    deferred: str = ""
    unfit: bool = False
    fitness: str = ""  # by what it makes the rig unfit, or not legal to drive
    safety: bool = False
    expected: bool = False


@dataclass(frozen=True, slots=True)
class Standings:
    """Where the rig stands: what makes it unfit, what is open (faults, then work in the
    order of Due), what is up to date.

    `silent` says why nothing is reckoned (a rig that was sold), or is empty.
    """

    as_of: str
    silent: str = ""
    unfit: tuple[str, ...] = ()
    not_legal: tuple[str, ...] = ()
    open: tuple[Open, ...] = ()
    ahead: tuple[Open, ...] = ()
    left_out: str = ""
    accepted: Pairs = ()

    @property
    def nothing_open(self) -> bool:
        return not (self.open or self.silent)

    @property
    def first(self) -> tuple[Open, ...]:
        """What has room on the cover, so that a glance at one page is enough."""
        return self.open[:ON_COVER]

    @property
    def rest(self) -> tuple[Open, ...]:
        return self.open[ON_COVER:]


@dataclass(frozen=True, slots=True)
class Line:
    what: str
    outcome: str = ""  # nothing: it was done
    note: str = ""
    fault: str = ""  # of a fault that was found: what became of it
    cause: str = ""  # of a check: that what it followed was withdrawn since


@dataclass(frozen=True, slots=True)
class Proof:
    """A photo (as a data: address, shrunk) or a PDF, by title and digest."""

    title: str
    kind: str
    digest: str
    photo: str = ""
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Record:
    anchor: str
    on: str
    title: str
    lines: tuple[Line, ...]
    by: str
    routine: str = ""  # the simple jobs of a long round, run together
    readings: tuple[str, ...] = ()
    raised: tuple[str, ...] = ()
    torque: str = ""
    signed: str = ""
    parts: tuple[str, ...] = ()
    warranty: str = ""
    total: str = ""
    costs: str = ""
    notes: str = ""
    proof: tuple[Proof, ...] = ()
    entered: str = ""
    late: str = ""
    merged: tuple[str, ...] = ()
    brought: str = ""
    void: str = ""
    amended: tuple[str, ...] = ()

    @property
    def margin(self) -> str:
        """What stands left of the margin line, line by line."""
        return "\n".join((self.on, *self.readings))

    @property
    def margin_lines(self) -> int:
        """How many lines that takes at most, whatever the font."""
        lines = sum(-(-len(each) // MARGIN_WIDTH) for each in (self.on, *self.readings))
        return min(lines, 6)

    @property
    def parts_listed(self) -> bool:
        """More of them than a line holds stand one below the other."""
        return len(self.parts) > PARTS_IN_A_LINE

    @property
    def photos(self) -> tuple[Proof, ...]:
        return tuple(each for each in self.proof if each.photo)

    @property
    def is_long(self) -> bool:
        """May be cut by the end of a page; a short one is kept together."""
        rows = len(self.lines) + len(self.parts)
        return rows > 12 or len(self.notes) > 1500 or len(self.photos) > 8


@dataclass(frozen=True, slots=True)
class Year:
    year: int
    summary: str
    records: tuple[Record, ...]


@dataclass(frozen=True, slots=True)
class YearRow:
    """A year at a glance; `use` has a text for each meter of the rig."""

    year: int
    use: tuple[str, ...]
    records: str
    paid: str


@dataclass(frozen=True, slots=True)
class DatedRow:
    """A reading, an event or a stay."""

    on: str
    what: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class MonthsRow:
    """The last good reading of each month of a year, January first."""

    year: int
    values: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MeterSheet:
    """One meter. Few readings are listed in full; of many the last of each month stands
    in a table, and those that are marked are listed below it."""

    name: str
    summary: str
    chart: str = ""  # a data: address, as the print loads nothing
    replaced: tuple[str, ...] = ()
    months: tuple[MonthsRow, ...] = ()
    months_caption: str = ""
    rows: tuple[DatedRow, ...] = ()
    rows_caption: str = ""


@dataclass(frozen=True, slots=True)
class PartRow:
    """A part of limited life: its time in service and what is left of each limit."""

    name: str
    serial: str
    made: str
    service: str
    used: str
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cover:
    rig: str
    kind: str
    facts: Pairs
    meters: tuple[str, ...]
    glance: Pairs


@dataclass(frozen=True, slots=True)
class Head:
    """The last link of the chain: its number and its digest."""

    text: str
    waiting: str = ""  # how many records are not linked yet


@dataclass(frozen=True, slots=True)
class History:
    title: str
    household: str
    as_of: str
    made: str
    paper: str  # a page size of CSS
    cover: Cover
    standings: Standings
    years: tuple[Year, ...]
    by_year: tuple[YearRow, ...]
    meters: tuple[MeterSheet, ...]
    events: tuple[DatedRow, ...]
    stays: tuple[DatedRow, ...]
    parts: tuple[PartRow, ...] = ()
    looks: tuple[DatedRow, ...] = ()
    looks_left_out: str = ""
    faults: tuple[DatedRow, ...] = ()
    fuel: str = ""
    head: Head | None = None
