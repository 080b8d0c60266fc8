"""Which days ahead a rig will spend in storage: as entered, else as in years past."""

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from maintenance.core.dates import stay_end
from maintenance.core.facts import Stay
from maintenance.core.forecast.days import YEAR, Floats, days_of_year, stored_days

_FADE = 0.75  # weight of a year against the one after it
_LOOK_BACK = 6 * 365  # days
_BLUR = 7.0  # days by which a stay comes sooner or later than a year ago
_UNSURE = 0.3  # years without a stay that are added to those seen
_NEAR = 75  # days around an entered stay in which none is expected beside it
_USUAL = 0.4  # share of years from which on a stay is a usual one
_OVER = 0.05  # share of the usual at which a stay has ended
_LASTS = 120.0  # days that an unusual stay without a known end goes on, on average

Known = tuple[Stay, date | None]  # a stay and its actual or planned end


def stored_ahead(
    stays: Sequence[Stay], *, as_of: date, first: date, last: date, length: int
) -> Floats:
    """For each day from `last` on how likely it lies in a stay, 0 to 1.

    `first` and `last`: days of the first and last reading.
    """
    known = [(stay, stay_end(stay, as_of)) for stay in stays]
    usual = _usual([one for one in known if one[0].start <= as_of], first, as_of)
    expected: Floats = usual[days_of_year(last, length)]
    stored = expected.copy()
    for stay, end in known:
        stop = (end or max(as_of, stay.start)) - last
        _fill(stored, (stay.start - last).days - _NEAR, stop.days + _NEAR)
    for stay, end in known:
        stop = (end or max(as_of, stay.start)) - last
        _fill(stored, (stay.start - last).days, stop.days, 1.0)
        if end is None and stop.days < length:
            _open_end(stored[stop.days :], expected[stop.days :])
    return stored


def _fill(stored: Floats, begin: int, stop: int, share: float = 0.0) -> None:
    stored[max(begin, 0) : max(stop, 0)] = share


def _usual(begun: Sequence[Known], first: date, as_of: date) -> Floats:
    """By day of the year the share of years in which the rig was stored.

    The stay now on counts up to its planned end; without one it tells nothing yet.
    """
    whole = [stay for stay, end in begun if end is not None]
    seen = min((stay.start for stay, end in begun if end is None), default=as_of)
    until = max([seen, *(end for _, end in begun if end is not None)])
    begin = min([first, *(stay.start for stay in whole)])
    begin = max(begin, until - timedelta(days=_LOOK_BACK))
    length = (until - begin).days
    if not whole or length <= 0:
        return np.zeros(366)
    stored = stored_days(whole, as_of=as_of, first=begin, length=length)
    weight = _FADE ** ((length - np.arange(length)) / YEAR)
    place = days_of_year(begin, length)
    years = _blurred(np.bincount(place, weight, 366).astype(np.float64))
    found = _blurred(np.bincount(place, weight * stored, 366).astype(np.float64))
    share: Floats = found / (years + _UNSURE)
    share[365] = share[364]  # a day that most years lack
    return share


def _blurred(by_day: Floats) -> Floats:
    reach = int(4 * _BLUR)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / _BLUR) ** 2)
    turned = np.concatenate((by_day[-reach:], by_day, by_day[:reach]))
    blurred: Floats = np.convolve(turned, kernel / kernel.sum(), "valid")
    return blurred


def _open_end(stored: Floats, expected: Floats) -> None:
    """From today, or its first day, a stay whose end nobody entered: it ends as usual,
    or fades out. With none before it to learn from it has no end, as things stand."""
    if not expected.any():
        stored[:] = 1.0
    elif expected[0] < _USUAL:
        np.maximum(stored, np.exp(-np.arange(len(stored)) / _LASTS), out=stored)
    else:
        still = np.minimum.accumulate(expected / expected[0])
        over = int(np.argmax(still < _OVER)) or len(still)
        stored[:over] = still[:over]
        stored[over : over + _NEAR] = 0.0
