"""Telling the story to the services, day by day, as a household would have typed it.

So the demo holds nothing that the program would refuse.
"""

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from functools import partial
from itertools import groupby

from maintenance.households.models import Household
from maintenance.households.services import (
    add_member,
    change_member,
    found_household,
)
from maintenance.plans.receivers import renewing_once

from . import afterwards, belongings, looks, parts, rigs, work
from .diary import Diary
from .story import RigStory, Story
from .told import Step, Told

# The row in which the steps of one day are told.
ADOPT, PART, PLAN, METER, READ, STAY, EVENT, WORK, TRIP, FIND, DEFER, REST = range(12)


def tell(story: Story, *, as_of: date, password: str) -> Household:
    """Found the household and tell its years up to `as_of`, in one transaction."""
    with renewing_once(as_of=as_of):
        told = _found(story, as_of, password)
        diary = Diary(told)
        steps = [step for rig in story.rigs for step in steps_of(told, rig)]
        steps += shed_steps(told)
        steps.sort(key=lambda one: (one.day, one.order))
        for day, of_day in groupby(steps, key=lambda one: one.day):
            today = told.on(day)
            for step in of_day:
                step.tell(today)
            diary.close_day(today)
        diary.close()
        for rig in story.rigs:
            afterwards.put_right(told, rig)
    return told.household


def _found(story: Story, as_of: date, password: str) -> Told:
    today = as_of + timedelta(days=story.since)
    people = {
        one.role: {
            "name": one.name,
            "username": one.username,
            "email": one.email,
            "password": password,
        }
        for one in story.members
    }
    keeper = found_household(
        name=story.name,
        timezone=story.timezone,
        today=today,
        keeper=people.pop("keeper"),
        is_demo=True,
    )
    others = {
        role: add_member(keeper, today=today, role=role, **person)
        for role, person in people.items()
    }
    members = {"keeper": keeper, **others}
    for one in story.members:
        if one.mail:
            change_member(members[one.role], by=keeper, **one.mail)
    return Told(story, as_of, keeper.household, members)


def steps_of(told: Told, rig: RigStory) -> Iterator[Step]:
    def step(day: int, order: int, act: Callable[..., None], *what: object) -> Step:
        return Step(max(day, rig.adopted), order, partial(act, told, rig, *what))

    yield step(rig.adopted, ADOPT, rigs.adopt)
    yield from _plan_steps(told, rig, step)
    yield from _meter_steps(rig, step)
    yield from _travel_steps(rig, step)
    yield from _part_steps(rig, step)
    yield from _belonging_steps(rig, step)
    for event in rig.events:
        yield step(event.day, EVENT, rigs.report, event)
    for finding in rig.findings:
        yield step(finding.day, FIND, looks.find, finding)
    for one_round in rig.walkrounds:
        yield step(one_round.day, FIND, looks.go_round, one_round)
    for one in rig.works:
        for day in work.days_of(told, rig, one):
            yield step(day + one.late, WORK, work.log, one, day)


Maker = Callable[..., Step]


def _plan_steps(told: Told, rig: RigStory, step: Maker) -> Iterator[Step]:
    for key, day in rig.life.items():
        yield step(day, PLAN, rigs.give_life, key, told.on(day))
    for stated in rig.stated:
        yield step(stated.day, PLAN, rigs.state, stated)
    for dropped in rig.dropped:
        yield step(dropped.day, PLAN, rigs.drop, dropped)
    for deferred in rig.deferred:
        yield step(deferred.day, DEFER, rigs.defer, deferred)


def _meter_steps(rig: RigStory, step: Maker) -> Iterator[Step]:
    for kind, meter in rig.meters.items():
        for day, *figures in meter.replaced:
            yield step(int(day), METER, rigs.replace, kind, figures)
        for day, value in meter.readings:
            yield step(int(day), READ, rigs.read, kind, value)
        for day, *figures in meter.fuel:
            yield step(int(day), READ, rigs.refuel, kind, figures)
    for duty in rig.duty:
        yield step(duty.start, METER, rigs.set_duty, duty)


def _travel_steps(rig: RigStory, step: Maker) -> Iterator[Step]:
    """Past trips are noted at their end, coming ones when they were planned."""
    if rig.runways:
        yield step(rig.adopted, REST, rigs.run_down)
    for stay in rig.stays:
        yield step(stay.start, STAY, rigs.begin_stay, stay)
        if stay.end is not None:
            yield step(stay.end, STAY, rigs.end_stay, stay)
        for n, visit in enumerate(stay.visits):
            yield step(visit.day, REST, rigs.visit, stay, n)
    for trip in rig.trips:
        yield step(min(trip.end, trip.noted), TRIP, rigs.travel, trip)


def _part_steps(rig: RigStory, step: Maker) -> Iterator[Step]:
    for part in rig.components:
        yield step(part.day, PART, parts.fit, part)
    for move in rig.moves:
        yield step(move.day, PART, parts.move, move)
    if rig.axles:
        yield step(rig.adopted, PART, parts.rate)


def _belonging_steps(rig: RigStory, step: Maker) -> Iterator[Step]:
    if rig.label:
        yield step(rig.adopted, REST, belongings.label)
    tables = (
        (rig.tickets, belongings.weigh),
        (rig.manuals, belongings.shelve),
        (rig.spots, belongings.point_at),
        (rig.figures, belongings.reckon),
        (rig.troubles, belongings.trace),
    )
    for rows, act in tables:
        for row in rows:
            yield step(row.day, REST, act, row)


def shed_steps(told: Told) -> Iterator[Step]:
    story = told.story
    for tool in story.tools:
        yield Step(tool.day, ADOPT, partial(belongings.own, told, tool))
    for supply in story.supplies:
        yield Step(story.since, ADOPT, partial(belongings.stock, told, supply))
    for snap in story.snaps:
        yield Step(snap.day, REST, partial(belongings.snap, told, snap))
