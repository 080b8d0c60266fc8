"""A filter: an HTML page on standard input, a tagged PDF on standard output.

Run as `python -m maintenance.packets.pdf`, in a process of its own: it can be stopped,
and its memory returns. It knows no database, no settings and no network. How far it is
goes to standard error, in lines that `printing` reads.
"""

import ctypes
import gc
import logging
import os
import re
import signal
import sys
from typing import BinaryIO

from weasyprint import HTML
from weasyprint.urls import URLFetcher

PR_SET_PDEATHSIG = 1  # <linux/prctl.h>

PAGE = re.compile(r"Creating layout - Page (\d+)$")
WRITING = re.compile(r"Step 6 ")


class DataOnly(URLFetcher):
    """Fetches what the page itself carries. With the default fetcher, one crafted link
    would put a file of this machine into the PDF."""

    def __init__(self) -> None:
        super().__init__(allowed_protocols=("data",), allow_redirects=False)


def write_pdf(html: str, out: BinaryIO) -> int:
    """Print a page (PDF/UA-1: tagged, titled, in a language); how many pages it has."""
    document = HTML(string=html, url_fetcher=DataOnly()).render(pdf_variant="pdf/ua-1")
    document.write_pdf(out, pdf_variant="pdf/ua-1")
    return len(document.pages)


def tell(*words: object) -> None:
    sys.stderr.write(" ".join(["progress", *map(str, words)]) + "\n")
    sys.stderr.flush()


class TellProgress(logging.Handler):
    """Passes on which page is being set. When nobody listens any more, the broken pipe
    ends the process: without its worker there is no use for the PDF."""

    def emit(self, record: logging.LogRecord) -> None:
        text = record.getMessage()
        if found := PAGE.search(text):
            tell("page", found[1])
        elif WRITING.search(text):
            tell("writing")


def end_with_parent() -> None:
    """Nobody waits for the pages of a worker that is gone (Linux alone can tell)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)


def main() -> None:
    end_with_parent()
    os.nice(5)  # web pages come first
    progress = logging.getLogger("weasyprint.progress")
    progress.addHandler(TellProgress())
    progress.setLevel(logging.INFO)
    # The process is short and makes little garbage; looking for it takes a seventh of
    # the time.
    gc.freeze()
    gc.set_threshold(200_000, 50, 100)
    html = sys.stdin.buffer.read().decode()
    tell("pages", write_pdf(html, sys.stdout.buffer))


if __name__ == "__main__":
    main()
