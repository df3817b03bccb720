"""``tiebeam demo``: the sample archive, made before the person's eyes by the commands they would use."""

from __future__ import annotations

import shlex
import sys
from importlib import import_module
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import click


@click.command(short_help="Make the sample archive and run the main job on it.")
@click.argument("folder", type=click.Path(path_type=Path))
def demo(folder: Path) -> int:
    """
    Make the sample archive in FOLDER, which must be empty or not there yet, and run the main job on it.

    Draws the scans, reads in the old card index, registers the scans, asks for every frame of one village across
    the years, and writes the sidecars. All of it is invented.
    """
    from catalog.errors import RefusedError

    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RefusedError(f"{folder} is not empty. Name a folder that is empty or not there yet.")
    sample = load_sample()
    archive = _make(folder, sample)
    click.echo("Drawing the scans of an invented valley ...")
    import_module(f"{sample.__name__}.draw").draw_scans(archive.folder / "scans")
    statuses = [
        _run("cards", "read", str(folder / "cards" / "cards.xlsx"), folder=folder),
        _run("scans", "add", str(folder / "scans"), folder=folder),
    ]
    import_module(f"{sample.__name__}.load").load_field_work(archive)
    import_module(f"{sample.__name__}.prints").load_prints(archive)
    statuses += [
        _run("find", "--place", "Osk", "--years", "1975/1990", folder=folder),
        _run("sidecars", "write", folder=folder),
    ]
    click.echo(f"\nNow yours to try: cd {shlex.quote(str(folder))} and tiebeam show 'Osk Mill'")
    # A card that cannot be right and a stray scan belong to the sample; they are findings, not failures.
    return 0 if max(statuses) <= 1 else max(statuses)


def _make(folder: Path, sample: Any) -> Any:
    """Start the archive, bring in what is known apart from the cards, and lay the card index beside it."""
    import shutil

    from catalog.store.new import make_archive

    archive, _ = make_archive(folder, name="Wenn valley", photographer="Ida Thornwick")
    import_module(f"{sample.__name__}.load").load_valley(archive)
    cards = archive.folder / "cards"
    cards.mkdir()
    for name in ("cards.xlsx", "cards.csv", "cards.toml"):
        shutil.copyfile(Path(sample.__file__).parent / name, cards / name)
    return archive


def load_sample() -> Any:
    """Return the package of the sample archive: inside the installed program, else beside it."""
    from catalog.store.installed import find_installed

    name = "sample_archive"
    if name not in sys.modules:
        folder = find_installed(name)
        spec = spec_from_file_location(name, folder / "__init__.py", submodule_search_locations=[str(folder)])
        assert spec is not None
        assert spec.loader is not None
        sys.modules[name] = module_from_spec(spec)
        spec.loader.exec_module(sys.modules[name])
    return sys.modules[name]


def _run(*words: str, folder: Path) -> int:
    """Say a command as it would be typed, and do it."""
    from catalog.cli.main import tiebeam

    click.echo(f"\n$ tiebeam {shlex.join(words)}")
    status = tiebeam.main([*words, "--archive", str(folder)], prog_name="tiebeam", standalone_mode=False)
    return status if isinstance(status, int) else 0
