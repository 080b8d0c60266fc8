"""What a mail says: what matters in its subject, figures, steps, where to answer."""

import re
from datetime import timedelta

import pytest

from maintenance.library.reading import load_library
from maintenance.plans.models import Deferral, MakerFigure
from maintenance.reminders.content import MOST_STEPS, Written, write
from maintenance.reminders.models import Notice
from maintenance.reminders.services import raise_notices
from tests.builders import TODAY, make_reading, make_rig
from tests.reminders.builders import (
    done,
    due_item,
    make_home,
    overdue_item,
    soon_item,
    take_on,
    wheel_off,
)

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]
DAY = timedelta(days=1)
PUBLIC = "https://rigs.example.org"


def written(member, today=TODAY) -> Written:
    raise_notices(member.household, today=today)
    return write(member, Notice.objects.all(), today=today)


def squeezed(text: str) -> str:
    return " ".join(text.split())


def test_mail_then_it_greets_its_reader_by_name():
    member, rig = make_home()
    overdue_item(rig)

    found = written(member)

    hello = f"Hi {member.name}, here's what your rigs need as of May 4, 2026."
    assert found.text.startswith(f"{hello}\n")
    assert "<title>Rigsite: Alder Lane, May 4, 2026</title>" in found.html
    assert f"<h1>{hello}</h1>" in found.html


# --- subject --------------------------------------------------------------------------


def test_subject_of_several_then_the_most_urgent_first():
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    wheel_off(rig)
    make_reading(rig, TODAY + DAY, 42060)
    overdue_item(rig, "one")
    overdue_item(rig, "two")
    due_item(make_rig(member.household, name="Kestrel"))

    assert written(member, TODAY + DAY).subject == (
        "1 wheel check before you drive, 2 overdue, 1 due: Juniper and Kestrel"
    )


def test_subject_of_one_then_it_names_the_work():
    member, rig = make_home()
    overdue_item(rig, title="Change engine oil")

    assert written(member).subject == "Overdue on Juniper: Change engine oil"


def test_subject_of_a_check_that_is_still_ahead_then_it_says_where():
    member, rig = make_home()
    rig.meters.get().readings.all().delete()
    take_on(rig, "lug_recheck")
    wheel_off(rig, value="42000")

    assert squeezed(written(member).subject) == (
        "Coming on Juniper: re-check lug torque after a wheel was off, "
        "42,050 mi to 42,100 mi"
    )


def test_subject_when_a_rig_is_unfit_then_that_comes_first():
    member, rig = make_home()
    overdue_item(rig, "tires", unfit=True)
    overdue_item(rig)

    assert written(member).subject == "Juniper unfit to travel, 1 overdue"


def test_subject_of_two_rigs_then_it_names_them():
    member, rig = make_home()
    soon_item(rig)
    soon_item(make_rig(member.household, name="Kestrel"))

    assert written(member).subject == "2 coming: Juniper and Kestrel"


def test_subject_when_shop_work_nears_then_it_says_to_book():
    member, rig = make_home()
    item = take_on(
        rig, "brake_fluid", triggers=[{"every": {"days": 60}}], title="Brake fluid"
    )
    done(item, TODAY - 32 * DAY)  # closes in 28 days, opens in 22

    assert written(member).subject == "Book a shop for Juniper: Brake fluid"


def test_subject_when_names_are_long_then_it_fits_its_row():
    member, rig = make_home()
    rig.name = "R" * 60
    rig.save()
    overdue_item(rig, title="T " * 60)

    assert len(written(member).subject) <= 200


# --- text -----------------------------------------------------------------------------


def test_text_without_a_public_address_then_cautions_before_steps_and_no_link():
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    wheel_off(rig)
    procedure = load_library().procedures["lug_recheck"]

    mail = written(member)

    for part in (squeezed(mail.text).replace(" ! ", " "), mail.html):
        for words in (*procedure.cautions, *procedure.steps):
            found = words in part or words.replace("'", "&#x27;") in part
            assert found, words
    assert mail.text.index("Before you begin") < mail.text.index("Steps")
    assert mail.html.index("Before you begin") < mail.html.index("Steps")
    assert "http" not in mail.text + mail.html
    assert "Open Rigsite where it runs" in squeezed(mail.text)


def test_text_with_a_public_address_then_a_link_to_the_item_and_no_steps(settings):
    settings.PUBLIC_URL = PUBLIC
    member, rig = make_home()
    item = overdue_item(rig, "engine_oil")

    mail = written(member)

    for part in (mail.text, mail.html):
        assert f"{PUBLIC}/items/{item.pk}/" in part
        assert f"{PUBLIC}/household/myself/" in part
        assert "Steps" not in part


@pytest.mark.parametrize("address", ["", PUBLIC])
@pytest.mark.parametrize("made", [overdue_item, due_item, soon_item])
def test_mail_then_the_cautions_and_the_unfit_words_go_with_each_job(
    settings, address, made
):
    settings.PUBLIC_URL = address
    member, rig = make_home()
    made(rig, "frame_look")
    procedure = load_library().procedures["frame_look"]

    mail = written(member)

    assert procedure.cautions
    assert procedure.unfit
    for part in (squeezed(mail.text).replace(" ! ", " "), squeezed(mail.html)):
        for words in (*procedure.cautions, procedure.unfit):
            assert words in part or words.replace("'", "&#x27;") in part
    if address:
        assert mail.html.index("Before you begin") < mail.html.index("/answer/")


def test_mail_of_many_jobs_then_each_has_its_cautions(settings):
    member, rig = make_home()
    keys = list(load_library().procedures)[: MOST_STEPS + 2]
    for key in keys:
        overdue_item(rig, key)
    cautioned = [key for key in keys if load_library().procedures[key].cautions]

    assert written(member).text.count("Before you begin") == len(cautioned)


def test_text_says_on_what_it_rests():
    member, rig = make_home()
    overdue_item(rig)

    text = written(member).text

    assert "* Juniper: Overdue" in text
    assert "Was due by May 1, 2026" in text
    assert "Last done on May 1, 2025." in text


def test_text_of_what_is_only_coming_then_no_steps():
    member, rig = make_home()
    soon_item(rig, "engine_oil")

    assert "Steps" not in written(member).text


def test_text_of_many_then_steps_of_the_first_and_words_about_the_rest():
    member, rig = make_home()
    keys = list(load_library().procedures)[: MOST_STEPS + 2]
    for key in keys:
        overdue_item(rig, key)

    text = written(member).text

    assert text.count("\n  Steps\n") == MOST_STEPS
    assert "See the steps for 2 more jobs" in squeezed(text)


def test_text_of_shop_work_then_it_says_so():
    member, rig = make_home()
    overdue_item(rig, "brake_fluid")

    assert "a job for a licensed shop" in written(member).text


def test_text_when_the_makers_figure_is_known_then_it_is_given():
    member, rig = make_home()
    item = overdue_item(rig, "lug_recheck")
    figure = MakerFigure.objects.create(
        item=item, document="Chassis book", page="112", entered_on=TODAY
    )
    figure.values.create(name="torque", value=120, unit="ft·lbf")

    text = squeezed(written(member).text)

    assert "Manufacturer's figure (Chassis book, page 112): torque 120 ft·lbf" in text


def test_text_when_put_off_before_then_it_says_until_when():
    member, rig = make_home()
    item = overdue_item(rig)
    Deferral.objects.create(item=item, until=TODAY + DAY, why="away")
    raise_notices(member.household, today=TODAY + DAY)

    mail = write(member, Notice.objects.all(), today=TODAY + DAY)

    assert "Juniper: Overdue" in mail.text


def test_text_has_no_line_over_72_but_addresses(settings):
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    wheel_off(rig)
    overdue_item(rig, "engine_oil")

    lines = written(member).text.splitlines()

    assert max(len(line) for line in lines) <= 72
    assert not any(line.endswith(" ") for line in lines)


def test_html_when_a_name_holds_markup_then_it_is_text():
    member, rig = make_home()
    overdue_item(rig, title="<script>alert(1)</script>")

    mail = written(member)

    assert "<script>" not in mail.html
    assert "<script>" in mail.text


def test_html_loads_nothing_from_elsewhere():
    member, rig = make_home()
    overdue_item(rig)

    html = written(member).html

    assert "<img" not in html
    assert "url(" not in html
    assert "<link" not in html


# --- links to answer by ---------------------------------------------------------------


def answers(mail: Written) -> list[str]:
    lines = mail.text.splitlines()
    return [
        lines[n - 1].strip()
        for n, line in enumerate(lines)
        if f"{PUBLIC}/answer/" in line
    ]


def test_mail_with_a_public_address_then_each_item_can_be_answered(settings):
    settings.PUBLIC_URL = PUBLIC
    member, rig = make_home()
    overdue_item(rig)

    mail = written(member)

    assert answers(mail) == ["It's done:", "Remind me later:"]
    for url in re.findall(rf"{PUBLIC}/answer/\S+", mail.text):
        assert f'href="{url}"' in mail.html
    assert "change nothing until you confirm" in squeezed(mail.text)


def test_mail_of_a_lug_check_that_hangs_on_a_reading_then_it_asks_for_it(settings):
    settings.PUBLIC_URL = PUBLIC
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    wheel_off(rig)

    assert answers(written(member))[0] == "Enter the odometer:"


def test_mail_of_an_item_by_distance_then_a_reading_can_be_given(settings):
    settings.PUBLIC_URL = PUBLIC
    member, rig = make_home()
    every = {"distance": 500, "unit": "mi", "meter": "odometer"}
    item = overdue_item(rig, triggers=[{"every": every}])
    item.completions.update(values={"odometer": "36000"})

    assert answers(written(member)) == [
        "It's done:",
        "Enter a reading:",
        "Remind me later:",
    ]


def test_mail_to_a_viewer_then_only_what_a_viewer_may_do(settings):
    settings.PUBLIC_URL = PUBLIC
    member, rig = make_home()
    member.role = "viewer"
    member.save()
    overdue_item(rig)

    assert answers(written(member)) == ["Remind me later:"]


def test_mail_without_a_public_address_then_no_link_to_answer_by():
    member, rig = make_home()
    overdue_item(rig)

    assert "/answer/" not in written(member).text + written(member).html
