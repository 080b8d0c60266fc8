"""Spring and autumn by the days of frost, or of rain where none comes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.dates import season_of
from maintenance.core.seasons import seasons_around

days = st.tuples(st.integers(1, 12), st.integers(1, 28))


@pytest.mark.parametrize(
    ("begins", "ends", "spring", "autumn"),
    [
        # north: the default seasons, all but, from frost of December to mid-March
        ((12, 1), (3, 14), ((3, 15), (5, 31)), ((9, 14), (11, 30))),
        # south: half a year on
        ((5, 1), (9, 30), ((10, 1), (12, 17)), ((2, 12), (4, 30))),
        # no frost, wet from November: the work before it, the work after it
        ((11, 1), (4, 15), ((4, 16), (7, 2)), ((8, 15), (10, 31))),
        ((3, 1), (2, 29), ((3, 1), (5, 17)), ((12, 13), (2, 28))),
    ],
)
def test_seasons_lie_around_the_frost(begins, ends, spring, autumn):
    assert seasons_around(begins, ends) == (spring, autumn)


@given(days, days)
def test_a_season_lasts_eleven_weeks_also_over_new_year(begins, ends):
    for season in seasons_around(begins, ends):
        opens, closes = season_of(2025, season)
        assert (closes - opens).days in {77, 78}  # a leap day may lie between
