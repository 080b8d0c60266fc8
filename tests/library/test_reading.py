"""Library files that are wrong are refused with file, key and field."""

from pathlib import Path

import pytest

from maintenance.library.checks import refuse_unsourced
from maintenance.library.errors import LibraryError
from maintenance.library.reading import load_library, read_library
from maintenance.ui import local

LIBRARY = """
version = "2026-01-31"
[[change]]
on = 2026-01-31
text = "First."
"""
EQUIPMENT = """
[[equipment]]
key = "generator"
title = "Generator"
phrase = "a generator"
group = "Electricity"
usual = ["motorhome"]
"""
PROCEDURE = {
    "key": '"engine_oil"',
    "title": '"Change the oil"',
    "short": '"Engine oil"',
    "why": '"Old oil wears the engine."',
    "who": '"practiced_owner"',
    "minutes": "60",
    "cautions": '["Hot oil burns."]',
    "steps": '["Drain it."]',
    "triggers": "[{ every = { distance = 5000, unit = 'mi', meter = 'distance' } }]",
    "sources": '[{ of = "interval", kind = "common practice" }]',
}


FILTER = {"key": '"filter"', "short": '"Oil filter"'}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "library.toml").write_text(LIBRARY)
    (tmp_path / "equipment.toml").write_text(EQUIPMENT)
    (tmp_path / "spots.toml").write_text("spot = []\n")
    (tmp_path / "lap.toml").write_text("stop = []\n")
    (tmp_path / "stay.toml").write_text("place = []\n")
    return tmp_path


def write_system(
    folder: Path, *procedures: dict[str, str], system: str = "engine"
) -> None:
    lines = [f'system = "{system}"', 'title = "Engine"']
    for procedure in procedures:
        lines += ["[[procedure]]", *(f"{k} = {v}" for k, v in procedure.items())]
    (folder / f"{system}.toml").write_text("\n".join(lines), encoding="utf-8")


def refusal(folder: Path) -> LibraryError:
    with pytest.raises(LibraryError) as caught:
        read_library(folder)
    return caught.value


def test_a_job_split_from_one_that_is_not_there_is_refused(folder: Path) -> None:
    write_system(folder, PROCEDURE | {"split_from": '"engine_wash"'})
    assert '"engine_wash" is not another procedure' in str(refusal(folder))


def by_place(limits: str, per: str = "wheel", low: int = 2) -> str:
    of = f"name = 'tread', unit = '1/32 in', low = {low}"
    of = f"{of}, per = '{per}'" if per else of
    return f"{{ {of}, limits_by_place = [{limits}] }}"


def test_a_limit_by_place_needs_its_source(folder: Path) -> None:
    measure = by_place("{ places = ['LF'], low = 4 }", low=0)
    write_system(folder, PROCEDURE | {"measures": f"[{measure}]"})
    with pytest.raises(LibraryError, match='nothing says where "tread" is from'):
        refuse_unsourced(read_library(folder))


def test_two_jobs_of_one_short_name_are_refused(folder: Path) -> None:
    oil = PROCEDURE | {"short": '"Engine oil"'}
    write_system(folder, oil, oil | {"key": '"oil_again"', "short": '"Engine OIL"'})
    assert '"Engine OIL" is the name of "engine_oil"' in str(refusal(folder))


@pytest.mark.parametrize("short", ["Engine oil", "GFCI test", "120 V GFCI", "Anode"])
def test_a_short_name_is_a_few_words(folder: Path, short: str) -> None:
    write_system(folder, PROCEDURE | {"short": f'"{short}"'})
    assert read_library(folder).procedures["engine_oil"].short == short


def test_a_good_file_is_read_whole(folder: Path) -> None:
    write_system(folder, PROCEDURE)
    library = read_library(folder)
    assert library.version == "2026-01-31"
    assert library.systems["engine"].title == "Engine"
    assert library.procedures["engine_oil"].cautions == ("Hot oil burns.",)
    assert library.equipment["generator"].usual == ("motorhome",)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("stpes", '["x"]', 'unknown key "stpes"; did you mean "steps"?'),
        ("who", '"mechanic"', 'who: "mechanic" is not known'),
        ("minutes", "-5", "minutes: -5 can't be right"),
        ("minutes", '"long"', 'minutes: must be a number, not "long"'),
        ("safety", '"yes"', 'safety: must be true or false, not "yes"'),
        ("cautions", "[]", "cautions: needed where the work is for practiced_owner"),
        ("short", '""', "short: must be a text"),
        ("short", '"Change of engine oil"', "3 words and 22 characters at most"),
        ("short", '"Disestablishmentarianism"', "3 words and 22 characters at most"),
        ("short", '"Engine Oil"', '"Engine Oil" must look like "Shore cord"'),
        ("short", '"engine oil"', '"engine oil" must look like "Shore cord"'),
        ("short", '"Engine oil."', '"Engine oil." must look like "Shore cord"'),
        ("not_kinds", '["boat"]', 'not_kinds[0]: "boat" is not known'),
        ("kinds", '["boat"]', 'kinds[0]: "boat" is not known'),
        ("equipment", '["generatr"]', 'did you mean "generator"?'),
        ("raises", '["wheel_of"]', 'raises[0]: "wheel_of" is not known'),
        ("renews", '["coolant"]', 'renews: "coolant" is not another procedure'),
        ("renews", '["engine_oil"]', 'renews: "engine_oil" is not another procedure'),
        ("needs_first", '["cool"]', 'needs_first: "cool" is not another procedure'),
        ("calculators", '"tire_date"', "calculators: must be a list"),
        (
            "calculators",
            '["tire_date", "tire_lode"]',
            'calculators[1]: "tire_lode" is not known; did you mean "tire_load"?',
        ),
        ("runway", '"trap"', 'runway: "trap" is not known; did you mean "traps"?'),
        ("runway", '"traps"', 'runway: "traps" needs a trigger "while_stored"'),
        ("per", '"wheel"', 'per: "wheel" is not known'),
        ("renewed_by", '"new"', 'renewed_by: "new" is not known'),
        ("moves", '"wheel"', 'moves: "wheel" is not known'),
        ("component", '"tire"', 'component: must be an object with keys, not "tire"'),
        ("component", "{ usual = true }", 'component: needs "kind"'),
        ("component", '{ kind = "tyre" }', 'component.kind: "tyre" is not known'),
        (
            "component",
            '{ kind = "alarm", types = ["smoke", "fire"] }',
            'component.types[1]: "fire" is not known',
        ),
        (
            "component",
            '{ kind = "tire", types = ["spare"] }',
            'component.types[0]: "spare" is not known',
        ),
        (
            "component",
            '{ kind = "tire", dates = "collar" }',
            'component.dates: "collar" is a date of the kind cylinder',
        ),
        (
            "component",
            '{ kind = "alarm", dates = "alarm" }',
            'component.dates: "alarm" needs a trigger "life"',
        ),
        (
            "component",
            '{ kind = "tire", type = "spare" }',
            'component: unknown key "type"; did you mean "types"?',
        ),
        ("baseline", '"purchase"', 'baseline: "purchase" is not known'),
        ("unfit", '"A leak."', "unfit_when: must say when: overdue, event, measured"),
        ("unfit_when", '["overdue"]', "unfit: must say what makes the rig unfit"),
        ("unfit_when", '["late"]', 'unfit_when[0]: "late" is not known'),
        ("unfit_years", "0", "unfit_years: 0 can't be right"),
        ("unfit_years", "10", 'unfit_years: needs "age" in unfit_when'),
        ("not_legal", "true", "not_legal: must say in unfit what is not legal"),
        ("steps", "[]", "steps: must not be empty"),
        ("steps", '["Drain it.", "Drain it."]', "steps: has a line there twice"),
        ("tools", '["Pan", ""]', "tools[1]: must be a text"),
        ("sources", "[]", "sources: must not be empty"),
    ],
)
def test_a_wrong_field_is_refused_with_file_key_and_field(
    folder: Path, field: str, value: str, words: str
) -> None:
    write_system(folder, PROCEDURE | {field: value})
    text = str(refusal(folder))
    assert text.startswith("engine.toml: engine_oil: ")
    assert words in text


@pytest.mark.parametrize(
    ("when", "needed"),
    [
        ("event", 'a trigger "after"'),
        ("measured", "a measure"),
        ("age", 'a trigger "life"'),
    ],
)
def test_what_can_never_make_a_rig_unfit_is_refused(
    folder: Path, when: str, needed: str
) -> None:
    unfit = PROCEDURE | {"unfit": '"A leak."', "unfit_when": f'["finding", "{when}"]'}
    write_system(folder, unfit)

    assert refusal(folder).field == "unfit_when"
    assert refusal(folder).problem == f'"{when}" needs {needed}'


def test_work_without_a_rule_is_never_overdue(folder: Path) -> None:
    unfit = PROCEDURE | {"unfit": '"A leak."', "unfit_when": '["overdue"]'}
    write_system(folder, unfit | {"triggers": "[]"})

    assert refusal(folder).problem == '"overdue" needs a trigger'


def test_needs_that_go_in_a_circle_are_refused(folder: Path) -> None:
    write_system(folder, PROCEDURE | {"needs_first": '["filter"]'})
    more = PROCEDURE | FILTER | {"needs_first": '["engine_oil"]'}
    write_system(folder, more, system="zinc")
    error = refusal(folder)
    assert error.field == "needs_first"
    assert "goes in a circle: " in error.problem
    assert "filter before engine_oil" in error.problem


def write_lap(folder: Path, *looks: str, when: str = "lap") -> None:
    text = f'[[stop]]\ntitle = "Inside"\nwhen = "{when}"\nlooks = [{", ".join(looks)}]'
    (folder / "lap.toml").write_text(text)


BEFORE_TRIP = PROCEDURE | {"triggers": "[{ before_trip = { lead = 0 } }]"}
LOOK = '{ procedure = "engine_oil", minutes = 1, look = "Its mark." }'


@pytest.mark.parametrize(
    ("looks", "problem"),
    [
        ([], "engine_oil: is due before a trip: say where"),
        ([LOOK, LOOK], "engine_oil: is there twice"),
        ([LOOK.replace("engine_oil", "filter")], "filter: is not due before a trip"),
        ([LOOK.replace("minutes = 1, ", "")], 'needs "minutes" and "look"'),
        ([LOOK.replace("1", "20")], "20 can't be right"),
        ([LOOK.replace("look =", "see =")], 'needs "minutes" and "look"'),
    ],
)
def test_lap_has_each_look_before_a_trip_once_and_says_how_long(
    folder: Path, looks: list[str], problem: str
) -> None:
    write_system(folder, BEFORE_TRIP)
    if looks:
        write_lap(folder, *looks)
    assert problem in str(refusal(folder))


def test_lap_that_is_whole_is_read(folder: Path) -> None:
    write_system(folder, BEFORE_TRIP)
    write_lap(folder, LOOK)
    (stop,) = read_library(folder).lap
    assert [(one.procedure, one.minutes) for one in stop.looks] == [("engine_oil", 1)]


def write_stay(folder: Path, *places: list[str]) -> None:
    rows = (
        f'[[place]]\ntitle = "Here"\nwhen = "exit"\nprocedures = {keys}\n'
        for keys in places
    )
    (folder / "stay.toml").write_text("\n".join(rows) or "place = []\n")


AT_EXIT = PROCEDURE | {"triggers": "[{ storage_exit = {} }]"}


@pytest.mark.parametrize(
    ("places", "problem"),
    [
        ([], "engine_oil: exit: is of a stay: say where"),
        ([["filter"], ["engine_oil"], ["filter"]], "names a procedure twice"),
        ([["filter", "engine_oil", "other"]], "other: exit: is of no stay"),
        ([["engine_oil"], ["filter"]], 'engine_oil: exit: comes before "filter"'),
    ],
)
def test_work_of_a_stay_has_one_place_after_what_it_needs(
    folder: Path, places: list[list[str]], problem: str
) -> None:
    write_system(folder, AT_EXIT | {"needs_first": '["filter"]'})
    write_system(folder, AT_EXIT | FILTER, system="zinc")
    write_stay(folder, *places)
    assert problem in str(refusal(folder))


def test_a_stay_that_is_whole_is_read(folder: Path) -> None:
    write_system(folder, AT_EXIT | {"needs_first": '["filter"]'})
    write_system(folder, AT_EXIT | FILTER, system="zinc")
    write_stay(folder, ["filter"], ["engine_oil"])
    assert [place.procedures for place in read_library(folder).stay] == [
        ("filter",),
        ("engine_oil",),
    ]


def test_kinds_are_named_one_way(folder: Path) -> None:
    kinds = {"kinds": '["motorhome"]', "not_kinds": '["campervan"]'}
    write_system(folder, PROCEDURE | kinds)
    assert refusal(folder).field == "not_kinds"


@pytest.mark.parametrize(
    ("years", "words"),
    [
        ("usual_from = 18", "usual_from: 18 can't be right"),
        ("usual_to = 2018.5", "usual_to: must be a whole number of years"),
    ],
)
def test_wrong_years_of_equipment_are_refused(
    folder: Path, years: str, words: str
) -> None:
    write_system(folder, PROCEDURE)
    (folder / "equipment.toml").write_text(f"{EQUIPMENT}{years}\n")
    assert words in str(refusal(folder))


def test_years_without_kinds_of_rig_are_refused(folder: Path) -> None:
    write_system(folder, PROCEDURE)
    text = EQUIPMENT.replace('usual = ["motorhome"]', "usual_from = 2018")
    (folder / "equipment.toml").write_text(text)
    assert refusal(folder).field == "usual"


@pytest.mark.parametrize(
    ("triggers", "words"),
    [
        ("{ evry = { months = 1 } }", 'triggers[0]: unknown key "evry"'),
        ("{ every = { months = 0 } }", "triggers[0].every.months: 0 can't be right"),
        ("{ every = { days = -3 } }", "-3 can't be right"),
        ("{ every = { months = 600 } }", "600 months is longer than any part lasts"),
        ("{ every = { days = 1001 } }", "enter it in months or years"),
        ("{ life = { years = 21 } }", "252 months is longer than any part lasts"),
        (
            "{ every = { distance = 500000, unit = 'mi', meter = 'distance' } }",
            "every 500,000 mi can't be right: enter 100 to 150,000 mi",
        ),
        (
            "{ every = { distance = 900, unit = 'mi', meter = 'distance' },"
            " severe = { distance = 5 } }",
            "every 5 mi can't be right",
        ),
        (
            "{ every = { distance = 900, unit = 'mi', meter = 'odometer' } }",
            '"odometer" is not a meter; known are distance, engine, generator',
        ),
        (
            "{ every = { hours = 20, meter = 'distance' } }",
            '"h" does not fit the meter distance',
        ),
        (
            "{ after = { event = 'dust', days = [1, 400] } }",
            "a follow-up comes within 365 days",
        ),
        (
            "{ after = { event = 'weel_off', days = [0, 7] } }",
            'after.event: "weel_off" is not known; did you mean "wheel_off"?',
        ),
    ],
)
def test_a_wrong_trigger_is_refused_with_the_reason(
    folder: Path, triggers: str, words: str
) -> None:
    write_system(folder, PROCEDURE | {"triggers": f"[{triggers}]"})
    error = refusal(folder)
    assert (error.file, error.key) == ("engine.toml", "engine_oil")
    assert error.field.startswith("triggers[0]")
    assert words in str(error)


@pytest.mark.parametrize(
    ("measure", "words"),
    [
        ("{ name = 'a', unit = 'lbs' }", 'measures[0].unit: "lbs" is not known'),
        ("{ name = 'a', unit = 'V', per = 'axle' }", 'per: "axle" is not known'),
        ("{ name = 'a', unit = 'V', low = 3, high = 2 }", "low: must be below high"),
        ("{ name = 'a', unit = 'V' }, { name = 'a', unit = 'V' }", "one name twice"),
        (by_place("{ places = ['LF'], low = 4 }", per=""), 'needs per = "wheel"'),
        (
            by_place("{ places = ['XF'], low = 4 }"),
            'limits_by_place[0].places[0]: "XF"',
        ),
        (by_place("{ places = [], low = 4 }"), "places: must name a wheel"),
        (by_place("{ low = 4 }"), "places: must name a wheel"),
        (by_place("{ places = ['LF'] }"), 'limits_by_place[0]: needs "low"'),
        (by_place("{ places = ['LF'], low = 2 }"), "low: must be above that elsewhere"),
        (
            by_place("{ places = ['LF'], low = 4 }, { places = ['LF'], low = 5 }"),
            "names a place twice",
        ),
        (by_place("{ places = ['LF'], low = 4, heavy = 1 }"), "heavy: "),
        (by_place("{ places = ['LF'], low = 4, light = true }"), "light"),
    ],
)
def test_a_wrong_measure_is_refused(folder: Path, measure: str, words: str) -> None:
    write_system(folder, PROCEDURE | {"measures": f"[{measure}]"})
    assert words in str(refusal(folder))


def test_a_published_source_must_be_named(folder: Path) -> None:
    source = "[{ of = 'interval', kind = 'published' }]"
    write_system(folder, PROCEDURE | {"sources": source})
    error = refusal(folder)
    assert error.field == "sources[0].text"
    assert error.problem == "must name the published source"


@pytest.mark.parametrize("field", ["why", "who", "minutes", "triggers"])
def test_a_missing_field_is_named(folder: Path, field: str) -> None:
    procedure = {key: value for key, value in PROCEDURE.items() if key != field}
    write_system(folder, procedure)
    assert f'engine_oil: needs "{field}"' in str(refusal(folder))


def test_plain_work_of_an_owner_needs_no_caution_but_hazards_do(folder: Path) -> None:
    plain = PROCEDURE | {"who": '"owner"', "cautions": "[]"}
    write_system(folder, plain)
    assert read_library(folder).procedures["engine_oil"].cautions == ()
    write_system(folder, plain | {"tools": '["Ladder"]'})
    assert 'speaks of "Ladder"' in refusal(folder).problem
    write_system(folder, plain | {"raises": '["wheel_off"]'})
    assert "safe travel hangs on" in refusal(folder).problem


def test_a_key_in_two_files_is_refused(folder: Path) -> None:
    write_system(folder, PROCEDURE)
    write_system(folder, PROCEDURE, system="zinc")
    assert str(refusal(folder)) == (
        'zinc.toml: procedure[1].key: "engine_oil" is taken already'
    )


@pytest.mark.parametrize(
    ("file", "text", "words"),
    [
        ("engine.toml", 'system = "motor"\ntitle = "x"\nprocedure = []', "engine"),
        ("engine.toml", "system = ", "is not valid TOML"),
        ("engine.toml", 'system = "engine"\ntitle = "x"', 'needs "procedure"'),
        ("library.toml", LIBRARY.replace("2026-01-31", "2026-01-30", 1), "version"),
        ("library.toml", LIBRARY.replace("2026-01-31\nt", '"soon"\nt'), "change[0].on"),
        ("equipment.toml", EQUIPMENT.replace("phrase", "phrse"), "generator"),
        ("equipment.toml", EQUIPMENT.replace('"generator"', '"Gen Set"'), "[1].key"),
    ],
)
def test_a_wrong_file_is_named(folder: Path, file: str, text: str, words: str) -> None:
    write_system(folder, PROCEDURE)
    (folder / file).write_text(text)
    error = str(refusal(folder))
    assert error.startswith(f"{file}: ")
    assert words in error


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    assert str(refusal(tmp_path)) == "library.toml: No such file or directory"


def test_library_says_the_number_to_call_of_the_country():
    said = [one for each in load_library().procedures.values() for one in each.cautions]
    assert any("911" in one for one in said)

    with local.override("GB"):
        british = load_library()
    told = [one for each in british.procedures.values() for one in each.cautions]

    assert [one.replace("911", "999") for one in said] == told
    assert british.procedures.keys() == load_library().procedures.keys()
