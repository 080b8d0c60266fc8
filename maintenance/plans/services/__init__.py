"""Changing plans: taking items on, their rules and their past, work and deferral."""

from .baselines import (
    Answer,
    check_answer,
    state_baseline,
    state_baselines,
)
from .components import (
    add_part,
    change_part,
    correct_fitting,
    move_part,
    put_part_aside,
    rotate_tires,
    withdraw_fitting,
)
from .items import (
    change_item,
    change_rules,
    check_rules,
    count_on_new_meter,
    drop_item,
    follow_library,
    keep_rules,
    settle_plan,
    take_on,
    take_on_checks,
)
from .makers import MakersValue, remove_maker_figure, set_maker_figure
from .once import take_on_once
from .own import as_library_rules, change_procedure, write_procedure
from .work import defer, end_deferral

__all__ = [
    "Answer",
    "MakersValue",
    "add_part",
    "as_library_rules",
    "change_item",
    "change_part",
    "change_procedure",
    "change_rules",
    "check_answer",
    "check_rules",
    "correct_fitting",
    "count_on_new_meter",
    "defer",
    "drop_item",
    "end_deferral",
    "follow_library",
    "keep_rules",
    "move_part",
    "put_part_aside",
    "remove_maker_figure",
    "rotate_tires",
    "set_maker_figure",
    "settle_plan",
    "state_baseline",
    "state_baselines",
    "take_on",
    "take_on_checks",
    "take_on_once",
    "withdraw_fitting",
    "write_procedure",
]
