"""Facts that are always said the same way, by key; those of a kind of trigger stand
with it in `plans/kinds/`."""

PLAIN: dict[str, str] = {
    # --- how things stand by the meter
    "on_present_meter": "On today's meter, that's %(value)s %(unit)s.",
    "window_values": "Due between %(opens)s and %(closes)s %(unit)s.",
    "over_by_value": "It's %(value)s %(unit)s past that.",
    "opens_in_value": "It comes due in %(value)s %(unit)s.",
    "run_so_far": "It has run %(value)s %(unit)s, by its logged runs.",
    "towed_so_far": "Towed %(value)s %(unit)s, by its trips so far.",
    "no_reading": "No reading of %(of_meter)s yet.",
    "no_value_then": ("No reading of %(of_meter)s on %(on)s or before: enter one."),
    "also_by_value": "Also by %(closes)s %(unit)s.",
    # --- by the calendar
    "window_days": "Due between %(opens)s and %(closes)s.",
    "also_by_day": "Also by %(closes)s.",
    # --- stays
    "planned_end_passed": "It was due out of storage on %(on)s. Is it still parked?",
    "waits_in_stay": "The rig has been in storage since %(start)s.",
    # --- records and what is expected
    "no_record": "Nothing on record yet.",
    "at_places": "For %(places)s.",
    "settled": "Done on %(on)s. It's needed only once.",
    "expected_by_use": (
        "By its use, the rig may be there since %(early)s: check now, or "
        "enter a reading."
    ),
    "expected_no_use": ("No reading since %(since)s: check now, or enter a reading."),
    # --- putting off
    "deferral_needs_reason": "Enter why you're putting it off.",
    "deferral_by_keeper_only": "This is a safety job: only a keeper can put it off.",
    "deferral_not_ahead": "Enter a date after %(on)s.",
    "deferral_not_ahead_value": "Enter more than the last reading, %(value)s %(unit)s.",
    "deferral_too_long": (
        "This is a safety job: you can put it off until %(on)s at most, 30 "
        "days after it comes due."
    ),
    "deferral_too_far": (
        "This is a safety job: you can put it off to %(value)s %(unit)s at most."
    ),
    "deferral_ran_out": (
        "This is a safety job, and the days or distance it may wait past due "
        "are used up. You can't put it off any longer. Do it, or have it done."
    ),
    "deferral_by_day_only": "This is a safety job: put it off to a date, not by hours.",
    "deferral_needs_reading": ("No reading of %(of_meter)s yet: put it off to a date."),
    "deferral_past_day": (
        "It follows something that happened: you can put it off to %(closes)s at most."
    ),
    "deferral_past_value": (
        "It follows something that happened: put it off by the meter, to "
        "%(closes)s %(unit)s at most."
    ),
    "deferral_no_window": (
        "It follows something that happened at an unknown reading: do it now, "
        "or enter that reading."
    ),
    # --- forecast
    "forecast_no_readings": "No reading to go by.",
    "forecast_no_use": "The readings show no use, so we can't estimate a date.",
    "forecast_habit_changed": (
        "Since about %(since)s its use has changed: about %(now)s %(unit)s a "
        "month, %(before)s before that."
    ),
    "forecast_parked_before": (
        "It was in storage from %(start)s to %(until)s; we expect about the same again."
    ),
}
