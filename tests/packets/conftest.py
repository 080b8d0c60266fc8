"""Files of these tests lie apart from those in use."""

import threading
from collections.abc import Iterator
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(autouse=True)
def _own_data_folder(settings: Any, tmp_path: Path) -> None:
    settings.DATA = tmp_path


@dataclass
class Asked:
    """A web server on loopback that notes what it is asked for."""

    url: str
    paths: list[str]


@pytest.fixture
def asked() -> Iterator[Asked]:
    paths: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            paths.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *args: Any) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield Asked(f"http://127.0.0.1:{server.server_port}/x.css", paths)
    server.shutdown()
    thread.join()
    server.server_close()
