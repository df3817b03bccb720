"""What all tests share: golden files and their renewal, and an archive for each test."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from catalog.store import connections
from catalog.store.archive import Archive
from tests.sample import make_sample
from tests.store.archives import an_archive

GOLDEN = Path(__file__).parent / "golden"

# Time is measured by tests/benchmarks; a busy machine is no fault of the archive.
settings.register_profile("house", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True)
settings.load_profile("house")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update-golden",
        action="store_true",
        help="rewrite the golden files with what the program makes now; read the difference line by line",
    )


_OF_THE_PROGRAM = connections.SYNCHRONOUS
# No test cuts the power, and a process that is killed loses nothing that the system has: waiting for the disk at each
# of a hundred thousand deeds would show nothing. Processes that tests start wait for it as they do in earnest.
connections.SYNCHRONOUS = "OFF"


@pytest.fixture
def forced_to_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let deeds be forced to disk as the program does it."""
    monkeypatch.setattr(connections, "SYNCHRONOUS", _OF_THE_PROGRAM)


_skipped: list[str] = []


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.skipped:
        _skipped.append(report.nodeid)


def pytest_sessionfinish(session: pytest.Session) -> None:
    # CI installs everything that a bare machine may lack, so there a skip is a fault of the set-up.
    if os.environ.get("TIEBEAM_FAIL_ON_SKIP") and _skipped and not hasattr(session.config, "workerinput"):
        print(f"\nskipped where nothing may be: {', '.join(_skipped)}")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, bytes], None]:
    """Compare bytes with a golden file, ``golden("sidecars/s412.xmp", data)``, or rewrite it when asked."""
    update = request.config.getoption("--update-golden")

    def compare(name: str, data: bytes) -> None:
        path = GOLDEN / name
        if update:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        assert path.is_file(), f"{name} is not there yet; make it with --update-golden"
        assert path.read_bytes() == data, f"{name} differs; see the difference with --update-golden and git diff"

    return compare


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A new archive, empty; built once by the migrations and copied."""
    return an_archive(tmp_path / "archive")


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the sample archive without scans, for tests that change nothing in it."""
    return make_sample(tmp_path_factory.mktemp("sample") / "archive").folder
