"""What is installed: `variants` and `neckwise`, from a wheel and from the folder itself."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.cli.calling import RIFF, ROOT


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel of this folder, built by the tool that pyproject.toml names."""
    folder = tmp_path_factory.mktemp("wheel")
    done = subprocess.run(  # noqa: S603 - the build tool, as pip calls it
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        capture_output=True,
        check=False,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    (found,) = folder.glob("*.whl")
    return found


def _run(folder: Path, *words: str, path: str = "") -> subprocess.CompletedProcess[str]:
    # -I would keep the working folder out; a user's own call does not.
    return subprocess.run(  # noqa: S603 - our own program
        [sys.executable, *words],
        cwd=folder,
        env={"PYTHONPATH": path, "PATH": "/usr/bin:/bin"},
        capture_output=True,
        check=False,
        text=True,
        timeout=120,
    )


def test_wheel_holds_two_packages(wheel: Path) -> None:
    """Nothing else is put into anybody's environment, and the data files are there."""
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        (points,) = [name for name in names if name.endswith("entry_points.txt")]
        text = archive.read(points).decode()
    tops = {name.split("/")[0] for name in names}
    assert {one for one in tops if not one.endswith(".dist-info")} == {"variants", "neckwise"}
    assert text.split() == ["[console_scripts]", "neckwise", "=", "neckwise.main:main"]
    inside = {name for name in names if not name.split("/")[0].endswith(".dist-info")}
    files = {
        path.relative_to(ROOT).as_posix()
        for folder in ("variants", "cli")
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert {name.replace("neckwise/", "cli/", 1) for name in inside} == files


def test_wheel_beside_others_called_cli(wheel: Path, tmp_path: Path) -> None:
    """A package `cli` of somebody else, before it on the path, and a `cli.py` where one works."""
    site, other, here = (tmp_path / name for name in ("site", "other", "here"))
    for folder in (site, other / "cli", here):
        folder.mkdir(parents=True)
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    broken = "raise SystemExit('this is not neckwise')\n"
    (other / "cli" / "__init__.py").write_text(broken)
    (here / "cli.py").write_text(broken)
    path = f"{other}:{site}"
    # The path that Python itself sets up has an editable neckwise at its end: the wheel is first.
    where = _run(here, "-c", "import neckwise, variants; print(neckwise.__file__)", path=path)
    assert where.stdout.strip() == str(site / "neckwise" / "__init__.py"), where.stderr
    done = _run(here, "-m", "neckwise", "vary", str(RIFF), "-o", "out.musicxml", path=path)
    assert (done.returncode, done.stderr) == (0, "")
    assert (here / "out.musicxml").read_bytes()
    door = f"import neckwise; print(neckwise.finger(neckwise.read({str(RIFF)!r})).score)"
    shown = _run(here, "-c", door, path=path).stdout
    assert shown == "Score('Harbour Riff', 1 part, 2 measures)\n"
    script = "from neckwise.main import main; main()"
    assert _run(here, "-c", script, "list", "tunings", path=path).returncode == 0


def test_folder_under_the_other_name(tmp_path: Path) -> None:
    """An editable install, as `make venv` makes it, finds cli/ as neckwise, module for module."""
    code = (
        "import neckwise.commands.vary as one, neckwise.main, variants, sys\n"
        "print(neckwise.__name__, one.__file__, 'cli' in sys.modules)"
    )
    path = f"{ROOT}:{ROOT / 'editable'}"
    done = _run(tmp_path, "-c", code, path=path)
    assert done.stdout.split() == ["neckwise", str(ROOT / "cli/commands/vary.py"), "False"]
    assert _run(tmp_path, "-m", "neckwise", "--version", path=path).stdout.startswith("neckwise ")
