"""Tags and filters of every page: marks, icons, figures, days, links of the frame."""

import uuid
from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any

from django import forms, template
from django.templatetags.static import static
from django.utils.html import format_html
from django.utils.safestring import SafeString

from maintenance.core.units import show_number
from maintenance.ui import forms as ui_forms
from maintenance.ui import local, navigation, words
from maintenance.ui.drawings import DRAWINGS
from maintenance.ui.theme import chosen_theme

register = template.Library()


@register.simple_tag
def form_token() -> SafeString:
    """In a form: sent twice, it does its work once (`households/sent_forms.py`)."""
    return format_html(
        '<input type="hidden" name="form_token" value="{}">', uuid.uuid4()
    )


STANDING_WORDS = {
    "overdue": "Overdue",
    "due": "Due",
    "soon": "Coming",
    "later": "Later",
    "waiting": "Waiting",
    "unknown": "No record yet",
    "settled": "Finished",
}
BADGE_WORDS = {"unfit": "Unfit to travel", "safety": "Safety", "fault": "Not right"}


@register.filter
def standing_word(standing: str) -> str:
    """The word that pages use for a standing of the core."""
    return STANDING_WORDS[standing]


@register.simple_tag
def standing_mark(standing: str) -> SafeString:
    """Shape and word of a standing."""
    return _marked("standing", standing, STANDING_WORDS[standing])


@register.simple_tag
def badge(kind: str) -> SafeString:
    """`unfit`, `safety` or `fault` (Not right), as shape and word."""
    return _marked("standing", kind, BADGE_WORDS[kind])


@register.simple_tag
def mark(shape: str) -> SafeString:
    """The shape alone, where its word stands beside it, such as a date."""
    return _drawn("mark", "ui/marks.svg", shape)


@register.simple_tag
def icon(name: str) -> SafeString:
    """An icon; its word stands beside it."""
    return _drawn("icon", "ui/icons.svg", name)


@register.simple_tag
def chevron() -> SafeString:
    """At the end of a fold's summary; it turns as the fold opens."""
    return _drawn("chevron", "ui/icons.svg", "down")


@register.simple_tag
def rig_sign(kind: str) -> SafeString:
    """A rig of that kind, small and in one ink."""
    return _drawn("sign", "ui/rigs.svg", f"sign-{DRAWINGS[kind]}", "0 0 64 28")


@register.simple_tag
def rig_side(kind: str) -> SafeString:
    """A rig of that kind, drawn from the side."""
    return _drawn("rig-side", "ui/rigs.svg", DRAWINGS[kind], "0 0 340 146")


@register.simple_tag
def rig_side_url(kind: str) -> str:
    """What a drawing with pins of its own takes into its `use`."""
    return f"{static('ui/rigs.svg')}#{DRAWINGS[kind]}"


@cache
def _marked(css: str, shape: str, word: str) -> SafeString:
    drawn = _drawn("mark", "ui/marks.svg", shape)
    return format_html(
        '<span class="{0} {0}-{1}">{2}{3}</span>', css, shape, drawn, word
    )


# The same few marks stand in hundreds of rows, and a name in a static manifest does not
# change while a process lives.
@cache
def _drawn(css: str, file: str, name: str, box: str = "") -> SafeString:
    return format_html(
        '<svg class="{}"{} aria-hidden="true" focusable="false">'
        '<use href="{}#{}"></use></svg>',
        css,
        format_html(' viewBox="{}"', box) if box else "",
        static(file),
        name,
    )


@register.filter
def measure(value: Decimal | int | None, unit: str = "") -> str:
    """A figure with its unit: `42,310 mi`; one decimal, and only if it is not whole.

    A no-break space holds figure and unit together.
    """
    if value is None:
        return ""
    text = show_number(Decimal(value))
    return f"{text}\N{NO-BREAK SPACE}{unit}" if unit else text


@register.filter
def money(value: Decimal | None, currency: str) -> str:
    """An amount with its currency: `$1,240.50`."""
    return "" if value is None else words.money_words(value, currency)


@register.filter
def currency_name(value: str) -> str:
    """`US dollars`."""
    return words.currency_name(value)


@register.filter
def whole_money(value: Decimal | None, currency: str) -> str:
    """An amount that is only about right: `$1,240`."""
    return "" if value is None else words.money_words(value, currency, cents=False)


@register.filter
def day(value: date | None) -> str:
    """A day as people write it: `May 1, 2026`."""
    return words.day_words(value) if value else ""


@register.filter
def day_span(first: date, last: date | None) -> str:
    """`May 1` to `3, 2026` with a dash; one day where both are the same."""
    return words.day_span_words(first, last)


@register.filter
def month(value: date) -> str:
    """`May 2026`."""
    return words.month_words(value, short=True)


@register.filter
def month_name(value: date) -> str:
    """`November`."""
    return words.month_name(value)


@register.filter
def clock(value: datetime) -> str:
    """`2:05 PM`, by the household's zone."""
    return words.clock_words(value)


@register.filter
def moment(value: datetime | None) -> str:
    """`May 1, 2026, 2:05 PM`."""
    return words.moment_words(value) if value else ""


@register.filter
def ago(value: date, today: date) -> str:
    """`6 years ago`, `in 3 weeks`."""
    return words.ago_words(value, today)


@register.simple_tag
def emergency_number() -> str:
    """911, or the number of the household's country."""
    return local.emergency_number()


@register.filter
def season(value: str) -> str:
    """`fall` where autumn is called so."""
    return words.season_words(value)


@register.filter
def near_day(value: date) -> str:
    """A day near enough to need no year: `Dec 5`."""
    return words.month_day_words(value)


@register.filter
def long_day(value: date) -> str:
    """Today, as a title: `Mon, November 30`."""
    return words.long_day_words(value)


@register.filter
def minutes(value: int) -> str:
    """How long work takes: `25 min`; nothing where that is not known."""
    return words.minutes_words(value) if value else ""


@register.filter
def beside(heads: Sequence[Any], cells: Sequence[Any]) -> list[tuple[Any, Any]]:
    """The cells of a row, each with the head of its column: a phone says it there."""
    return list(zip(heads, cells, strict=True))


@register.filter
def who(value: str) -> str:
    """Who does it: You, You, if handy, or Shop."""
    return words.WHO_WORDS[value]


@register.filter
def month_day(value: str) -> str:
    """A day of every year, stored as `03-15`, as people write it: `Mar 15`."""
    return words.month_day_words(date.fromisoformat(f"2024-{value}"))


def _page_name(context: dict[str, Any]) -> str:
    match = getattr(context.get("request"), "resolver_match", None)
    return (match.url_name or "") if match else ""


@register.simple_tag(takes_context=True)
def places(context: dict[str, Any]) -> list[navigation.Link]:
    """The places of the header, for somebody who is logged in."""
    user = getattr(context.get("request"), "user", None)
    if user is None or not user.is_authenticated:
        return []
    return navigation.places(_page_name(context))


@register.simple_tag(takes_context=True)
def tabs(context: dict[str, Any]) -> list[navigation.Link]:
    """The tabs of this page: of the rig that it is about, else of its place."""
    at = _page_name(context)
    pk = getattr(context.get("rig"), "pk", None)
    if pk and at in navigation.RIG_TAB_OF:
        return navigation.rig_tabs(at, pk)
    return navigation.tabs(at)


@register.simple_tag(takes_context=True)
def rig_subs(context: dict[str, Any]) -> list[navigation.Link]:
    """On a page of a rig, the pages beside it under its tab."""
    at = _page_name(context)
    pk = getattr(context.get("rig"), "pk", None)
    return navigation.rig_subs(at, pk) if pk and at in navigation.RIG_TAB_OF else []


@register.simple_tag(takes_context=True)
def ways_to_record(context: dict[str, Any]) -> list[tuple[navigation.Way, str]]:
    """What the Record sheet offers; on the page of a rig, of that rig."""
    rig = context.get("rig")
    at_one = _page_name(context) in navigation.RIG_TAB_OF
    return navigation.ways_to_record(getattr(rig, "pk", None) if at_one else None)


@register.simple_tag(takes_context=True)
def theme(context: dict[str, Any]) -> str:
    """Day or night, where somebody chose; else nothing, and the system says."""
    return chosen_theme(context.get("request"))


@register.filter
def shown_fields(form: forms.BaseForm) -> list[ui_forms.Part]:
    """Headings with their fields, by the form's layout."""
    return list(ui_forms.shown_fields(form))


@register.filter
def field_kind(field: forms.BoundField) -> str:
    """How a field is drawn: `hidden`, `choices` (a group of boxes), `tick` (one box),
    `long` (over the whole width) or nothing."""
    widget = field.field.widget
    if field.is_hidden:
        return "hidden"
    if field.use_fieldset:
        return "choices"
    if isinstance(widget, forms.CheckboxInput):
        return "tick"
    return "long" if isinstance(widget, forms.Textarea | forms.FileInput) else ""


@register.simple_tag
def url_or_none(name: str, *args: Any) -> str | None:
    """The URL of that name, or nothing where no page answers to it."""
    return navigation.url_or_none(name, *args)


@register.simple_tag
def problems(
    *parts: "forms.BaseForm | forms.BaseFormSet[Any] | list[forms.Form]",
) -> list[ui_forms.Problem]:
    """What is wrong with a page's forms, for the list at its top; a part that the page
    does not have is left out, and one may be several."""
    several = (part if isinstance(part, list) else [part] for part in parts if part)
    return ui_forms.problems(*(one for some in several for one in some))
