"""What the folds of the form of work done say while they are closed."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django import forms as django_forms

from maintenance.core.units import UnitError, parse_number
from maintenance.plans.models import Outcome
from maintenance.service_records.models import DoneBy
from maintenance.ui.words import money_words

from .record_form import WorkForms


@dataclass(frozen=True, slots=True)
class Fold:
    """`now`: its present value; `open`: it is needed, or something in it is wrong."""

    now: str
    open: bool = False


def folds_of(forms: WorkForms) -> dict[str, Fold]:
    """By the name that the page gives them."""
    return {
        "how": _how(forms),
        "who": _who(forms),
        "wheels": _wheels(forms),
        "cost": _cost(forms),
        "parts": _parts(forms),
        "supplies": _supplies(forms),
        "day": _day(forms),
        "notes": _notes(forms),
        "warranty": _warranty(forms),
        "jobs": _jobs(forms),
    }


def _value(form: django_forms.Form, name: str) -> str:
    value = form[name].value()
    return str(value).strip() if value not in {None, False} else ""


def _filled(form: django_forms.Form, names: Iterable[str]) -> list[str]:
    return [name for name in names if name in form.fields and _value(form, name)]


def _wrong(form: django_forms.Form, *names: str) -> bool:
    return form.is_bound and any(name in form.errors for name in names or form.fields)


def _how(forms: WorkForms) -> Fold:
    line = forms.first_line
    said = dict(Outcome.choices).get(_value(line, "outcome"), Outcome.DONE.label)
    note = _value(line, "note")
    words = f"{said}: {note}" if note else str(said)
    usual = _value(line, "outcome") in {"", Outcome.DONE}
    return Fold(words, not usual or _wrong(line, "outcome", "note"))


def _who(forms: WorkForms) -> Fold:
    record = forms.record
    by = dict(DoneBy.choices).get(_value(record, "done_by"), "")
    parts = (str(by), _value(record, "doer"), _value(record, "place"))
    words = ", ".join(filter(None, parts))
    wrong = _wrong(record, "done_by", "doer", "place")
    return Fold(words or "not entered yet", forms.wheels_off_asked or wrong)


def _wheels(forms: WorkForms) -> Fold:
    wheels = forms.wheels
    off = [p for p in wheels.places if _value(wheels, f"off_{p}")]
    reached = [p for p in wheels.places if _value(wheels, f"reached_{p}")]
    words = []
    if off:
        words.append(f"off: {', '.join(off)}")
    if figure := _value(wheels, "figure"):
        words.append(f"{figure} {_value(wheels, 'unit')} specified")
    if held := [p for p in wheels.places if _value(wheels, f"held_{p}")]:
        words.append(f"held: {', '.join(held)}")
    if reached:
        words.append(f"reached on {len(reached)} of {len(wheels.places)}")
    nothing = "not answered yet" if forms.wheel_work else "no wheel was off"
    return Fold(", ".join(words) or nothing, forms.wheel_work or _wrong(wheels))


def _cost(forms: WorkForms) -> Fold:
    fields = forms.record.money_fields()
    names = [field.name for field in fields]
    currency = forms.rig.household.currency
    said = [
        f"{x.label.lower()} {_amount(x.value(), currency)}" for x in fields if x.value()
    ]
    return Fold(", ".join(said) or "none yet", _wrong(forms.record, *names))


def _amount(value: Decimal | str, currency: str) -> str:
    """What was typed, where it is no number."""
    try:
        amount = value if isinstance(value, Decimal) else parse_number(value)
    except UnitError:
        return str(value)
    return money_words(amount, currency)


def _parts(forms: WorkForms) -> Fold:
    names = [name for form in forms.parts if (name := _value(form, "name"))]
    wrong = forms.parts.is_bound and any(form.errors for form in forms.parts)
    return Fold(", ".join(names) or "none", wrong)


def _supplies(forms: WorkForms) -> Fold:
    taken = _filled(forms.supplies, forms.supplies.fields)
    words = [
        f"{forms.supplies.supplies[name]}: {_value(forms.supplies, name)}"
        for name in taken
    ]
    return Fold(", ".join(words) or "none", bool(taken) or _wrong(forms.supplies))


def _day(forms: WorkForms) -> Fold:
    until = _value(forms.record, "until")
    words = "between two days" if until else "enter a range of days instead"
    return Fold(words, bool(until) or _wrong(forms.record, "until"))


def _notes(forms: WorkForms) -> Fold:
    notes = " ".join(_value(forms.record, "notes").split())
    short = f"{notes[:60]}…" if len(notes) > 60 else notes
    return Fold(short or "none", _wrong(forms.record, "notes"))


def _warranty(forms: WorkForms) -> Fold:
    form = forms.warranty
    filled = _filled(form, form.fields) if form.is_bound else []
    told = bool(filled) and form.has_changed()
    return Fold("filled in" if told else "none", _wrong(form))


def _jobs(forms: WorkForms) -> Fold:
    more = [words for form in forms.lines.forms[1:] if (words := form.words)]
    wrong = forms.lines.is_bound and any(x.errors for x in forms.lines.forms[1:])
    return Fold(", ".join(more) or "only this one", wrong)
