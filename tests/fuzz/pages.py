"""What a rendered page offers: links, and forms with the fields that it really has."""

from dataclasses import dataclass, field
from html.parser import HTMLParser


@dataclass
class Field:
    """A field of a form, all of its radio buttons or boxes together."""

    name: str
    kind: str
    value: str = ""
    choices: list[str] = field(default_factory=list)


@dataclass
class Form:
    action: str
    method: str
    fields: dict[str, Field] = field(default_factory=dict)


class Page(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.forms: list[Form] = []
        self._form: Form | None = None
        self._select: Field | None = None
        self._area: Field | None = None
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag in {"a", "img"}:
            self.links.append(said.get("href") or said.get("src", ""))
        elif tag == "form":
            self._form = Form(said.get("action", ""), said.get("method", "get").lower())
            self.forms.append(self._form)
        elif tag == "option" and self._select is not None:
            self._select.choices.append(said.get("value", ""))
            if "selected" in said:
                self._select.value = said.get("value", "")
        elif self._form is not None and said.get("name"):
            self._add(tag, said)

    def _add(self, tag: str, said: dict[str, str]) -> None:
        kind = said.get("type", "text") if tag in {"input", "button"} else tag
        value = said.get("value", "on" if kind == "checkbox" else "")
        known = self._form.fields.setdefault(said["name"], Field(said["name"], kind))
        if kind in {"radio", "checkbox", "submit"} or tag == "button":
            known.choices.append(value)
            known.value = value if "checked" in said else known.value
        else:
            known.value = value
        self._select = known if tag == "select" else None
        self._area = known if tag == "textarea" else None

    def handle_data(self, data: str) -> None:
        if self._area is not None:
            # A browser leaves the first line break out.
            self._area.value += data if self._area.value else data.removeprefix("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "select":
            self._select = None
        elif tag == "textarea":
            self._area = None


def sent_by(form: Form) -> dict[str, str]:
    return {
        one.name: one.value
        for one in form.fields.values()
        if one.kind not in {"file", "submit", "button"}
        and (one.value or one.kind not in {"radio", "checkbox"})
    }
