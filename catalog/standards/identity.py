"""
The identities of a picture file in XMP: the same for the same bytes, wherever and whenever they are asked for.

Source: XMP part 1 (April 2012) §8.6. ``xmpMM:DocumentID`` is common to all states of one document, and here stands for
the picture alone, without what is written about it; ``xmpMM:InstanceID`` is that of one state, and stands for every
byte of the file. RFC 9562 §5.5 makes a UUID of a name, so that nothing needs to be remembered and two catalogues of
one file agree.
"""

from __future__ import annotations

from typing import Final
from uuid import UUID, uuid5

from catalog.standards.xmp_names import TIEBEAM

__all__ = ["document_id", "instance_id"]

_SPACE: Final = UUID(TIEBEAM.removesuffix("#"))


def document_id(sha256: str) -> str:
    """
    Return the identity of a picture by the digest of its picture data; "" without one.

    >>> document_id("00" * 32)
    'xmp.did:3fb1d094-0417-55b4-81ea-0e93be462182'
    """
    return f"xmp.did:{uuid5(_SPACE, f'picture {sha256}')}" if sha256 else ""


def instance_id(sha256: str) -> str:
    """Return the identity of a file as it is now by the digest of its bytes; "" without one."""
    return f"xmp.iid:{uuid5(_SPACE, f'file {sha256}')}" if sha256 else ""
