"""The Nu HTML checker: what the standard says of a page. A Java program from npm."""

import subprocess
import tarfile
import tempfile
from pathlib import Path

from rigsite.paths import virtual_environment

VERSION = "26.9.27"


def errors_in(folder: Path) -> str:
    """What is wrong with the pages that lie in the folder, a line each."""
    command = [
        "java",
        "-Xmx512m",
        "-jar",
        _checker(),
        "--errors-only",
        "--format",
        "gnu",
    ]
    pages = sorted(folder.glob("*.html"))
    assert pages
    done = subprocess.run(
        [*command, *pages], capture_output=True, text=True, check=False
    )
    assert done.returncode in (0, 1), done.stderr  # 1: it found errors
    return "\n".join(line for line in done.stderr.splitlines() if ": error: " in line)


def _checker() -> Path:
    """Fetched once, and kept beside the packages of the tests."""
    kept = virtual_environment() / f"vnu-{VERSION}.jar"
    if not kept.exists():
        with tempfile.TemporaryDirectory(dir=kept.parent) as folder:
            fetch = ["npm", "pack", f"vnu-jar@{VERSION}", "--silent"]
            subprocess.run(fetch, cwd=folder, check=True, capture_output=True)
            [packed] = Path(folder).glob("*.tgz")
            with tarfile.open(packed) as package:
                [name] = [n for n in package.getnames() if n.endswith("/vnu.jar")]
                package.extract(name, folder, filter="data")
            (Path(folder) / name).rename(kept)
    return kept
