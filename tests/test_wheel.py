"""The wheel carries migrations and sample, and runs the demo in an empty environment outside the source tree."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.slow
def test_the_wheel_runs_the_demo_in_an_empty_environment(tmp_path: Path):
    # Built with the installed hatchling, so that nothing is downloaded.
    build = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "--quiet",
        "--no-deps",
        "--no-build-isolation",
        "-w",
        str(tmp_path),
        str(ROOT),
    ]
    subprocess.run(build, check=True)
    (wheel,) = tmp_path.glob("tiebeam-*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert "catalog/migrations/versions/0001_catalogue.py" in names
    assert "catalog/sample_archive/cards.xlsx" in names
    assert "catalog/sample_archive/draw.py" in names
    assert not [name for name in names if "__pycache__" in name or name.startswith("tests")]

    environment = tmp_path / "empty"
    venv.create(environment, with_pip=True)
    binaries = environment / ("Scripts" if os.name == "nt" else "bin")
    subprocess.run([str(binaries / "python"), "-m", "pip", "install", "--quiet", "--no-deps", str(wheel)], check=True)
    # What it depends on comes from this environment: that it can be installed is the README's first command to show.
    packages = (
        next(environment.glob("lib/python*/site-packages")) if os.name != "nt" else environment / "Lib/site-packages"
    )
    (packages / "borrowed.pth").write_text(sysconfig.get_paths()["purelib"] + "\n", "utf-8")

    done = subprocess.run(
        [str(binaries / "tiebeam"), "demo", "demo-archive"], cwd=tmp_path, capture_output=True, text=True, check=False
    )

    assert done.returncode == 0, done.stderr
    assert "$ tiebeam find --place Osk --years 1975/1990" in done.stdout
    assert "sidecars written." in done.stdout
    assert str(ROOT) not in done.stdout
