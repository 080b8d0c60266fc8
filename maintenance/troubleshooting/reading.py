"""The guides read from their files into plain trees, and checked."""

import functools
import tomllib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path

from maintenance.core.facts import FactError
from maintenance.core.fields import (
    Fields,
    as_choice,
    as_flag,
    as_list,
    as_number,
    as_text,
)
from maintenance.core.trouble import (
    Answer,
    Band,
    Ending,
    Lead,
    Measure,
    Question,
    Step,
    Tree,
)
from maintenance.core.trouble_checks import check_trees
from maintenance.library.errors import LibraryError, naming
from maintenance.library.model import Library
from maintenance.library.reading import load_library
from maintenance.ui.local import EMERGENCY, HOME, emergency_number, in_country

from .facts import FACTS
from .judging import JUDGES

FOLDER = Path(__file__).parent / "guides"
DANGERS = Path(__file__).parent / "dangers.toml"
WHO = ("owner", "practiced_owner", "shop")
SURE = ("likely", "possible", "unclear")
COSTS = ("look", "tool", "meter")
DANGER = ("stop", "leave")


def load_trees() -> dict[str, Tree]:
    """The guides of the program by key, read once and checked, with the number to call
    of the country that is spoken to."""
    return _trees_for(emergency_number())


@functools.cache
def _trees_for(number: str) -> dict[str, Tree]:
    if number != EMERGENCY[HOME]:
        trees: dict[str, Tree] = in_country(_trees_for(EMERGENCY[HOME]), number)
        return trees
    return read_trees(FOLDER, load_library())


def read_trees(folder: Path, library: Library) -> dict[str, Tree]:
    """Raises LibraryError, naming file and place, for the first that cannot be used."""
    trees = {}
    with naming(DANGERS.name):
        fields = _load(DANGERS)
        found = _Reader("", library).endings(fields)
        dangers = {ending.key: ending for ending in found}
        fields.finish()
    for path in sorted(folder.glob("*.toml")):
        with naming(path.name):
            reader = _Reader(path.stem, library, dangers)
            trees[path.stem] = reader.tree(_load(path))
    with naming(folder.name):
        check_trees(trees)
    return trees


def _load(path: Path) -> Fields:
    try:
        text = path.read_text(encoding="utf-8")
        return Fields(tomllib.loads(text, parse_float=Decimal), "")
    except (OSError, tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise LibraryError(path.name, "", "", f"cannot be read: {problem}") from None


class _Reader:
    """Reads one tree; equipment and procedures that it names are the library's.

    `dangers` are endings that several trees lead to: what hurts people is said in one
    way. A tree names those it takes.
    """

    def __init__(
        self, key: str, library: Library, dangers: Mapping[str, Ending] | None = None
    ) -> None:
        self.key, self.library, self.dangers = key, library, dangers or {}

    def tree(self, fields: Fields) -> Tree:
        title = as_text(fields.take("title"), "title")
        steps: dict[str, Step] = {}
        first = ""
        for step in self._steps(fields):
            if step.key in steps:
                raise FactError(step.key, "is there twice")
            steps[step.key] = step
            first = first or step.key
        tree = Tree(
            key=self.key,
            title=title,
            steps=steps,
            first=first,
            before=_text(fields, "before"),
            needs=self._equipment(fields),
            also_called=_texts(fields, "also_called"),
        )
        fields.finish()
        return tree

    def _steps(self, fields: Fields) -> Iterator[Step]:
        for n, row in enumerate(as_list(fields.take("question"), "question"), start=1):
            yield self._question(Fields(row, f"question[{n}]"))
        yield from self.endings(fields)
        for name in _texts(fields, "dangers"):
            yield self.dangers[as_choice(name, "dangers", self.dangers)]

    def endings(self, fields: Fields) -> Iterator[Ending]:
        for n, row in enumerate(as_list(fields.take("ending"), "ending"), start=1):
            yield self._ending(Fields(row, f"ending[{n}]"))

    def _question(self, fields: Fields) -> Question:
        answers = as_list(fields.take("answers"), fields.at("answers"))
        question = Question(
            key=as_text(fields.take("key"), fields.at("key")),
            ask=as_text(fields.take("ask"), fields.at("ask")),
            answers=tuple(
                self._answer(Fields(row, f"{fields.at('answers')}[{n}]"))
                for n, row in enumerate(answers, start=1)
            ),
            look=_text(fields, "look"),
            unknown=self._lead(fields, "unknown"),
            measure=self._measure(fields),
            fact=_choice(fields, "fact", FACTS),
            items=self._items(fields),
            danger=_flag(fields, "danger"),
            cost=as_choice(fields.take("cost"), fields.at("cost"), COSTS),  # type: ignore[arg-type]
            source=_text(fields, "source"),
        )
        fields.finish()
        return question

    def _answer(self, fields: Fields) -> Answer:
        lead = self._lead(fields, "to")
        if lead is None:
            raise FactError(fields.place, 'needs "to": where it leads')
        answer = Answer(
            key=as_text(fields.take("key"), fields.at("key")),
            words=as_text(fields.take("words"), fields.at("words")),
            lead=lead,
            needs=self._equipment(fields),
        )
        fields.finish()
        return answer

    def _ending(self, fields: Fields) -> Ending:
        ending = Ending(
            key=as_text(fields.take("key"), fields.at("key")),
            cause=as_text(fields.take("cause"), fields.at("cause")),
            do=_texts(fields, "do"),
            who=_choice(fields, "who", WHO),  # type: ignore[arg-type]
            sure=_choice(fields, "sure", SURE),  # type: ignore[arg-type]
            source=as_text(fields.take("source"), fields.at("source")),
            cautions=_texts(fields, "cautions"),
            not_cured=self._lead(fields, "not_cured"),
            items=self._items(fields),
            unfit=_flag(fields, "unfit"),
            danger=_choice(fields, "danger", DANGER),  # type: ignore[arg-type]
        )
        fields.finish()
        if not (ending.do and ending.who and ending.sure):
            raise FactError(fields.place, 'needs "do", "who" and "sure"')
        return ending

    def _measure(self, fields: Fields) -> Measure | None:
        if not fields.has("measure"):
            return None
        inner = Fields(fields.take("measure"), fields.at("measure"))
        bands = as_list(inner.take("bands"), inner.at("bands"))
        measure = Measure(
            name=as_text(inner.take("name"), inner.at("name")),
            unit=as_text(inner.take("unit"), inner.at("unit")),
            least=as_number(inner.take("least"), inner.at("least")),
            most=as_number(inner.take("most"), inner.at("most")),
            bands=tuple(_band(Fields(row, inner.at("bands"))) for row in bands),
            judged_by=_choice(inner, "judged_by", JUDGES),
        )
        inner.finish()
        return measure

    def _lead(self, fields: Fields, field: str) -> Lead | None:
        """`step`, or `tree:` (its beginning), or a table of `to` and `again`."""
        value = fields.get(field)
        if value is None:
            return None
        if isinstance(value, str):
            return self._lead_of(value, again=False)
        inner = Fields(value, fields.at(field))
        to = as_text(inner.take("to"), inner.at("to"))
        again = as_flag(inner.take("again"), inner.at("again"))
        inner.finish()
        return self._lead_of(to, again=again)

    def _lead_of(self, to: str, *, again: bool) -> Lead:
        tree, colon, step = to.rpartition(":")
        return Lead(tree if colon else self.key, step, again)

    def _equipment(self, fields: Fields) -> frozenset[str]:
        names = _texts(fields, "needs")
        known = self.library.equipment
        return frozenset(as_choice(n, fields.at("needs"), known) for n in names)

    def _items(self, fields: Fields) -> tuple[str, ...]:
        names = _texts(fields, "items")
        known = self.library.procedures
        return tuple(as_choice(n, fields.at("items"), known) for n in names)


def _band(fields: Fields) -> Band:
    low, high = (
        as_number(fields.take(side), fields.at(side)) if fields.has(side) else None
        for side in ("low", "high")
    )
    band = Band(as_text(fields.take("answer"), fields.at("answer")), low, high)
    fields.finish()
    return band


def _text(fields: Fields, field: str) -> str:
    value = fields.get(field)
    return "" if value is None else as_text(value, fields.at(field))


def _texts(fields: Fields, field: str) -> tuple[str, ...]:
    value = fields.get(field)
    rows = [] if value is None else as_list(value, fields.at(field))
    return tuple(as_text(row, fields.at(field)) for row in rows)


def _choice(fields: Fields, field: str, known: object) -> str:
    value = fields.get(field)
    return "" if value is None else as_choice(value, fields.at(field), known)  # type: ignore[arg-type]


def _flag(fields: Fields, field: str) -> bool:
    value = fields.get(field)
    return False if value is None else as_flag(value, fields.at(field))
