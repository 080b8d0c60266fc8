"""The power goes right after the answer: what was acknowledged is on the disk, and the
program starts on what else the cut has left.

The disk is a file with an ext4 of its own, which the kernel cuts off as it stands: what
was not yet written is never written (EXT4_IOC_SHUTDOWN in Linux, fs/ext4/ioctl.c). That
needs root and a loop device.
"""

import fcntl
import hashlib
import http.client
import io
import os
import sqlite3
import struct
import subprocess
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from PIL import Image

from rigsite.paths import CHECKOUT, environment_python
from tests.servers import PATIENCE, wait_for
from tests.start.program import Program, environment, running

pytestmark = pytest.mark.whole_program

SHUTDOWN, WITHOUT_FLUSH = 0x8004587D, 2
PHOTOS = 8
TOKEN = "a" * 32
A_LOGIN = """
from django.test import Client
from tests.builders import make_member
client = Client()
client.force_login(make_member().user, "django.contrib.auth.backends.ModelBackend")
print(client.cookies["rigsite_session"].value)
"""


def call(*command: str | Path) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise OSError(done.stderr.strip())


class Disk:
    """A disk of its own whose power can be cut."""

    def __init__(self, image: Path, folder: Path) -> None:
        self.image, self.folder = image, folder
        folder.mkdir()
        with image.open("wb") as file:
            file.truncate(256 << 20)
        call("mkfs.ext4", "-q", "-F", image)

    def plug_in(self) -> None:
        call("mount", "-o", "loop", self.image, self.folder)

    def cut_power(self) -> None:
        handle = os.open(self.folder, os.O_RDONLY)
        try:
            fcntl.ioctl(handle, SHUTDOWN, struct.pack("I", WITHOUT_FLUSH))
        finally:
            os.close(handle)

    def take_out(self) -> None:
        """As soon as nobody uses it any more."""
        wait_for(
            lambda: not self.folder.is_mount() or self._taken_out(),
            what="end of those who use the disk",
        )

    def _taken_out(self) -> bool:
        done = subprocess.run(
            ["umount", self.folder], stderr=subprocess.DEVNULL, check=False
        )
        return done.returncode == 0


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Disk]:
    if os.getuid() != 0:
        pytest.skip("no power was cut: that needs root")
    try:
        made = Disk(tmp_path / "disk.img", tmp_path / "disk")
        made.plug_in()
    except OSError as error:
        pytest.skip(f"no power was cut: {error}")
    yield made
    made.take_out()
    made.image.unlink()


def photo(number: int) -> SimpleUploadedFile:
    out = io.BytesIO()
    picture = Image.effect_noise((900, 600), 60 + number)
    picture.convert("RGB").save(out, "JPEG")
    return SimpleUploadedFile(f"{number}.jpg", out.getvalue(), "image/jpeg")


def login(data: Path) -> str:
    done = subprocess.run(
        [environment_python(), "manage.py", "shell", "-v0", "-c", A_LOGIN],
        env=environment(data),
        cwd=CHECKOUT,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.strip()


def post_photos(
    program: Program, session: str, photos: list[SimpleUploadedFile]
) -> int:
    body = encode_multipart(BOUNDARY, {"photos": photos})
    head = {
        "Content-Type": MULTIPART_CONTENT,
        "Cookie": f"rigsite_session={session}; csrftoken={TOKEN}",
        "X-CSRFToken": TOKEN,
    }
    link = http.client.HTTPConnection("127.0.0.1", program.port, timeout=PATIENCE)
    with closing(link):
        link.request("POST", "/snaps/", body, head)
        return link.getresponse().status


def kept(data: Path) -> dict[str, str]:
    """Each photo that the database knows, by its file: the digest it is to have."""
    with closing(sqlite3.connect(data / "rigsite.db")) as database:
        rows = database.execute("SELECT stored, sha256 FROM service_records_snap")
        return dict(rows.fetchall())


def on_disk(data: Path, names: dict[str, str]) -> dict[str, str]:
    files = {name: data / "files" / "proof" / name for name in names}
    return {
        name: hashlib.sha256(file.read_bytes()).hexdigest()
        for name, file in files.items()
        if file.exists()
    }


def test_photos_when_the_power_goes_after_the_answer_then_all_are_there(disk, migrated):
    data = migrated(disk.folder / "data")
    os.sync()  # what was there before is on the disk
    photos = [photo(number) for number in range(PHOTOS)]
    with running(data) as program:
        session = login(data)

        status = post_photos(program, session, photos)
        disk.cut_power()

        program.process.kill()
    disk.take_out()
    disk.plug_in()
    assert status == 302
    known = kept(data)
    assert len(known) == PHOTOS
    assert on_disk(data, known) == known
    with running(data) as again:
        assert again.get("/health/")[0] == 200
