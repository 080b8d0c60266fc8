"""What a mail says: subject, text and HTML, from the notices that it carries."""

import textwrap
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.conf import settings
from django.db.models import Q
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from maintenance.core import notices as core
from maintenance.core.triggers import FOLLOW_UPS
from maintenance.core.words import counted
from maintenance.findings.models import Finding
from maintenance.findings.queries import unfit_findings
from maintenance.households.models import Household, Member
from maintenance.library.model import Procedure
from maintenance.plans.expected import is_due_so, towed_questions
from maintenance.plans.figures import place_of, value_in_words
from maintenance.plans.models import MakerFigure, Standing, StandingName
from maintenance.plans.queries import procedures_of, standings_of
from maintenance.plans.rows import Row, row_of
from maintenance.ui.words import day_words, moment_words
from maintenance.vehicles.models import Meter, Trip
from maintenance.vehicles.not_towed import TowedSince

from .answer_links import GOOD_FOR, AnswerLink, Purpose
from .models import FindingNotice, MachineClock, Notice, Stage, StayQuestion
from .queries import counted_on, key_of
from .stay_questions import as_subject, in_words

SUBJECT_LENGTH = 200
# A mail with the steps of more than these would be read by nobody.
MOST_STEPS = 6

UNFIT, CHECK, OVERDUE, AHEAD, DUE, BOOK, COMING, WITHDRAWN = range(8)
HEADINGS = (
    "Unfit to travel until it's fixed",
    "Checks that can't wait",
    "Overdue",
    "Safety checks ahead",
    "Due",
    "Book a shop",
    "Coming",
    "No longer applies",
)
GROUP_OF_STAGE = {
    "overdue": OVERDUE,
    "due": DUE,
    "safety": AHEAD,
    "book": BOOK,
    "heads_up": COMING,
}
ANSWER_BY_LINK = (
    "These links work without a login and change nothing until you confirm. "
    "They work once, for %(days)d days, and act in your name. Don't forward this "
    "email."
)
# What each link is called; the first three where an answer tells whether it is due.
TELL, TOWED, NOT_TOWED, DONE, READ, LATER = (
    "Enter the %(meter)s",
    "Enter miles towed since %(day)s",
    "Not towed since %(day)s",
    "It's done",
    "Enter a reading",
    "Remind me later",
)
ANSWER = "Answer"
ANSWER_BY_HAND = (
    "This email has no links, because Rigsite has no public address. Open Rigsite "
    "where "
    "it runs: press Record it beside the job on Due, or enter a reading on the rig's "
    "page."
)
REASON = (
    "You get this as a member of {household}. To change or stop this email: Household, "
    "Your reminders."
)
CLOCK_SUBJECT = "Check the date: daily email is on hold"
CLOCK = (
    "The clock of the computer that runs Rigsite jumped: it was %(was)s, and then "
    "%(now)s. Daily email waits until you check the date. Safety email doesn't wait."
)
CLOCK_ANSWER = (
    "Is the date right? Log in, open Status, then Date and time, and confirm it. (At "
    "the computer's terminal: manage.py confirm_clock.) If it isn't right, set the "
    "computer's clock, and daily email goes out again."
)
NO_ANSWER = "You don't need to answer this."
ANSWER_ON_ITS_PAGE = "Answer on its page in Rigsite."
# What a check of these systems is about is not to be driven on.
DRIVEN = {"wheels-tires", "brakes-bearings", "steering-suspension", "hitch-tow"}
WHEELS = "wheels-tires"


@dataclass(frozen=True, slots=True)
class Line:
    """One item in a mail, with its cautions. `with_steps`: its steps are printed too.
    `found`: what was found, where it makes the rig unfit and became this item.
    `towed` is what is asked where it is due by towing that nobody told of. `answers`
    are links with what each is called."""

    group: int
    row: Row
    procedure: Procedure | None
    makers: str
    url: str
    with_steps: bool
    found: str = ""
    towed: TowedSince | None = None
    answers: Sequence[tuple[str, str]] = ()

    @property
    def rig(self) -> str:
        return self.row.rig

    @property
    def what(self) -> str:
        return self.row.title

    @property
    def title(self) -> str:
        return f"{self.row.rig}: {self.row.title}"

    @property
    def when(self) -> str:
        """By when, and when that will likely be; a sentence without its full stop."""
        words = ", ".join(part for part in (self.row.when, self.row.about) if part)
        return words[:1].upper() + words[1:]

    @property
    def why(self) -> tuple[str, ...]:
        """What is only coming needs no reasons yet."""
        return () if self.group == COMING else self.row.why

    @property
    def notes(self) -> list[str]:
        by_shop = self.procedure is not None and self.procedure.by_shop
        shop = ["This is a job for a licensed shop: book it."] if by_shop else []
        put_off = [f"Put off {self.row.deferred}"] if self.row.deferred else []
        expected = [self._unread] if self.row.expected else []
        makers = [self.makers] if self.makers else []
        found = [self.found] if self.found else []
        stops = [self.row.fitness] if self.row.fitness else []
        return [*found, *stops, *shop, *expected, *put_off, *makers]

    @property
    def _unread(self) -> str:
        if self.towed is None:
            return "No reading since then: enter one, or do the check now."
        return f"{self.towed.question} Answer, or do the check now."

    @property
    def unfit(self) -> str:
        if self.procedure is None or not self.procedure.unfit:
            return ""
        by_law = self.procedure.not_legal
        lead = "Not legal to drive if" if by_law else "Unfit to travel if"
        return f"{lead}: {self.procedure.unfit}"

    @property
    def steps(self) -> list[tuple[str, str]]:
        """Each step with its number, as the text part has them."""
        steps = self.procedure.steps if self.procedure else ()
        return [(f"{n:>4}. ", step) for n, step in enumerate(steps, 1)]


@dataclass(frozen=True, slots=True)
class FindingLine:
    """A finding that makes its rig unfit to travel; a line like that of an item."""

    finding: Finding
    url: str
    group: int = UNFIT
    procedure: None = None
    with_steps: bool = False
    when: str = ""
    unfit: str = ""
    answers: Sequence[tuple[str, str]] = ()

    @property
    def rig(self) -> str:
        return self.finding.rig.name

    @property
    def what(self) -> str:
        return self.finding.what

    @property
    def title(self) -> str:
        return f"{self.rig}: {self.what}"

    @property
    def why(self) -> tuple[str, ...]:
        return (_found_in_words(self.finding),)

    @property
    def notes(self) -> list[str]:
        rig = self.finding.rig
        words = (
            "Don't tow %(rig)s until this is fixed."
            if rig.is_trailer
            else "Don't drive %(rig)s until this is fixed."
        )
        return [words % {"rig": rig}]


@dataclass(frozen=True, slots=True)
class WithdrawnLine:
    """What was told and is withdrawn since; a line like that of an item."""

    rig: str
    what: str
    why: tuple[str, ...]
    group: int = WITHDRAWN
    url: str = ""
    procedure: None = None
    with_steps: bool = False
    when: str = ""
    unfit: str = ""
    notes: Sequence[str] = ()
    answers: Sequence[tuple[str, str]] = ()

    @property
    def title(self) -> str:
        return f"{self.rig}: {self.what}"


@dataclass(frozen=True, slots=True)
class Question:
    words: str
    answers: Sequence[tuple[str, str]] = ()  # links with what each is called


AnyLine = Line | FindingLine | WithdrawnLine


def _found_in_words(finding: Finding) -> str:
    values = {"day": day_words(finding.found_on), "place": finding.place}
    if finding.place:
        return f"Found on {values['day']}. Where: {values['place']}."
    return f"Found on {values['day']}."


@dataclass(frozen=True, slots=True)
class Section:
    heading: str
    lines: Sequence[AnyLine]


@dataclass(frozen=True, slots=True)
class Written:
    subject: str
    text: str
    html: str


def write(
    member: Member,
    notices: Iterable[Notice],
    *,
    today: date,
    asked: Sequence[StayQuestion] = (),
    findings: Iterable[Finding] = (),
    withdrawn: Iterable[FindingNotice] = (),
    trips: Sequence[Trip] = (),
    daily: bool = False,
) -> Written:
    """The mail as things are on `today`: with links where there is a public address,
    else with steps in words. `findings` make their rigs unfit to travel; a `daily` mail
    begins with all that does, whoever was told of it before, and one before `trips`
    with all that does so of the rigs that travel. What is withdrawn since it was told
    stands last."""
    travel = None if daily else {rig.pk for one in trips for rig in one.travelers}
    told = _with_unfit(findings, member.household, travel)
    items, gone = _items_and_gone(member, notices, told, today, travel)
    last = _withdrawn_lines(gone, withdrawn)
    lines: list[AnyLine] = [*_finding_lines(told, items), *items, *last]
    questions = [_question(one, member, today) for one in asked]
    return _written(
        member,
        _with_trip(subject(lines), trips) if lines else as_subject(asked),
        day=day_words(today),
        sections=_sections(lines),
        trips=[_leaves_in_words(trip, today) for trip in trips],
        asked=questions,
        left_out=_left_out(lines),
        answer=_how_to_answer(lines, questions),
    )


def write_of_clock(member: Member, doubted: MachineClock, *, today: date) -> Written:
    """To whoever looks after the program: daily mail waits for the date."""
    was, now = (
        timezone.localtime(moment, member.household.zone)
        for moment in (doubted.at, doubted.doubted_at or timezone.now())
    )
    words = CLOCK % {"was": moment_words(was), "now": moment_words(now)}
    page = settings.PUBLIC_URL and settings.PUBLIC_URL + reverse("clock")
    return _written(
        member,
        CLOCK_SUBJECT,
        day=day_words(today),
        asked=[Question(words, [("Check the date", page)] if page else ())],
        answer=CLOCK_ANSWER,
    )


def _written(member: Member, subject: str, **said: object) -> Written:
    context = said | {
        "household": member.household,
        "member": member,
        "reason": REASON.format(household=member.household),
        "public_url": settings.PUBLIC_URL,
        "choices_url": settings.PUBLIC_URL and settings.PUBLIC_URL + reverse("myself"),
    }
    return Written(
        subject=subject,
        text=_tidy(render_to_string("reminders/mail/digest.txt", context)),
        html=render_to_string("reminders/mail/digest.html", context),
    )


def _with_unfit(
    findings: Iterable[Finding], household: Household, travel: Collection[int] | None
) -> list[Finding]:
    """And all others that make rigs unfit: of those that `travel`, or of every rig."""
    unfit = unfit_findings(household)
    if travel is None:
        return list(unfit)
    of_trips = unfit.filter(rig__in=travel)
    return list({one.pk: one for one in (*findings, *of_trips)}.values())


def _items_and_gone(
    member: Member,
    notices: Iterable[Notice],
    findings: Iterable[Finding],
    today: date,
    travel: Collection[int] | None,
) -> tuple[list[Line], list[Notice]]:
    """The lines of the items, with all that make rigs unfit (`travel`: of those that
    travel), and what is withdrawn since it was told."""
    notices = list(notices)
    gone = [row for row in notices if row.stage == Stage.WITHDRAWN]
    others = [row for row in notices if row.stage != Stage.WITHDRAWN]
    stops = Q(unfit=True)
    if travel is not None:
        stops = Q(unfit=True, item__rig__in=travel)
    return _lines(member, others, findings, today, stops), gone


def _leaves_in_words(trip: Trip, today: date) -> str:
    """“Bramble's trip to Lake starts tomorrow, 5 May. Don't leave …”."""
    when = "today" if trip.start <= today else "tomorrow"
    where = f" to {trip.title}" if trip.title else ""
    return (
        f"{trip.rig}'s trip{where} starts {when}, {day_words(trip.start)}. Don't leave "
        "until what is listed here is fixed and recorded."
    )


def _with_trip(words: str, trips: Sequence[Trip]) -> str:
    if not trips:
        return words
    day = day_words(min(trip.start for trip in trips))
    words = f"Before the trip on {day}: {words}"
    return textwrap.shorten(words, SUBJECT_LENGTH, placeholder=" …")


def _sections(lines: Sequence[AnyLine]) -> list[Section]:
    found = [
        Section(heading, [line for line in lines if line.group == group])
        for group, heading in enumerate(HEADINGS)
    ]
    return [one for one in found if one.lines]


def _question(question: StayQuestion, member: Member, today: date) -> Question:
    """With a link for who may answer, where there is a public address."""
    if question.stay is not None or not (settings.PUBLIC_URL and member.may_log):
        return Question(in_words(question))
    until, mail = today + GOOD_FOR, question.digest_id or 0
    link = AnswerLink("parked", mail, member.pk, question.pk, until)
    return Question(in_words(question, by_link=True), [(ANSWER, link.url)])


def _how_to_answer(lines: Iterable[AnyLine], asked: Sequence[Question]) -> str:
    if not asked and all(line.group == WITHDRAWN for line in lines):
        return NO_ANSWER
    if not settings.PUBLIC_URL:
        return ANSWER_BY_HAND
    if not any(one.answers for one in (*lines, *asked)):
        return ANSWER_ON_ITS_PAGE
    return ANSWER_BY_LINK % {"days": GOOD_FOR.days}


def _tidy(text: str) -> str:
    """No space at the end of a line, no two empty lines."""
    lines = [line.rstrip(" ") for line in text.strip().splitlines()]
    kept = [line for n, line in enumerate(lines) if line or lines[n - 1]]
    return "\n".join(kept) + "\n"


# --- lines ----------------------------------------------------------------------------


def _finding_lines(
    findings: Iterable[Finding], items: Iterable[Line]
) -> list[FindingLine]:
    """But for those that an item of the mail speaks of."""
    told = {line.row.item.pk for line in items}
    return [
        FindingLine(one, _link("finding", one.pk))
        for one in findings
        if one.item_id not in told
    ]


def _withdrawn_lines(
    notices: Iterable[Notice], of_findings: Iterable[FindingNotice]
) -> list[WithdrawnLine]:
    of_work = (
        "We reminded you on %(day)s. The entry behind it was withdrawn, so "
        "you don't need to do it now."
    )
    of_finding = "We reminded you on %(day)s. The entry that reported it was withdrawn."
    told = [
        *((row.item.rig, row.item.title, of_work, row.raised_on) for row in notices),
        *((row.rig, row.what, of_finding, row.raised_on) for row in of_findings),
    ]
    return [
        WithdrawnLine(str(rig), what, (words % {"day": day_words(day)},))
        for rig, what, words, day in told
    ]


def _lines(
    member: Member,
    notices: Sequence[Notice],
    findings: Iterable[Finding],
    today: date,
    stops: Q,
) -> list[Line]:
    """Each item once, by what says most of it, in the order of Due: of the notices, of
    findings that became one, and those that make a rig unfit and are wanted, too."""
    stages = _stages(notices)
    became = {one.item_id: one for one in findings if one.item_id is not None}
    procedures = procedures_of(member.household)
    makers = _makers_words({*stages, *became})
    wanted = stops | Q(item__in=stages)
    wanted |= Q(item__in=became) & ~Q(standing=StandingName.SETTLED)
    found: list[tuple[int, Row]] = []
    standings = standings_of(member.household).filter(wanted)
    towed = _towed(standings, today)
    for standing in standings:
        row = row_of(standing, today, reads_in=member.reads_in)
        unfit = row.unfit or standing.item_id in became
        group = UNFIT if unfit else _group(standing, row, stages[standing.item_id])
        found.append((group, row))
    found.sort(key=lambda one: one[0])
    mail = next((row.digest_id for row in notices if row.digest_id), 0)
    write_answers = _answers_to(member, mail, today)
    return [
        Line(
            group=group,
            row=row,
            procedure=(procedure := procedures.get(row.item.key)),
            makers=makers.get(row.item.pk, ""),
            url=_link("item", row.item.pk),
            found=_became_in_words(became.get(row.item.pk)),
            with_steps=n < MOST_STEPS and _wants_steps(group, procedure),
            towed=towed.get(row.item.pk),
            answers=write_answers(group, row, towed.get(row.item.pk)),
        )
        for n, (group, row) in enumerate(found)
    ]


def _stages(notices: Iterable[Notice]) -> dict[int, core.Stage]:
    told = [core.Notice(key_of(row), 0, at_once=False) for row in notices]
    return {n.key.item: n.key.stage for n in core.one_per_item(told)}


def _towed(standings: Iterable[Standing], today: date) -> dict[int, TowedSince]:
    """item id -> what is asked of its rig."""
    rigs = {one.rig.pk: one for one in towed_questions(standings, today)}
    return {
        row.item_id: rigs[row.item.rig_id]
        for row in standings
        if row.item.rig_id in rigs and is_due_so(row)
    }


def _answers_to(
    member: Member, mail: int, today: date
) -> Callable[[int, Row, TowedSince | None], Sequence[tuple[str, str]]]:
    """Makes the links of a line; none without a public address."""
    meters = _meters(member)

    def answers(
        group: int, row: Row, towed: TowedSince | None
    ) -> Sequence[tuple[str, str]]:
        if not settings.PUBLIC_URL:
            return ()
        meter = counted_on(row.item, meters[row.item.rig_id])
        asked = _asked(meter, towed, asks=_asks_for_reading(group, row))
        return _answers(member, mail, row, meter, asked=asked, today=today)

    return answers


def _became_in_words(finding: Finding | None) -> str:
    if finding is None:
        return ""
    if finding.item is not None and finding.what == finding.item.title:
        return _found_in_words(finding)
    return f"{finding.what}. {_found_in_words(finding)}"


def _makers_words(items: Iterable[int]) -> dict[int, str]:
    """item id -> the figures of its maker's book, which win over the library's."""
    rows = MakerFigure.objects.filter(item__in=items).prefetch_related("values")
    return {row.item_id: _makers(row) for row in rows if row.values.all()}


def _makers(figure: MakerFigure) -> str:
    values = "; ".join(
        f"{one.name} {value_in_words(one)}" for one in figure.values.all()
    )
    return f"Manufacturer's figure ({place_of(figure)}): {values}"


def _group(standing: Standing, row: Row, stage: str) -> int:
    now = row.standing in {"due", "overdue"}
    if row.safety and standing.governing in FOLLOW_UPS and now:
        return CHECK
    return GROUP_OF_STAGE["due" if stage == "safety" and now else stage]


def _link(name: str, pk: int) -> str:
    if not settings.PUBLIC_URL:
        return ""
    return settings.PUBLIC_URL + reverse(name, args=[pk])


def _asked(
    meter: Meter | None, towed: TowedSince | None, *, asks: bool
) -> dict[Purpose, str]:
    """What tells whether the work is due; nothing of who may not tell it."""
    if meter is None:
        return {}
    if towed is not None:
        day = {"day": day_words(towed.since)}
        return {"not_towed": NOT_TOWED % day, "reading": TOWED % day}
    name = meter.get_kind_display().lower()
    return {"reading": TELL % {"meter": name}} if asks else {}


def _answers(
    member: Member,
    mail: int,
    row: Row,
    meter: Meter | None,
    *,
    asked: dict[Purpose, str],
    today: date,
) -> list[tuple[str, str]]:
    """What can be answered without logging in; first what is `asked`."""
    labels = dict(asked)
    if member.may_log:
        labels["done"] = DONE
    if meter:
        labels.setdefault("reading", READ)
    labels["later"] = LATER
    until = today + GOOD_FOR
    return [
        (label, AnswerLink(purpose, mail, member.pk, row.item.pk, until).url)
        for purpose, label in labels.items()
    ]


def _asks_for_reading(group: int, row: Row) -> bool:
    """A check by distance that no reading has made due so far."""
    by_reading = row.standing in {"due", "overdue"} and not row.expected
    return group in {CHECK, AHEAD} and not by_reading


def _meters(member: Member) -> dict[int, list[Meter]]:
    """rig id -> its meters, where this person may tell what they show."""
    found: dict[int, list[Meter]] = defaultdict(list)
    if settings.PUBLIC_URL and member.may_log:
        for meter in Meter.objects.filter(rig__household=member.household):
            found[meter.rig_id].append(meter)
    return found


def _wants_steps(group: int, procedure: Procedure | None) -> bool:
    return group <= DUE and procedure is not None and not settings.PUBLIC_URL


def _left_out(lines: Iterable[AnyLine]) -> str:
    without = sum(
        _wants_steps(line.group, line.procedure) and not line.with_steps
        for line in lines
    )
    if not without:
        return ""
    where = counted(
        without,
        "more job",
        "more jobs",
    )
    return f"See the steps for {where} in Rigsite."


# --- subject --------------------------------------------------------------------------

ONE = {
    UNFIT: "%(rig)s unfit to travel: %(title)s",
    OVERDUE: "Overdue on %(rig)s: %(title)s",
    DUE: "Due on %(rig)s: %(title)s",
    BOOK: "Book a shop for %(rig)s: %(title)s",
    COMING: "Coming on %(rig)s: %(title)s",
    WITHDRAWN: "No longer applies to %(rig)s: %(title)s",
}
SEVERAL = {
    OVERDUE: "overdue",
    DUE: "due",
    BOOK: "to book with a shop",
    COMING: "coming",
    WITHDRAWN: "no longer needed",
}


def subject(lines: Sequence[AnyLine]) -> str:
    """What matters, the most urgent first: “1 wheel check before you drive, 2 overdue:
    Alder and Juniper”."""
    words = _of_one(lines[0]) if len(lines) == 1 else ""
    return textwrap.shorten(
        words or _of_several(lines), SUBJECT_LENGTH, placeholder=" …"
    )


def _of_one(line: AnyLine) -> str:
    if isinstance(line, Line) and line.group in {CHECK, AHEAD}:
        lead = f"Coming on {line.rig}"
        if line.group == CHECK:
            act = "tow" if line.row.item.rig.is_trailer else "drive"
            driven = line.row.item.system in DRIVEN
            lead = (
                f"Before you {act} {line.rig}" if driven else f"{line.rig} can't wait"
            )
        when = line.row.when if line.group == AHEAD else ""
        title = line.what[:1].lower() + line.what[1:]
        return f"{lead}: {', '.join(filter(None, (title, when)))}"
    return ONE.get(line.group, "") % {"rig": line.rig, "title": line.what}


def _of_several(lines: Sequence[AnyLine]) -> str:
    groups = sorted({line.group for line in lines})
    words = ", ".join(
        _part(group, [line for line in lines if line.group == group])
        for group in groups
    )
    rigs = list(dict.fromkeys(line.rig for line in lines))
    if UNFIT in groups and len(rigs) == 1:
        return words  # which names it
    return f"{words}: {_some(rigs)}"


def _some(rigs: Sequence[str]) -> str:
    """“Bramble, Dumpling and 2 more”."""
    *first, last = rigs if len(rigs) <= 3 else [*rigs[:2], f"{len(rigs) - 2} more"]
    return f"{', '.join(first)} and {last}" if first else last


def _part(group: int, lines: Sequence[AnyLine]) -> str:
    if group in SEVERAL:
        return f"{len(lines)} {SEVERAL[group]}"
    if group == UNFIT:
        return _unfit(lines)
    systems = {line.row.item.system for line in lines if isinstance(line, Line)}
    wheels = systems == {WHEELS}
    checks = counted(len(lines), "wheel check" if wheels else "safety check")
    if group == AHEAD:
        return f"{checks} ahead"
    if systems <= DRIVEN:
        return f"{checks} before you drive"
    return f"{checks} that can't wait"


def _unfit(lines: Sequence[AnyLine]) -> str:
    rigs = list(dict.fromkeys(line.rig for line in lines))
    if len(rigs) == 1:
        return f"{rigs[0]} unfit to travel"
    return f"{len(rigs)} rigs unfit to travel"
