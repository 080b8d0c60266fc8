"""A habit is learned once and kept until what it was learned from changes.

Its key is a digest of all that `learn` takes: the use in each span between readings of
the last years and its days in use, which hold what stays say. The day on which it is
asked for is not in it, nor are trips: what lies ahead is worked out from it each day.
"""

import json
from dataclasses import asdict
from datetime import date
from hashlib import sha256

import numpy as np

from maintenance.core.facts import KeptHabit, Unit
from maintenance.core.forecast.history import History
from maintenance.core.forecast.learning import Change, Learned, learn

# Raise it with every change of what is learned from the same past, so that habits of
# before are left aside.
LEARNED_BY = 1


def learn_once(history: History, unit: Unit, kept: KeptHabit | None) -> KeptHabit:
    """`kept` if it was learned from this very past, else what is learned now."""
    key = key_of(history, unit)
    if kept is not None and kept.key == key:
        return kept
    return KeptHabit(key, to_text(learn(history, unit)))


def key_of(history: History, unit: Unit) -> str:
    """Another version of the library of arrays may round otherwise: another key."""
    digest = sha256(
        f"{LEARNED_BY} {np.__version__} {unit} {history.first}".encode("ascii")
    )
    for values in (history.at, history.use, history.in_use):
        digest.update(values.tobytes())
    return digest.hexdigest()


def to_text(learned: Learned | None) -> str:
    return json.dumps(learned and asdict(learned), default=date.isoformat)


def from_text(text: str) -> Learned | None:
    """What `to_text` was given: every figure comes back as it was, to the last bit."""
    data = json.loads(text)
    if data is None:
        return None
    change = data["change"]
    if change is not None:
        change["since"] = date.fromisoformat(change["since"])
    return Learned(
        tuple(data["levels"]),
        tuple(data["season"]),
        data["lump"],
        change and Change(**change),
    )
