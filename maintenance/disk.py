"""The one way to write a file that is kept: it appears whole or not at all, and is on
the disk before the answer says so. Standard library only: `start` uses it too."""

import errno
import os
import tempfile
from pathlib import Path

HALF = ".half"  # the end of a name whose file is still being written
# What a file system says that cannot wait for a folder; it then keeps its names itself.
NO_SYNC_OF_FOLDERS = {errno.EINVAL, errno.ENOTSUP}


def put_file(path: Path, data: bytes, *, replace: bool = True) -> None:
    """Write a file that this user alone may read, and its folder where it is missing.
    Without `replace`, FileExistsError where there is one: the first writer wins."""
    make_folder(path.parent)
    handle, name = tempfile.mkstemp(
        dir=path.parent, prefix=f".{path.name}-", suffix=HALF
    )
    half = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        put_in_place(half, path, replace=replace)
    finally:
        half.unlink(missing_ok=True)


def put_in_place(half: Path, path: Path, *, replace: bool = True) -> None:
    """Give a finished file, which lies on the same disk, its name: its content is on
    the disk before the name is, and the name before this returns."""
    _sync(half)
    if replace:
        half.replace(path)
    else:
        path.hardlink_to(half)
    sync_folder(path.parent)


def make_folder(folder: Path) -> None:
    """The folder and those above it that are missing, for this user alone."""
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(mode=0o700, exist_ok=True)
    sync_folder(folder.parent)


def sync_folder(folder: Path) -> None:
    """Wait until the names in it are on the disk."""
    try:
        _sync(folder)
    except OSError as error:
        if error.errno not in NO_SYNC_OF_FOLDERS:
            raise


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def is_half(path: Path) -> bool:
    """Whether it is still being written, or was when the power went."""
    return path.name.endswith(HALF)
