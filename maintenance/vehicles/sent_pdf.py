"""A PDF that was sent, looked into: how many pages it has, whether it does something by
itself or carries other files. Loaded with the first one, for what pypdf weighs."""

import io

import pypdf
from pypdf.errors import DependencyError, PyPdfError
from pypdf.generic import DictionaryObject

from maintenance.core.filetypes import pdf_has_script
from maintenance.households.refusals import Refused

# Actions of a PDF that run something or send something away.
RUNNING = {
    "/JavaScript",
    "/Launch",
    "/ImportData",
    "/SubmitForm",
    "/GoToE",
    "/Rendition",
}
LONGEST_CHAIN = 20  # actions that follow each other
# What pypdf raises on damaged files: besides its own errors, whatever it stumbles over.
UNREADABLE = (
    PyPdfError,
    ArithmeticError,
    AttributeError,
    LookupError,
    NotImplementedError,
    RecursionError,
    TypeError,
    ValueError,
)


def pages_of_harmless_pdf(data: bytes, name: str) -> int:
    """How many pages it has, when no action or script is found in it."""
    try:
        reader = _unlocked(data, name)
        scripted = pdf_has_script(data) or _acts(reader)
        carries = _carries_files(reader)
        pages = len(reader.pages)
    except DependencyError:  # an encryption that nothing here knows
        raise Refused(_locked(name)) from None
    except UNREADABLE:
        raise Refused(
            f"{name} can't be read as a PDF; it may be damaged. Choose another file."
        ) from None
    if scripted:
        raise Refused(f"{name} contains a script. Print it to a new PDF and send that.")
    if carries:
        raise Refused(
            f"{name} has other files hidden inside it. Print it to a new PDF and "
            "send that."
        )
    return pages


def _unlocked(data: bytes, name: str) -> pypdf.PdfReader:
    """Many manuals are encrypted with no password, only against changes: those open."""
    reader = pypdf.PdfReader(io.BytesIO(data))
    if reader.is_encrypted and not reader.decrypt(""):
        raise Refused(_locked(name))
    return reader


def _locked(name: str) -> str:
    return (
        f"{name} is locked with a password, so it can't be checked. Print it to a new "
        "PDF and send that."
    )


def _acts(reader: pypdf.PdfReader) -> bool:
    """Whether it does something by itself. Objects in compressed streams, which the
    raw bytes do not show, are unpacked here."""
    root = reader.root_object
    names = _dictionary(root.get("/Names"))
    form = _dictionary(root.get("/AcroForm"))
    return (
        "/AA" in root
        or "/JavaScript" in names
        or "/XFA" in form  # forms of another kind, with scripts of their own
        or _runs(root.get("/OpenAction"))
        or any(_page_acts(page) for page in reader.pages)
    )


def _page_acts(page: DictionaryObject) -> bool:
    """Whether opening the page, or a tap on something on it, runs anything."""
    notes = _list(page.get("/Annots"))
    return "/AA" in page or any("/AA" in x or _runs(x.get("/A")) for x in notes)


def _runs(action: object) -> bool:
    """Whether an action, or one that follows it, runs a script or a program."""
    for _n in range(LONGEST_CHAIN):
        found = _dictionary(action)
        if found.get("/S") in RUNNING:
            return True
        if "/Next" not in found:
            return False
        action = found.get("/Next")
    return True


def _carries_files(reader: pypdf.PdfReader) -> bool:
    """Files embedded in the document, or pinned to a page."""
    names = _dictionary(reader.root_object.get("/Names"))
    return "/EmbeddedFiles" in names or any(
        note.get("/Subtype") in {"/FileAttachment", "/RichMedia", "/Screen"}
        for page in reader.pages
        for note in _list(page.get("/Annots"))
    )


def _list(value: object) -> list[DictionaryObject]:
    found = value.get_object() if isinstance(value, pypdf.generic.PdfObject) else None
    return [_dictionary(each) for each in found] if isinstance(found, list) else []


def _dictionary(value: object) -> DictionaryObject:
    """What stands there or is referred to, if it is a dictionary, else an empty one."""
    found = value.get_object() if isinstance(value, pypdf.generic.PdfObject) else None
    return found if isinstance(found, DictionaryObject) else DictionaryObject()
