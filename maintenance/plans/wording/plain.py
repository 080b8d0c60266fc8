"""Facts that are always said the same way, by key; those of a kind of trigger stand
with it in `plans/kinds/`."""

PLAIN: dict[str, str] = {
    # --- how things stand by the meter
    "on_present_meter": "On the meter fitted now that is %(value)s %(unit)s.",
    "window_values": "Falls due between %(opens)s and %(closes)s %(unit)s.",
    "over_by_value": "That was passed by %(value)s %(unit)s.",
    "opens_in_value": "It opens in %(value)s %(unit)s.",
    "run_so_far": "It ran %(value)s %(unit)s, by its logged runs.",
    "towed_so_far": "Towed %(value)s %(unit)s, by what its trips tell so far.",
    "no_reading": "There is no reading of %(of_meter)s yet.",
    "no_value_then": (
        "No reading tells what %(of_meter)s had on %(on)s: enter one of that day or "
        "before."
    ),
    "also_by_value": "Also by %(closes)s %(unit)s.",
    # --- by the calendar
    "window_days": "Falls due between %(opens)s and %(closes)s.",
    "also_by_day": "Also by %(closes)s.",
    # --- stays
    "planned_end_passed": "The stay was planned to end on %(on)s. Has it ended?",
    "waits_in_stay": "The rig has been in a stay since %(start)s and is not driven.",
    # --- records and what is expected
    "no_record": "Nothing on record yet.",
    "at_places": "This is about %(places)s.",
    "settled": "Done on %(on)s; it is asked for once only.",
    "expected_by_use": (
        "By its use the rig may be there since %(early)s: check now, or enter a "
        "reading."
    ),
    "expected_no_use": (
        "Nothing tells how far the rig went since %(since)s: check now, or enter a "
        "reading."
    ),
    # --- putting off
    "deferral_needs_reason": "Say why it is put off.",
    "deferral_by_keeper_only": "It is about safety: only a keeper puts it off.",
    "deferral_not_ahead": "Give a day after %(on)s.",
    "deferral_not_ahead_value": "Give more than the last reading, %(value)s %(unit)s.",
    "deferral_too_long": (
        "It is about safety: it can be put off until %(on)s at most, 30 days after it "
        "comes due."
    ),
    "deferral_too_far": (
        "It is about safety: it is put off to %(value)s %(unit)s at most."
    ),
    "deferral_ran_out": (
        "It is about safety, and the days or the distance that it may wait after it "
        "came due are over: it can't be put off any longer, however often it was. Do "
        "it, or have it done."
    ),
    "deferral_by_day_only": "It is about safety: put it off to a day, not by hours.",
    "deferral_needs_reading": (
        "There is no reading of %(of_meter)s yet: put it off to a day."
    ),
    "deferral_past_day": (
        "It follows something that happened: it is put off to %(closes)s at most."
    ),
    "deferral_past_value": (
        "It follows something that happened: it is put off by the meter, to "
        "%(closes)s %(unit)s at most."
    ),
    "deferral_no_window": (
        "It follows something that happened at a reading not known: do it now, or "
        "enter that reading."
    ),
    # --- forecast
    "forecast_no_readings": "No reading to go by.",
    "forecast_no_use": "The readings show no use, so no day is given.",
    "forecast_habit_changed": (
        "Since about %(since)s it is used otherwise: some %(now)s %(unit)s a month, "
        "before that %(before)s."
    ),
    "forecast_parked_before": (
        "It was in storage from %(start)s to %(until)s; much the same is expected "
        "again."
    ),
}
