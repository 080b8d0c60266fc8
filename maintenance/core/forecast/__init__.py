"""When a meter will reach a value: early, likely and late, from the rig's own use.

The use ahead is level x season x days not in a stay, and a doubt about each:

- *level*: what the rig is used now. A habit holds until it changes; when it last did is
  weighed over all blocks of readings (`habit`).
- *season*: how each half month differs from the year, from spans of readings that reach
  over several, older years counting less (`season`); where stays recur, the seasons lie
  between them (`year`).
- *days in a stay* count nothing: entered stays and plans are taken as given, else stays
  recur as in years past, whether they were entered or show as a season of no use
  (`storage`). The distance of a trip is taken as given for its days.
- *doubt*: the level has a posterior distribution, use comes in lumps (a gamma process),
  and one year is unlike another (`spread`).

The estimator is our own; the parts name their sources. Level and season are learned
once per meter and kept until its past changes (`kept`); from them each day has three
curves, and a question is then a look-up. No chance enters: the same readings give the
same dates.
"""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import numpy as np

from maintenance.core.facts import KeptHabit, Stay, Trip, Unit
from maintenance.core.forecast.ahead import value_ahead
from maintenance.core.forecast.days import stored_days
from maintenance.core.forecast.history import read_history
from maintenance.core.forecast.kept import from_text, learn_once
from maintenance.core.forecast.reasons import reasons
from maintenance.core.forecast.use import Past, Use
from maintenance.core.forecast.year import year_between

__all__ = ["Use", "fit"]


def fit(
    readings: Sequence[tuple[date, Decimal]],
    *,
    unit: Unit,
    as_of: date,
    stays: Sequence[Stay] = (),
    trips: Sequence[Trip] = (),
    kept: KeptHabit | None = None,
    since: date | None = None,
    untold: Decimal = Decimal(0),
) -> Use:
    """Fit a meter's use once, so that many values can be asked for.

    `readings` are consistent true values in `unit`, by day, none after `as_of`. `kept`
    is what an earlier fit of this meter had as `Use.habit`: it saves learning that
    again and never changes the result. `since`: the day from which on use is expected,
    where it is later than the last reading; without a reading the value is 0 then.
    `untold`: what is expected to have been used by then beside what was read.
    """
    if not readings:
        return _by_trips_alone(since, unit=unit, as_of=as_of, stays=stays, trips=trips)
    days, values = zip(*readings, strict=True)
    first, last = days[0], days[-1]
    at = np.array([(day - first).days for day in days])
    stored = stored_days(stays, as_of=as_of, first=first, length=int(at[-1]))
    past = Past(days, values, np.concatenate(([0.0], np.cumsum(~stored))))
    habit = learned = None
    if len(days) > 1:
        year = year_between(stays, as_of)
        habit = learn_once(read_history(days, values, at, stored, year), unit, kept)
        learned = from_text(habit.learned)
    why = reasons(days, unit=unit, learned=learned, stays=stays, as_of=as_of)
    begin = max(last, since or last)
    now = float(values[-1] + untold)
    span = {"first": first, "last": begin, "as_of": as_of}
    curves = value_ahead(learned, now, unit=unit, **span, stays=stays, trips=trips)
    return Use(
        past, begin, as_of, *curves, why=why, habit=habit, fitted=learned is not None
    )


def _by_trips_alone(
    since: date | None,
    *,
    unit: Unit,
    as_of: date,
    stays: Sequence[Stay],
    trips: Sequence[Trip],
) -> Use:
    why = reasons((), unit=unit, learned=None, stays=stays, as_of=as_of)
    if since is None:
        return Use(Past(), as_of, as_of, why=why)
    curves = value_ahead(
        None,
        0.0,
        unit=unit,
        first=since,
        last=since,
        as_of=as_of,
        stays=stays,
        trips=trips,
    )
    return Use(Past(), since, as_of, *curves, why=why)
