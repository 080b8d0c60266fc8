"""Tags and filters of every page: marks, badges, figures, days, header links."""

import uuid
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from django import forms, template
from django.templatetags.static import static
from django.utils.dates import MONTHS_3
from django.utils.html import format_html
from django.utils.safestring import SafeString

from maintenance.core.units import show_number
from maintenance.ui import forms as ui_forms
from maintenance.ui import navigation
from maintenance.ui.words import day_words, money_words

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
BADGE_WORDS = {"unfit": "Unfit to travel", "safety": "Safety"}


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
    """`unfit` or `safety`, as shape and word."""
    return _marked("badge-mark", kind, BADGE_WORDS[kind])


# The same few marks stand in hundreds of rows, and a name in a static manifest does not
# change while a process lives.
@cache
def _marked(css: str, shape: str, word: str) -> SafeString:
    return format_html(
        '<span class="{0} {0}-{1}"><svg class="shape" aria-hidden="true"'
        ' focusable="false"><use href="{2}#{1}"></use></svg>{3}</span>',
        css,
        shape,
        static("ui/marks.svg"),
        word,
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
def money(value: Decimal | None, currency: str = "") -> str:
    """An amount with its currency: `1,240.50 USD`."""
    return "" if value is None else money_words(value, currency)


@register.filter
def day(value: date | None) -> str:
    """A day as people write it: `1 May 2026`."""
    return day_words(value) if value else ""


@register.filter
def month_day(value: str) -> str:
    """A day of every year, stored as `03-15`, as people write it: `15 Mar`."""
    month, number = value.split("-")
    return f"{int(number)} {MONTHS_3[int(month)].capitalize()}"


@register.simple_tag(takes_context=True)
def navigation_links(context: dict[str, Any]) -> list[navigation.Link]:
    """The header's links, for somebody who is logged in."""
    user = getattr(context.get("request"), "user", None)
    if user is None or not user.is_authenticated:
        return []
    return navigation.links(context["request"].path)


@register.simple_tag
def url_or_none(name: str) -> str | None:
    """The URL of that name, or nothing where no page answers to it."""
    return navigation.url_or_none(name)


@register.simple_tag
def problems(
    *parts: "forms.BaseForm | forms.BaseFormSet[Any] | list[forms.Form]",
) -> list[ui_forms.Problem]:
    """What is wrong with a page's forms, for the list at its top; a part that the page
    does not have is left out, and one may be several."""
    several = (part if isinstance(part, list) else [part] for part in parts if part)
    return ui_forms.problems(*(one for some in several for one in some))
