"""Which sidecar speaks for which picture (cases.md C06; XMP part 3, "External storage of metadata")."""

from __future__ import annotations

from pathlib import Path, PurePath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.outputs.sidecar_names import Claim, FolderNames, _parted, read_claims, sidecar_path


@pytest.mark.parametrize(
    ("scan", "siblings", "said", "expected"),
    [
        ("a.tif", ["a.tif"], {}, "a.xmp"),
        ("a.tif", ["a.tif", "a.txt", "a.md5", "._a.jpg", ".DS_Store"], {}, "a.xmp"),
        # two pictures share a stem
        ("a.tif", ["a.tif", "a.jpg"], {}, "a.tif.xmp"),
        ("a.jpg", ["a.tif", "a.jpg"], {}, "a.jpg.xmp"),
        ("a.tif", ["a.tif", "A.JPG"], {}, "a.tif.xmp"),
        # an existing sidecar keeps its name
        ("a.tif", ["a.tif", "a.xmp"], {}, "a.xmp"),
        ("a.tif", ["a.tif", "A.XMP"], {}, "A.XMP"),
        ("a.tif", ["a.tif", "a.tif.xmp"], {}, "a.tif.xmp"),
        ("a.tif", ["a.tif", "a.xmp", "a.tif.xmp"], {}, "a.tif.xmp"),
        # the newcomer of two takes the long name; the sidecar says whose it is
        ("a.tif", ["a.tif", "a.jpg", "a.xmp"], {"a.xmp": "TIF"}, "a.xmp"),
        ("a.jpg", ["a.tif", "a.jpg", "a.xmp"], {"a.xmp": "tif"}, "a.jpg.xmp"),
        ("a.tif", ["a.tif", "a.xmp"], {"a.xmp": "jpg"}, "a.tif.xmp"),
        # nobody says whose it is: it is left alone
        ("a.tif", ["a.tif", "a.jpg", "a.xmp"], {}, "a.tif.xmp"),
        ("a.jpg", ["a.tif", "a.jpg", "a.xmp"], {}, "a.jpg.xmp"),
        # names that differ in case alone are two files on some systems
        ("a.tif", ["a.tif", "A.tif", "A.tif.xmp"], {}, "a.tif.xmp"),
        ("A.tif", ["a.tif", "A.tif", "A.tif.xmp"], {}, "A.tif.xmp"),
        # one spelling in the record, another on the drive (cases.md F01)
        ("\u00c9glise.tif", ["E\u0301glise.tif", "E\u0301glise.xmp"], {}, "E\u0301glise.xmp"),
        # a picture named after a picture
        ("a.tif.jpg", ["a.tif", "a.tif.jpg"], {}, "a.tif.jpg.xmp"),
        ("a.tif.jpg", ["a.tif", "a.tif.jpg", "a.jpg", "a.tif.xmp"], {"a.tif.xmp": "tif"}, "a.tif.jpg.xmp"),
        ("a.tif", ["a.tif", "a.tif.jpg"], {}, "a.xmp"),
        # stems with dots, no extension
        ("1978.014.tif", ["1978.014.tif", "1978.014.jpg"], {}, "1978.014.tif.xmp"),
        ("scan", ["scan"], {}, "scan.xmp"),
    ],
)
def test_a_scan_finds_its_sidecar(scan, siblings, said, expected):
    assert sidecar_path(Path("box 3") / scan, siblings, said) == Path("box 3") / expected


def test_no_two_pictures_of_a_folder_are_given_one_new_sidecar():
    names = ["a.tif", "a.jpg", "a.tif.tif", "a.tif.jpg", "A.TIF", "b.tif", "b.tif.dng", "c.png", "a.xmp"]

    paths = [sidecar_path(Path(one), FolderNames(names)) for one in names if not one.endswith(".xmp")]

    assert len(set(paths)) == len(paths)


# cases.md C06: two sidecars for one scan, two scans for one sidecar.
def test_who_speaks_for_whom_is_stated_and_every_doubt_of_it():
    claims = read_claims(["a.tif", "a.jpg", "a.xmp", "a.tif.xmp", "lost.xmp"])

    assert claims.claims == (
        Claim("a.tif.xmp", ("a.tif",)),
        Claim("a.xmp", ("a.jpg", "a.tif")),
        Claim("lost.xmp", ()),
    )
    assert claims.conflicts == (
        "a.xmp could speak for a.jpg or a.tif and does not say which",
        "lost.xmp speaks for no picture in this folder",
        "a.tif has 2 sidecars: a.tif.xmp, a.xmp",
    )


def test_a_sidecar_that_says_whose_it_is_settles_the_matter():
    claims = read_claims(["a.tif", "a.jpg", "a.xmp", "a.tif.xmp"], {"a.xmp": "jpg"})

    assert claims.claims == (Claim("a.tif.xmp", ("a.tif",)), Claim("a.xmp", ("a.jpg",)))
    assert claims.conflicts == ()


# The standard library's own parting of names is the judge.
@given(st.text(alphabet="aÉ. _", min_size=1, max_size=8).filter(lambda text: text not in (".", "..")))
def test_a_name_is_parted_as_the_standard_library_parts_it(file_name):
    path = PurePath(file_name)

    assert _parted(file_name) == (path.stem, path.suffix.removeprefix("."))


@given(
    st.sampled_from(["a.tif", "A.tif", "é.tif", "a.tif.jpg"]),
    st.sets(
        st.sampled_from(["a.tif", "A.TIF", "a.jpg", "a.xmp", "a.tif.xmp", "é.tif", "e\u0301.tif", "é.xmp", "a.tif.jpg"])
    ),
)
def test_a_picture_that_is_alone_gets_the_short_name(scan, others):
    names = FolderNames({scan, *others})

    if names.is_alone(scan):
        assert sidecar_path(Path(scan), names) == Path(f"{Path(scan).stem}.xmp")
